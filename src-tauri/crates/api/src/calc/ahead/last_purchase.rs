use super::{Asking, Coming, arrivals};
use crate::calc::Calc;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

/// Last purchase before a maker takes no more orders, for a population that shrinks, gives units
/// back and fails at an uncertain rate (newsvendor; Fortuin 1980, Int. J. Prod. Res. 18:355).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct LastPurchaseAhead {
    /// Days after which no piece is wanted.
    horizon_d: f64,
    /// Days until the purchase is there (0).
    #[serde(default)]
    arrives_d: f64,
    /// Pieces on the shelf.
    stock: u64,
    #[serde(default)]
    on_order: Vec<Coming>,
    #[serde(default)]
    harvest: Vec<Coming>,
    asking: Asking,
    /// Share of failed units that come back repaired (0).
    #[serde(default)]
    repair_yield: f64,
    /// Cost of a piece left over, in any money, paid today.
    left_cost: f64,
    /// Cost of a piece missing, paid when it is.
    short_cost: f64,
    /// Share of its worth that later money loses in a year (0).
    #[serde(default)]
    yearly_discount: f64,
}

#[derive(Serialize, JsonSchema)]
pub(in crate::calc) struct Purchase {
    /// Pieces to buy at the least cost.
    bought: u64,
    /// Expected cost of that.
    cost: f64,
    curve: Vec<Point>,
    /// Pieces asked for until the horizon, on average.
    demand_mean: f64,
    /// Standard deviation of that number.
    demand_deviation: f64,
    /// Days until a piece has been missing with a chance of one half when nothing is bought; null
    /// where that is not reached.
    cover_nothing_bought_d: Option<f64>,
    /// The same with the best purchase.
    cover_bought_d: Option<f64>,
    /// Chance that the stock runs out before the purchase arrives.
    out_before_arrival: f64,
}

#[derive(Serialize, JsonSchema)]
struct Point {
    /// Pieces bought.
    bought: u64,
    /// Expected cost.
    cost: f64,
    /// Pieces left over, on average.
    left: f64,
    /// Pieces missing, on average.
    short: f64,
    /// Chance that a piece is missing.
    run_out: f64,
}

impl Calc for LastPurchaseAhead {
    const NAME: &'static str = "last-purchase-declining";
    type Reply = Purchase;

    fn reckon(self) -> Result<Purchase, String> {
        if self.asking.month.is_some() || self.asking.no_fault_found.is_some() {
            return Err("a last purchase takes neither month nor no_fault_found: leave them out, \
                        since units without a fault come back"
                .to_owned());
        }
        let asked = self.asking.asked()?;
        let question = domain::LastBuyQuestion {
            arrives_d: self.arrives_d,
            horizon_d: self.horizon_d,
            stock: self.stock,
            on_order: &arrivals(&self.on_order),
            harvest: &arrivals(&self.harvest),
            in_repair: &[],
            failing: asked.failing,
            population: &asked.population,
            planned: &asked.planned,
            repair_yield: self.repair_yield,
            costs: domain::LastBuyCosts {
                left: self.left_cost,
                short: self.short_cost,
                discount_a_y: self.yearly_discount,
            },
            limits: &domain::BuyingLimits::none(),
        };
        let buy = domain::last_buy(&question).map_err(|no| no.to_string())?;
        let point = |it: &domain::BuyPoint| Point {
            bought: it.bought,
            cost: it.cost,
            left: it.left,
            short: it.short,
            run_out: it.run_out,
        };
        Ok(Purchase {
            bought: buy.bought,
            cost: buy.cost,
            curve: buy.curve.iter().map(point).collect(),
            demand_mean: buy.demand_mean,
            demand_deviation: buy.demand_deviation,
            cover_nothing_bought_d: buy.nothing_bought.day_at(0.5),
            cover_bought_d: buy.with_bought.day_at(0.5),
            out_before_arrival: buy.out_before_arrival,
        })
    }
}
