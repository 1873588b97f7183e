//! Stock month by month.

use super::spares::SumLine;
use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ProjectionInput {
    /// Part number.
    pub model: String,
    /// The storeroom that serves most of it where nothing is given.
    pub storeroom: Option<String>,
    /// How far to look, 1 to 120 (24).
    pub months: Option<u32>,
    /// Another case, shown beside the present one.
    pub what_if: Option<WhatIf>,
}

#[derive(Debug, Clone, Default, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WhatIf {
    /// Times the lead time, 0.1 to 10.
    pub lead_time_factor: Option<f64>,
    /// Nothing can be ordered any more.
    pub supplier_lost: Option<bool>,
    /// Cabinets so many K warmer, -40 to 40.
    pub warmer_k: Option<f64>,
    /// So many per cent more units, -100 to 1000.
    pub units_pct: Option<f64>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ProjectionReply {
    pub model: String,
    pub model_title: String,
    pub storeroom: String,
    pub today: NaiveDate,
    pub reorder_at: i64,
    pub order_up_to: u32,
    pub present: ProjectedCase,
    /// The other case, where one was asked for.
    pub what_if: Option<ProjectedCase>,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ProjectedCase {
    pub title: String,
    pub months: Vec<ProjectedMonth>,
    /// Probability of at least one stock-out within all these months.
    pub stock_out_ever: f64,
    /// Largest standard error of these chances, since they are drawn.
    pub error: f64,
    /// End of the first month by which at least one stock-out is as likely as not: `stock_out_by`
    /// reaches one half. It is not the first month that is itself as likely as not to see one. None
    /// within these months.
    pub likely_out: Option<NaiveDate>,
    pub sum: Vec<SumLine>,
    pub message: String,
}

/// Stock at the end of a month, less what is owed: negative where more is owed than lies there.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ProjectedMonth {
    /// Last day.
    pub until: NaiveDate,
    pub mean: f64,
    /// It is below these with a chance of 5, 25, 50, 75 and 95 %.
    pub p05: f64,
    pub p25: f64,
    pub p50: f64,
    pub p75: f64,
    pub p95: f64,
    /// Chance that something is owed at some moment of the month.
    pub stock_out: f64,
    /// Chance that something was owed at some moment until its end.
    pub stock_out_by: f64,
    /// Pieces wanted in the month, on average.
    pub demand: f64,
    /// Known pieces wanted in the month.
    pub planned: u32,
    /// Pieces that arrive from orders that are placed already.
    pub arrives: u32,
    /// Pieces that arrive in all, on average.
    pub arrived: f64,
    /// Pieces ordered by the level in the month, on average.
    pub ordered: f64,
    /// Pieces whose shelf date passes in the month, on average.
    pub expires: f64,
}
