//! A central storeroom and those that it fills.

use super::spares::SumLine;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EchelonsInput {
    /// Part number.
    pub model: String,
    /// Pieces to split in the best way; what is there in all where nothing is given.
    pub pieces: Option<u32>,
}

/// A central storeroom and those that it fills.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EchelonsReply {
    pub model: String,
    pub model_title: String,
    pub central: EchelonCentral,
    pub storerooms: Vec<EchelonStoreroom>,
    /// `exact`, `vari_metric` or `metric`: the reckoning of every figure that is shown. Exact where
    /// its tables are affordable, else VARI-METRIC.
    pub reckoning: String,
    /// Storerooms lend to each other.
    pub lateral: bool,
    /// Owed with the stock as it is where they lend; none where they do not.
    pub backorders_with_loans: Option<f64>,
    pub total_now: EchelonTotal,
    pub total_best: EchelonTotal,
    /// With the stock as it is, by each reckoning; without the exact one where its tables would be
    /// too large.
    pub by_reckoning: Vec<EchelonReckoning>,
    pub sum: Vec<SumLine>,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EchelonCentral {
    pub storeroom: String,
    /// Pieces a year that are wanted of it, by the others and by the cabinets that it serves.
    pub demand_a: f64,
    /// Of these, by the cabinets that it serves itself.
    pub own_demand_a: f64,
    pub lead_time_d: f64,
    pub stock: u32,
    /// In the best split of the pieces that were asked about.
    pub best: u32,
    /// Its level in the order list.
    pub level: u32,
    pub backorders: f64,
    pub backorders_best: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EchelonStoreroom {
    pub storeroom: String,
    pub areas: Vec<String>,
    pub installed: u32,
    pub demand_a: f64,
    pub resupply_d: f64,
    /// Days until a piece comes, the central storeroom's shortage counted.
    pub effective_d: f64,
    pub stock: u32,
    pub best: u32,
    pub level: u32,
    pub no_stock_out: f64,
    pub fill_rate: f64,
    pub backorders: f64,
    pub backorders_best: f64,
    pub down_time_h: f64,
    pub down_time_best_h: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EchelonTotal {
    pub pieces: u32,
    pub backorders: f64,
    pub down_time_h: f64,
    pub availability: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EchelonReckoning {
    pub reckoning: String,
    pub backorders: f64,
    pub message: String,
}
