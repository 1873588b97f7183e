use crate::spares::Pmf;
use std::fmt;

/// What bounds a purchase of one model.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BuyingLimits {
    min_order: u64,
    pack_size: u64,
    /// Pieces that may be bought now and are used before they expire.
    used_in_time: Option<u64>,
    prices: Option<Prices>,
}

/// What made an order another one than the level asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimitedBy {
    MinOrder(u64),
    PackSize(u64),
    /// Fewer are bought, since only this many are used before they expire.
    ShelfLife(u64),
    /// This many are likely to expire unused, bought all the same to keep the protection.
    Waste(u64),
    /// From this many on the price is so much lower that they cost no more than fewer do.
    PriceBreak {
        from: u64,
        price_cents: i64,
    },
}

/// A price that holds from some pieces on, for all pieces of the order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PriceBreak {
    pub from: u64,
    pub price_cents: i64,
}

/// Prices by the pieces of an order, falling.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Prices {
    /// In rising order of pieces, the first from one piece.
    breaks: Vec<PriceBreak>,
}

/// Why limits or prices make no sense.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PriceRefusal {
    #[error("the price of one piece is {0} cents: give cents above zero")]
    Price(i64),
    #[error(
        "the price break from {0} pieces comes after that from {1}: list the breaks from small \
         orders to large ones, each once, the first from 2 pieces at least"
    )]
    Unsorted(u64, u64),
    #[error(
        "from {from} pieces the price is {price_cents} cents, more than for fewer: a break lowers \
         the price; correct it or leave it out"
    )]
    Rising { from: u64, price_cents: i64 },
    #[error("a pack of 0 pieces cannot be bought: give 1 or more, or leave the pack size out")]
    Pack,
    #[error("the {what} is {value}: give a number {wanted}")]
    Figure { what: &'static str, value: f64, wanted: &'static str },
    #[error(
        "no order is possible: one of {least} pieces at least is asked for and {most} may be bought \
         at most; buy in other packs, or accept that some expire"
    )]
    NoLot { least: u64, most: u64 },
}

impl Prices {
    /// Takes the price of a single piece and the breaks.
    ///
    /// Fails with [`PriceRefusal`] unless prices are above zero, breaks rise in pieces and prices
    /// do not rise with them.
    pub fn new(price_cents: i64, breaks: &[PriceBreak]) -> Result<Self, PriceRefusal> {
        let mut all = vec![PriceBreak { from: 1, price_cents }];
        for next in breaks {
            let last = all[all.len() - 1];
            if next.from <= last.from {
                return Err(PriceRefusal::Unsorted(next.from, last.from));
            }
            if next.price_cents > last.price_cents {
                let PriceBreak { from, price_cents } = *next;
                return Err(PriceRefusal::Rising { from, price_cents });
            }
            all.push(*next);
        }
        match all.iter().find(|each| each.price_cents <= 0) {
            Some(free) => Err(PriceRefusal::Price(free.price_cents)),
            None => Ok(Self { breaks: all }),
        }
    }

    /// Price of each piece of an order, cents.
    pub fn at(&self, pieces: u64) -> i64 {
        let reached = self.breaks.partition_point(|each| each.from <= pieces);
        self.breaks[reached.saturating_sub(1)].price_cents
    }

    /// The breaks in rising order, the first being the price of a single piece.
    pub fn breaks(&self) -> &[PriceBreak] {
        &self.breaks
    }

    /// The same without the break from so many pieces, and those beyond it.
    pub(super) fn without_break(&self, from: u64) -> Self {
        let kept = self.breaks.iter().filter(|each| each.from == 1 || each.from < from);
        Self { breaks: kept.copied().collect() }
    }

    /// Cents for an order.
    fn total(&self, pieces: u64) -> i128 {
        i128::from(self.at(pieces)) * i128::from(pieces)
    }
}

impl BuyingLimits {
    /// Nothing bounds a purchase.
    pub fn none() -> Self {
        Self { min_order: 1, pack_size: 1, used_in_time: None, prices: None }
    }

    /// Takes the least order and the pieces of a pack; absent ones bind nothing.
    ///
    /// Fails with [`PriceRefusal::Pack`] for a pack of 0 pieces.
    pub fn new(min_order: Option<u64>, pack_size: Option<u64>) -> Result<Self, PriceRefusal> {
        match pack_size {
            Some(0) => Err(PriceRefusal::Pack),
            _ => Ok(Self {
                min_order: min_order.unwrap_or(1).max(1),
                pack_size: pack_size.unwrap_or(1),
                ..Self::none()
            }),
        }
    }

    /// Buys no more than `pieces`, as [`used_before_expiry`] finds them.
    pub fn with_shelf_life(self, pieces: u64) -> Self {
        Self { used_in_time: Some(pieces), ..self }
    }

    pub fn with_prices(self, prices: Prices) -> Self {
        Self { prices: Some(prices), ..self }
    }

    /// The order for `wanted` pieces of which `needed` cannot be done without, and what changed it.
    pub(in crate::spares) fn applied(&self, wanted: u64, needed: u64) -> (u64, Vec<LimitedBy>) {
        let mut limited_by = Vec::new();
        let mut order = wanted;
        if order < self.min_order {
            order = self.min_order;
            limited_by.push(LimitedBy::MinOrder(self.min_order));
        }
        if !order.is_multiple_of(self.pack_size) {
            order = self.whole_packs(order);
            limited_by.push(LimitedBy::PackSize(self.pack_size));
        }
        if let Some(reached) = self.break_worth_reaching(order) {
            order = self.whole_packs(reached.from);
            let PriceBreak { from, price_cents } = reached;
            limited_by.push(LimitedBy::PriceBreak { from, price_cents });
        }
        if let Some(most) = self.used_in_time.filter(|most| *most < order) {
            let whole = most - most % self.pack_size;
            let least = self.least_order(needed);
            if whole >= least {
                return (whole, vec![LimitedBy::ShelfLife(most)]);
            }
            order = least;
            limited_by = self.enlarged(needed);
            limited_by.push(LimitedBy::Waste(order - most));
        }
        (order, limited_by)
    }

    /// The smallest and the largest lot that may be bought; none is between where the first is
    /// larger.
    pub(super) fn lots_between(&self, most: u64) -> (u64, u64) {
        let most = most.min(self.used_in_time.unwrap_or(u64::MAX));
        (self.least_order(1), most - most % self.pack_size)
    }

    /// Each of the limits that is there, beside the limits without it.
    pub(super) fn each_left_out(&self) -> Vec<(LimitedBy, Self)> {
        let mut each = Vec::new();
        if self.min_order > 1 {
            each.push((LimitedBy::MinOrder(self.min_order), Self { min_order: 1, ..self.clone() }));
        }
        if self.pack_size > 1 {
            each.push((LimitedBy::PackSize(self.pack_size), Self { pack_size: 1, ..self.clone() }));
        }
        if let Some(most) = self.used_in_time {
            each.push((LimitedBy::ShelfLife(most), Self { used_in_time: None, ..self.clone() }));
        }
        each
    }

    /// The largest order that brings no more than `wanted` pieces, none where there is none, and the
    /// smallest that brings as many. Shelf life is not looked at.
    pub(in crate::spares) fn orders_around(&self, wanted: u64) -> (u64, u64) {
        let below = wanted - wanted % self.pack_size;
        let least = self.least_order(1);
        (if below >= least { below } else { 0 }, self.least_order(wanted))
    }

    pub(super) fn pack(&self) -> usize {
        usize::try_from(self.pack_size).unwrap_or(usize::MAX)
    }

    /// The least order that brings `needed` pieces.
    fn least_order(&self, needed: u64) -> u64 {
        self.whole_packs(needed.max(self.min_order))
    }

    fn enlarged(&self, needed: u64) -> Vec<LimitedBy> {
        let least = needed.max(self.min_order);
        let by_minimum = (least > needed).then_some(LimitedBy::MinOrder(self.min_order));
        let by_pack =
            (!least.is_multiple_of(self.pack_size)).then_some(LimitedBy::PackSize(self.pack_size));
        by_minimum.into_iter().chain(by_pack).collect()
    }

    fn whole_packs(&self, pieces: u64) -> u64 {
        pieces.div_ceil(self.pack_size).saturating_mul(self.pack_size)
    }

    /// The farthest break at which the whole order costs no more money than this one.
    fn break_worth_reaching(&self, order: u64) -> Option<PriceBreak> {
        let prices = self.prices.as_ref()?;
        let beyond = prices.breaks.iter().rev().take_while(|each| each.from > order);
        let mut worth =
            beyond.filter(|each| prices.total(self.whole_packs(each.from)) <= prices.total(order));
        worth.next().copied()
    }
}

impl fmt::Display for LimitedBy {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::MinOrder(least) => write!(to, "since no order is taken for fewer than {least}"),
            Self::PackSize(pack) => write!(to, "in packs of {pack}"),
            Self::ShelfLife(most) => {
                write!(to, "since no more than {most} are used before their shelf date")
            }
            Self::Waste(pieces) => {
                write!(to, "of which {pieces} may pass their shelf date unused")
            }
            Self::PriceBreak { from, price_cents } => {
                let (whole, rest) = (price_cents / 100, price_cents % 100);
                write!(to, "since from {from} pieces at {whole}.{rest:02} each they cost no more")
            }
        }
    }
}

/// Returns how many pieces may be bought now so that all of them are used before they expire with
/// probability `sureness` at least.
///
/// `used` is the demand of the shelf life that is left when a piece arrives, and `before` what lies
/// on the shelf or is on order and goes first. First expired, first out.
///
/// Fails with [`PriceRefusal::Figure`] unless 0 < sureness <= 1.
///
/// Source: P(D >= before + q) >= sureness, by counting.
pub fn used_before_expiry(used: &Pmf, before: u64, sureness: f64) -> Result<u64, PriceRefusal> {
    if !(sureness > 0.0 && sureness <= 1.0) {
        let wanted = "above 0, up to 1, such as 0.9";
        let what = "wanted probability of use before expiry";
        return Err(PriceRefusal::Figure { what, value: sureness, wanted });
    }
    // P(D >= d) is P(D > d - 1), which falls as d grows.
    let ends = used.weights().len() as u64;
    let enough = (1..=ends).take_while(|d| used.above(d - 1) >= sureness * (1.0 - 1e-12)).count();
    Ok((enough as u64).saturating_sub(before))
}

/// A quantity to order each time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choice {
    pub quantity: u64,
    /// Of each piece at that quantity.
    pub price_cents: i64,
    /// Purchase, orders and holding of the lot, a year.
    pub cost_cents_a_y: f64,
}

/// Returns the quantity that costs least a year where larger orders are cheaper by the piece.
///
/// `holding_pct_a` of the price for a piece on the shelf a year. The quantity is a whole number of
/// packs from the least order up to what is used before it expires. Demand is taken as steady; what
/// is held for protection comes on top and hardly changes with the lot.
///
/// Fails with [`PriceRefusal::Figure`] unless the figures are finite and above zero, and with
/// [`PriceRefusal::NoLot`] where the least order is more than may be bought.
///
/// Source: all-units discounts, Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed.,
/// section 3.3; between two breaks the cost is convex, so only the packs beside its lowest point
/// and the ends can be cheapest.
pub fn lot_at_breaks(
    prices: &Prices,
    limits: &BuyingLimits,
    order_cost_cents: f64,
    holding_pct_a: f64,
    demand_a_y: f64,
) -> Result<Choice, PriceRefusal> {
    for (what, value) in [
        ("cost of an order in cents", order_cost_cents),
        ("cost of holding in % of the price a year", holding_pct_a),
        ("demand a year", demand_a_y),
    ] {
        if !(value > 0.0 && value.is_finite()) {
            return Err(PriceRefusal::Figure { what, value, wanted: "above zero" });
        }
    }
    let most = limits.used_in_time.unwrap_or(u64::MAX);
    let cost = |quantity: u64| {
        let price = prices.at(quantity) as f64;
        let held = holding_pct_a / 100.0 * price * quantity as f64 / 2.0;
        price * demand_a_y + order_cost_cents * demand_a_y / quantity as f64 + held
    };
    let ends = prices.breaks.iter().skip(1).map(|each| each.from - 1).chain([u64::MAX]);
    let lots = prices.breaks.iter().zip(ends).flat_map(|(each, end)| {
        let least = limits.least_order(each.from);
        let end = end.min(most);
        let end = end - end % limits.pack_size;
        let holding = holding_pct_a / 100.0 * each.price_cents as f64;
        let best = (2.0 * order_cost_cents * demand_a_y / holding).sqrt() as u64;
        let below = best - best % limits.pack_size;
        [below, below.saturating_add(limits.pack_size)]
            .map(|lot| (least <= end).then(|| lot.clamp(least, end)))
    });
    let cheapest = lots.flatten().min_by(|a, b| cost(*a).total_cmp(&cost(*b)));
    match cheapest {
        Some(quantity) => Ok(Choice {
            quantity,
            price_cents: prices.at(quantity),
            cost_cents_a_y: cost(quantity),
        }),
        None => Err(PriceRefusal::NoLot { least: limits.least_order(1), most }),
    }
}
