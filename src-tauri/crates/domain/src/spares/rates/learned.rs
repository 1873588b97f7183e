use super::{FamilyMember, FamilyPrior, FamilyRefusal, RateBelief, Record, StatedRate};
use super::{LARGEST_SHAPE, family_prior};

/// Failures that a stated rate is worth where the catalogue does not say: the shape of its gamma
/// prior.
///
/// Source: constrained non-informative prior, NUREG/CR-6823, section 6.2.2.5.3.
pub const USUAL_WORTH: f64 = 0.5;

/// What the models of a family have in common, and in what it is counted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pooled {
    pub prior: FamilyPrior,
    pub by: PooledBy,
}

/// In what a family's rates are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PooledBy {
    /// Multiples of each model's stated rate.
    Multiples,
    /// Failures an hour, since a model of the family has no stated rate.
    PerHour,
}

/// Pools models by their stated rates (failures per 1e9 h) and records: as multiples of the stated
/// rate where each has one, else as rates.
///
/// Fails as [`family_prior`] does.
pub fn pool(models: &[(Option<f64>, &Record)]) -> Result<Pooled, FamilyRefusal> {
    let all_stated = models.iter().all(|(fit, _)| fit.is_some());
    let by = if all_stated { PooledBy::Multiples } else { PooledBy::PerHour };
    let members = models.iter().map(|(fit, record)| {
        let scale = if all_stated { fit.unwrap_or(0.0) * 1e-9 } else { 1.0 };
        FamilyMember { failures: record.failures, exposure: record.weighted_h * scale }
    });
    let prior = family_prior(&members.collect::<Vec<_>>())?;
    Ok(Pooled { prior, by })
}

/// Where the belief before the record comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PriorFrom {
    Stated,
    /// The models of the family, in place of the stated rate's own strength.
    Family,
    /// Neither was there: Jeffreys' prior.
    NothingKnown,
}

/// A failure rate with every step from what was stated to what is believed now. Rates are at the
/// stated temperature, hours are weighted by heat.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnedRate {
    pub stated_fit: Option<f64>,
    pub prior_from: PriorFrom,
    /// Failures that the prior is worth, and its hours.
    pub prior: RateBelief,
    pub pooled: Option<Pooled>,
    pub record: Record,
    /// Prior and record together: failures, and hours.
    pub belief: RateBelief,
    /// Share of the hours that are the record's: 0 all prior, 1 all record.
    pub record_share: f64,
    /// Mean, failures per 1e9 h.
    pub fit: f64,
    /// Bounds that hold 90 %, with 5 % on either side.
    pub low_fit: f64,
    pub high_fit: f64,
    pub no_fault_found: NoFaultFound,
}

/// Removals of units that turned out good. Their rate is not moved by heat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoFaultFound {
    /// Removals, and the hours they are spread over; a shape of 0 where none was seen.
    pub belief: RateBelief,
    /// Mean, removals per 1e9 h.
    pub fit: f64,
    /// Bounds that hold 90 %, by Jeffreys' prior; the lower is 0 where none was seen.
    pub low_fit: f64,
    pub high_fit: f64,
}

/// Why no failure rate can be named.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum RateRefusal {
    #[error(
        "the stated failure rate is {0} per 1e9 h: give a number above zero, or leave it out where \
         it is not known"
    )]
    Stated(f64),
    #[error("the stated mean time between failures is {0} h: give a number above zero")]
    Mtbf(f64),
    #[error("the failure rate of a part is {0} per 1e9 h: give a number of zero or more")]
    Part(f64),
    #[error(
        "the stated rate is worth {0} failures: give a number from 0.01 to 1000000, such as \
         {USUAL_WORTH}"
    )]
    Worth(f64),
    #[error(
        "no failure rate is stated and no unit of the model has hours in service: state a rate in \
         the catalogue, or give the days of installation"
    )]
    NothingKnown,
    #[error("{0} failures are too many to reckon with: give up to 1000000")]
    TooMany(f64),
}

/// Learns a model's failure rate from what is stated, its family and its own record.
///
/// The prior is the family's where one is given, else a gamma distribution about the stated rate
/// that is worth `worth` failures, else Jeffreys' (half a failure in no time).
///
/// A no-fault-found removal is no failure. Its rate is the record's alone, its hours those of record
/// and prior together, so that one early removal does not promise a flood (a decision, no source).
///
/// Fails where the stated rate is no rate, the worth is none, or nothing at all is known.
///
/// Source: conjugate gamma-Poisson update, NUREG/CR-6823, section 6.2.2.
pub fn learned_rate(
    stated: Option<&StatedRate>,
    worth: f64,
    pooled: Option<Pooled>,
    record: Record,
) -> Result<LearnedRate, RateRefusal> {
    if !(0.01..=LARGEST_SHAPE).contains(&worth) {
        return Err(RateRefusal::Worth(worth));
    }
    let stated_fit = stated.map(StatedRate::fit).transpose()?;
    let (prior_from, prior) = prior(stated_fit, worth, pooled);
    let belief = prior.after(record.failures, record.weighted_h);
    if !(belief.exposure.is_finite() && belief.exposure > 0.0) {
        return Err(RateRefusal::NothingKnown);
    }
    if belief.shape + record.no_fault_found as f64 > LARGEST_SHAPE {
        return Err(RateRefusal::TooMany(belief.shape + record.no_fault_found as f64));
    }
    Ok(LearnedRate {
        stated_fit,
        prior_from,
        prior,
        pooled: pooled.filter(|_| prior_from == PriorFrom::Family),
        belief,
        record_share: record.weighted_h / belief.exposure,
        fit: belief.mean() * 1e9,
        low_fit: belief.quantile(0.05) * 1e9,
        high_fit: belief.quantile(0.95) * 1e9,
        no_fault_found: no_fault_found(record.no_fault_found, prior.exposure + record.hours_h),
        record,
    })
}

fn prior(stated_fit: Option<f64>, worth: f64, pooled: Option<Pooled>) -> (PriorFrom, RateBelief) {
    let own = |per_h: f64| RateBelief { shape: worth, exposure: worth / per_h };
    let of_family = pooled.and_then(|pooled| {
        let RateBelief { shape, exposure } = pooled.prior.belief;
        match (pooled.by, stated_fit) {
            (PooledBy::PerHour, _) => Some(RateBelief { shape, exposure }),
            (PooledBy::Multiples, Some(fit)) => {
                Some(RateBelief { shape, exposure: exposure / (fit * 1e-9) })
            }
            (PooledBy::Multiples, None) => None,
        }
    });
    match (of_family, stated_fit) {
        (Some(prior), _) => (PriorFrom::Family, prior),
        (None, Some(fit)) => (PriorFrom::Stated, own(fit * 1e-9)),
        (None, None) => (PriorFrom::NothingKnown, RateBelief { shape: 0.5, exposure: 0.0 }),
    }
}

fn no_fault_found(seen: u64, hours_h: f64) -> NoFaultFound {
    let belief = RateBelief { shape: seen as f64, exposure: hours_h };
    if hours_h <= 0.0 {
        return NoFaultFound { belief, fit: 0.0, low_fit: 0.0, high_fit: 0.0 };
    }
    let by_jeffreys = RateBelief { shape: seen as f64 + 0.5, exposure: hours_h };
    NoFaultFound {
        belief,
        fit: belief.mean() * 1e9,
        low_fit: if seen == 0 { 0.0 } else { by_jeffreys.quantile(0.05) * 1e9 },
        high_fit: by_jeffreys.quantile(0.95) * 1e9,
    }
}
