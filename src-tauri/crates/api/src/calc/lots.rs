use super::{Calc, Entry, above_zero, at_least_zero, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![
        entry::<EconomicOrder>(),
        entry::<SingleOrder>(),
        entry::<LastPurchase>(),
        entry::<ReorderPoint>(),
        entry::<LostDemand>(),
        entry::<RepairLoop>(),
        entry::<BuyingOrder>(),
    ]
}

/// Economic order quantity, sqrt(2·K·D/h) (Harris 1913).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct EconomicOrder {
    /// Cost of one order, in any money.
    order_cost: f64,
    /// Cost of holding one piece in the time that the demand is stated for.
    holding_cost: f64,
    /// Demand in that time, pieces.
    demand: f64,
    /// Quantity to cost in place of the best one.
    quantity: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Lot {
    /// Pieces to order each time.
    quantity: f64,
    /// Cost of ordering and holding in that time.
    cost: f64,
}

impl Calc for EconomicOrder {
    const NAME: &'static str = "economic-order";
    type Reply = Lot;

    fn reckon(self) -> Result<Lot, String> {
        let order_cost = above_zero("order_cost", self.order_cost)?;
        let holding_cost = above_zero("holding_cost", self.holding_cost)?;
        let demand = above_zero("demand", self.demand)?;
        if let Some(quantity) = self.quantity {
            let quantity = above_zero("quantity", quantity)?;
            let cost = domain::order_quantity_cost(order_cost, holding_cost, demand, quantity);
            return Ok(Lot { quantity, cost });
        }
        let (quantity, cost) = domain::economic_order(order_cost, holding_cost, demand);
        Ok(Lot { quantity, cost })
    }
}

/// Stock for one season of Poisson demand that costs least (newsvendor model).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct SingleOrder {
    /// Mean demand, pieces.
    mean: f64,
    /// Cost of one piece left over.
    left_cost: f64,
    /// Cost of one piece missing.
    short_cost: f64,
    /// Stock to cost in place of the best one, pieces.
    stock: Option<u64>,
}

#[derive(Serialize, JsonSchema)]
struct Season {
    /// Pieces to have.
    stock: u64,
    /// Expected cost.
    cost: f64,
}

impl Calc for SingleOrder {
    const NAME: &'static str = "single-order";
    type Reply = Season;

    fn reckon(self) -> Result<Season, String> {
        let left_cost = above_zero("left_cost", self.left_cost)?;
        let short_cost = above_zero("short_cost", self.short_cost)?;
        let (best, _) =
            domain::single_order(self.mean, left_cost, short_cost).map_err(|e| e.to_string())?;
        let stock = self.stock.unwrap_or(best);
        let cost = domain::single_order_cost(self.mean, left_cost, short_cost, stock);
        Ok(Season { stock, cost })
    }
}

/// What to buy at the last chance before a model is discontinued: Poisson demand of what is still
/// installed in each year, and the newsvendor model (Fortuin 1980).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LastPurchase {
    /// Units still installed in each year to come.
    installed_by_year: Vec<u32>,
    /// Failure rate of one unit.
    failure_rate_per_y: f64,
    /// Cost of one piece left over.
    left_cost: f64,
    /// Cost of one piece missing.
    short_cost: f64,
    /// Wanted probability that the stock lasts, for comparison (0.95).
    protection: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct LastBuy {
    /// Mean demand to the end, pieces.
    mean: f64,
    /// Pieces that cost least.
    stock: u64,
    /// Expected cost of them.
    cost: f64,
    /// Probability that the cheapest stock aims at.
    critical_ratio: f64,
    /// Pieces for the wanted protection.
    stock_for_protection: u64,
}

impl Calc for LastPurchase {
    const NAME: &'static str = "last-purchase";
    type Reply = LastBuy;

    fn reckon(self) -> Result<LastBuy, String> {
        let rate = at_least_zero("failure_rate_per_y", self.failure_rate_per_y)?;
        let left_cost = above_zero("left_cost", self.left_cost)?;
        let short_cost = above_zero("short_cost", self.short_cost)?;
        let mean: f64 =
            self.installed_by_year.iter().map(|installed| f64::from(*installed) * rate).sum();
        let (stock, cost) =
            domain::single_order(mean, left_cost, short_cost).map_err(|e| e.to_string())?;
        let protection = self.protection.unwrap_or(0.95);
        let protected = domain::to_hold(mean, protection).map_err(|e| e.to_string())?;
        Ok(LastBuy {
            mean,
            stock,
            cost,
            critical_ratio: short_cost / (short_cost + left_cost),
            stock_for_protection: protected.stock,
        })
    }
}

/// Reorder point and quantity that cost least under Poisson demand, exactly (Federgruen and Zheng
/// 1992). Order when stock, pieces on order and pieces owed come down to the point.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ReorderPoint {
    /// Cost of one order.
    order_cost: f64,
    /// Cost of one piece on the shelf in a unit of time.
    holding_cost: f64,
    /// Cost of one piece owed in a unit of time.
    owing_cost: f64,
    /// Demand in a unit of time, pieces.
    demand: f64,
    /// Lead time in the same unit.
    lead_time: f64,
    /// Point to cost, together with a quantity, in place of the best ones.
    point: Option<i64>,
    /// Quantity to cost, together with a point.
    quantity: Option<u64>,
}

#[derive(Serialize, JsonSchema)]
struct Reorder {
    /// Reorder point.
    point: i64,
    /// Pieces to order.
    quantity: u64,
    /// Cost in a unit of time.
    cost: f64,
    /// Share of demands served at once; null where point and quantity were given.
    fill_rate: Option<f64>,
    /// Pieces owed, on average; null where point and quantity were given.
    backorders: Option<f64>,
}

impl Calc for ReorderPoint {
    const NAME: &'static str = "reorder-point";
    type Reply = Reorder;

    fn reckon(self) -> Result<Reorder, String> {
        let costs = domain::LotCosts {
            order: above_zero("order_cost", self.order_cost)?,
            holding: above_zero("holding_cost", self.holding_cost)?,
            owing: above_zero("owing_cost", self.owing_cost)?,
        };
        let demand = above_zero("demand", self.demand)?;
        let lead_time = at_least_zero("lead_time", self.lead_time)?;
        match (self.point, self.quantity) {
            (None, None) => {
                let best = domain::reorder(costs, demand, lead_time).map_err(|e| e.to_string())?;
                Ok(Reorder {
                    point: best.point,
                    quantity: best.quantity,
                    cost: best.cost,
                    fill_rate: Some(best.fill_rate),
                    backorders: Some(best.backorders),
                })
            }
            (Some(point), Some(quantity @ 1..=domain::LARGEST_LOT))
                if point.unsigned_abs() < 1 << 40 =>
            {
                let cost = domain::reorder_cost(costs, demand, lead_time, point, quantity)
                    .map_err(|e| e.to_string())?;
                Ok(Reorder { point, quantity, cost, fill_rate: None, backorders: None })
            }
            _ => Err("give point and quantity together or neither; the quantity from 1 to 100000"
                .to_owned()),
        }
    }
}

/// Share of demands that find nothing where each of them is lost or met elsewhere (Erlang's loss
/// formula).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LostDemand {
    /// Demand rate times lead time, pieces.
    load: f64,
    /// Pieces, up to 1000000.
    stock: u32,
}

#[derive(Serialize, JsonSchema)]
struct Lost {
    /// Share of demands, 0 to 1.
    lost_share: f64,
}

impl Calc for LostDemand {
    const NAME: &'static str = "lost-demand";
    type Reply = Lost;

    fn reckon(self) -> Result<Lost, String> {
        let load = at_least_zero("load", self.load)?;
        if self.stock > 1_000_000 {
            return Err(format!("stock is {}: give up to 1000000 pieces", self.stock));
        }
        Ok(Lost { lost_share: domain::lost_share(load, self.stock) })
    }
}

/// How places fare with a few spares beside them and failed units that come back repaired.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct RepairLoop {
    /// Places that need a unit, 1 to 100000.
    places: u32,
    /// Units beside them, up to 100000.
    spares: u32,
    /// Failure rate of a working unit.
    failure_rate_per_h: f64,
    /// Mean time away for repair.
    turn_round_h: f64,
}

#[derive(Serialize, JsonSchema)]
struct Loop {
    /// Probability that every place has a working unit.
    all_working: f64,
    /// Places without one, on average.
    short: f64,
    /// Share of places with one.
    availability: f64,
    /// Units away, on average.
    in_repair: f64,
}

impl Calc for RepairLoop {
    const NAME: &'static str = "repair-loop";
    type Reply = Loop;

    fn reckon(self) -> Result<Loop, String> {
        if !(1..=100_000).contains(&self.places) || self.spares > 100_000 {
            return Err("give 1 to 100000 places and up to 100000 spares".to_owned());
        }
        let rate_per_h = at_least_zero("failure_rate_per_h", self.failure_rate_per_h)?;
        let turn_round_h = at_least_zero("turn_round_h", self.turn_round_h)?;
        let fares = domain::repair_loop(self.places, self.spares, rate_per_h, turn_round_h);
        if !fares.in_repair.is_finite() {
            return Err("the failures are too many to reckon: check rate and turn-round".to_owned());
        }
        Ok(Loop {
            all_working: fares.all_working,
            short: fares.short,
            availability: fares.availability,
            in_repair: fares.in_repair,
        })
    }
}

/// The order in which to buy spares so that each piece saves the most backorders for its money
/// (marginal analysis, Sherbrooke 2004).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BuyingOrder {
    models: Vec<Candidate>,
    /// Pieces to buy in all, up to 10000.
    steps: usize,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Candidate {
    /// Pieces on their way, on average.
    mean: f64,
    /// Price of one piece.
    price: f64,
}

#[derive(Serialize, JsonSchema)]
struct Purchases {
    purchases: Vec<Purchase>,
}

#[derive(Serialize, JsonSchema)]
struct Purchase {
    /// Model of which one more is bought, counted from 0.
    model: usize,
    /// Backorders saved for each unit of money.
    gain: f64,
    /// Money spent so far.
    spent: f64,
    /// Pieces owed of all models, on average.
    backorders: f64,
}

impl Calc for BuyingOrder {
    const NAME: &'static str = "buying-order";
    type Reply = Purchases;

    fn reckon(self) -> Result<Purchases, String> {
        if self.steps > 10_000 {
            return Err(format!("steps is {}: give up to 10000 pieces", self.steps));
        }
        let mut candidates = Vec::with_capacity(self.models.len());
        for model in &self.models {
            let mean = super::spares::mean_demand(model.mean)?;
            candidates.push(domain::Candidate { mean, price: above_zero("price", model.price)? });
        }
        let purchases = domain::buying_order(&candidates, self.steps)
            .into_iter()
            .map(|bought| Purchase {
                model: bought.candidate,
                gain: bought.gain,
                spent: bought.spent,
                backorders: bought.backorders,
            })
            .collect();
        Ok(Purchases { purchases })
    }
}
