use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SparesInput {
    /// Only what should be ordered now.
    #[serde(default)]
    pub to_order: bool,
    /// Only this model.
    pub model: Option<String>,
}

/// What to hold of a model in a storeroom.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpareLine {
    pub model: String,
    pub model_title: String,
    pub storeroom: String,
    /// Units in slots that this storeroom serves.
    pub installed: u32,
    pub failure_rate_fit: Option<f64>,
    pub lead_time_d: Option<u32>,
    /// Expected failures in the lead time.
    pub expected_failures: f64,
    /// Planned battery changes in the lead time, pieces.
    pub planned: u32,
    /// Usable today, but past their shelf date before they are wanted: not counted as stock.
    pub too_old: u32,
    /// Planned battery changes of the next year, by day.
    pub changes: Vec<PlannedDemand>,
    /// Wanted probability of no stock-out.
    pub protection: f64,
    /// Smallest stock with at least that probability, planned demand added.
    pub to_hold: u32,
    /// The probability that this stock gives.
    pub achieved: f64,
    /// Usable now.
    pub on_hand: u32,
    /// Not usable: expired, quarantined, failed, suspect.
    pub not_usable: u32,
    pub on_order: u32,
    pub order_now: u32,
    pub cost_cents: Option<i64>,
    /// Why, in a sentence.
    pub reason: String,
}

/// Pieces that a planned change takes.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlannedDemand {
    pub on: NaiveDate,
    pub pieces: u32,
    /// A visit is agreed for that day; else it is the day by which the battery is due.
    pub agreed: bool,
}
