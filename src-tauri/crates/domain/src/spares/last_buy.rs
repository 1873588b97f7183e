//! The last purchase before a maker takes no more orders: how many pieces, and what it costs to be
//! wrong.
//!
//! Source: final order and all-time requirement, Fortuin 1980, Int. J. Prod. Res. 18:355; last-time
//! buy in the sense of IEC 62402.

mod question;
mod shortfall;
#[cfg(test)]
mod tests;

use super::lead_demand::{DAYS_PER_MONTH, Failing, LeadRefusal, PlannedPieces, Population};
use super::levels::BuyingLimits;
use super::pmf::Pmf;
use super::poisson::DemandRefusal;
use super::projection::Arrival;

/// What a last purchase is reckoned from.
///
/// Units without a fault come back to the shelf, and so do failed ones that are repaired: they ask
/// for nothing here, and the time that they are away is not looked at. Shelf dates of what is bought
/// are for the caller to look at, by a horizon that does not lie beyond them.
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
    /// Units that are away for repair now, on the days on which they are due back; each comes back
    /// with the chance of `repair_yield`.
    pub in_repair: &'a [Arrival],
    pub failing: Failing<'a>,
    /// Units in service, their removals included. For wear the groups say it.
    pub population: &'a Population,
    pub planned: &'a [PlannedPieces],
    /// Share of failed units that come back from repair, and so ask for nothing that lasts.
    pub repair_yield: f64,
    pub costs: LastBuyCosts,
    /// Least order and packs; shelf life and prices are not looked at.
    pub limits: &'a BuyingLimits,
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
    /// Pieces to buy at the least cost, of those that may be bought; the smaller number where two
    /// cost the same.
    pub bought: u64,
    /// The same if any number could be bought.
    pub unlimited: u64,
    pub cost: f64,
    /// That, none, and other quantities beside it, rising.
    pub curve: Vec<BuyPoint>,
    /// Pieces that will be asked for until the horizon, repaired ones not counted.
    pub demand: Pmf,
    pub demand_mean: f64,
    pub demand_deviation: f64,
    /// Of these the failures beyond repair.
    pub failures_mean: f64,
    /// Pieces asked for by the end of each month and by the horizon, on average.
    pub demand_by: Vec<(f64, f64)>,
    /// Pieces that come without buying until the horizon: on order, set free, and, on average, back
    /// from the repair that they are in now.
    pub on_order: u64,
    pub harvested: u64,
    pub repaired_mean: f64,
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
    let in_repair = pieces_until(question.in_repair, horizon_d) as f64;
    let repaired_mean = question.repair_yield * in_repair;
    let demand = luck.demand(question, horizon_d)?;
    let demand_mean = demand.mean();
    let supply = (on_order + harvested) as f64 + repaired_mean;
    let point = |bought: u64| {
        let stock = question.stock + bought;
        let short = shortfall.expected_above(stock);
        let left = (stock as f64 + supply - demand_mean + short).max(0.0);
        let paid: f64 = years.iter().map(|(worth, by)| worth * by.expected_above(stock)).sum();
        let cost = question.costs.left * left + question.costs.short * paid;
        BuyPoint { bought, cost, left, short, run_out: shortfall.above(stock) }
    };
    let last = (shortfall.weights().len() as u64).saturating_sub(question.stock);
    let unlimited = best_of(point, last);
    let best = may_be_bought(point, unlimited, question.limits);
    let curve = curve_around(best, last).map(point).collect();
    let arrives_d = question.arrives_d.min(horizon_d);
    let nothing_bought = luck.cover(question, question.stock)?;
    let days = nothing_bought.out_by.iter().map(|(day, _)| *day);
    let demand_by = days.map(|day| (day, luck.failures_mean(day) + question.planned_mean(day)));
    Ok(LastBuy {
        bought: best,
        unlimited,
        cost: point(best).cost,
        curve,
        demand_mean,
        demand_deviation: demand.variance().sqrt(),
        demand,
        failures_mean: luck.failures_mean(horizon_d),
        demand_by: demand_by.collect(),
        on_order,
        harvested,
        repaired_mean,
        with_bought: luck.cover(question, question.stock + best)?,
        nothing_bought,
        out_before_arrival: luck.shortfall(question, arrives_d)?.above(question.stock),
        shortfall,
    })
}

/// The cheapest quantity of a convex cost.
fn best_of(point: impl Fn(u64) -> BuyPoint, last: u64) -> u64 {
    let (mut low, mut high) = (0, last);
    while low < high {
        let middle = low + (high - low) / 2;
        let (here, next) = (point(middle).cost, point(middle + 1).cost);
        if next < here { low = middle + 1 } else { high = middle }
    }
    low
}

/// The cheapest quantity that may be bought, none among them: since the cost is convex, the nearest
/// one below the cheapest of all or the nearest above.
fn may_be_bought(point: impl Fn(u64) -> BuyPoint, best: u64, limits: &BuyingLimits) -> u64 {
    let (below, above) = limits.orders_around(best);
    if best == 0 || point(below).cost <= point(above).cost { below } else { above }
}

/// Quantities to show, none among them: each one near the best where they are few, else some of them
/// evenly.
fn curve_around(best: u64, last: u64) -> impl Iterator<Item = u64> {
    let step = (best / (2 * CURVE)).max(1);
    let from = best.saturating_sub(CURVE * step);
    let to = (best + CURVE * step).min(last.max(best) + 1);
    let near = (from..=to).filter(move |bought| (*bought).abs_diff(best).is_multiple_of(step));
    Some(0).into_iter().filter(move |_| from > 0).chain(near)
}

fn pieces_until(arrivals: &[Arrival], day: f64) -> u64 {
    arrivals.iter().filter(|it| it.day <= day).map(|it| it.pieces).sum()
}

impl Cover {
    /// The chance that a piece has been missing by a day, straight between the months; that at the
    /// horizon for a later day.
    pub fn out_at(&self, day: f64) -> f64 {
        let after = self.out_by.partition_point(|(end, _)| *end < day);
        let before = after.checked_sub(1).map_or((0.0, 0.0), |before| self.out_by[before]);
        let Some(next) = self.out_by.get(after) else { return before.1 };
        let share = ((day - before.0) / (next.0 - before.0)).clamp(0.0, 1.0);
        before.1 + share * (next.1 - before.1)
    }

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
