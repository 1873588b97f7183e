//! Looking ahead: stock month by month, money, two echelons, and the last chance to buy.

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

#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BudgetInput {
    /// Money to spend, cents; none: the whole curve without a choice.
    pub budget_cents: Option<i64>,
    /// `backorders` (places that stand empty, by default) or `missing_cost` (the same weighed by
    /// the cost of a missing unit of each class).
    pub weigh: Option<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BudgetReply {
    /// Service against money, from the stock that is there now, cheapest first.
    pub curve: Vec<BudgetPoint>,
    /// The best that the given money buys.
    pub best: Option<BudgetChoice>,
    /// What the next best purchases one by one come to within the same money.
    pub by_steps: Option<BudgetChoice>,
    /// What lies on the shelves and is on the way.
    pub present: PresentWorth,
    /// Stock that nothing wants.
    pub dead: Vec<DeadStock>,
    /// Models left out, and why.
    pub left_out: Vec<LeftOut>,
    pub message: String,
}

/// A point of the curve: after this purchase.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BudgetPoint {
    pub model: String,
    pub model_title: String,
    pub storeroom: String,
    pub pieces: u32,
    pub price_cents: i64,
    /// Money spent in all.
    pub spent_cents: i64,
    /// Places that stand empty on average, in all.
    pub backorders: f64,
    /// Share of places with a working unit.
    pub availability: f64,
    /// Probability that nothing at all is missing.
    pub nothing_missing: f64,
    /// Backorders saved for each 1,000 of money.
    pub gain: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BudgetChoice {
    pub spent_cents: i64,
    pub backorders: f64,
    pub availability: f64,
    /// What places without a unit cost, cents an hour on average.
    pub missing_cents_h: f64,
    /// No choice within the money has a smaller figure of what is weighed by.
    pub bound: f64,
    /// Nothing better exists.
    pub proved: bool,
    /// The next best purchases one by one end exactly at this money.
    pub at_vertex: bool,
    pub purchases: Vec<BudgetPurchase>,
    pub sum: Vec<SumLine>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BudgetPurchase {
    pub model: String,
    pub model_title: String,
    pub storeroom: String,
    pub pieces: u32,
    pub cost_cents: i64,
    pub backorders_before: f64,
    pub backorders_after: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PresentWorth {
    /// Price of all usable stock.
    pub stock_cents: i64,
    pub backorders: f64,
    pub availability: f64,
    /// What would be owed without any stock.
    pub backorders_without: f64,
    /// The least money that would give as few backorders, were everything bought anew.
    pub same_for_cents: Option<i64>,
    /// Price of pieces that random demand is all but certain never to reach.
    pub idle_cents: i64,
    /// Price of what is above its level and not wanted within `dead_after_y`.
    pub dead_cents: i64,
    pub sum: Vec<SumLine>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DeadStock {
    pub model: String,
    pub model_title: String,
    pub storeroom: String,
    pub pieces: u32,
    pub value_cents: Option<i64>,
    /// Last demand for it; none: never.
    pub last_wanted_on: Option<NaiveDate>,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LeftOut {
    pub model: String,
    pub message: String,
}

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
