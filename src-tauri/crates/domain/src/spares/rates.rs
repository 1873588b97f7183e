//! Failure rates: what is stated, moved to another temperature, and what the record adds.

mod family;
mod heat;
mod learned;
mod record;
mod stated;
#[cfg(test)]
mod tests;

pub use family::{
    FamilyMember, FamilyPrior, FamilyRefusal, LEAST_FAMILY_SHAPE, LEAST_MEMBERS, ShapeFound,
    family_prior,
};
pub use heat::{RateHeat, USUAL_ACTIVATION_EV, USUAL_STATED_C};
pub use learned::{
    LearnedRate, NoFaultFound, Pooled, PooledBy, PriorFrom, RateRefusal, USUAL_WORTH, learned_rate,
    pool,
};
pub(super) use record::sound_stays;
pub use record::{LeftOut, LeftOutWhy, Record, Stay, StayEnd};
pub use stated::{PartsLine, StatedRate};

use statrs::function::erf::erfc_inv;
use statrs::function::gamma::checked_gamma_lr;

/// Largest shape, like the number of failures seen, that the distributions are reckoned for.
pub const LARGEST_SHAPE: f64 = 1e6;

/// What is known of a failure rate: a gamma distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateBelief {
    /// Like a number of failures seen.
    pub shape: f64,
    /// Like the time in which they were seen, in the unit of the rate.
    pub exposure: f64,
}

impl RateBelief {
    /// Adds failures seen in a further exposure.
    ///
    /// Source: conjugate gamma-Poisson update, NUREG/CR-6823, section 6.2.2.
    pub fn after(self, events: u64, exposure: f64) -> Self {
        Self { shape: self.shape + events as f64, exposure: self.exposure + exposure }
    }

    /// Failures in the unit of exposure.
    pub fn mean(self) -> f64 {
        self.shape / self.exposure
    }

    /// The rate that is not exceeded with this probability.
    pub fn quantile(self, probability: f64) -> f64 {
        gamma_quantile(self.shape, probability) / self.exposure
    }

    /// The probability that the rate is at most `rate`.
    pub fn probability_below(self, rate: f64) -> f64 {
        gamma_below(self.shape, rate * self.exposure)
    }

    /// Finds the belief whose mean time between failures is above `median` with probability 0.5
    /// and above `low` with probability 0.95. None unless 0 < low < median.
    ///
    /// Source: NIST/SEMATECH e-Handbook, section 8.2.5.
    pub fn from_mtbf(median: f64, low: f64) -> Option<Self> {
        let wanted = median / low;
        if !(low > 0.0 && wanted > 1.0 && wanted.is_finite()) {
            return None;
        }
        let spread = |shape| gamma_quantile(shape, 0.95) / gamma_quantile(shape, 0.5);
        let shape = bisect(0.01, 1e6, |shape| spread(shape) <= wanted)?;
        Some(Self { shape, exposure: gamma_quantile(shape, 0.5) * median })
    }
}

/// Bounds of the mean time between failures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MtbfBounds {
    /// Time over failures; none where nothing failed.
    pub mean: Option<f64>,
    pub lower: f64,
    /// None where nothing failed.
    pub upper: Option<f64>,
    /// The lower bound where no upper one is asked for.
    pub one_sided_lower: f64,
}

/// Returns bounds of the mean time between failures after `failures` in `time` of operation that
/// was ended by time, at a confidence between 0 and 1.
///
/// Source: chi-square bounds, NIST/SEMATECH e-Handbook, section 8.4.5.1; IEC 60605-4.
pub fn mtbf_bounds(time: f64, failures: u64, confidence: f64) -> MtbfBounds {
    let seen = failures as f64;
    let tail = (1.0 - confidence) / 2.0;
    // A chi-square quantile of 2n degrees of freedom is twice that of a gamma of shape n.
    let bound = |shape: f64, probability: f64| time / gamma_quantile(shape, probability);
    let failed = failures > 0;
    MtbfBounds {
        mean: failed.then(|| time / seen),
        lower: bound(seen + 1.0, 1.0 - tail),
        upper: failed.then(|| bound(seen, tail)),
        one_sided_lower: bound(seen + 1.0, confidence),
    }
}

/// Returns the value that a standard normal variable does not exceed with this probability: 1.96
/// for 0.975.
pub fn normal_quantile(probability: f64) -> f64 {
    -std::f64::consts::SQRT_2 * erfc_inv(2.0 * probability)
}

/// P(X <= x) of a gamma distribution of scale 1; not a number where the shape is none or is above
/// [`LARGEST_SHAPE`], past which the series takes forever.
pub(super) fn gamma_below(shape: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x == f64::INFINITY {
        return 1.0;
    }
    if shape > LARGEST_SHAPE {
        return f64::NAN;
    }
    checked_gamma_lr(shape, x).unwrap_or(f64::NAN)
}

/// The value that a gamma distribution of scale 1 does not exceed with this probability.
fn gamma_quantile(shape: f64, probability: f64) -> f64 {
    let high = shape + 50.0 * (shape.sqrt() + 1.0);
    bisect(0.0, high, |x| gamma_below(shape, x) >= probability).unwrap_or(f64::NAN)
}

/// The smallest value of a range from which on `holds`, to the last digit; none where it never does.
fn bisect(low: f64, high: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
    if !holds(high) {
        return None;
    }
    let (mut low, mut high) = (low, high);
    // Small values need their own digits, so the range is halved by ratio where it spans decades.
    for _ in 0..400 {
        let middle = if low > 0.0 && high / low > 4.0 {
            (low * high).sqrt()
        } else if low == 0.0 && high > f64::MIN_POSITIVE {
            high / 16.0
        } else {
            low + (high - low) / 2.0
        };
        if middle <= low || middle >= high {
            break;
        }
        if holds(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}
