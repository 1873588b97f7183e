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

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ProposeInput {
    /// What the codes of one plate say, each as a scanner gives it.
    pub texts: Vec<String>,
}

/// What a maker's plate says of the thing that carries it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlateReading {
    /// For a person to compare with the plate; nothing is recorded.
    pub proposals: Vec<PlateProposal>,
    /// Codes that follow no known form.
    pub unread: Vec<UnreadCode>,
    /// Labels of ours beside the plate.
    pub labels: Vec<PlateLabel>,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlateProposal {
    /// Part number of the catalogue.
    pub model: Option<String>,
    pub model_title: Option<String>,
    /// The model is counted in lots: it has a lot, no serial number.
    pub counted: bool,
    /// Part as the plate writes it.
    pub part: Option<String>,
    pub serial: Option<String>,
    pub revision: Option<String>,
    /// The catalogue does not list this revision.
    pub unlisted_revision: bool,
    pub lot: Option<String>,
    pub made_on: Option<chrono::NaiveDate>,
    /// The codes that say so.
    pub codes: Vec<String>,
    /// Label of the unit, where this one is in the register already.
    pub already: Option<String>,
    /// How it was understood, or what is missing.
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct UnreadCode {
    pub text: String,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlateLabel {
    pub label: String,
    pub label_human: String,
    /// It can be used for what is registered now.
    pub free: bool,
    pub message: String,
}
