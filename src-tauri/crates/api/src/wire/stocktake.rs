//! A stocktake of one bin.

use chrono::{DateTime, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What was seen in a bin; what is not named does not lie there.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StocktakeInput {
    /// Path or label.
    pub bin: String,
    /// What was counted of each lot that lies there.
    #[serde(default)]
    pub lots: Vec<CountedLot>,
    /// Labels or serial numbers of the units that lie there.
    #[serde(default)]
    pub units: Vec<String>,
    /// A remark for the journal.
    #[serde(default)]
    pub note: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CountedLot {
    /// Label, or the maker's lot code.
    pub lot: String,
    /// Pieces that lie there.
    pub pieces: u32,
}

/// What a stocktake would change, and why the bin may differ; nothing is recorded.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StocktakeLook {
    /// Path.
    pub bin: String,
    /// When it was last counted.
    pub counted_at: Option<DateTime<Utc>>,
    /// Lots and units that are as the register has them.
    pub agreeing: u32,
    pub differences: Vec<StocktakeDifference>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StocktakeDifference {
    pub label: String,
    pub label_human: String,
    /// It is a unit, else a lot.
    pub unit: bool,
    pub model: String,
    pub model_title: String,
    /// Lot code or serial number.
    pub code: String,
    /// Pieces or units in this bin by the register.
    pub register: u32,
    /// Pieces or units that lie there.
    pub counted: u32,
    /// What the journal says that may explain it, the likeliest first.
    pub explained: Vec<String>,
    /// What settling records.
    pub settles: String,
    /// Settling leaves it as it is, until something else is recorded first.
    pub left_open: bool,
}
