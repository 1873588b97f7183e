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

/// Width of the range at which the search ends; what is left of it is taken as a parabola.
const CLOSE: f64 = 2e-3;

/// Returns the level after smoothing with the factor of least squared one-step errors in a range.
pub(super) fn smoothed_best(values: &[f64], range: (f64, f64)) -> f64 {
    smoothed(values, best_factor(values, range))
}

/// Finds the factor by golden section; where both points agree exactly, the middle of what is left.
///
/// The sum of squares may have several valleys, so the order of the sections is kept: another
/// search would find other factors. Each sum waits for its own last step, so the points that the
/// next three sections may ask for are summed side by side.
fn best_factor(values: &[f64], range: (f64, f64)) -> f64 {
    let mut section = Section::of(range);
    let [mut at_left, mut at_right] = squares(values, [section.left, section.right]);
    while section.high - section.low >= CLOSE {
        let points = section.ahead(at_left < at_right);
        let sums = squares(values, points);
        // Point 0 is that of the first section; 1 and 2 follow it, and 3 to 6 follow these.
        let mut next = 0;
        for _ in 0..3 {
            if at_left == at_right {
                return (section.low + section.high) / 2.0;
            }
            let to_left = at_left < at_right;
            section = section.narrowed(to_left);
            (at_left, at_right) =
                if to_left { (sums[next], at_left) } else { (at_right, sums[next]) };
            next = 2 * next + if at_left < at_right { 1 } else { 2 };
        }
    }
    if at_left == at_right {
        return (section.low + section.high) / 2.0;
    }
    section.lowest(values)
}

/// A range with the two points that cut it in golden sections.
#[derive(Debug, Clone, Copy)]
struct Section {
    low: f64,
    high: f64,
    left: f64,
    right: f64,
}

impl Section {
    fn of((low, high): (f64, f64)) -> Self {
        let long = (high - low) / GOLDEN;
        Self { low, high, left: high - long, right: low + long }
    }

    fn narrowed(self, to_left: bool) -> Self {
        if to_left {
            let (high, right) = (self.right, self.left);
            Self { left: high - (high - self.low) / GOLDEN, high, right, ..self }
        } else {
            let (low, left) = (self.left, self.right);
            Self { right: low + (self.high - low) / GOLDEN, low, left, ..self }
        }
    }

    /// The point that comes next, the two that may follow, and the four that may follow those.
    fn ahead(self, to_left: bool) -> [f64; 7] {
        let new = |section: Self, to_left: bool| if to_left { section.left } else { section.right };
        let first = self.narrowed(to_left);
        let (one, two) = (first.narrowed(true), first.narrowed(false));
        let third = |section: Self, to_left| new(section.narrowed(to_left), to_left);
        [
            new(first, to_left),
            one.left,
            two.right,
            third(one, true),
            third(one, false),
            third(two, true),
            third(two, false),
        ]
    }

    /// Where the parabola through ends and middle is lowest.
    fn lowest(self, values: &[f64]) -> f64 {
        let middle = (self.low + self.high) / 2.0;
        let half = (self.high - self.low) / 2.0;
        let [at_low, at_middle, at_high] = squares(values, [self.low, middle, self.high]);
        let bend = at_low - 2.0 * at_middle + at_high;
        if bend > 0.0 {
            let off = half * (at_low - at_high) / (2.0 * bend);
            middle + off.clamp(-half, half)
        } else if at_low < at_high {
            self.low
        } else {
            self.high
        }
    }
}

/// (√5 + 1) / 2.
const GOLDEN: f64 = 1.618_033_988_749_895;

/// Sums the squared one-step errors for several factors at once.
///
/// The level is written as a mean and not as a correction: where all factors do as well, the noise
/// of the last digit decides, and it is to decide as in the library that is compared with.
fn squares<const N: usize>(values: &[f64], factors: [f64; N]) -> [f64; N] {
    let mut sums = [0.0; N];
    let Some((first, rest)) = values.split_first() else { return sums };
    let mut levels = factors.map(|factor| factor * first + (1.0 - factor) * first);
    for value in rest {
        for n in 0..N {
            let error = value - levels[n];
            sums[n] += error * error;
            levels[n] = factors[n] * value + (1.0 - factors[n]) * levels[n];
        }
    }
    sums
}
