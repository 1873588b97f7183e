/// How far a flat forecast of the months to come was off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Errors {
    /// Means over the months: of the absolute error, of its square, and of what came less what
    /// was foreseen.
    pub absolute: f64,
    pub squared: f64,
    pub mean: f64,
    /// Absolute error of the sum of the months.
    pub of_total: f64,
}

/// Returns the errors of one forecast for every month of `came`, which is not empty.
pub fn errors(foreseen: f64, came: &[f64]) -> Errors {
    let months = came.len() as f64;
    let mean_of = |figure: fn(f64) -> f64| {
        came.iter().map(|demand| figure(demand - foreseen)).sum::<f64>() / months
    };
    Errors {
        absolute: mean_of(f64::abs),
        squared: mean_of(|error| error * error),
        mean: mean_of(|error| error),
        of_total: (came.iter().sum::<f64>() - months * foreseen).abs(),
    }
}

/// What errors are measured against: the mean absolute and the mean squared step from one month of
/// the past to the next, all months counted. None where no month differs from the one before.
///
/// MASE is the mean absolute error over the first, RMSSE the root of the mean squared error over
/// the second.
///
/// Sources: Hyndman and Koehler 2006, International Journal of Forecasting 22:679-688; RMSSE as in
/// Makridakis, Spiliotis and Assimakopoulos 2022, International Journal of Forecasting 38:1346-1364,
/// there from the first demand on.
pub fn error_scales(past: &[f64]) -> Option<(f64, f64)> {
    let steps = past.len().checked_sub(1).filter(|steps| *steps > 0)? as f64;
    let sum = |figure: fn(f64) -> f64| {
        past.windows(2).map(|pair| figure(pair[1] - pair[0])).sum::<f64>() / steps
    };
    let absolute = sum(f64::abs);
    (absolute > 0.0).then(|| (absolute, sum(|step| step * step)))
}

/// What a quantile costs: `chance` for each piece that came above it, and 1 - `chance` for each
/// below it. On average the true quantile of that chance costs least.
///
/// Source: Koenker and Bassett 1978, Econometrica 46:33-50.
pub fn pinball(chance: f64, quantile: f64, came: f64) -> f64 {
    if came >= quantile { chance * (came - quantile) } else { (1.0 - chance) * (quantile - came) }
}
