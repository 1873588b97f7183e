//! The stock of the months to come: how it may fall, what is ordered on the way, and how likely it
//! runs out.
//!
//! Rate, lead times, failures and all else are drawn many times from a seed. An exact course of
//! the distribution exists for plain cases only: shelf dates and repairs make each day depend on the
//! whole past. The chances therefore carry a standard error, which is stated.

mod course;
mod lived;
mod run;
#[cfg(test)]
mod tests;

use super::advice::OrderRule;
use super::lead_demand::{
    DAYS_PER_MONTH, Failing, LONGEST_D, LeadRefusal, LeadTime, PlannedPieces, Population,
    check_belief,
};
use super::levels::BuyingLimits;
use super::pmf::Pmf;
use super::poisson::DemandRefusal;
use super::rates::RateBelief;
use crate::in_parallel;
use course::Courses;
use lived::Lived;
use run::Run;

/// What a projection starts from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProjectionQuestion<'a> {
    /// Months to look ahead, 1 to [`LONGEST_MONTHS`].
    pub months: u32,
    /// Usable pieces on the shelf.
    pub shelf: &'a [ShelfLot],
    /// Places that wait for a piece.
    pub owed: u64,
    /// What is ordered and not yet here.
    pub on_order: &'a [Arrival],
    /// Units that planned removals set free for the shelf.
    pub harvest: &'a [Arrival],
    /// When to order and how many; none where nothing is ordered.
    pub rule: Option<OrderRule>,
    pub limits: &'a BuyingLimits,
    pub lead_time: LeadTime,
    /// Days between two looks at the shelf, the first today; 0 where each piece taken is seen at
    /// once.
    pub review_d: f64,
    /// Days that a bought piece keeps on the shelf.
    pub shelf_life_d: Option<f64>,
    /// Failed units that come back.
    pub repair: Option<RepairTime>,
    /// Days after which a unit without a fault is back on the shelf; none where it is not.
    pub no_fault_back_d: Option<f64>,
    pub failing: Failing<'a>,
    /// Removals an hour that turn out to be no failure; a shape of 0 for none.
    pub no_fault_found: RateBelief,
    pub population: &'a Population,
    pub planned: &'a [PlannedPieces],
    /// What work uses up in a month, as forecast. It is taken at one moment of the month.
    pub month: Option<&'a Pmf>,
}

/// Pieces on the shelf with one shelf date.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShelfLot {
    pub pieces: u64,
    /// Days from now; none where they keep for ever. What is past today is no stock.
    pub expires_d: Option<f64>,
}

/// Pieces that come on a known day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arrival {
    /// Days from now; what is overdue comes today.
    pub day: f64,
    pub pieces: u64,
}

/// A repair shop without a queue.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RepairTime {
    pub turn_round_d: f64,
    /// Share of failed units that can be repaired; which ones is known at once.
    pub yield_share: f64,
}

/// What is changed for a comparison. [`WhatIf::default`] changes nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WhatIf {
    /// Times for all lead times, and for what is left of those on order.
    pub lead_time_factor: f64,
    /// Nothing that is on order or would be ordered arrives any more.
    pub supplier_lost: bool,
    /// Times for the failure rate of every unit, as of a warmer room ([`super::RateHeat::warmer`]).
    pub failures_factor: f64,
    /// Times for the number of units; consumption by work stays.
    pub units_factor: f64,
}

/// How often to draw, and from what.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Runs {
    pub seed: u64,
    /// 100 to 1,000,000.
    pub runs: u32,
}

/// The months ahead.
#[derive(Debug, Clone, PartialEq)]
pub struct Projection {
    pub months: Vec<MonthAhead>,
    pub runs: u32,
    /// Largest standard error that a chance can have by drawing: that of one in two.
    pub largest_error: f64,
}

/// One month, the first from today on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonthAhead {
    /// 1, 2, …
    pub number: u32,
    /// Its end, days from now.
    pub ends_d: f64,
    /// Pieces on the shelf less pieces owed, at its end.
    pub stock: Fan,
    /// Pieces on the shelf at its end, on average.
    pub on_hand: f64,
    /// Pieces owed at its end, on average.
    pub owed: f64,
    /// Chance that some piece is owed at some time in it.
    pub stock_out: f64,
    /// Chance that this has happened by its end.
    pub stock_out_by: f64,
    /// Standard error of `stock_out_by`.
    pub stock_out_by_error: f64,
    /// Pieces in it, on average.
    pub asked_for: f64,
    pub ordered: f64,
    pub arrived: f64,
    pub back_from_repair: f64,
    pub expired: f64,
}

/// Quantiles: the smallest number that is not exceeded with that chance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fan {
    pub p05: i64,
    pub p25: i64,
    pub p50: i64,
    pub p75: i64,
    pub p95: i64,
    pub mean: f64,
}

/// Why nothing can be projected.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ProjectionRefusal {
    #[error("{0} months are asked for: give 1 to {LONGEST_MONTHS}")]
    Months(u32),
    #[error("{0} runs are asked for: give 100 to 1000000, such as {USUAL_RUNS}")]
    Runs(u32),
    #[error("{name} is {figure}: give a finite number of zero or more")]
    Figure { name: &'static str, figure: f64 },
    #[error("a bought piece keeps for {0} days: give a day or more, or leave the shelf life out")]
    ShelfLife(f64),
    #[error("{0} pieces in one place are more than any storeroom holds: correct the number")]
    Pieces(u64),
    #[error("the repair yield is {0}: give a share from 0 to 1")]
    Yield(f64),
    #[error(
        "about {0:.0} pieces would be asked for in the months ahead: that is too many to draw one \
         by one, so look at fewer months, or take fewer runs"
    )]
    TooMuch(f64),
    #[error(transparent)]
    Lead(#[from] LeadRefusal),
    #[error(transparent)]
    Demand(#[from] DemandRefusal),
}

/// Most months that are looked ahead.
pub const LONGEST_MONTHS: u32 = 240;

/// Draws that are usual: no chance has a standard error above half a point.
pub const USUAL_RUNS: u32 = 10_000;

/// Runs that one processor lives through before it looks for more.
const RUNS_TOGETHER: u64 = 50;

/// Pieces that one lot, order or debt may be of.
const MOST_PIECES: u64 = 1_000_000_000;

/// Pieces that all runs together may ask for, on average.
const MOST_DRAWN: f64 = 5e7;

impl Default for WhatIf {
    fn default() -> Self {
        Self {
            lead_time_factor: 1.0,
            supplier_lost: false,
            failures_factor: 1.0,
            units_factor: 1.0,
        }
    }
}

impl Default for Runs {
    fn default() -> Self {
        Self { seed: 1, runs: USUAL_RUNS }
    }
}

/// Projects the stock month by month, as it is or with something changed.
///
/// Equal input gives equal output. The same runs meet the same luck in the present case and in a
/// changed one, so that their difference is known far better than either.
///
/// Orders follow the rule whenever a piece is taken, or at each look at the shelf. The position is
/// what lies on the shelf, is on order, comes back from repair, or is set free within the lead time,
/// less what is owed and what is planned within it (with a chance of one half or more). First
/// expired goes first; what arrives serves who waits first. Wearing units fail as their mean course
/// says, at random about it.
///
/// Fails where a figure is no number or out of its range; the message names it.
pub fn project(
    question: &ProjectionQuestion,
    what_if: &WhatIf,
    runs: Runs,
) -> Result<Projection, ProjectionRefusal> {
    question.check(what_if, runs)?;
    let courses = Courses::of(question, what_if)?;
    let asked = courses.mean_asked(question);
    if asked.is_nan() || asked * f64::from(runs.runs) > MOST_DRAWN {
        return Err(ProjectionRefusal::TooMuch(asked));
    }
    // Each run has its own luck by its number, so it does not matter where it is lived through.
    let count = u64::from(runs.runs);
    let parts: Vec<u64> = (0..count).step_by(RUNS_TOGETHER as usize).collect();
    let lived = in_parallel(&parts, |from| {
        let mut lived = vec![Lived::default(); question.months as usize];
        for number in *from..(from + RUNS_TOGETHER).min(count) {
            let ahead = Run::new(question, what_if, &courses, runs.seed, number).months();
            let mut out_before = false;
            for (month, seen) in lived.iter_mut().zip(&ahead) {
                out_before |= seen.out;
                month.add(seen, out_before);
            }
        }
        lived
    });
    let months = lived.into_iter().reduce(|mut all, part| {
        all.iter_mut().zip(part).for_each(|(all, part)| all.join(part));
        all
    });
    let months = months.unwrap_or_default().into_iter();
    Ok(Projection {
        months: (1..).zip(months).map(|(number, lived)| lived.month(number)).collect(),
        runs: runs.runs,
        largest_error: 0.5 / f64::from(runs.runs).sqrt(),
    })
}

impl Fan {
    /// `sorted` is not empty.
    fn of(sorted: &[i64]) -> Self {
        let count = sorted.len();
        let quantile = |share: f64| {
            let place = (share * count as f64 - 1e-9).ceil().max(1.0) as usize - 1;
            sorted[place.min(count - 1)]
        };
        let mean = sorted.iter().map(|stock| *stock as f64).sum::<f64>() / count as f64;
        Self {
            p05: quantile(0.05),
            p25: quantile(0.25),
            p50: quantile(0.5),
            p75: quantile(0.75),
            p95: quantile(0.95),
            mean,
        }
    }
}

impl ProjectionQuestion<'_> {
    /// Days that are looked ahead.
    fn horizon_d(&self) -> f64 {
        f64::from(self.months) * DAYS_PER_MONTH
    }

    fn check(&self, what_if: &WhatIf, runs: Runs) -> Result<(), ProjectionRefusal> {
        if !(1..=LONGEST_MONTHS).contains(&self.months) {
            return Err(ProjectionRefusal::Months(self.months));
        }
        if !(100..=1_000_000).contains(&runs.runs) {
            return Err(ProjectionRefusal::Runs(runs.runs));
        }
        let LeadTime { mean_d, deviation_d } = self.lead_time;
        let figures = [
            ("the lead time", mean_d),
            ("the spread of the lead time", deviation_d),
            ("the time between two looks at the shelf", self.review_d),
            ("the turn-round of a repair", self.repair.map_or(0.0, |it| it.turn_round_d)),
            ("the time until a unit without a fault is back", self.no_fault_back_d.unwrap_or(0.0)),
            ("the factor of the lead time", what_if.lead_time_factor),
            ("the factor of failures", what_if.failures_factor),
            ("the factor of units", what_if.units_factor),
        ];
        let days = self.on_order.iter().chain(self.harvest).map(|it| it.day.max(0.0));
        let shelf = self.shelf.iter().filter_map(|lot| lot.expires_d.map(|day| day.max(0.0)));
        // The larger of no number and zero is zero, so those are looked for apart.
        let lost = self.on_order.iter().chain(self.harvest).map(|it| it.day);
        let lost = lost.chain(self.shelf.iter().filter_map(|lot| lot.expires_d));
        let lost = lost.filter(|day| day.is_nan());
        let dated = days.chain(shelf).chain(lost).map(|day| ("a day of the stock", day));
        let mut all = figures.into_iter().chain(dated);
        if let Some((name, figure)) = all.find(|(_, it)| !(it.is_finite() && *it >= 0.0)) {
            return Err(ProjectionRefusal::Figure { name, figure });
        }
        if mean_d > LONGEST_D {
            return Err(LeadRefusal::LeadTime(mean_d).into());
        }
        if self.review_d > LONGEST_D {
            return Err(LeadRefusal::Review(self.review_d).into());
        }
        if deviation_d > 10.0 * mean_d {
            return Err(LeadRefusal::Spread(deviation_d).into());
        }
        if let Some(life_d) = self.shelf_life_d.filter(|life_d| !(1.0..=1e6).contains(life_d)) {
            return Err(ProjectionRefusal::ShelfLife(life_d));
        }
        let coming = self.on_order.iter().chain(self.harvest).map(|it| it.pieces);
        let pieces = coming.chain(self.shelf.iter().map(|lot| lot.pieces)).chain([self.owed]);
        if let Some(many) = pieces.into_iter().find(|pieces| *pieces > MOST_PIECES) {
            return Err(ProjectionRefusal::Pieces(many));
        }
        if let Some(repair) = self.repair.filter(|it| !(0.0..=1.0).contains(&it.yield_share)) {
            return Err(ProjectionRefusal::Yield(repair.yield_share));
        }
        if let Some(wrong) = self.population.wrong() {
            return Err(LeadRefusal::Population(wrong).into());
        }
        if let Failing::AtRate(belief) = self.failing {
            check_belief(belief)?;
        }
        if self.no_fault_found.shape != 0.0 {
            check_belief(self.no_fault_found)?;
        }
        let sound = |it: &&PlannedPieces| !(it.day.is_finite() && (0.0..=1.0).contains(&it.chance));
        match self.planned.iter().find(sound) {
            Some(it) => Err(LeadRefusal::Planned { day: it.day, chance: it.chance }.into()),
            None => Ok(()),
        }
    }
}
