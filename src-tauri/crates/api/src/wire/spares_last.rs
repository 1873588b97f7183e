//! The last chance to buy.

use super::spares::SumLine;
use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LastChanceInput {
    /// Part number.
    pub model: String,
    /// Last day on which the maker takes orders; the catalogue's where nothing is given.
    pub last_order_on: Option<NaiveDate>,
    /// Day until which the units must be kept running; ten years from the last order by default.
    pub until: Option<NaiveDate>,
    /// Cost of a piece that is missing; four times its price where nothing is given.
    pub too_few_cents: Option<i64>,
    /// Cost of a piece that is left over; its price where nothing is given.
    pub too_many_cents: Option<i64>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastChanceReply {
    pub model: String,
    pub model_title: String,
    pub last_order_on: NaiveDate,
    pub until: NaiveDate,
    /// Day after which what is bought is past its shelf date, where that is before `until`: the
    /// figures look no farther, since no purchase helps later.
    pub shelf_until: Option<NaiveDate>,
    /// Pieces to buy, of the numbers that may be bought.
    pub buy: u32,
    /// The same if any number could be bought.
    pub buy_unlimited: u32,
    pub cost_cents: Option<i64>,
    pub too_few_cents: i64,
    pub too_many_cents: i64,
    /// Chance of being enough that these two costs ask for.
    pub wanted_chance: f64,
    /// Usable and not kept for anything.
    pub on_hand: u32,
    pub on_order: u32,
    /// Units that planned removals will set free in time.
    pub harvested: u32,
    /// Units back from the repair that they are in now, on average.
    pub repaired: f64,
    /// What comes without a purchase, by day.
    pub coming: Vec<LastChanceComing>,
    /// Day on which what is ordered today is there.
    pub arrives_on: NaiveDate,
    /// Chance that the shelf is empty before that day, which no purchase helps.
    pub out_before_arrival: f64,
    /// Pieces asked for. A unit without a fault comes back and asks for nothing, and so does a
    /// failed one that is repaired.
    pub demand_mean: f64,
    /// It is below these with a chance of 10, 50 and 90 %.
    pub demand_p10: u32,
    pub demand_p50: u32,
    pub demand_p90: u32,
    /// Chance that what is bought is enough.
    pub enough: f64,
    /// Day on which cover runs out if nothing is bought, as likely as not, and with a chance of
    /// 1 in 10; none where it lasts.
    pub runs_out_on: Option<NaiveDate>,
    pub runs_out_early_on: Option<NaiveDate>,
    /// The same if `buy` is bought.
    pub then_runs_out_on: Option<NaiveDate>,
    /// What each quantity costs, around the best.
    pub by_quantity: Vec<LastChanceCost>,
    /// Year by year: units installed, demand, stock.
    pub years: Vec<LastChanceYear>,
    /// What bounds the purchase, and what is taken or not known, a sentence each.
    pub notes: Vec<String>,
    pub sum: Vec<SumLine>,
    pub message: String,
}

/// Pieces that come without a purchase.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastChanceComing {
    pub on: NaiveDate,
    pub pieces: u32,
    /// `order`, `removal` or `repair`.
    pub from: String,
    /// Chance of each piece.
    pub chance: f64,
    /// Number of the order, reason of the change, or how the day is known.
    pub what: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastChanceCost {
    pub buy: u32,
    /// Pieces missing until the end, and left over then, on average.
    pub short: f64,
    pub left: f64,
    pub too_few_cents: i64,
    pub too_many_cents: i64,
    pub total_cents: i64,
    pub enough: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastChanceYear {
    /// Last day.
    pub until: NaiveDate,
    pub installed: u32,
    /// Asked for within the year.
    pub demand: f64,
    /// Come without a purchase by then: set free, and in all.
    pub harvested: u32,
    pub come: f64,
    /// Stock less what is owed at the end, on average, without and with the purchase.
    pub without: f64,
    pub with: f64,
    /// Chance that something was owed by then, without and with the purchase.
    pub out_without: f64,
    pub out_with: f64,
}
