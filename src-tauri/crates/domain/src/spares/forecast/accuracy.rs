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

/// Returns the flat demand of a month for which the root of the mean squared error is expected to be
/// least, where `chances` are those of 0, 1, 2 … pieces over `months`, which come in demands of
/// `size` pieces.
///
/// The mean makes the squared error least; the root of it, taken item by item as in RMSSE, asks for
/// less where often nothing comes: which figure is best depends on the measure. What the squares of
/// the months add up to is taken from the size, and is never below that of an even demand.
///
/// Source: Kolassa 2020, International Journal of Forecasting 36:208-211.
pub fn least_root(chances: &[f64], months: f64, size: f64) -> f64 {
    let expected = |month: f64| -> f64 {
        let of = |(pieces, chance): (usize, &f64)| {
            let pieces = pieces as f64;
            let squares = (pieces * size).max(pieces * pieces / months);
            let off = squares - 2.0 * month * pieces + months * month * month;
            chance * (off.max(0.0) / months).sqrt()
        };
        chances.iter().enumerate().map(of).sum()
    };
    let mean: f64 = chances.iter().enumerate().map(|(k, chance)| k as f64 * chance).sum();
    let step = mean / months / STEPS_TO_MEAN as f64;
    let candidates = (0..=STEPS_TO_MEAN).map(|n| n as f64 * step);
    candidates
        .map(|month| (month, expected(month)))
        .fold((0.0, f64::MAX), |best, one| if one.1 < best.1 { one } else { best })
        .0
}

/// The least root is looked for at so many points between nothing and the mean.
const STEPS_TO_MEAN: usize = 20;
