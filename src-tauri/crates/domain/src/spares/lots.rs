use super::Pmf;
use super::base_stock::{expected_backorders, expected_on_hand};
use super::levels::{Lots, ToCover};
use super::poisson::{DemandRefusal, to_hold};

/// Returns the economic order quantity, and its cost in the time that the demand is stated for.
///
/// `order_cost` for each order, `holding_cost` for one piece in that time. Both above zero.
///
/// Source: F. W. Harris 1913; Q = sqrt(2·K·D/h).
pub fn economic_order(order_cost: f64, holding_cost: f64, demand: f64) -> (f64, f64) {
    let quantity = (2.0 * order_cost * demand / holding_cost).sqrt();
    (quantity, order_quantity_cost(order_cost, holding_cost, demand, quantity))
}

/// Returns what it costs to order `quantity` each time, in the time that the demand is stated for.
pub fn order_quantity_cost(order_cost: f64, holding_cost: f64, demand: f64, quantity: f64) -> f64 {
    order_cost * demand / quantity + holding_cost * quantity / 2.0
}

/// Returns the stock for one season of Poisson demand that costs least, with its cost:
/// `left_cost` for each piece left over and `short_cost` for each one missing.
///
/// Fails as [`to_hold`] does.
///
/// Source: newsvendor model, P(X <= S) >= p / (p + h); also the last purchase before a model is
/// discontinued (Fortuin 1980, Int. J. Prod. Res. 18:355).
pub fn single_order(
    mean: f64,
    left_cost: f64,
    short_cost: f64,
) -> Result<(u64, f64), DemandRefusal> {
    let stock = to_hold(mean, short_cost / (short_cost + left_cost))?.stock;
    Ok((stock, single_order_cost(mean, left_cost, short_cost, stock)))
}

/// Returns the expected cost of a given stock for one season of Poisson demand.
pub fn single_order_cost(mean: f64, left_cost: f64, short_cost: f64, stock: u64) -> f64 {
    left_cost * expected_on_hand(mean, stock) + short_cost * expected_backorders(mean, stock)
}

/// Largest quantity that [`reorder`] looks at, pieces.
pub const LARGEST_LOT: u64 = 100_000;

/// When to order and how many, with the service that follows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reorder {
    /// Order when stock, pieces on order and pieces owed come down to this.
    pub point: i64,
    pub quantity: u64,
    /// In the time that the demand is stated for.
    pub cost: f64,
    /// Share of demands served at once.
    pub fill_rate: f64,
    /// Pieces owed, on average.
    pub backorders: f64,
}

/// Costs of ordering, holding and owing, for [`reorder`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LotCosts {
    /// For each order.
    pub order: f64,
    /// For one piece on the shelf in a unit of time.
    pub holding: f64,
    /// For one piece owed in a unit of time.
    pub owing: f64,
}

/// Returns the reorder point and quantity that cost least under Poisson demand, exactly.
///
/// `demand` in a unit of time, `lead_time` in the same unit. All costs above zero; the mean demand
/// in the lead time within [`super::LARGEST_MEAN`]. Fails as [`to_hold`] does, and with
/// [`DemandRefusal::Lot`] where more than [`LARGEST_LOT`] pieces at once would be cheapest.
///
/// Source: as [`reorder_for`].
pub fn reorder(costs: LotCosts, demand: f64, lead_time: f64) -> Result<Reorder, DemandRefusal> {
    let lead = Pmf::poisson(demand * lead_time)?;
    reorder_for(&ToCover::one_by_one(lead).with_asking(demand > 0.0), costs, demand)
}

/// Returns the reorder point and quantity that cost least, exactly, whatever the lead time leaves to
/// cover; `demand` in the unit of time of the costs.
///
/// Fails with [`DemandRefusal::Protection`] unless owing costs more than nothing beside holding, and
/// with [`DemandRefusal::Lot`] where more than [`LARGEST_LOT`] pieces at once would be cheapest.
///
/// Source: Federgruen and Zheng 1992, Operations Research 40(4):808-813; Snyder and Shen,
/// Fundamentals of Supply Chain Theory, 2nd ed., section 5.3.
pub fn reorder_for(
    cover: &ToCover,
    costs: LotCosts,
    demand: f64,
) -> Result<Reorder, DemandRefusal> {
    let ratio = costs.owing / (costs.owing + costs.holding);
    if !(0.0..1.0).contains(&ratio) {
        return Err(DemandRefusal::Protection(ratio));
    }
    let cost_at = |position: i64| position_cost(cover, costs, position);
    let best = cover.random().quantile(ratio) as i64;
    let (mut point, mut quantity) = (best - 1, 1u64);
    let mut sum = costs.order * demand + cost_at(best);
    loop {
        let (below, above) = (cost_at(point), cost_at(point + quantity as i64 + 1));
        let (next, down) = if below <= above { (below, true) } else { (above, false) };
        if next >= sum / quantity as f64 {
            break;
        }
        if quantity >= LARGEST_LOT {
            return Err(DemandRefusal::Lot);
        }
        sum += next;
        quantity += 1;
        point -= i64::from(down);
    }
    let service = Lots::of(cover).service(point, quantity);
    Ok(Reorder {
        point,
        quantity,
        cost: sum / quantity as f64,
        fill_rate: service.fill_rate,
        backorders: service.backorders,
    })
}

/// Returns the cost of any reorder point and quantity, in the unit of time of the demand.
///
/// Fails as [`Pmf::poisson`] does.
pub fn reorder_cost(
    costs: LotCosts,
    demand: f64,
    lead_time: f64,
    point: i64,
    quantity: u64,
) -> Result<f64, DemandRefusal> {
    let lead = Pmf::poisson(demand * lead_time)?;
    let service = Lots::of(&ToCover::one_by_one(lead)).service(point, quantity);
    let orders = costs.order * demand / quantity as f64;
    Ok(orders + costs.owing * service.backorders + costs.holding * service.on_hand)
}

fn position_cost(cover: &ToCover, costs: LotCosts, position: i64) -> f64 {
    let owed = cover.owed_at(position);
    costs.owing * owed + costs.holding * (position as f64 - cover.owed_at(0) + owed)
}
