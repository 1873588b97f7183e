//! Wear: whether the record shows it, and what an ageing population will ask for.
//!
//! Ages are in years at the stated temperature: a year in a place where a unit fails twice as often
//! counts as two.

mod ageing;
#[cfg(test)]
mod tests;

pub(super) use ageing::ageing_demands;
pub use ageing::{AgeGroup, ageing_course, ageing_demand};

use super::ageing::Life;
use super::rates::{LeftOut, Stay, StayEnd, sound_stays};
use crate::battery::{FitRefusal, FittedLife, Seen, fit};

/// Hours of a year of age, a quarter of a leap day included.
pub const HOURS_PER_YEAR_OF_AGE: f64 = 8766.0;

/// Fewest failures that wear is told from. A decision, no source: the shape of a Weibull life found
/// from fewer is off by half of itself.
pub const LEAST_FAILURES: usize = 5;

/// What twice the logarithm of the ratio of likelihoods must reach: chi-square of one degree of
/// freedom at 95 %.
pub const WEAR_SHOWS: f64 = 3.841_458_820_694_124;

/// A life that wears, as the record shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Wear {
    pub fitted: FittedLife,
    /// Failures a year at the constant rate that fits best.
    pub constant_per_y: f64,
    /// Twice the logarithm of how much likelier the record is with wear than without.
    pub twice_log_ratio: f64,
}

/// Why a constant failure rate is used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoWear {
    #[error(
        "only {failures} failures of units with a known age: wear is looked for from \
         {LEAST_FAILURES} on"
    )]
    TooFew { failures: usize },
    #[error(
        "a life that wears fits the record no better than a constant rate ({twice_log_ratio:.2}; \
         {WEAR_SHOWS:.2} is needed)"
    )]
    NotShown { twice_log_ratio: f64 },
    #[error("units fail early and not late (shape {shape:.2}): a constant rate stands in for that")]
    Early { shape: f64 },
    #[error("no life can be fitted: {0}")]
    Fit(FitRefusal),
}

/// Lives of units as far as the record tells them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lives {
    /// Years at the stated temperature.
    pub seen: Vec<Seen>,
    /// Units whose age is not known, since one of their stays was left out.
    pub units_left_out: usize,
    pub left_out: Vec<LeftOut>,
}

impl Lives {
    /// Adds up each unit's stays until it fails; after a failure it is as new. Removal for any other
    /// reason ends no life, and a unit on the shelf does not age.
    pub fn of(stays: &[Stay]) -> Self {
        let mut left_out = Vec::new();
        let sound = sound_stays(stays, &mut left_out);
        let mut unknown: Vec<usize> = left_out.iter().map(|out| stays[out.stay].unit).collect();
        unknown.sort_unstable();
        unknown.dedup();
        let mut seen = Vec::new();
        let mut age_y = 0.0;
        for (place, number) in sound.iter().enumerate() {
            let stay = &stays[*number];
            if unknown.binary_search(&stay.unit).is_ok() {
                continue;
            }
            age_y += stay.hours_h() * stay.factor / HOURS_PER_YEAR_OF_AGE;
            let goes_on = sound.get(place + 1).is_some_and(|next| stays[*next].unit == stay.unit);
            if stay.end == StayEnd::Failure {
                // Who fails at once has lived an hour, since no life is nothing.
                seen.push(Seen::Failed { at_y: age_y.max(1.0 / HOURS_PER_YEAR_OF_AGE) });
                age_y = 0.0;
            } else if !goes_on {
                if age_y > 1e-9 {
                    seen.push(Seen::Outlived { at_y: age_y });
                }
                age_y = 0.0;
            }
        }
        Self { seen, units_left_out: unknown.len(), left_out }
    }
}

/// Looks for wear: a Weibull life with censoring, used where at least [`LEAST_FAILURES`] failed, its
/// shape is above 1, and it beats the constant rate by the likelihood ratio at 95 %.
///
/// Source: Meeker and Escobar, Statistical Methods for Reliability Data, 1998, chapter 8, from
/// memory.
pub fn wear(lives: &[Seen]) -> Result<Wear, NoWear> {
    let ended = |seen: &&Seen| !matches!(seen, Seen::Outlived { .. });
    let failures = lives.iter().filter(ended).count();
    if failures < LEAST_FAILURES {
        return Err(NoWear::TooFew { failures });
    }
    let fitted = fit(lives).map_err(NoWear::Fit)?;
    let (constant_per_y, constant) = constant_rate(lives, failures as f64);
    let twice_log_ratio = 2.0 * (fitted.log_likelihood - constant);
    if twice_log_ratio < WEAR_SHOWS {
        return Err(NoWear::NotShown { twice_log_ratio });
    }
    if fitted.life.shape <= 1.0 {
        return Err(NoWear::Early { shape: fitted.life.shape });
    }
    Ok(Wear { fitted, constant_per_y, twice_log_ratio })
}

/// The best constant rate, failures a year, and its log-likelihood. Stays give exact ages only, so
/// it has a closed form; an age between two looks counts at its middle.
fn constant_rate(lives: &[Seen], failures: f64) -> (f64, f64) {
    let years = lives.iter().map(|seen| match *seen {
        Seen::Failed { at_y } | Seen::Outlived { at_y } | Seen::FailedBefore { at_y } => at_y,
        Seen::FailedBetween { from_y, to_y } => (from_y + to_y) / 2.0,
    });
    let per_y = failures / years.sum::<f64>();
    (per_y, failures * (per_y.ln() - 1.0))
}

impl Wear {
    /// Lives that stand for how unsure the fitted one is, with weights that sum to 1: three points
    /// of Gauss and Hermite each way along the logarithms of scale and shape.
    ///
    /// Source: normal limit of maximum likelihood; Abramowitz and Stegun, table 25.10.
    pub fn likely_lives(&self) -> Vec<(f64, Life)> {
        const POINTS: [(f64, f64); 3] = [
            (-1.732_050_807_568_877_2, 1.0 / 6.0),
            (0.0, 2.0 / 3.0),
            (1.732_050_807_568_877_2, 1.0 / 6.0),
        ];
        let fitted = &self.fitted;
        let by_scale = fitted.ln_scale_error;
        let across = if by_scale > 0.0 { fitted.ln_covariance / by_scale } else { 0.0 };
        let rest = (fitted.ln_shape_error.powi(2) - across * across).max(0.0).sqrt();
        let mut lives = Vec::with_capacity(9);
        for (u, weight_u) in POINTS {
            for (v, weight_v) in POINTS {
                let scale = fitted.life.scale * (by_scale * u).exp();
                let shape = fitted.life.shape * (across * u + rest * v).exp();
                lives.push((weight_u * weight_v, Life { scale, shape }));
            }
        }
        lives
    }
}
