//! Demand foreseen from its history: single methods, their test on the past, and their blend.

mod aggregate;
mod automatic;
mod blend;
mod calibration;
mod croston;
mod history;
mod method;
mod parts;
mod smoothing;
mod spread;

pub use automatic::{ForecastRules, Outlook, outlooks};
pub use history::{History, HistoryRefusal, LONGEST_HISTORY};
pub use method::Method;

/// Mean demand of a month by a method, from a whole history.
pub fn month_by(method: Method, history: &History) -> f64 {
    method::levels(history.demands(), &[history.demands().len()])[0][method as usize]
}

/// One-step forecasts of intermittent demand, each the mean demand of a period.
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

/// Returns the forecasts after the last period of a series of demands, oldest first.
///
/// `alpha` smooths everything but the probability of demand in TSB, for which `alpha_probability`
/// serves; both above 0 and at most 1. None where nothing was ever asked for.
pub fn forecast(demands: &[f64], alpha: f64, alpha_probability: f64) -> Option<Forecast> {
    let first = demands.iter().position(|demand| *demand > 0.0)?;
    let mut size = demands[first];
    let mut interval = (first + 1) as f64;
    let mut since = 0.0;
    for demand in &demands[first + 1..] {
        since += 1.0;
        if *demand > 0.0 {
            size += alpha * (demand - size);
            interval += alpha * (since - interval);
            since = 0.0;
        }
    }
    let asked: Vec<f64> = demands.iter().map(|demand| f64::from(*demand > 0.0)).collect();
    let croston = size / interval;
    Some(Forecast {
        size,
        interval,
        croston,
        sba: (1.0 - alpha / 2.0) * croston,
        sbj: (1.0 - alpha / (2.0 - alpha)) * croston,
        tsb: size * smoothed(&asked, alpha_probability),
        ses: smoothed(demands, alpha),
    })
}

fn smoothed(values: &[f64], alpha: f64) -> f64 {
    let first = values.first().copied().unwrap_or(f64::NAN);
    values.iter().skip(1).fold(first, |level, value| level + alpha * (value - level))
}
