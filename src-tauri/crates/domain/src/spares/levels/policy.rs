use super::{Flow, LevelRefusal, Service, Target, ToCover};
use crate::spares::{DemandRefusal, LARGEST_LOT, Pmf};

/// Days of a year.
const DAYS_A_YEAR: f64 = 365.0;
/// Most pieces between two reviews and in the lead time that are reckoned with.
const LARGEST_REVIEW: f64 = 20_000.0;

/// When and how much is ordered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Manner {
    /// Each piece as it is used: (S − 1, S).
    OneForOne,
    /// Lots of a fixed quantity once the position is at the point or below, as many as bring it
    /// above: (r, Q), with groups (r, nQ).
    Lots { quantity: u64 },
    /// Up to the level once the position is `width` pieces below it or more: (s, S).
    UpTo { width: u64 },
    /// Up to the level at each review: (R, S).
    Review { every_d: f64 },
    /// Up to the level at a review that finds the position `width` pieces below it or more:
    /// (R, s, S).
    ReviewPoint { every_d: f64, width: u64 },
}

/// A way of ordering with its level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Policy {
    pub manner: Manner,
    /// The highest position, pieces: S, and r + Q for lots.
    pub up_to: u64,
}

impl Policy {
    /// Orders once the position is at this or below.
    pub fn point(self) -> i64 {
        let below = match self.manner {
            Manner::OneForOne | Manner::Review { .. } => 1,
            Manner::Lots { quantity: width }
            | Manner::UpTo { width }
            | Manner::ReviewPoint { width, .. } => width,
        };
        let signed = |pieces: u64| i64::try_from(pieces).unwrap_or(i64::MAX);
        signed(self.up_to).saturating_sub(signed(below))
    }
}

/// What a way of ordering does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Performance {
    pub policy: Policy,
    pub service: Service,
    /// Orders a year, each of one lot or more.
    pub orders_a_y: f64,
}

/// A way of ordering for one demand and lead time, ready to be asked for any level.
#[derive(Debug, Clone, PartialEq)]
pub struct Ordering {
    manner: Manner,
    cover: ToCover,
    orders_a_y: f64,
}

impl Ordering {
    /// Works out what is to be covered. Exact: the position has its stationary distribution (uniform
    /// for lots, that of a renewal process for groups and for reviews), and is independent of what
    /// is asked for after it.
    ///
    /// A lead time of zero is allowed: what is ordered is there at once, so only what is not ordered
    /// at once has to be covered.
    ///
    /// Fails with [`LevelRefusal::Figure`] unless the lead time is zero or more, the time between
    /// reviews above zero, and quantity and width from 1 to [`LARGEST_LOT`]; with
    /// [`LevelRefusal::Review`] where more than 20,000 pieces are asked for until a review's order
    /// is there; and with [`LevelRefusal::Demand`] where the demand is too large.
    ///
    /// Source: Zipkin, Foundations of Inventory Management, sections 6.2 and 9.4 to 9.6; Snyder and
    /// Shen, Fundamentals of Supply Chain Theory, 2nd ed., chapters 4 and 5. From memory, and
    /// simulated in tests.
    pub fn new(flow: &Flow, lead_time_d: f64, manner: Manner) -> Result<Self, LevelRefusal> {
        checked(flow, lead_time_d, manner)?;
        let (cover, orders_a_y) = match manner {
            Manner::OneForOne => (flow.covered_in(lead_time_d)?, demands_a_y(flow)),
            Manner::Lots { quantity } => {
                (flow.covered_in(lead_time_d)?.in_lots(quantity), lots_a_y(flow, quantity)?)
            }
            Manner::UpTo { width } => {
                let visits = Visits::of(&flow.sizes()?, width);
                let cover = flow.covered_in(lead_time_d)?.behind(&visits.gap);
                (cover, demands_a_y(flow) / visits.steps)
            }
            Manner::Review { every_d } => {
                let cover = flow.covered_between(lead_time_d, lead_time_d + every_d)?;
                (cover, DAYS_A_YEAR / every_d * flow.in_days(every_d)?.above(0))
            }
            Manner::ReviewPoint { every_d, width } => {
                reviewed_at_a_point(flow, lead_time_d, every_d, width)?
            }
        };
        let cover = cover.with_asking(flow.pieces_a_d() > 0.0);
        Ok(Self { manner, cover, orders_a_y })
    }

    /// What a level does.
    pub fn at(&self, up_to: u64) -> Performance {
        Performance {
            policy: Policy { manner: self.manner, up_to },
            service: self.cover.service(up_to),
            orders_a_y: self.orders_a_y,
        }
    }

    /// The least level that meets a target.
    pub fn level_for(&self, target: Target) -> Performance {
        self.at(self.cover.level_for(target).stock)
    }

    /// What is to be covered at a random moment.
    pub fn cover(&self) -> &ToCover {
        &self.cover
    }
}

/// The gap between level and position at a random step, and the steps from one order to the next.
struct Visits {
    gap: Pmf,
    steps: f64,
}

impl Visits {
    /// `step` is what the position falls by at each step, of which some may be none.
    ///
    /// Source: renewal masses m(j) = Σ f(i)·m(j − i) / (1 − f(0)), gap ~ m(j) for j below the width.
    fn of(step: &Pmf, width: u64) -> Self {
        let falls = step.above(0);
        if falls == 0.0 {
            return Self { gap: Pmf::certain(0), steps: f64::INFINITY };
        }
        let step = step.weights();
        let mut masses: Vec<f64> = vec![1.0];
        for gap in 1..usize::try_from(width).unwrap_or(usize::MAX) {
            let longest = gap.min(step.len() - 1);
            let sum: f64 = (1..=longest).map(|fall| step[fall] * masses[gap - fall]).sum();
            masses.push(sum / falls);
        }
        let steps = masses.iter().sum::<f64>() / falls;
        // One is always above zero, so that they can be made to sum to 1.
        Self { gap: Pmf::of(masses).unwrap_or_else(|_| Pmf::certain(0)), steps }
    }
}

/// Position and demand both follow the rate, so an uncertain one is taken apart into known ones.
fn reviewed_at_a_point(
    flow: &Flow,
    lead_time_d: f64,
    every_d: f64,
    width: u64,
) -> Result<(ToCover, f64), DemandRefusal> {
    let mut parts = Vec::new();
    let mut orders_a_y = 0.0;
    for (weight, known) in flow.at_known_rates(lead_time_d + every_d)? {
        let visits = Visits::of(&known.in_days(every_d)?, width);
        let cover = known.covered_between(lead_time_d, lead_time_d + every_d)?.behind(&visits.gap);
        orders_a_y += weight * DAYS_A_YEAR / every_d / visits.steps;
        parts.push((weight, weight * known.pieces_a_d(), cover));
    }
    Ok((ToCover::mixed(&parts), orders_a_y))
}

fn demands_a_y(flow: &Flow) -> f64 {
    flow.demands_a_d() * DAYS_A_YEAR
}

/// A demand of B pieces sets off an order with probability E[min(B, Q)]/Q, the position being
/// uniform.
fn lots_a_y(flow: &Flow, quantity: u64) -> Result<f64, DemandRefusal> {
    let sizes = flow.sizes()?;
    let within: f64 = sizes.mean() - sizes.expected_above(quantity);
    Ok(demands_a_y(flow) * within / quantity as f64)
}

fn checked(flow: &Flow, lead_time_d: f64, manner: Manner) -> Result<(), LevelRefusal> {
    let figure = |what, value, wanted| Err(LevelRefusal::Figure { what, value, wanted });
    if !(lead_time_d >= 0.0 && lead_time_d.is_finite()) {
        return figure("lead time in days", lead_time_d, "of zero or more");
    }
    if let Manner::Review { every_d } | Manner::ReviewPoint { every_d, .. } = manner {
        if !(every_d > 0.0 && every_d.is_finite()) {
            return figure("time between reviews in days", every_d, "above zero");
        }
        let pieces = flow.pieces_a_d() * (lead_time_d + every_d);
        if pieces > LARGEST_REVIEW {
            return Err(LevelRefusal::Review(pieces));
        }
    }
    match manner {
        Manner::Lots { quantity: pieces }
        | Manner::UpTo { width: pieces }
        | Manner::ReviewPoint { width: pieces, .. }
            if !(1..=LARGEST_LOT).contains(&pieces) =>
        {
            figure("pieces between level and reorder point", pieces as f64, "from 1 to 100000")
        }
        _ => Ok(()),
    }
}
