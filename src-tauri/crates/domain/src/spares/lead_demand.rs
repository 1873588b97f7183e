//! Demand in the lead time as a distribution, with the parts that it is made of.
//!
//! All units of a model share one failure rate that is not known for sure, so their failures are
//! negative binomial together, and not one by one. The lead time is gamma-distributed about its
//! mean. An order placed today must cover what is asked for until it arrives, and until the next
//! look at the shelf where that is taken only now and then.

mod months;
mod population;
pub(super) mod slices;
#[cfg(test)]
mod tests;

pub use months::{DAYS_PER_MONTH, over_months};
pub use population::{Population, PopulationChange};

use super::ageing::Life;
use super::pmf::Pmf;
use super::poisson::DemandRefusal;
use super::rates::RateBelief;
use super::wear::{AgeGroup, ageing_demands};
use slices::{even_points, gamma_points, slices_for};

/// How units fail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Failing<'a> {
    /// Nothing is known to fail, as of consumables.
    Never,
    /// At a rate that is constant but not known for sure, an hour at the stated temperature.
    AtRate(RateBelief),
    /// By wear: lives with weights that sum to 1 ([`super::Wear::likely_lives`]), and who has which
    /// age. The groups take the place of [`LeadQuestion::population`] for failures.
    Wearing { lives: &'a [(f64, Life)], groups: &'a [AgeGroup] },
}

/// Pieces that will be asked for on a known day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlannedPieces {
    /// Days from now; what is overdue counts as today, and is asked for whatever the lead time.
    pub day: f64,
    pub pieces: u64,
    /// That it happens at all, 0 to 1.
    pub chance: f64,
}

/// Time from an order to the shelf.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeadTime {
    pub mean_d: f64,
    /// Standard deviation; 0 for one that is kept to the day.
    pub deviation_d: f64,
}

/// What the demand in the lead time is made from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeadQuestion<'a> {
    pub lead_time: LeadTime,
    /// Days between two looks at the shelf, which the stock must last as well; 0 where each piece
    /// taken is seen at once.
    pub review_d: f64,
    pub failing: Failing<'a>,
    /// Removals an hour that turn out to be no failure ([`super::NoFaultFound`]); a shape of 0 for
    /// none.
    pub no_fault_found: RateBelief,
    pub population: &'a Population,
    pub planned: &'a [PlannedPieces],
    /// What work uses up in a month, as forecast; months know nothing of each other.
    pub month: Option<&'a Pmf>,
}

/// Demand in the lead time.
#[derive(Debug, Clone, PartialEq)]
pub struct LeadDemand {
    pub pmf: Pmf,
    /// Those parts that ask for anything.
    pub parts: Vec<DemandPart>,
    /// What the parts' variances miss of the whole, since a long lead time raises them together.
    pub shared_variance: f64,
    /// Days that are covered, on average: lead time and review.
    pub cover_d: f64,
    /// Unit-hours in that many days, and weighted by heat.
    pub hours_h: f64,
    pub weighted_h: f64,
}

/// One part of a demand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DemandPart {
    pub kind: DemandKind,
    /// Pieces.
    pub mean: f64,
    /// Pieces squared, the spread of the lead time included.
    pub variance: f64,
}

/// Why pieces are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum DemandKind {
    Failures,
    WearOut,
    NoFaultFound,
    Planned,
    Consumption,
}

/// Why no demand can be named.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum LeadRefusal {
    #[error("the lead time is {0} days: give a number from 0 to 36525")]
    LeadTime(f64),
    #[error("the lead time spreads by {0} days: give a number from 0 to ten times the lead time")]
    Spread(f64),
    #[error("the time between two looks at the shelf is {0} days: give a number from 0 to 36525")]
    Review(f64),
    #[error("a figure of the population is {0}: give finite numbers, and units of zero or more")]
    Population(f64),
    #[error(
        "a rate is believed from {shape} failures in {exposure} h: both must be numbers, the \
             failures 0, or 0.001 or more, and the hours above zero"
    )]
    Belief { shape: f64, exposure: f64 },
    #[error(
        "planned demand on day {day} with a chance of {chance}: give a day, and a chance from 0 to 1"
    )]
    Planned { day: f64, chance: f64 },
    #[error(
        "demand in the lead time is so unsure that {0:.0} pieces would have to be reckoned with: up \
         to 100000 can be, so check rate, units and lead time"
    )]
    Reach(f64),
    #[error(transparent)]
    Demand(#[from] DemandRefusal),
}

/// Smallest shape of a belief, beside 0 for what never happens; less is no belief at all.
const LEAST_SHAPE: f64 = 1e-3;

/// Most pieces that have any chance.
const FARTHEST: f64 = 1e5;

/// Longest time that is looked ahead, days.
pub(super) const LONGEST_D: f64 = 36_525.0;

/// Slices that the lead time is cut into for wear, whose convolutions take longer.
const SLICES_OF_WEAR: usize = 8;

/// Returns the demand until an order placed now can be on the shelf.
///
/// With a lead time and a review of zero nothing but what is due today is asked for. Planned pieces
/// count where their day is not after the arrival. No chance is off by more than 1e-4 where rates
/// are constant, mean and variance hardly at all: the lead time is cut into slices that keep both.
///
/// Fails where a figure is no number or out of its range; the message names it.
///
/// Source: Poisson failures mixed over a gamma rate are negative binomial, NUREG/CR-6823, section
/// 6.2.2, and over the lead time, as in Zipkin, Foundations of Inventory Management, chapter 7, from
/// memory.
pub fn lead_demand(question: &LeadQuestion) -> Result<LeadDemand, LeadRefusal> {
    question.check()?;
    if let Failing::AtRate(belief) = question.failing
        && question.fails_alone()
    {
        return failing_alone(question, belief);
    }
    let mut kinds: Vec<(DemandKind, Mixture)> = Vec::new();
    let mut whole = Mixture::default();
    let covers = question.covers()?;
    let mut worn_out = question.worn_out(&covers)?.into_iter();
    for (weight, cover_d) in covers {
        let mut sum = Pmf::certain(0);
        let worn_out = worn_out.next().map(|part| (DemandKind::WearOut, part));
        for (kind, part) in worn_out.into_iter().chain(question.parts_until(cover_d)?) {
            sum = sum.plus(&part);
            let known = kinds.iter().position(|(known, _)| *known == kind);
            let place = known.unwrap_or_else(|| {
                kinds.push((kind, Mixture::default()));
                kinds.len() - 1
            });
            kinds[place].1.add(weight, part.weights());
        }
        whole.add(weight, sum.weights());
    }
    let mut parts = Vec::with_capacity(kinds.len());
    for (kind, mixture) in kinds {
        let pmf = mixture.pmf()?;
        let (mean, variance) = (pmf.mean(), pmf.variance());
        if mean > 0.0 {
            parts.push(DemandPart { kind, mean, variance });
        }
    }
    let pmf = whole.pmf()?;
    let apart: f64 = parts.iter().map(|part| part.variance).sum();
    let cover_d = question.lead_time.mean_d + question.review_d;
    let (hours_h, weighted_h) = question.population.hours_until(cover_d);
    let shared_variance = pmf.variance() - apart;
    Ok(LeadDemand { pmf, parts, shared_variance, cover_d, hours_h, weighted_h })
}

/// The same where failures at a constant rate are all that is asked for, as of most models: the
/// chances of each slice of the lead time are added up where they are made.
fn failing_alone(question: &LeadQuestion, belief: RateBelief) -> Result<LeadDemand, LeadRefusal> {
    let mut whole = Mixture::default();
    let mut chances = Vec::new();
    for (weight, cover_d) in question.covers()? {
        let (_, weighted_h) = question.population.hours_until(cover_d);
        within_reach(belief, weighted_h)?;
        let (mean, variance) = moments_of_failures(belief, weighted_h);
        Pmf::negative_binomial_into(&mut chances, mean, variance)?;
        whole.add(weight, &chances);
    }
    let pmf = whole.pmf()?;
    let (mean, variance) = (pmf.mean(), pmf.variance());
    let part = DemandPart { kind: DemandKind::Failures, mean, variance };
    let cover_d = question.lead_time.mean_d + question.review_d;
    let (hours_h, weighted_h) = question.population.hours_until(cover_d);
    Ok(LeadDemand {
        pmf,
        parts: if mean > 0.0 { vec![part] } else { Vec::new() },
        shared_variance: if mean > 0.0 { 0.0 } else { variance },
        cover_d,
        hours_h,
        weighted_h,
    })
}

/// Demands added up with weights, one by one.
#[derive(Debug, Default)]
struct Mixture(Vec<f64>);

impl Mixture {
    fn add(&mut self, weight: f64, part: &[f64]) {
        if self.0.len() < part.len() {
            self.0.resize(part.len(), 0.0);
        }
        self.0.iter_mut().zip(part).for_each(|(sum, part)| *sum += weight * part);
    }

    fn pmf(self) -> Result<Pmf, DemandRefusal> {
        Pmf::of(self.0)
    }
}

impl LeadQuestion<'_> {
    /// Whether nothing but what fails is asked for, whatever the day.
    fn fails_alone(&self) -> bool {
        self.no_fault_found.shape <= 0.0 && self.planned.is_empty() && self.month.is_none()
    }

    /// Days that may have to be covered, with weights. Days on which something jumps are edges.
    fn covers(&self) -> Result<Vec<(f64, f64)>, LeadRefusal> {
        let jumps = self.planned.iter().map(|it| it.day);
        let jumps = jumps.chain(self.population.changes.iter().map(|it| it.day));
        let breaks: Vec<f64> = jumps.map(|day| day - self.review_d).collect();
        let LeadTime { mean_d, deviation_d } = self.lead_time;
        let slices = if matches!(self.failing, Failing::Wearing { .. }) || deviation_d == 0.0 {
            SLICES_OF_WEAR
        } else {
            let (mean, variance) = self.random_until(mean_d)?;
            slices_for(mean * deviation_d / mean_d, variance)
        };
        let covered = |points: &[(f64, f64)]| {
            points.iter().map(|(weight, days)| (*weight, days + self.review_d)).collect()
        };
        Ok(match breaks.as_slice() {
            [] => covered(&even_points(mean_d, deviation_d, slices)),
            breaks => covered(&gamma_points(mean_d, deviation_d, breaks, slices)),
        })
    }

    /// Mean and variance of what is asked for at random within so many days, wear left out.
    fn random_until(&self, cover_d: f64) -> Result<(f64, f64), LeadRefusal> {
        if let Failing::AtRate(belief) = self.failing
            && self.fails_alone()
        {
            let (_, weighted_h) = self.population.hours_until(cover_d);
            within_reach(belief, weighted_h)?;
            return Ok(moments_of_failures(belief, weighted_h));
        }
        let parts = self.parts_until(cover_d)?;
        let random = parts.iter().filter(|(kind, _)| *kind != DemandKind::Planned);
        Ok(random.fold((0.0, 0.0), |(mean, variance), (_, part)| {
            (mean + part.mean(), variance + part.variance())
        }))
    }

    /// Failures by wear within each of the times to cover; none where nothing wears.
    fn worn_out(&self, covers: &[(f64, f64)]) -> Result<Vec<Pmf>, DemandRefusal> {
        let Failing::Wearing { lives, groups } = self.failing else { return Ok(Vec::new()) };
        let days: Vec<f64> = covers.iter().map(|(_, cover_d)| *cover_d).collect();
        let mut by_day: Vec<Vec<(f64, Pmf)>> = vec![Vec::with_capacity(lives.len()); days.len()];
        for (weight, life) in lives {
            let demands = ageing_demands(*life, groups, &days)?;
            by_day.iter_mut().zip(demands).for_each(|(sum, demand)| sum.push((*weight, demand)));
        }
        Ok(by_day.iter().map(|by_life| Pmf::mixed(by_life)).collect())
    }

    /// Demand of each kind but wear within so many days.
    fn parts_until(&self, cover_d: f64) -> Result<Vec<(DemandKind, Pmf)>, LeadRefusal> {
        let (hours_h, weighted_h) = self.population.hours_until(cover_d);
        let mut parts = Vec::with_capacity(4);
        match self.failing {
            Failing::Never => {}
            Failing::AtRate(belief) => {
                within_reach(belief, weighted_h)?;
                parts.push((DemandKind::Failures, failures_in(belief, weighted_h)?));
            }
            Failing::Wearing { .. } => {}
        }
        if self.no_fault_found.shape > 0.0 {
            within_reach(self.no_fault_found, hours_h)?;
            parts.push((DemandKind::NoFaultFound, failures_in(self.no_fault_found, hours_h)?));
        }
        let due = |it: &&PlannedPieces| it.day.max(0.0) <= cover_d && it.pieces > 0;
        let mut planned = Pmf::certain(0);
        for it in self.planned.iter().filter(due) {
            let happens = Pmf::certain(it.pieces);
            let maybe = [(it.chance, happens), (1.0 - it.chance, Pmf::certain(0))];
            planned = planned.plus(&Pmf::mixed(&maybe));
        }
        parts.push((DemandKind::Planned, planned));
        if let Some(month) = self.month {
            parts.push((DemandKind::Consumption, over_months(month, cover_d / DAYS_PER_MONTH)?));
        }
        Ok(parts)
    }

    fn check(&self) -> Result<(), LeadRefusal> {
        let LeadTime { mean_d, deviation_d } = self.lead_time;
        let days = 0.0..=LONGEST_D;
        if !days.contains(&mean_d) {
            return Err(LeadRefusal::LeadTime(mean_d));
        }
        if !(0.0..=10.0 * mean_d).contains(&deviation_d) {
            return Err(LeadRefusal::Spread(deviation_d));
        }
        if !days.contains(&self.review_d) {
            return Err(LeadRefusal::Review(self.review_d));
        }
        if let Some(wrong) = self.population.wrong() {
            return Err(LeadRefusal::Population(wrong));
        }
        if let Failing::AtRate(belief) = self.failing {
            check_belief(belief)?;
        }
        if self.no_fault_found.shape != 0.0 {
            check_belief(self.no_fault_found)?;
        }
        let sound = |it: &PlannedPieces| it.day.is_finite() && (0.0..=1.0).contains(&it.chance);
        match self.planned.iter().find(|it| !sound(it)) {
            Some(it) => Err(LeadRefusal::Planned { day: it.day, chance: it.chance }),
            None => Ok(()),
        }
    }
}

/// Failures in an exposure at a rate that is believed so: negative binomial.
///
/// Fails as [`Pmf::negative_binomial`] does.
pub fn failures_in(belief: RateBelief, exposure: f64) -> Result<Pmf, DemandRefusal> {
    let (mean, variance) = moments_of_failures(belief, exposure);
    Pmf::negative_binomial(mean, variance)
}

fn moments_of_failures(belief: RateBelief, exposure: f64) -> (f64, f64) {
    let share = exposure / belief.exposure;
    let mean = belief.shape * share;
    (mean, mean * (1.0 + share))
}

pub(super) fn check_belief(belief: RateBelief) -> Result<(), LeadRefusal> {
    let RateBelief { shape, exposure } = belief;
    let shaped = shape == 0.0 || (LEAST_SHAPE..=f64::MAX).contains(&shape);
    let sound = shaped && exposure.is_finite() && exposure > 0.0;
    if sound { Ok(()) } else { Err(LeadRefusal::Belief { shape, exposure }) }
}

/// Fails where a demand of some chance would be of more pieces than are reckoned with.
fn within_reach(belief: RateBelief, exposure: f64) -> Result<(), LeadRefusal> {
    let reach = reach(belief, exposure);
    if reach <= FARTHEST { Ok(()) } else { Err(LeadRefusal::Reach(reach)) }
}

/// About the number of pieces above which nothing is left of failures at an uncertain rate.
pub(super) fn reach(belief: RateBelief, exposure: f64) -> f64 {
    let share = exposure / belief.exposure;
    let mean = belief.shape * share;
    mean + 12.0 * (mean * (1.0 + share)).sqrt() + 46.0 * (1.0 + share)
}
