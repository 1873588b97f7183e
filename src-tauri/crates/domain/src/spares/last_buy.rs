//! The last purchase before a maker takes no more orders: how many pieces, and what it costs to be
//! wrong.
//!
//! Source: final order and all-time requirement, Fortuin 1980, Int. J. Prod. Res. 18:355; last-time
//! buy in the sense of IEC 62402.

mod shortfall;
#[cfg(test)]
mod tests;

use super::ageing::Life;
use super::lead_demand::slices::{gamma_points, slices_for};
use super::lead_demand::{
    DAYS_PER_MONTH, Failing, LeadRefusal, PlannedPieces, Population, check_belief, failures_in,
    reach,
};
use super::pmf::Pmf;
use super::poisson::DemandRefusal;
use super::projection::Arrival;
use super::wear::{AgeGroup, ageing_course};
use shortfall::{Luck, Step};

/// What a last purchase is reckoned from. Units without a fault come back to the shelf, so they ask
/// for nothing here; shelf dates of what is bought are for the caller to look at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastBuyQuestion<'a> {
    /// Day on which what is bought now would be on the shelf.
    pub arrives_d: f64,
    /// Day after which no piece is wanted any more.
    pub horizon_d: f64,
    /// Usable pieces on the shelf.
    pub stock: u64,
    /// Ordered and not yet here; what is overdue comes today.
    pub on_order: &'a [Arrival],
    /// Units that planned removals set free for the shelf.
    pub harvest: &'a [Arrival],
    pub failing: Failing<'a>,
    /// Units in service, their removals included. For wear the groups say it.
    pub population: &'a Population,
    pub planned: &'a [PlannedPieces],
    /// Share of failed units that come back from repair, and so ask for nothing that lasts.
    pub repair_yield: f64,
    pub costs: LastBuyCosts,
}

/// What it costs to be wrong, in any money.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastBuyCosts {
    /// One piece left over at the end: what was paid for it and for keeping it, less what it is worth
    /// then. Paid today.
    pub left: f64,
    /// One piece missing: the dearer way to close the gap. Paid when it is missing.
    pub short: f64,
    /// Share of its worth that money to be paid loses in a year; 0 for none.
    pub discount_a_y: f64,
}

/// A last purchase.
#[derive(Debug, Clone, PartialEq)]
pub struct LastBuy {
    /// Pieces to buy at the least cost; the smaller number where two cost the same.
    pub bought: u64,
    pub cost: f64,
    /// That and other quantities beside it, rising.
    pub curve: Vec<BuyPoint>,
    /// Pieces that will be asked for until the horizon, repaired ones not counted.
    pub demand_mean: f64,
    pub demand_deviation: f64,
    /// Pieces that come without buying until the horizon: on order, and set free.
    pub on_order: u64,
    pub harvested: u64,
    /// How far demand outruns supply at its worst, the stock of today not counted: to be safe with a
    /// chance of p, have its quantile at p on the shelf.
    pub shortfall: Pmf,
    pub nothing_bought: Cover,
    pub with_bought: Cover,
    /// Chance that the present stock runs out before the purchase can arrive, which no quantity
    /// helps.
    pub out_before_arrival: f64,
}

/// One quantity and what follows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BuyPoint {
    pub bought: u64,
    pub cost: f64,
    /// Pieces left at the horizon and pieces missing until then, on average.
    pub left: f64,
    pub short: f64,
    /// Chance that a piece is missing until the horizon.
    pub run_out: f64,
}

/// How long a stock lasts.
#[derive(Debug, Clone, PartialEq)]
pub struct Cover {
    /// Day, and chance that a piece has been missing by then, at the end of each month and at the
    /// horizon.
    pub out_by: Vec<(f64, f64)>,
}

/// Why no purchase can be named.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum LastBuyRefusal {
    #[error("the horizon is {0} days away: give a number above 0, up to 36525")]
    Horizon(f64),
    #[error("the purchase would arrive in {0} days: give a number of zero or more")]
    Arrives(f64),
    #[error("the cost of {name} is {cost}: give a number above zero")]
    Cost { name: &'static str, cost: f64 },
    #[error("the discount is {0} a year: give a share from 0 to below 1, such as 0.05")]
    Discount(f64),
    #[error("the repair yield is {0}: give a share from 0 to 1")]
    Yield(f64),
    #[error("a day on which pieces come is {0}: give a number")]
    Day(f64),
    #[error(
        "about {0:.0} pieces would be asked for until the horizon: up to {MOST_PIECES} are reckoned \
         with, so look less far ahead or split the population"
    )]
    TooMuch(f64),
    #[error(transparent)]
    Lead(#[from] LeadRefusal),
    #[error(transparent)]
    Demand(#[from] DemandRefusal),
}

/// Most pieces that demand and supply may come to.
const MOST_PIECES: u64 = 5_000;

/// Quantities beside the best one on the curve, each way, where they are few.
const CURVE: u64 = 25;

/// Longest time that is looked ahead, days.
const LONGEST_D: f64 = 36_525.0;

const DAYS_PER_YEAR: f64 = 365.25;

/// Returns the last purchase that costs least, and what other quantities would cost.
///
/// Whoever finds nothing on the shelf is helped in another way, at the cost of a missing piece. Of
/// units set free each counts from its day on. The purchase counts as there from today on:
/// [`LastBuy::out_before_arrival`] says how likely that is too kind. Given the rate (or the life),
/// failures are Poisson; the rate is mixed over what is believed of it.
///
/// What is missing in all is how far demand outruns supply at its worst, less the stock, so one
/// distribution serves every quantity, and the cost is convex in it. Exact for a known rate; else no
/// chance is off by more than 1e-4.
///
/// Fails where a figure is no number or out of its range; the message names it.
///
/// Source: newsvendor, P(X <= q) >= short / (short + left); reflection of a net demand at zero
/// (Skorokhod), as for a dam.
pub fn last_buy(question: &LastBuyQuestion) -> Result<LastBuy, LastBuyRefusal> {
    question.check()?;
    let luck = question.luck()?;
    let horizon_d = question.horizon_d;
    let shortfall = luck.shortfall(question, horizon_d)?;
    let years = question.shortfalls_by_year(&luck, &shortfall)?;
    let on_order = pieces_until(question.on_order, horizon_d);
    let harvested = pieces_until(question.harvest, horizon_d);
    let (demand_mean, demand_variance) = luck.demand(question);
    let supply = (on_order + harvested) as f64;
    let point = |bought: u64| {
        let stock = question.stock + bought;
        let short = shortfall.expected_above(stock);
        let left = (stock as f64 + supply - demand_mean + short).max(0.0);
        let paid: f64 = years.iter().map(|(worth, by)| worth * by.expected_above(stock)).sum();
        let cost = question.costs.left * left + question.costs.short * paid;
        BuyPoint { bought, cost, left, short, run_out: shortfall.above(stock) }
    };
    let (best, last) =
        best_of(point, (shortfall.weights().len() as u64).saturating_sub(question.stock));
    let curve = curve_around(best.bought, last).map(point).collect();
    let arrives_d = question.arrives_d.min(horizon_d);
    Ok(LastBuy {
        bought: best.bought,
        cost: best.cost,
        curve,
        demand_mean,
        demand_deviation: demand_variance.sqrt(),
        on_order,
        harvested,
        nothing_bought: luck.cover(question, question.stock)?,
        with_bought: luck.cover(question, question.stock + best.bought)?,
        out_before_arrival: luck.shortfall(question, arrives_d)?.above(question.stock),
        shortfall,
    })
}

/// The cheapest quantity of a convex cost, and the last that could matter.
fn best_of(point: impl Fn(u64) -> BuyPoint, last: u64) -> (BuyPoint, u64) {
    let (mut low, mut high) = (0, last);
    while low < high {
        let middle = low + (high - low) / 2;
        let (here, next) = (point(middle).cost, point(middle + 1).cost);
        if next < here { low = middle + 1 } else { high = middle }
    }
    (point(low), last)
}

/// Quantities to show: each one near the best where they are few, else some of them evenly.
fn curve_around(best: u64, last: u64) -> impl Iterator<Item = u64> {
    let step = (best / (2 * CURVE)).max(1);
    let from = best.saturating_sub(CURVE * step);
    let to = (best + CURVE * step).min(last.max(best) + 1);
    (from..=to).filter(move |bought| (*bought).abs_diff(best).is_multiple_of(step))
}

fn pieces_until(arrivals: &[Arrival], day: f64) -> u64 {
    arrivals.iter().filter(|it| it.day <= day).map(|it| it.pieces).sum()
}

impl Cover {
    /// The day by which a piece has been missing with this chance, straight between the months; none
    /// where the chance stays below until the horizon.
    pub fn day_at(&self, chance: f64) -> Option<f64> {
        let after = self.out_by.iter().position(|(_, out)| *out >= chance)?;
        let (day, out) = self.out_by[after];
        let (before_d, before) = match after.checked_sub(1) {
            Some(before) => self.out_by[before],
            None => (0.0, 0.0),
        };
        let share = if out > before { ((chance - before) / (out - before)).max(0.0) } else { 1.0 };
        Some(before_d + share * (day - before_d))
    }
}

impl LastBuyQuestion<'_> {
    /// What is paid for a piece missing in each year, beside what is missing by its end less what
    /// was by its beginning. One year stands for all where money keeps its worth.
    fn shortfalls_by_year(
        &self,
        luck: &Luck,
        whole: &Pmf,
    ) -> Result<Vec<(f64, Pmf)>, LastBuyRefusal> {
        if self.costs.discount_a_y == 0.0 {
            return Ok(vec![(1.0, whole.clone())]);
        }
        let years = (self.horizon_d / DAYS_PER_YEAR).ceil() as u32;
        let worth = |year: u32| (1.0 - self.costs.discount_a_y).powf(f64::from(year) + 0.5);
        let mut by_year = Vec::with_capacity(years as usize);
        for year in 0..years {
            let end_d = (f64::from(year + 1) * DAYS_PER_YEAR).min(self.horizon_d);
            // What is missing by the end of one year was not yet by the end of the one before.
            let next = if year + 1 < years { worth(year + 1) } else { 0.0 };
            by_year.push((worth(year) - next, luck.shortfall(self, end_d)?));
        }
        Ok(by_year)
    }

    /// How failures may come, in all its likely ways.
    fn luck(&self) -> Result<Luck, LastBuyRefusal> {
        let lost = 1.0 - self.repair_yield;
        let days = self.days();
        let (belief, hours) = match self.failing {
            Failing::Never => {
                let none = vec![0.0; days.len()];
                return Ok(Luck::of_courses(vec![(1.0, none)], days));
            }
            Failing::Wearing { lives, groups } => return self.luck_of_wear(lives, groups, lost),
            Failing::AtRate(belief) => {
                let until = |day: &f64| self.population.hours_until(*day).1 * lost;
                (belief, days.iter().map(until).collect::<Vec<_>>())
            }
        };
        let all_hours = hours.last().copied().unwrap_or(0.0);
        let mean = belief.mean() * all_hours;
        few_enough(mean)?;
        few_enough(reach(belief, all_hours) / 20.0)?;
        let relative = 1.0 / belief.shape.sqrt();
        let slices = slices_for(mean * relative, mean);
        let rates = gamma_points(belief.mean(), belief.mean() * relative, &[], slices);
        Ok(Luck::at_rates(rates, days, hours, failures_in(belief, all_hours)?))
    }

    fn luck_of_wear(
        &self,
        lives: &[(f64, Life)],
        groups: &[AgeGroup],
        lost: f64,
    ) -> Result<Luck, LastBuyRefusal> {
        let days = self.days();
        let mut courses = Vec::with_capacity(lives.len());
        for (weight, life) in lives {
            let mut sums = ageing_course(*life, groups, &days)?;
            sums.iter_mut().for_each(|sum| *sum *= lost);
            few_enough(sums.last().copied().unwrap_or(0.0))?;
            courses.push((*weight, sums));
        }
        Ok(Luck::of_courses(courses, days))
    }

    /// Days until the horizon on which something is looked at, comes, is asked for, or between which
    /// the population changes; two at least.
    fn days(&self) -> Vec<f64> {
        let until_d = self.horizon_d;
        let every = |days: f64| (1..=(until_d / days) as u32).map(move |it| f64::from(it) * days);
        let arrivals = self.on_order.iter().chain(self.harvest).map(|it| it.day);
        let planned = self.planned.iter().map(|it| it.day);
        let changes = self.population.changes.iter().map(|it| it.day);
        let dated = arrivals.chain(planned).chain(changes).chain([self.arrives_d]);
        let mut days: Vec<f64> = every(DAYS_PER_MONTH)
            .chain(every(DAYS_PER_YEAR))
            .chain(dated.map(|day| day.clamp(0.0, until_d)))
            .chain([0.0, until_d])
            .collect();
        days.sort_by(f64::total_cmp);
        days.dedup();
        days
    }

    /// What comes and what is planned until a day, in order; `marks` are added.
    fn steps(&self, until_d: f64, marks: &[f64]) -> Vec<(f64, Step)> {
        let mut steps: Vec<(f64, Step)> = marks.iter().map(|day| (*day, Step::Mark)).collect();
        let come = self.on_order.iter().chain(self.harvest);
        steps.extend(come.map(|it| (it.day.max(0.0), Step::Comes(it.pieces))));
        let planned = self.planned.iter();
        steps.extend(planned.map(|it| (it.day.max(0.0), Step::Asked(it.pieces, it.chance))));
        steps.retain(|(day, _)| *day <= until_d);
        steps.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.rank().cmp(&b.1.rank())));
        steps
    }

    fn check(&self) -> Result<(), LastBuyRefusal> {
        if !(self.horizon_d > 0.0 && self.horizon_d <= LONGEST_D) {
            return Err(LastBuyRefusal::Horizon(self.horizon_d));
        }
        if !(self.arrives_d.is_finite() && self.arrives_d >= 0.0) {
            return Err(LastBuyRefusal::Arrives(self.arrives_d));
        }
        let costs = [("a piece left over", self.costs.left), ("a missing piece", self.costs.short)];
        if let Some((name, cost)) = costs.into_iter().find(|(_, it)| !(it.is_finite() && *it > 0.0))
        {
            return Err(LastBuyRefusal::Cost { name, cost });
        }
        if !(0.0..1.0).contains(&self.costs.discount_a_y) {
            return Err(LastBuyRefusal::Discount(self.costs.discount_a_y));
        }
        if !(0.0..=1.0).contains(&self.repair_yield) {
            return Err(LastBuyRefusal::Yield(self.repair_yield));
        }
        let arrivals = || self.on_order.iter().chain(self.harvest);
        if let Some(wrong) = arrivals().find(|it| !it.day.is_finite()) {
            return Err(LastBuyRefusal::Day(wrong.day));
        }
        let pieces = arrivals().map(|it| it.pieces).chain(self.planned.iter().map(|it| it.pieces));
        few_enough(pieces.chain([self.stock]).map(|pieces| pieces as f64).sum())?;
        if let Some(wrong) = self.population.wrong() {
            return Err(LeadRefusal::Population(wrong).into());
        }
        if let Failing::AtRate(belief) = self.failing {
            check_belief(belief)?;
        }
        let sound = |it: &PlannedPieces| it.day.is_finite() && (0.0..=1.0).contains(&it.chance);
        match self.planned.iter().find(|it| !sound(it)) {
            Some(it) => Err(LeadRefusal::Planned { day: it.day, chance: it.chance }.into()),
            None => Ok(()),
        }
    }
}

fn few_enough(pieces: f64) -> Result<(), LastBuyRefusal> {
    if pieces <= MOST_PIECES as f64 { Ok(()) } else { Err(LastBuyRefusal::TooMuch(pieces)) }
}
