use super::levels::{Measure, Service, flow, wanted};
use super::{Calc, Entry, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<CheapestLots>(), entry::<LotAtBreaks>(), entry::<OrderWithinLimits>()]
}

/// Reorder point and quantity that cost least a year with whole packs, a least order, shelf life and
/// prices by quantity: by what a place without a piece costs, or for a wanted service. Exact.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct CheapestLots {
    /// Demand a year of 365 days, pieces.
    demand_per_y: f64,
    /// Time until what is ordered is there; zero is allowed.
    lead_time_d: f64,
    /// Shape of the gamma distribution of an uncertain rate: negative-binomial demand.
    rate_shape: Option<f64>,
    /// Cost of one order.
    order_cents: f64,
    /// Cost of holding, of the price a year.
    holding_pct: f64,
    /// Price of one piece.
    price_cents: i64,
    /// Lower prices of larger orders, for all of their pieces.
    breaks: Option<Vec<PriceBreak>>,
    /// Pieces of a pack (1).
    pack_size: Option<u64>,
    /// Least order, pieces (1).
    min_order: Option<u64>,
    /// Time for which a piece keeps. No more are then bought than are used in it with the
    /// probability `used_in_time`.
    shelf_life_d: Option<f64>,
    /// Wanted probability that all of an order is used before it expires (0.9).
    used_in_time: Option<f64>,
    /// Cost of an hour that a place stands empty, in place of a target.
    missing_cents_per_h: Option<f64>,
    /// Wanted measure.
    measure: Option<Measure>,
    /// Wanted probability or share, or the most pieces owed or hours a year.
    target: Option<f64>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct PriceBreak {
    /// Pieces of an order from which the price holds.
    from_pieces: u64,
    /// Price of each of its pieces.
    price_cents: i64,
}

#[derive(Serialize, JsonSchema)]
struct Lots {
    /// Reorder point.
    point: i64,
    /// Pieces of an order.
    quantity: u64,
    /// Price of each piece.
    price_cents: i64,
    /// Purchase, orders, shelf and what is missing.
    cost_cents_per_y: f64,
    #[serde(flatten)]
    service: Service,
    /// Orders in a year.
    orders_per_y: f64,
}

impl CheapestLots {
    fn limits(&self, flow: &domain::Flow) -> Result<domain::BuyingLimits, String> {
        let limits = domain::BuyingLimits::new(self.min_order, self.pack_size)
            .map_err(|no| no.to_string())?;
        let Some(shelf_life_d) = self.shelf_life_d else { return Ok(limits) };
        let shelf_life_d = super::above_zero("shelf_life_d", shelf_life_d)?;
        let used = flow.in_days(shelf_life_d).map_err(|no| no.to_string())?;
        let most = domain::used_before_expiry(&used, 0, self.used_in_time.unwrap_or(0.9));
        Ok(limits.with_shelf_life(most.map_err(|no| no.to_string())?))
    }
}

impl Calc for CheapestLots {
    const NAME: &'static str = "cheapest-lots";
    type Reply = Lots;

    fn reckon(self) -> Result<Lots, String> {
        let flow = flow(self.demand_per_y, self.rate_shape, None)?;
        let terms = domain::LotTerms {
            order_cost_cents: self.order_cents,
            holding_pct_a: self.holding_pct,
            prices: prices(self.price_cents, self.breaks.as_ref())?,
            limits: self.limits(&flow)?,
        };
        let aim = match (self.missing_cents_per_h, self.measure, self.target) {
            (Some(an_hour), None, None) => domain::LotAim::MissingCents { an_hour },
            (None, Some(measure), Some(target)) => domain::LotAim::Meet(wanted(measure, target)?),
            _ => return Err("give missing_cents_per_h, or a measure with its target".to_owned()),
        };
        let ordering = domain::Ordering::new(&flow, self.lead_time_d, domain::Manner::OneForOne)
            .map_err(|no| no.to_string())?;
        let best = domain::best_lots(ordering.cover(), self.demand_per_y, &terms, aim)
            .map_err(|no| no.to_string())?;
        Ok(Lots {
            point: best.point,
            quantity: best.quantity,
            price_cents: best.price_cents,
            cost_cents_per_y: best.cost_cents_a_y,
            service: best.service.into(),
            orders_per_y: best.orders_a_y,
        })
    }
}

/// Quantity to order each time that costs least where larger orders are cheaper by the piece, for
/// steady demand (all-units discounts).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LotAtBreaks {
    /// Demand a year, pieces.
    demand_per_y: f64,
    /// Cost of one order.
    order_cents: f64,
    /// Cost of holding, of the price a year.
    holding_pct: f64,
    /// Price of one piece.
    price_cents: i64,
    /// Lower prices of larger orders, for all of their pieces.
    breaks: Vec<PriceBreak>,
    /// Pieces of a pack (1).
    pack_size: Option<u64>,
    /// Least order, pieces (1).
    min_order: Option<u64>,
}

#[derive(Serialize, JsonSchema)]
struct Lot {
    /// Pieces of an order.
    quantity: u64,
    /// Price of each piece.
    price_cents: i64,
    /// Purchase, orders and shelf.
    cost_cents_per_y: f64,
}

impl Calc for LotAtBreaks {
    const NAME: &'static str = "lot-at-price-breaks";
    type Reply = Lot;

    fn reckon(self) -> Result<Lot, String> {
        let prices = prices(self.price_cents, Some(&self.breaks))?;
        let limits = domain::BuyingLimits::new(self.min_order, self.pack_size)
            .map_err(|no| no.to_string())?;
        let best = domain::lot_at_breaks(
            &prices,
            &limits,
            self.order_cents,
            self.holding_pct,
            self.demand_per_y,
        )
        .map_err(|no| no.to_string())?;
        Ok(Lot {
            quantity: best.quantity,
            price_cents: best.price_cents,
            cost_cents_per_y: best.cost_cents_a_y,
        })
    }
}

fn prices(price_cents: i64, breaks: Option<&Vec<PriceBreak>>) -> Result<domain::Prices, String> {
    let breaks: Vec<domain::PriceBreak> = breaks
        .into_iter()
        .flatten()
        .map(|each| domain::PriceBreak { from: each.from_pieces, price_cents: each.price_cents })
        .collect();
    domain::Prices::new(price_cents, &breaks).map_err(|no| no.to_string())
}

/// What to order now by a level or by lots, within what may be bought, and why.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct OrderWithinLimits {
    /// Pieces on the shelf that may be used.
    usable: u64,
    /// Pieces on order (0).
    on_order: Option<u64>,
    /// Places that wait for a piece (0).
    owed: Option<u64>,
    /// Planned changes in the lead time, pieces (0).
    planned: Option<u64>,
    /// Position at which, or below which, an order is placed.
    point: i64,
    /// Position up to which is ordered; else lots of `quantity`.
    up_to: Option<u64>,
    /// Pieces of a lot.
    quantity: Option<u64>,
    /// Pieces of a pack (1).
    pack_size: Option<u64>,
    /// Least order, pieces (1).
    min_order: Option<u64>,
    /// Pieces that are used before they expire, of those bought now.
    used_in_time: Option<u64>,
    /// Price of one piece.
    price_cents: Option<i64>,
    /// Lower prices of larger orders, for all of their pieces.
    breaks: Option<Vec<PriceBreak>>,
}

#[derive(Serialize, JsonSchema)]
struct Ordered {
    /// Pieces to order.
    order_now: u64,
    /// Why, in a sentence.
    reason: String,
}

impl Calc for OrderWithinLimits {
    const NAME: &'static str = "order-within-limits";
    type Reply = Ordered;

    fn reckon(self) -> Result<Ordered, String> {
        let standing = domain::Standing {
            usable: self.usable,
            on_order: self.on_order.unwrap_or(0),
            owed: self.owed.unwrap_or(0),
            planned: self.planned.unwrap_or(0),
            ..domain::Standing::default()
        };
        let rule = match (self.up_to, self.quantity) {
            (Some(up_to), None) => domain::OrderRule::UpTo { point: self.point, up_to },
            (None, Some(quantity @ 1..)) => domain::OrderRule::Lots { point: self.point, quantity },
            _ => return Err("give up_to, or a quantity of 1 or more".to_owned()),
        };
        let mut limits = domain::BuyingLimits::new(self.min_order, self.pack_size)
            .map_err(|no| no.to_string())?;
        if let Some(price_cents) = self.price_cents {
            limits = limits.with_prices(prices(price_cents, self.breaks.as_ref())?);
        } else if self.breaks.is_some() {
            return Err("breaks need price_cents, the price of one piece".to_owned());
        }
        if let Some(pieces) = self.used_in_time {
            limits = limits.with_shelf_life(pieces);
        }
        let advice = domain::advise(standing, rule, &limits);
        Ok(Ordered { order_now: advice.order_now, reason: advice.reason })
    }
}
