use super::levels::{BuyingLimits, LimitedBy};
use crate::{counted_as, listed};

/// What to order now, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Advice {
    /// Pieces.
    pub order_now: u64,
    /// What to do and why, in one sentence.
    pub reason: String,
    /// The same without what to do: what is held, and what there is.
    pub held: String,
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
    /// Free pieces of other models that count for this one.
    pub stand_ins: u64,
    /// Pieces that are held in place of models that are no longer sold.
    pub instead: u64,
}

impl Standing {
    /// What counts against the level: usable, on order and standing in, less owed, planned and held
    /// for others.
    pub fn position(self) -> i128 {
        let sum = |pieces: &[u64]| pieces.iter().map(|it| i128::from(*it)).sum::<i128>();
        sum(&[self.usable, self.on_order, self.stand_ins])
            - sum(&[self.owed, self.planned, self.instead])
    }

    /// What is held besides the level, in words.
    fn besides(self) -> Vec<String> {
        let said = |pieces: u64, what: &str| (pieces > 0).then(|| format!("{pieces} {what}"));
        let instead = said(self.instead, "in place of models that are no longer sold");
        said(self.planned, "for planned changes").into_iter().chain(instead).collect()
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

    fn words(self, standing: Standing) -> String {
        let point = |point: i64| match point {
            ..=-1 => counted_as(point.unsigned_abs(), "is owed", "are owed"),
            0 => "none is left".to_owned(),
            _ => format!("{point} or fewer are there"),
        };
        let besides = standing.besides();
        let rule = match self {
            Self::UpTo { point, up_to } if i128::from(point) + 1 == up_to.into() => {
                if besides.is_empty() {
                    return format!("Hold {up_to} against failures");
                }
                let total = up_to.saturating_add(standing.planned).saturating_add(standing.instead);
                let against = (up_to > 0).then(|| format!("{up_to} against failures"));
                let parts: Vec<String> = against.into_iter().chain(besides).collect();
                let total = if parts.len() > 1 { format!("{total}: ") } else { String::new() };
                return format!("Hold {total}{}", listed(&parts));
            }
            Self::UpTo { point: at, up_to } => format!("Order up to {up_to} when {}", point(at)),
            Self::Lots { point: at, quantity } => format!("Order {quantity} when {}", point(at)),
        };
        if besides.is_empty() { rule } else { format!("{rule}, after {}", listed(&besides)) }
    }
}

/// Returns what brings the stock up to what should be held, in pieces.
///
/// `usable` lies on the shelf fit for use and `on_order` is on its way; `to_hold` covers random
/// failures, and `planned` is known demand in the lead time that comes on top.
pub fn advice(usable: u64, on_order: u64, to_hold: u64, planned: u64) -> Advice {
    let standing = Standing { usable, on_order, planned, ..Standing::default() };
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
    let held = format!("{}; {}", rule.words(standing), coming(standing));
    Advice { order_now, reason: format!("{held}: {verdict}{limits}."), held, limited_by }
}

fn coming(standing: Standing) -> String {
    let said = |pieces: u64, what: &str| (pieces > 0).then(|| format!("{pieces} {what}"));
    let on_order = said(standing.on_order, "on order");
    let mut parts = vec![
        format!("{} usable", standing.usable),
        on_order.unwrap_or_else(|| "none on order".to_owned()),
    ];
    parts.extend(said(standing.owed, "owed"));
    parts.extend(said(standing.stand_ins, "free to stand in"));
    listed(&parts)
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
