use super::levels::{BuyingLimits, LimitedBy};

/// What to order now, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Advice {
    /// Pieces.
    pub order_now: u64,
    /// One sentence.
    pub reason: String,
    /// What made the order larger or smaller than the level asks for.
    pub limited_by: Vec<LimitedBy>,
}

/// What there is of a model, pieces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Standing {
    /// On the shelf, fit for use and not reserved.
    pub usable: u64,
    pub on_order: u64,
    /// Places that wait for a piece.
    pub owed: u64,
    /// Known demand in the lead time, which comes on top of the level.
    pub planned: u64,
}

impl Standing {
    /// What counts against the level: usable and on order, less owed and planned.
    pub fn position(self) -> i128 {
        let have = i128::from(self.usable) + i128::from(self.on_order);
        have - i128::from(self.owed) - i128::from(self.planned)
    }
}

/// When to order and how many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OrderRule {
    /// At `point` or below, what brings the position up to `up_to`.
    UpTo { point: i64, up_to: u64 },
    /// At `point` or below, as many lots as bring the position above it.
    Lots { point: i64, quantity: u64 },
}

impl OrderRule {
    /// One piece for each that is used.
    pub fn base_stock(level: u64) -> Self {
        Self::UpTo { point: i64::try_from(level).unwrap_or(i64::MAX) - 1, up_to: level }
    }

    /// Pieces to order at this position, and what changed their number.
    pub(super) fn ordered(self, position: i128, limits: &BuyingLimits) -> (u64, Vec<LimitedBy>) {
        if position > self.point() {
            return (0, Vec::new());
        }
        let needed = lacking(self.point(), position);
        limits.applied(self.wanted(position).max(needed), needed)
    }

    fn point(self) -> i128 {
        match self {
            Self::UpTo { point, .. } | Self::Lots { point, .. } => point.into(),
        }
    }

    /// Pieces wanted at a position that is not above the point.
    fn wanted(self, position: i128) -> u64 {
        match self {
            Self::UpTo { up_to, .. } => pieces(i128::from(up_to) - position),
            Self::Lots { point, quantity } => lacking(point.into(), position)
                .div_ceil(quantity.max(1))
                .saturating_mul(quantity.max(1)),
        }
    }

    fn words(self, planned: u64) -> String {
        let point = |point: i64| match point {
            ..=0 => format!("the position is {point} or less"),
            _ => format!("{point} or fewer are there"),
        };
        let rule = match self {
            Self::UpTo { point, up_to } if i128::from(point) + 1 == up_to.into() => match planned {
                0 => return format!("Hold {up_to} against failures"),
                _ => {
                    return format!(
                        "Hold {}: {up_to} against failures and {planned} for planned changes",
                        up_to.saturating_add(planned)
                    );
                }
            },
            Self::UpTo { point: at, up_to } => format!("Order up to {up_to} when {}", point(at)),
            Self::Lots { point: at, quantity } => format!("Order {quantity} when {}", point(at)),
        };
        match planned {
            0 => rule,
            _ => format!("{rule}, after {planned} for planned changes"),
        }
    }
}

/// Returns what brings the stock up to what should be held, in pieces.
///
/// `usable` lies on the shelf fit for use and `on_order` is on its way; `to_hold` covers random
/// failures, and `planned` is known demand in the lead time that comes on top.
pub fn advice(usable: u64, on_order: u64, to_hold: u64, planned: u64) -> Advice {
    let standing = Standing { usable, on_order, owed: 0, planned };
    advise(standing, OrderRule::base_stock(to_hold), &BuyingLimits::none())
}

/// Returns what to order now by a rule, within what may be bought.
///
/// The order is made larger to a minimum order, to whole packs, and to a price break at which more
/// pieces cost no more money. It is made smaller to what is used before it expires, but never so
/// small that the position stays at the point: protection goes before waste, and the reason says so.
pub fn advise(standing: Standing, rule: OrderRule, limits: &BuyingLimits) -> Advice {
    let position = standing.position();
    let (order_now, limited_by) = rule.ordered(position, limits);
    let verdict = match order_now {
        0 => nothing(position, rule.point()),
        _ => format!("order {order_now}"),
    };
    let limits: String = limited_by.iter().map(|limit| format!(", {limit}")).collect();
    let reason =
        format!("{}; {}: {verdict}{limits}.", rule.words(standing.planned), coming(standing));
    Advice { order_now, reason, limited_by }
}

fn coming(standing: Standing) -> String {
    let on_order = match standing.on_order {
        0 => "none on order".to_owned(),
        on_order => format!("{on_order} on order"),
    };
    match standing.owed {
        0 => format!("{} usable and {on_order}", standing.usable),
        owed => format!("{} usable, {on_order} and {owed} owed", standing.usable),
    }
}

fn nothing(position: i128, point: i128) -> String {
    match position - point - 1 {
        0 => "nothing to order".to_owned(),
        spare => format!("{spare} to spare, nothing to order"),
    }
}

/// Pieces that bring the position above the point.
fn lacking(point: i128, position: i128) -> u64 {
    pieces(point - position + 1)
}

/// None where the difference is below zero.
fn pieces(difference: i128) -> u64 {
    u64::try_from(difference.max(0)).unwrap_or(u64::MAX)
}
