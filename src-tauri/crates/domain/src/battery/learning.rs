//! The life of a battery type as it was found at the site: Weibull, by maximum likelihood.
//!
//! Most records are censored. A cell changed while still good outlived its time in service; one
//! found spent failed some time since it was last seen good, or since fitting. Parameters are the
//! logarithms of scale and shape, in which the likelihood is well shaped and no value is
//! impossible.
//!
//! Source: Meeker and Escobar, Statistical Methods for Reliability Data, 1998, chapters 2, 7 and 8,
//! from memory; checked against published fits and a statistics library.

mod evidence;
mod likelihood;

pub use evidence::{Look, LookRefusal, Told, evidence};

use crate::spares::Life;
use likelihood::{Surface, climb};

/// What is known of one cell's life in service, years.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Seen {
    /// The end was seen.
    Failed { at_y: f64 },
    /// Still good then (right-censored).
    Outlived { at_y: f64 },
    /// Found spent, never seen good before (left-censored).
    FailedBefore { at_y: f64 },
    /// Good at the one, spent at the other (interval-censored).
    FailedBetween { from_y: f64, to_y: f64 },
}

/// A Weibull life with how sure it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FittedLife {
    /// Scale in years.
    pub life: Life,
    /// Standard error of the logarithm of the scale, by the observed information.
    pub ln_scale_error: f64,
    pub ln_shape_error: f64,
    /// Covariance of the two logarithms.
    pub ln_covariance: f64,
    pub log_likelihood: f64,
    /// Lives that were seen to end, exactly or between two looks.
    pub ended: usize,
    pub outlived: usize,
}

/// What was found, what the life model says, and both together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blend {
    /// None with a refusal where the records alone are too few.
    pub found: Result<FittedLife, FitRefusal>,
    /// The model's lives as a Weibull life.
    pub model: Life,
    pub blended: FittedLife,
    /// Share of the evidence that is the records': ended lives over these and the model's worth.
    pub found_share: f64,
}

/// Why no life could be fitted.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum FitRefusal {
    #[error(
        "only {ended} of the cells were seen to end: at least {LEAST_ENDED} are needed, so record \
         how each old cell was found"
    )]
    TooFew { ended: usize },
    #[error(
        "the records do not tell how the life spreads, since any shape up to the steepest fits as \
         well: record cells that end at other ages"
    )]
    NoBest,
    #[error(
        "a life is given as {0} years: give years above zero, and the end of a stretch after its \
         start"
    )]
    Years(f64),
    #[error("the model's life is no use: give {LEAST_ENDED} or more lives above zero that differ")]
    Model,
    #[error("the model's worth is {0}: give a number of lives above zero, such as {WORTH_LIVES}")]
    Worth(f64),
}

/// Fewest ended lives that a fit is made from. Common practice, no source: two always fit.
const LEAST_ENDED: usize = 3;

/// Lives that the model is worth where nothing else is said. A decision, no source: after so many
/// ends found at the site, records and model weigh the same.
pub const WORTH_LIVES: f64 = 10.0;

/// Steepest shape that counts as found.
const STEEPEST: f64 = 60.0;

/// Fits a Weibull life to what was seen, by maximum likelihood.
///
/// Fails when fewer than three lives were seen to end, when the likelihood has no top (all ends at
/// one age, or all before it), and when a figure is no life.
pub fn fit(seen: &[Seen]) -> Result<FittedLife, FitRefusal> {
    check(seen)?;
    let ended = seen.iter().filter(|seen| !matches!(seen, Seen::Outlived { .. })).count();
    if ended < LEAST_ENDED {
        return Err(FitRefusal::TooFew { ended });
    }
    fitted(&seen.iter().map(|seen| (*seen, 1.0)).collect::<Vec<_>>(), seen)
}

/// Blends what was seen with the life model, which counts for `worth_lives` ends.
///
/// `model_lives_y` are the model's lives at evenly spread chances (the middles of as many equal
/// slices), for a hold-up of zero: until spent, as the records say it. They enter the likelihood as
/// ends seen, together worth `worth_lives`: a power prior, and its top the most probable life. With
/// no record the model stands alone; many records outweigh it.
///
/// Fails when the model's lives are no lives, or hardly differ.
///
/// Source: Ibrahim and Chen, Power prior distributions for regression models, Statistical Science
/// 15 (2000), from memory.
pub fn blend(seen: &[Seen], model_lives_y: &[f64], worth_lives: f64) -> Result<Blend, FitRefusal> {
    check(seen)?;
    if !(worth_lives > 0.0 && worth_lives <= 1e6) {
        return Err(FitRefusal::Worth(worth_lives));
    }
    let sound = model_lives_y.iter().all(|life_y| life_y.is_finite() && *life_y > 0.0);
    if !sound || model_lives_y.len() < LEAST_ENDED {
        return Err(FitRefusal::Model);
    }
    let each = worth_lives / model_lives_y.len() as f64;
    let mut all: Vec<(Seen, f64)> =
        model_lives_y.iter().map(|at_y| (Seen::Failed { at_y: *at_y }, each)).collect();
    let model = fitted(&all, &[]).map_err(|_| FitRefusal::Model)?.life;
    all.extend(seen.iter().map(|seen| (*seen, 1.0)));
    let blended = fitted(&all, seen)?;
    let ended = blended.ended as f64;
    Ok(Blend { found: fit(seen), model, blended, found_share: ended / (ended + worth_lives) })
}

impl FittedLife {
    /// The life that this share of cells does not reach, years, with its bounds `z` standard errors
    /// off (1.96 for 95 %): lower, best, upper.
    ///
    /// Source: delta method on the logarithm of the quantile, as Meeker and Escobar, chapter 8.
    pub fn quantile_y(&self, share: f64, z: f64) -> [f64; 3] {
        let reduced = (-(-share).ln_1p()).ln();
        let over = reduced / self.life.shape;
        let ln_best = self.life.scale.ln() + over;
        // The logarithm of the shape enters as -over for each unit.
        let variance = self.ln_scale_error.powi(2) + (over * self.ln_shape_error).powi(2)
            - 2.0 * over * self.ln_covariance;
        let off = z * variance.max(0.0).sqrt();
        [(ln_best - off).exp(), ln_best.exp(), (ln_best + off).exp()]
    }

    /// Bounds of scale (years) and shape, `z` standard errors off on their logarithms.
    pub fn bounds(&self, z: f64) -> [[f64; 2]; 2] {
        let around =
            |value: f64, error: f64| [value / (z * error).exp(), value * (z * error).exp()];
        [around(self.life.scale, self.ln_scale_error), around(self.life.shape, self.ln_shape_error)]
    }
}

fn fitted(weighed: &[(Seen, f64)], seen: &[Seen]) -> Result<FittedLife, FitRefusal> {
    let surface = Surface::of(weighed);
    let top = climb(&surface).ok_or(FitRefusal::NoBest)?;
    let life = Life { scale: top.at[0].exp(), shape: top.at[1].exp() };
    if life.shape > STEEPEST {
        return Err(FitRefusal::NoBest);
    }
    let outlived = seen.iter().filter(|seen| matches!(seen, Seen::Outlived { .. })).count();
    Ok(FittedLife {
        life,
        ln_scale_error: top.covariance[0].sqrt(),
        ln_shape_error: top.covariance[2].sqrt(),
        ln_covariance: top.covariance[1],
        log_likelihood: top.height,
        ended: seen.len() - outlived,
        outlived,
    })
}

fn check(seen: &[Seen]) -> Result<(), FitRefusal> {
    let sound = |years: f64| (1e-9..=1e9).contains(&years);
    for seen in seen {
        let wrong = match *seen {
            Seen::Failed { at_y } | Seen::Outlived { at_y } | Seen::FailedBefore { at_y } => {
                (!sound(at_y)).then_some(at_y)
            }
            Seen::FailedBetween { from_y, .. } if !sound(from_y) => Some(from_y),
            Seen::FailedBetween { from_y, to_y } => {
                (!sound(to_y) || to_y <= from_y).then_some(to_y)
            }
        };
        if let Some(years) = wrong {
            return Err(FitRefusal::Years(years));
        }
    }
    Ok(())
}
