use super::label::Corner;
use schemars::JsonSchema;
use serde::Serialize;

/// How well the labels in a photo are printed, in the terms of ISO/IEC 15415.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PhotoQuality {
    pub width_px: u32,
    pub height_px: u32,
    /// Labels of ours, left to right.
    pub labels: Vec<LabelQuality>,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LabelQuality {
    pub label: String,
    pub label_human: String,
    /// What it stands on; empty where the register does not know it.
    pub name: String,
    /// Corners in px, clockwise from the symbol's own top left.
    pub corners: Vec<Corner>,
    /// Lowest of the grades: 4 best, 0 worst. Null where it could not be graded.
    pub grade: Option<u8>,
    /// The same as a letter, `A` to `F`.
    pub letter: Option<String>,
    pub version: Option<u32>,
    /// Error correction: `L`, `M`, `Q` or `H`.
    pub level: Option<String>,
    /// Width of a module in px.
    pub module_px: Option<f64>,
    /// How far each dark edge is out, in per cent of a module; below zero where ink is missing.
    pub growth_pct: Option<f64>,
    pub parameters: Vec<QualityParameter>,
    /// What it means and what to do.
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct QualityParameter {
    /// `decode`, `contrast`, `modulation`, `margin`, `unused_correction`, `axial`, `grid` or
    /// `fixed_patterns`.
    pub name: String,
    /// As the standard calls it.
    pub title: String,
    /// Measured value with its unit.
    pub value: String,
    /// 4 best, 0 worst.
    pub grade: u8,
    /// The same as a letter, `A` to `F`.
    pub letter: String,
}
