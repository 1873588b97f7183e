/// Returns the level after simple exponential smoothing that starts with the first value; 0 for
/// no values.
///
/// Source: Holt 1957, reprinted in International Journal of Forecasting 20:5-10 (2004).
pub(super) fn smoothed(values: &[f64], alpha: f64) -> f64 {
    let Some((first, rest)) = values.split_first() else { return 0.0 };
    rest.iter().fold(*first, |level, value| level + alpha * (value - level))
}

/// Range in which a smoothing factor is looked for: Croston's, ADIDA's and IMAPA's, and that of
/// plain smoothing.
pub(super) const NARROW: (f64, f64) = (0.1, 0.3);
pub(super) const WIDE: (f64, f64) = (0.01, 0.99);

/// Width of the range at which the search ends.
const CLOSE: f64 = 1e-7;

/// Returns the level after smoothing with the factor of least squared one-step errors in a range.
pub(super) fn smoothed_best(values: &[f64], range: (f64, f64)) -> f64 {
    smoothed(values, best_factor(values, range))
}

/// Finds the factor by golden section; where both points agree exactly, the middle of what is left.
///
/// The sum of squares may have several valleys, so the order of the halvings is kept: another
/// search would find other factors. Four points are summed in one pass, since each sum by itself
/// waits for its own last step: those of this halving and those that the next one may ask for.
fn best_factor(values: &[f64], (low, high): (f64, f64)) -> f64 {
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut low, mut high) = (low, high);
    let (mut left, mut right) = (high - (high - low) * golden, low + (high - low) * golden);
    let [mut at_left, mut at_right] = squares(values, [left, right]);
    while high - low >= CLOSE {
        if at_left == at_right {
            break;
        }
        let goes_left = at_left < at_right;
        let next = match goes_left {
            true => right - (right - low) * golden,
            false => left + (high - left) * golden,
        };
        let (inner_low, inner_high) = if goes_left { (low, right) } else { (left, high) };
        let (one, two) = if goes_left { (next, left) } else { (right, next) };
        let after_left = two - (two - inner_low) * golden;
        let after_right = one + (inner_high - one) * golden;
        let [at_next, at_after_left, at_after_right] =
            squares(values, [next, after_left, after_right]);
        let (at_one, at_two) = if goes_left { (at_next, at_left) } else { (at_right, at_next) };
        (low, high) = (inner_low, inner_high);
        if high - low < CLOSE || at_one == at_two {
            break;
        }
        if at_one < at_two {
            (high, right, at_right) = (two, one, at_one);
            (left, at_left) = (after_left, at_after_left);
        } else {
            (low, left, at_left) = (one, two, at_two);
            (right, at_right) = (after_right, at_after_right);
        }
    }
    (low + high) / 2.0
}

/// Sums the squared one-step errors for several factors at once.
fn squares<const N: usize>(values: &[f64], factors: [f64; N]) -> [f64; N] {
    let mut sums = [0.0; N];
    let Some((first, rest)) = values.split_first() else { return sums };
    let mut levels = [*first; N];
    for value in rest {
        for n in 0..N {
            let error = value - levels[n];
            sums[n] += error * error;
            levels[n] += factors[n] * error;
        }
    }
    sums
}
