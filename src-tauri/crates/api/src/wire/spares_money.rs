//! Money: what it buys over all models, and what the present stock is worth.

use super::spares::SumLine;
use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

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
    /// Held and on order now, free stand-ins that count among them, without what counts for others.
    pub held: u32,
    /// Free pieces of other models that count for this one.
    pub stand_ins: u32,
    /// Its own free pieces that count for other models.
    pub lent: u32,
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
    /// Above what is kept, and not asked for.
    pub pieces: u32,
    /// In all storerooms.
    pub usable: u32,
    /// The levels of all storerooms together.
    pub level: u32,
    /// Kept besides: reserved, planned, or for the places of other models.
    pub wanted: u32,
    pub value_cents: Option<i64>,
    /// Last demand for it; none: never.
    pub last_wanted_on: Option<NaiveDate>,
    pub message: String,
    pub sum: Vec<SumLine>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LeftOut {
    pub model: String,
    pub message: String,
}
