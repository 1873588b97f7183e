//! What the months ahead ask for: demand in a lead time, ageing units, stock month by month, and
//! the last purchase of a population that shrinks.

mod last_purchase;
mod projection;

use super::ageing::life;
use super::{Calc, Entry, entry};
use last_purchase::LastPurchaseAhead;
use projection::StockProjection;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares::{self as domain, Pmf, RateBelief};

pub(super) fn entries() -> Vec<Entry> {
    vec![
        entry::<LeadTimeDemand>(),
        entry::<AgeingDemand>(),
        entry::<StockProjection>(),
        entry::<LastPurchaseAhead>(),
    ]
}

/// A rate that is not known for sure: a gamma distribution.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Belief {
    /// Like a number of failures seen.
    shape: f64,
    /// Like the unit-hours in which they were seen.
    exposure_h: f64,
}

/// Units that come or go.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Change {
    /// Days from now.
    day_d: f64,
    /// Units; below zero where they go.
    units: f64,
    /// The same, each times the heat factor of its place; the units where none is given.
    weighted: Option<f64>,
}

/// Pieces that are asked for on a known day.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Planned {
    /// Days from now.
    day_d: f64,
    /// Pieces asked for.
    pieces: u64,
    /// Chance that it happens (1).
    chance: Option<f64>,
}

/// Pieces that come on a known day.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Coming {
    /// Days from now.
    day_d: f64,
    /// Pieces that come.
    pieces: u64,
}

/// Who asks for pieces.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Asking {
    /// Units in service now.
    units: f64,
    /// The same, each times the heat factor of its place; the units where none is given.
    weighted: Option<f64>,
    #[serde(default)]
    changes: Vec<Change>,
    failures: Option<Belief>,
    no_fault_found: Option<Belief>,
    #[serde(default)]
    planned: Vec<Planned>,
    /// Probability of 0, 1, 2 … pieces used up by work in a month.
    month: Option<Vec<f64>>,
}

/// The same in the types of the domain.
struct Asked {
    population: domain::Population,
    planned: Vec<domain::PlannedPieces>,
    failing: domain::Failing<'static>,
    no_fault_found: RateBelief,
    month: Option<Pmf>,
}

impl Asking {
    fn asked(self) -> Result<Asked, String> {
        let changes = self.changes.into_iter().map(|it| domain::PopulationChange {
            day: it.day_d,
            units: it.units,
            weighted: it.weighted.unwrap_or(it.units),
        });
        let population = domain::Population {
            units: self.units,
            weighted: self.weighted.unwrap_or(self.units),
            changes: changes.collect(),
        };
        let planned = self.planned.into_iter().map(|it| domain::PlannedPieces {
            day: it.day_d,
            pieces: it.pieces,
            chance: it.chance.unwrap_or(1.0),
        });
        let month = self.month.map(Pmf::of).transpose().map_err(|no| no.to_string())?;
        let belief = |it: Belief| RateBelief { shape: it.shape, exposure: it.exposure_h };
        Ok(Asked {
            population,
            planned: planned.collect(),
            failing: self
                .failures
                .map_or(domain::Failing::Never, |it| domain::Failing::AtRate(belief(it))),
            no_fault_found: self
                .no_fault_found
                .map_or(RateBelief { shape: 0.0, exposure: 1.0 }, belief),
            month,
        })
    }
}

fn arrivals(coming: &[Coming]) -> Vec<domain::Arrival> {
    let arrival = |it: &Coming| domain::Arrival { day: it.day_d, pieces: it.pieces };
    coming.iter().map(arrival).collect()
}

/// Demand until an order can be on the shelf: failures at an uncertain rate, removals without a
/// fault, planned pieces, consumption, over a gamma-distributed lead time.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LeadTimeDemand {
    /// Mean lead time.
    lead_time_d: f64,
    /// Standard deviation of the lead time (0).
    #[serde(default)]
    lead_time_spread_d: f64,
    /// Days between two looks at the shelf (0).
    #[serde(default)]
    review_d: f64,
    asking: Asking,
    /// Probabilities for which the smallest sufficient number of pieces is wanted.
    #[serde(default)]
    probabilities: Vec<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Demand {
    /// Pieces on average.
    mean: f64,
    /// Variance of the number of pieces.
    variance: f64,
    /// Probability of 0, 1, 2 … pieces, up to 30.
    chances: Vec<f64>,
    /// Smallest k with P(X <= k) >= p for each probability given.
    quantiles: Vec<u64>,
    parts: Vec<Part>,
    /// What the variances of the parts miss of the whole.
    shared_variance: f64,
}

#[derive(Serialize, JsonSchema)]
struct Part {
    /// Why the pieces are asked for.
    kind: &'static str,
    /// Pieces on average.
    mean: f64,
    /// Variance of the number of pieces.
    variance: f64,
}

fn word(kind: domain::DemandKind) -> &'static str {
    match kind {
        domain::DemandKind::Failures => "failures",
        domain::DemandKind::WearOut => "wear_out",
        domain::DemandKind::NoFaultFound => "no_fault_found",
        domain::DemandKind::Planned => "planned",
        domain::DemandKind::Consumption => "consumption",
    }
}

fn chances(pmf: &Pmf) -> Vec<f64> {
    pmf.weights().iter().take(31).copied().collect()
}

impl Calc for LeadTimeDemand {
    const NAME: &'static str = "lead-time-demand";
    type Reply = Demand;

    fn reckon(self) -> Result<Demand, String> {
        let asked = self.asking.asked()?;
        let question = domain::LeadQuestion {
            lead_time: domain::LeadTime {
                mean_d: self.lead_time_d,
                deviation_d: self.lead_time_spread_d,
            },
            review_d: self.review_d,
            failing: asked.failing,
            no_fault_found: asked.no_fault_found,
            population: &asked.population,
            planned: &asked.planned,
            month: asked.month.as_ref(),
        };
        let demand = domain::lead_demand(&question).map_err(|no| no.to_string())?;
        let mut quantiles = Vec::with_capacity(self.probabilities.len());
        for probability in self.probabilities {
            quantiles.push(demand.pmf.quantile(super::inside("a probability", probability)?));
        }
        let part = |it: &domain::DemandPart| Part {
            kind: word(it.kind),
            mean: it.mean,
            variance: it.variance,
        };
        Ok(Demand {
            mean: demand.pmf.mean(),
            variance: demand.pmf.variance(),
            chances: chances(&demand.pmf),
            quantiles,
            parts: demand.parts.iter().map(part).collect(),
            shared_variance: demand.shared_variance,
        })
    }
}

/// Failures of units of known age that wear by a Weibull life, each replaced by a new one when it
/// fails: renewals, as a distribution.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct AgeingDemand {
    /// Age of each unit.
    ages_y: Vec<f64>,
    /// Scale of the life.
    scale_y: f64,
    /// Shape of the life.
    shape: f64,
    /// Time that is asked for.
    time_y: f64,
}

#[derive(Serialize, JsonSchema)]
struct Renewed {
    /// Failures on average.
    mean: f64,
    /// Variance of the number of failures.
    variance: f64,
    /// Probability of 0, 1, 2 … failures, up to 30.
    chances: Vec<f64>,
}

impl Calc for AgeingDemand {
    const NAME: &'static str = "ageing-demand";
    type Reply = Renewed;

    fn reckon(self) -> Result<Renewed, String> {
        if self.ages_y.len() > 10_000 {
            return Err("more than 10000 ages are given: give them in parts".to_owned());
        }
        let life = life(self.scale_y, self.shape)?;
        let present = |age_y: &f64| domain::AgeGroup::present(1, *age_y, 1.0);
        let groups: Vec<_> = self.ages_y.iter().map(present).collect();
        let day = self.time_y * domain::HOURS_PER_YEAR_OF_AGE / 24.0;
        let demand = domain::ageing_demand(life, &groups, day).map_err(|no| no.to_string())?;
        Ok(Renewed { mean: demand.mean(), variance: demand.variance(), chances: chances(&demand) })
    }
}
