use super::Key;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ModelLine {
    pub part_no: String,
    pub title: String,
    pub kind: String,
    pub base: Option<String>,
    pub key: Option<Key>,
    pub width_mm: f64,
    pub channels: u32,
    pub current_24v_ma: Option<f64>,
    pub heat_w: Option<f64>,
    pub intrinsically_safe: bool,
    /// The battery that it takes.
    pub battery: Option<String>,
    /// Failures in 1e9 h.
    pub failure_rate_fit: Option<f64>,
    pub lead_time_d: Option<u32>,
    pub price_cents: Option<i64>,
    /// `active`, `discontinued` or `recalled`.
    pub lifecycle: String,
    /// Models that may stand in for this one.
    pub substitutes: Vec<String>,
    /// Counted in lots rather than by serial number.
    pub counted: bool,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ModelInput {
    /// Part number.
    pub model: String,
}

/// A model with where its units are.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ModelCard {
    pub model: ModelLine,
    pub standing: u32,
    /// Units that are in no slot.
    pub spares: Vec<super::unit::UnitLine>,
    pub lots: Vec<super::stock::LotLine>,
}
