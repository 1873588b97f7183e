use super::{Calc, Entry, above_zero, at_least_zero, entry, inside};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![
        entry::<RateUpdate>(),
        entry::<RatePrior>(),
        entry::<MtbfBounds>(),
        entry::<FamilyRates>(),
        entry::<LearnedRate>(),
    ]
}

/// Failure rate after what was seen: gamma prior, Poisson failures (NUREG/CR-6823, 6.2.2).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct RateUpdate {
    /// Shape of the prior, like failures seen before; 0.5 with exposure 0 is Jeffreys' prior.
    prior_shape: f64,
    /// Exposure of the prior, like unit-hours seen before.
    prior_exposure: f64,
    /// Failures seen.
    events: u64,
    /// Exposure in which they were seen, in the same unit.
    exposure: f64,
    /// Probabilities for which the rate is wanted.
    #[serde(default)]
    probabilities: Vec<f64>,
    /// Rate for which the probability of staying below is wanted.
    rate: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Rate {
    /// Shape after.
    shape: f64,
    /// Exposure after.
    exposure: f64,
    /// Mean rate, failures in a unit of exposure.
    mean: f64,
    /// Rates not exceeded with the probabilities given, failures in a unit of exposure.
    quantiles: Vec<f64>,
    /// Probability of staying below the rate given; null where none was.
    probability_below: Option<f64>,
}

impl Calc for RateUpdate {
    const NAME: &'static str = "failure-rate-update";
    type Reply = Rate;

    fn reckon(self) -> Result<Rate, String> {
        let prior = domain::RateBelief {
            shape: at_least_zero("prior_shape", self.prior_shape)?,
            exposure: at_least_zero("prior_exposure", self.prior_exposure)?,
        };
        let after = prior.after(self.events, at_least_zero("exposure", self.exposure)?);
        above_zero("the shape after", after.shape)?;
        few_enough(after.shape)?;
        above_zero("the exposure after", after.exposure)?;
        let mut quantiles = Vec::with_capacity(self.probabilities.len());
        for probability in self.probabilities {
            quantiles.push(after.quantile(inside("a probability", probability)?));
        }
        let rate = self.rate.map(|rate| at_least_zero("rate", rate)).transpose()?;
        Ok(Rate {
            shape: after.shape,
            exposure: after.exposure,
            mean: after.mean(),
            quantiles,
            probability_below: rate.map(|rate| after.probability_below(rate)),
        })
    }
}

fn few_enough(failures: f64) -> Result<(), String> {
    if failures <= domain::LARGEST_SHAPE {
        Ok(())
    } else {
        Err(format!("{failures} failures are too many to reckon with: give up to 1000000"))
    }
}

/// Gamma prior from a mean time between failures that is as likely above as below, and one that is
/// exceeded with probability 0.95 (NIST/SEMATECH e-Handbook, 8.2.5).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct RatePrior {
    /// Exceeded with probability 0.5.
    median_mtbf_h: f64,
    /// Exceeded with probability 0.95.
    low_mtbf_h: f64,
}

#[derive(Serialize, JsonSchema)]
struct Prior {
    /// Shape of the prior.
    shape: f64,
    /// Its exposure.
    exposure_h: f64,
}

impl Calc for RatePrior {
    const NAME: &'static str = "failure-rate-prior";
    type Reply = Prior;

    fn reckon(self) -> Result<Prior, String> {
        domain::RateBelief::from_mtbf(self.median_mtbf_h, self.low_mtbf_h)
            .map(|prior| Prior { shape: prior.shape, exposure_h: prior.exposure })
            .ok_or_else(|| "give a low_mtbf_h above zero and a larger median_mtbf_h".to_owned())
    }
}

/// Bounds of the mean time between failures of a test ended by time (chi-square, IEC 60605-4).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct MtbfBounds {
    /// Time in operation of all units.
    operation_h: f64,
    /// Failures in it.
    failures: u32,
    /// Confidence, between 0 and 1.
    confidence: f64,
}

#[derive(Serialize, JsonSchema)]
struct Bounds {
    /// Time over failures; null where nothing failed.
    mtbf_h: Option<f64>,
    /// Lower bound of two.
    lower_h: f64,
    /// Upper bound of two; null where nothing failed.
    upper_h: Option<f64>,
    /// Lower bound alone.
    one_sided_lower_h: f64,
}

impl Calc for MtbfBounds {
    const NAME: &'static str = "mtbf-bounds";
    type Reply = Bounds;

    fn reckon(self) -> Result<Bounds, String> {
        let operation_h = above_zero("operation_h", self.operation_h)?;
        let confidence = inside("confidence", self.confidence)?;
        few_enough(f64::from(self.failures) + 1.0)?;
        let bounds = domain::mtbf_bounds(operation_h, self.failures.into(), confidence);
        Ok(Bounds {
            mtbf_h: bounds.mean,
            lower_h: bounds.lower,
            upper_h: bounds.upper,
            one_sided_lower_h: bounds.one_sided_lower,
        })
    }
}

/// Failure rates of the models of a family, pooled by empirical Bayes: the gamma prior that makes
/// the negative-binomial counts most likely, and what each model's rate becomes by it.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct FamilyRates {
    models: Vec<FamilyModel>,
}

/// What one model showed.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct FamilyModel {
    /// Failures seen.
    failures: u64,
    /// Exposure in which they were seen, such as unit-hours or the failures expected by the stated
    /// rate.
    exposure: f64,
}

#[derive(Serialize, JsonSchema)]
struct Family {
    /// Shape of the prior, held between 0.2 and the failures of the family.
    shape: f64,
    /// Exposure of the prior.
    exposure: f64,
    /// Mean rate of the family.
    mean: f64,
    /// Whether the shape is the likeliest, held at the family's failures, or held at the least.
    found: &'static str,
    /// Mean rate of each model after its own record.
    rates: Vec<f64>,
    /// Rate of each model that is exceeded with probability 0.95.
    lower: Vec<f64>,
    /// Rate of each model that is exceeded with probability 0.05.
    upper: Vec<f64>,
}

impl Calc for FamilyRates {
    const NAME: &'static str = "family-rates";
    type Reply = Family;

    fn reckon(self) -> Result<Family, String> {
        let member = |it: &FamilyModel| domain::FamilyMember {
            failures: it.failures,
            exposure: it.exposure,
        };
        let members: Vec<_> = self.models.iter().map(member).collect();
        let failures: f64 = members.iter().map(|it| it.failures as f64).sum();
        few_enough(2.0 * failures)?;
        let prior = domain::family_prior(&members).map_err(|no| no.to_string())?;
        let after = members.iter().map(|it| prior.belief.after(it.failures, it.exposure));
        let after: Vec<_> = after.collect();
        let found = match prior.shape {
            domain::ShapeFound::Best => "best",
            domain::ShapeFound::HeldAtFailures => "held_at_failures",
            domain::ShapeFound::HeldAtLeast => "held_at_least",
        };
        Ok(Family {
            shape: prior.belief.shape,
            exposure: prior.belief.exposure,
            mean: prior.belief.mean(),
            found,
            rates: after.iter().map(|it| it.mean()).collect(),
            lower: after.iter().map(|it| it.quantile(0.05)).collect(),
            upper: after.iter().map(|it| it.quantile(0.95)).collect(),
        })
    }
}

/// Failure rate of a model by what is stated for it and what was seen in places of several
/// temperatures, at the stated temperature and at each place.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LearnedRate {
    /// Stated failure rate; this, mtbf_h or parts.
    failure_rate_fit: Option<f64>,
    /// Stated mean time between failures.
    mtbf_h: Option<f64>,
    parts: Option<Vec<PartsLine>>,
    /// Temperature that it is stated for (40).
    stated_c: Option<f64>,
    /// Activation energy (0.4).
    activation_ev: Option<f64>,
    /// Failures that the stated rate is worth (0.5).
    worth: Option<f64>,
    #[serde(default)]
    places: Vec<PlaceRecord>,
}

/// One kind of part in a unit.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct PartsLine {
    /// Parts of this kind.
    count: u32,
    /// Failure rate of one.
    rate_fit: f64,
}

/// What was seen at one temperature.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct PlaceRecord {
    /// Temperature of the place.
    place_c: f64,
    /// Unit-hours there.
    hours_h: f64,
    /// Failures there.
    failures: u64,
    /// Removals there of units that were good.
    #[serde(default)]
    no_fault_found: u64,
}

#[derive(Serialize, JsonSchema)]
struct Learned {
    /// Stated rate; null where none is.
    stated_fit: Option<f64>,
    /// Failures that the prior is worth.
    prior_shape: f64,
    /// Hours that the prior is worth.
    prior_h: f64,
    /// How many times as often as at the stated temperature a unit fails in each place.
    factors: Vec<f64>,
    /// Unit-hours, moved to the stated temperature.
    weighted_h: f64,
    /// Mean rate at the stated temperature.
    rate_fit: f64,
    /// Rate that is exceeded with probability 0.95.
    lower_fit: f64,
    /// Rate that is exceeded with probability 0.05.
    upper_fit: f64,
    /// Mean rate in each place.
    place_rates_fit: Vec<f64>,
    /// Removals without a fault, mean rate.
    no_fault_found_fit: f64,
}

impl LearnedRate {
    fn stated(&self) -> Result<Option<domain::StatedRate>, String> {
        let part = |it: &PartsLine| domain::PartsLine { count: it.count, fit: it.rate_fit };
        match (self.failure_rate_fit, self.mtbf_h, &self.parts) {
            (None, None, None) => Ok(None),
            (Some(fit), None, None) => Ok(Some(domain::StatedRate::Fit(fit))),
            (None, Some(mtbf_h), None) => Ok(Some(domain::StatedRate::MtbfH(mtbf_h))),
            (None, None, Some(parts)) => {
                Ok(Some(domain::StatedRate::Parts(parts.iter().map(part).collect())))
            }
            _ => Err("give one of failure_rate_fit, mtbf_h and parts".to_owned()),
        }
    }
}

impl Calc for LearnedRate {
    const NAME: &'static str = "failure-rate-learned";
    type Reply = Learned;

    fn reckon(self) -> Result<Learned, String> {
        let stated = self.stated()?;
        let heat = domain::RateHeat::new(
            self.stated_c.unwrap_or(domain::USUAL_STATED_C),
            self.activation_ev.unwrap_or(domain::USUAL_ACTIVATION_EV),
        )
        .map_err(|no| no.to_string())?;
        let mut record = domain::Record::default();
        let mut factors = Vec::with_capacity(self.places.len());
        for place in &self.places {
            let factor = heat.factor_at(place.place_c).map_err(|no| no.to_string())?;
            record.hours_h += at_least_zero("hours_h", place.hours_h)?;
            record.weighted_h += place.hours_h * factor;
            record.failures = record.failures.saturating_add(place.failures);
            record.no_fault_found = record.no_fault_found.saturating_add(place.no_fault_found);
            factors.push(factor);
        }
        let worth = self.worth.unwrap_or(domain::USUAL_WORTH);
        let learned = domain::learned_rate(stated.as_ref(), worth, None, record)
            .map_err(|no| no.to_string())?;
        Ok(Learned {
            stated_fit: learned.stated_fit,
            prior_shape: learned.prior.shape,
            prior_h: learned.prior.exposure,
            weighted_h: learned.record.weighted_h,
            rate_fit: learned.fit,
            lower_fit: learned.low_fit,
            upper_fit: learned.high_fit,
            place_rates_fit: factors.iter().map(|factor| factor * learned.fit).collect(),
            factors,
            no_fault_found_fit: learned.no_fault_found.fit,
        })
    }
}
