use super::{Calc, Entry, above_zero, at_least_zero, entry, inside};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<RateUpdate>(), entry::<RatePrior>(), entry::<MtbfBounds>()]
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
