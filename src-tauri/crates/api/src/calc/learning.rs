use super::{Calc, Entry, entry, inside};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::battery as domain;
use slotkeep_domain::spares::Life;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<WeibullFit>(), entry::<WeibullBlend>()]
}

/// Ages in any unit of time, by what is known of each.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Records {
    /// Ages at which a failure was seen.
    #[serde(default)]
    failed: Vec<f64>,
    /// Ages of units that were still good (right-censored).
    #[serde(default)]
    outlived: Vec<f64>,
    /// Ages at which units had failed, never seen good before (left-censored).
    #[serde(default)]
    failed_before: Vec<f64>,
    /// Stretches of age in which units failed (interval-censored).
    #[serde(default)]
    failed_between: Vec<Stretch>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Stretch {
    /// Age at which it was last good.
    good_age: f64,
    /// Age at which it was found failed.
    failed_age: f64,
}

impl Records {
    fn seen(&self) -> Vec<domain::Seen> {
        let failed = self.failed.iter().map(|at_y| domain::Seen::Failed { at_y: *at_y });
        let outlived = self.outlived.iter().map(|at_y| domain::Seen::Outlived { at_y: *at_y });
        let before =
            self.failed_before.iter().map(|at_y| domain::Seen::FailedBefore { at_y: *at_y });
        let between = self.failed_between.iter().map(|stretch| domain::Seen::FailedBetween {
            from_y: stretch.good_age,
            to_y: stretch.failed_age,
        });
        failed.chain(outlived).chain(before).chain(between).collect()
    }
}

/// Weibull life by maximum likelihood from exact and censored ages, with standard errors by the
/// observed information.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct WeibullFit {
    records: Records,
    /// Confidence of the bounds, between 0 and 1 (0.95).
    #[serde(default = "usual_confidence")]
    confidence: f64,
    /// Shares of units for which the age that they do not reach is wanted.
    #[serde(default)]
    shares: Vec<f64>,
}

fn usual_confidence() -> f64 {
    0.95
}

#[derive(Serialize, JsonSchema)]
struct Fit {
    /// Scale, in the unit of the ages.
    scale: f64,
    /// Shape; above 1 for wear.
    shape: f64,
    /// Standard error of the scale.
    scale_error: f64,
    /// Standard error of the shape.
    shape_error: f64,
    /// Bounds of the scale.
    scale_bounds: [f64; 2],
    /// Bounds of the shape.
    shape_bounds: [f64; 2],
    /// Logarithm of the likelihood.
    log_likelihood: f64,
    /// Mean life.
    mean: f64,
    /// Standard deviation of lives.
    deviation: f64,
    /// Failures among the records.
    ended: usize,
    /// For each share the age that it does not reach.
    quantiles: Vec<Quantile>,
}

#[derive(Serialize, JsonSchema)]
struct Quantile {
    /// The age.
    age: f64,
    /// Its lower bound.
    lower: f64,
    /// Its upper bound.
    upper: f64,
}

impl Calc for WeibullFit {
    const NAME: &'static str = "weibull-fit";
    type Reply = Fit;

    fn reckon(self) -> Result<Fit, String> {
        let z = deviations(inside("confidence", self.confidence)?);
        let fit = domain::fit(&self.records.seen()).map_err(|no| no.to_string())?;
        let mut quantiles = Vec::with_capacity(self.shares.len());
        for share in self.shares {
            let [lower, age, upper] = fit.quantile_y(inside("a share", share)?, z);
            quantiles.push(Quantile { age, lower, upper });
        }
        let [scale_bounds, shape_bounds] = fit.bounds(z);
        let Life { scale, shape } = fit.life;
        Ok(Fit {
            scale,
            shape,
            scale_error: fit.ln_scale_error * scale,
            shape_error: fit.ln_shape_error * shape,
            scale_bounds,
            shape_bounds,
            log_likelihood: fit.log_likelihood,
            mean: fit.life.mean(),
            deviation: fit.life.deviation(),
            ended: fit.ended,
            quantiles,
        })
    }
}

/// Standard deviations of the normal distribution that hold this share around the middle.
fn deviations(confidence: f64) -> f64 {
    slotkeep_domain::spares::normal_quantile((1.0 + confidence) / 2.0)
}

/// Weibull life from records and from a model's lives, the model counting for so many failures.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct WeibullBlend {
    records: Records,
    /// Lives by the model at evenly spread chances, in the unit of the ages.
    model_lives: Vec<f64>,
    /// Failures that the model counts for (10).
    #[serde(default = "usual_worth")]
    worth_lives: f64,
}

fn usual_worth() -> f64 {
    domain::WORTH_LIVES
}

#[derive(Serialize, JsonSchema)]
struct Blended {
    /// Scale of both together, in the unit of the ages.
    scale: f64,
    /// Shape of both together.
    shape: f64,
    /// Scale of the model alone.
    model_scale: f64,
    /// Shape of the model alone.
    model_shape: f64,
    /// Scale of the records alone; null where they are too few.
    found_scale: Option<f64>,
    /// Shape of the records alone; null where they are too few.
    found_shape: Option<f64>,
    /// Share of the evidence that is the records'.
    found_share: f64,
}

impl Calc for WeibullBlend {
    const NAME: &'static str = "weibull-blend";
    type Reply = Blended;

    fn reckon(self) -> Result<Blended, String> {
        let seen = self.records.seen();
        let blend = domain::blend(&seen, &self.model_lives, self.worth_lives)
            .map_err(|no| no.to_string())?;
        let found = blend.found.ok().map(|found| found.life);
        Ok(Blended {
            scale: blend.blended.life.scale,
            shape: blend.blended.life.shape,
            model_scale: blend.model.scale,
            model_shape: blend.model.shape,
            found_scale: found.map(|life| life.scale),
            found_shape: found.map(|life| life.shape),
            found_share: blend.found_share,
        })
    }
}
