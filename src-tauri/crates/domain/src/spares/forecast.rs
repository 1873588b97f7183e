//! Demand foreseen from its history: single methods, their test on the past, and their blend.

mod accuracy;
mod aggregate;
mod ahead;
mod automatic;
mod blend;
mod calibration;
mod croston;
mod drift;
mod exponential;
mod history;
mod judged;
mod method;
mod mixture;
mod outlook;
mod parts;
mod smoothing;
mod spread;
mod states;
#[cfg(test)]
mod tests;

pub use accuracy::{Errors, error_scales, errors, least_root, pinball};
pub use automatic::{ForecastRules, RulesRefusal, outlooks};
pub use history::{History, HistoryRefusal, LONGEST_HISTORY};
pub use judged::{Judged, JudgedChance, Judgement, Question, judge};
pub use method::Method;
pub use outlook::{ChoiceRefusal, MethodTest, Outlook};

use croston::{Demands, less_bias, less_bias_for_poisson};
use smoothing::smoothed;

/// Mean demand of a month by a method, from a whole history.
pub fn month_by(method: Method, history: &History) -> f64 {
    method::levels(history.demands(), &[history.demands().len()])[0][method as usize]
}

/// Croston's forecast with its parts, after the last period of a series of demands.
///
/// Start values matter: here size and interval start with the first demand and the periods up to
/// it, the indicator of demand with the first period, and plain smoothing with the first value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecast {
    /// Smoothed size of a demand, and smoothed periods between demands.
    pub size: f64,
    pub interval: f64,
    /// Croston 1972, Operational Research Quarterly 23:289-303.
    pub croston: f64,
    /// Less its bias: Syntetos and Boylan 2005, International Journal of Forecasting 21:303-314.
    pub sba: f64,
    /// The same by Shale, Boylan and Johnston 2006.
    pub sbj: f64,
    /// Forgets what is no longer asked for: Teunter, Syntetos and Babai 2011, European Journal of
    /// Operational Research 214:606-615.
    pub tsb: f64,
    /// Simple exponential smoothing of the series as it is.
    pub ses: f64,
}

/// Returns the forecasts after the last period of a series of demands, oldest first, with factors
/// of choice.
///
/// `alpha` smooths everything but the probability of demand in TSB, for which `alpha_probability`
/// serves; both above 0 and at most 1. None where nothing was ever asked for.
pub fn forecast(demands: &[f64], alpha: f64, alpha_probability: f64) -> Option<Forecast> {
    let found = Demands::of(demands);
    if found.sizes.is_empty() {
        return None;
    }
    let size = smoothed(&found.sizes, alpha);
    let interval = smoothed(&found.intervals, alpha);
    let asked: Vec<f64> = demands.iter().map(|demand| f64::from(*demand > 0.0)).collect();
    let croston = size / interval;
    Some(Forecast {
        size,
        interval,
        croston,
        sba: less_bias(alpha) * croston,
        sbj: less_bias_for_poisson(alpha) * croston,
        tsb: size * smoothed(&asked, alpha_probability),
        ses: smoothed(demands, alpha),
    })
}
