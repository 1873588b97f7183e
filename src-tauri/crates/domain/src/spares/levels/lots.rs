use super::{
    BuyingLimits, HOURS_A_YEAR, LevelRefusal, LimitedBy, Measure, PriceRefusal, Prices, Service,
    Target, ToCover,
};
use crate::spares::LARGEST_LOT;
use std::fmt;

/// The service of every reorder point and quantity, each in a few steps whatever the quantity.
///
/// The position is uniform on r + 1 .. r + Q, so each figure is the mean of a run of those of a base
/// stock, and such a run is the difference of two sums that are kept.
///
/// Source: second-order loss function, Zipkin, Foundations of Inventory Management, section 6.2,
/// from memory.
pub struct Lots<'a> {
    cover: &'a ToCover,
    /// E[X].
    mean: f64,
    /// Sum of what is owed at this position and each one above.
    owed: Vec<f64>,
    /// Sum over this number and each above of the probability that a piece finds more before it.
    found: Vec<f64>,
}

impl<'a> Lots<'a> {
    /// Takes what the lead time leaves to cover.
    pub fn of(cover: &'a ToCover) -> Self {
        let length = cover.random().weights().len() as u64;
        let found = cover.found();
        let ends = found.weights().len() as u64;
        Self {
            cover,
            mean: cover.owed_at(0),
            owed: sums_from((0..length).map(|position| cover.owed_at(position as i64))),
            found: sums_from((0..ends).map(|k| found.above(k))),
        }
    }

    /// The service of lots of `quantity` (taken as 1 where it is 0), ordered at `point` or below.
    pub fn service(&self, point: i64, quantity: u64) -> Service {
        let quantity = quantity.clamp(1, LARGEST_LOT) as i64;
        let point = point.clamp(-FARTHEST, FARTHEST);
        let share = 1.0 / quantity as f64;
        let (below, above) = (point + 1, point + quantity + 1);
        let more = (self.cover.owed_at(below) - self.cover.owed_at(above)) * share;
        let none_left = (self.found_from(point) - self.found_from(point + quantity)) * share;
        let backorders = ((self.owed_from(below) - self.owed_from(above)) * share).max(0.0);
        let position = point as f64 + (quantity as f64 + 1.0) / 2.0;
        Service {
            no_stock_out: (1.0 - more).clamp(0.0, 1.0),
            fill_rate: if self.cover.asked() { (1.0 - none_left).clamp(0.0, 1.0) } else { 1.0 },
            backorders,
            down_time_h: backorders * HOURS_A_YEAR,
            on_hand: (position - self.mean + backorders).max(0.0),
        }
    }

    /// The lowest point at which lots of this quantity meet a target; -Q at least, which is a level
    /// of none.
    pub fn point_for(&self, quantity: u64, target: Target) -> i64 {
        // With the level of a base stock as the lowest position each position meets the target.
        let enough = self.cover.least_for(target) as i64 - 1;
        self.lowest(quantity, enough, |point| target.met_by(&self.service(point, quantity)))
    }

    /// The point at which a shelf that is filled by lots is kept, as a clerk lives it: lots are
    /// ordered at 0 at the latest, though waiting until places are owed might meet a target on
    /// average (a decision, no source), and no stock-out is that of a lead time which begins at the
    /// point. Of single pieces it is one below their level.
    fn kept_point(&self, quantity: u64, target: Target) -> i64 {
        match target.measure() {
            _ if quantity <= 1 => self.point_for(1, target),
            Measure::NoStockOut => self.cover.least_for(target) as i64,
            _ => self.point_for(quantity, target).max(0),
        }
    }

    /// The point at which holding and owing cost least for lots of this quantity.
    fn cheapest_point(&self, quantity: u64, holding: f64, owing: f64) -> i64 {
        let cost = |position: i64| {
            let owed = self.cover.owed_at(position);
            holding * (position as f64 - self.mean + owed) + owing * owed
        };
        // The cost of a position is convex: the run moves up as long as it gains by it.
        let gained = |point: i64| cost(point + quantity as i64 + 1) >= cost(point + 1);
        self.lowest(quantity, self.owed.len() as i64 + 1, gained)
    }

    /// The lowest point that is good enough, all above it being so and `enough` too. The level is
    /// never below zero: nobody plans to owe before anything is ordered.
    fn lowest(&self, quantity: u64, enough: i64, good: impl Fn(i64) -> bool) -> i64 {
        let (mut low, mut high) = (-(quantity.min(LARGEST_LOT) as i64) - 1, enough);
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if good(middle) { high = middle } else { low = middle }
        }
        high
    }

    fn owed_from(&self, position: i64) -> f64 {
        match usize::try_from(position) {
            Ok(position) => self.owed.get(position).copied().unwrap_or(0.0),
            Err(_) => {
                let below = -position as f64;
                self.owed[0] + below * self.mean + below * (below + 1.0) / 2.0
            }
        }
    }

    fn found_from(&self, position: i64) -> f64 {
        match usize::try_from(position) {
            Ok(position) => self.found.get(position).copied().unwrap_or(0.0),
            Err(_) => self.found[0] - position as f64,
        }
    }
}

/// No position is farther from zero.
const FARTHEST: i64 = 1 << 40;

/// For each, the sum of itself and all after it.
fn sums_from(figures: impl DoubleEndedIterator<Item = f64>) -> Vec<f64> {
    let mut sums: Vec<f64> = figures
        .rev()
        .scan(0.0, |sum, figure| {
            *sum += figure;
            Some(*sum)
        })
        .collect();
    sums.reverse();
    sums
}

/// What lots are chosen by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LotAim {
    /// The least cost of orders, shelf and purchase that meets a target, all measures being means
    /// over time.
    Meet(Target),
    /// The same where lots are ordered at 0 at the latest, and no stock-out is that of a lead time
    /// which begins at the point.
    Keep(Target),
    /// The least cost, a place without a piece costing this many cents an hour.
    MissingCents { an_hour: f64 },
}

/// What ordering and holding cost.
#[derive(Debug, Clone, PartialEq)]
pub struct LotTerms {
    pub order_cost_cents: f64,
    /// Of the price, for a piece on the shelf a year.
    pub holding_pct_a: f64,
    pub prices: Prices,
    pub limits: BuyingLimits,
}

/// Lots that cost least.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BestLots {
    pub point: i64,
    pub quantity: u64,
    /// Of each piece in such an order.
    pub price_cents: i64,
    /// Purchase, orders, shelf and, where missing pieces cost, those, a year.
    pub cost_cents_a_y: f64,
    pub service: Service,
    pub orders_a_y: f64,
}

/// Returns the reorder point and quantity that cost least a year, exactly, among whole packs from
/// the least order up to what is used before it expires, with prices by quantity.
///
/// `cover` is what the lead time leaves to cover, `pieces_a_y` the demand a year, one piece at a
/// time. Every quantity is looked at until the shelf alone would cost more than the best.
///
/// Fails with [`PriceRefusal::Figure`] unless costs and demand are finite and above zero, and with
/// [`PriceRefusal::NoLot`] where the least order is more than may be bought or than 100,000 pieces.
///
/// Source: cost of (r, Q) by uniform positions as in Federgruen and Zheng 1992, Operations Research
/// 40(4):808; prices and limits by looking at each quantity.
pub fn best_lots(
    cover: &ToCover,
    pieces_a_y: f64,
    terms: &LotTerms,
    aim: LotAim,
) -> Result<BestLots, LevelRefusal> {
    let LotTerms { order_cost_cents, holding_pct_a, prices, limits } = terms;
    let missing = if let LotAim::MissingCents { an_hour } = aim { an_hour } else { 1.0 };
    for (what, value) in [
        ("cost of an order in cents", *order_cost_cents),
        ("cost of holding in % of the price a year", *holding_pct_a),
        ("demand a year", pieces_a_y),
        ("cost of a place without a piece in cents an hour", missing),
    ] {
        if !(value > 0.0 && value.is_finite()) {
            return Err(PriceRefusal::Figure { what, value, wanted: "above zero" }.into());
        }
    }
    let lots = Lots::of(cover);
    let tried = |quantity: u64| {
        let price_cents = prices.at(quantity);
        let holding = holding_pct_a / 100.0 * price_cents as f64;
        let owing = match aim {
            LotAim::MissingCents { an_hour } => an_hour * HOURS_A_YEAR,
            LotAim::Meet(_) | LotAim::Keep(_) => 0.0,
        };
        let point = match aim {
            LotAim::Meet(target) => lots.point_for(quantity, target),
            LotAim::Keep(target) => lots.kept_point(quantity, target),
            LotAim::MissingCents { .. } => lots.cheapest_point(quantity, holding, owing),
        };
        let service = lots.service(point, quantity);
        let orders_a_y = pieces_a_y / quantity as f64;
        let shelf = holding * service.on_hand;
        let cost_cents_a_y = price_cents as f64 * pieces_a_y
            + order_cost_cents * orders_a_y
            + shelf
            + owing * service.backorders;
        BestLots { point, quantity, price_cents, cost_cents_a_y, service, orders_a_y }
    };
    let cheapest_cents = prices.at(u64::MAX) as f64;
    let (least, most) = limits.lots_between(LARGEST_LOT);
    let mut best: Option<BestLots> = None;
    for quantity in (least..=most).step_by(limits.pack()) {
        let next = tried(quantity);
        if best.is_none_or(|best| next.cost_cents_a_y < best.cost_cents_a_y) {
            best = Some(next);
        }
        // What is on the shelf grows with the lots, but for the point, which is a whole number.
        let shelf = holding_pct_a / 100.0 * cheapest_cents * (next.service.on_hand - 1.0);
        let floor = cheapest_cents * pieces_a_y + shelf;
        if best.is_some_and(|best| floor > best.cost_cents_a_y) {
            break;
        }
    }
    best.ok_or(PriceRefusal::NoLot { least, most }.into())
}

/// What makes the lot another one than would cost least without it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LotBound {
    pub by: LimitedBy,
    /// The lot that would cost least without it.
    pub without: u64,
}

impl fmt::Display for LotBound {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.by {
            LimitedBy::PriceBreak { from, price_cents } => {
                let (whole, rest) = (price_cents / 100, price_cents % 100);
                write!(to, "since from {from} pieces on each costs {whole}.{rest:02}")?;
            }
            by => write!(to, "{by}")?,
        }
        write!(to, " ({} would cost least otherwise)", self.without)
    }
}

/// Returns which limits and price breaks make the lot what it is: those without which another one
/// would cost least, each left out alone. The arguments as for [`best_lots`].
///
/// Fails as [`best_lots`] does.
pub fn lot_bounds(
    cover: &ToCover,
    pieces_a_y: f64,
    terms: &LotTerms,
    aim: LotAim,
) -> Result<Vec<LotBound>, LevelRefusal> {
    let best = best_lots(cover, pieces_a_y, terms, aim)?;
    let mut bounds = Vec::new();
    for (by, limits) in terms.limits.each_left_out() {
        let without = best_lots(cover, pieces_a_y, &LotTerms { limits, ..terms.clone() }, aim)?;
        bounds.push(LotBound { by, without: without.quantity });
    }
    // Of the price breaks only that which the lot reaches can have drawn it there.
    let reached = terms.prices.breaks().iter().skip(1).rev().find(|it| it.from <= best.quantity);
    if let Some(reached) = reached {
        let prices = terms.prices.without_break(reached.from);
        let without = best_lots(cover, pieces_a_y, &LotTerms { prices, ..terms.clone() }, aim)?;
        let by = LimitedBy::PriceBreak { from: reached.from, price_cents: reached.price_cents };
        bounds.push(LotBound { by, without: without.quantity });
    }
    bounds.retain(|bound| match bound.by {
        // A lower price makes lots larger anyway, since a piece costs less to hold.
        LimitedBy::PriceBreak { from, .. } => bound.without < from,
        _ => bound.without != best.quantity,
    });
    Ok(bounds)
}
