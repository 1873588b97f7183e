use super::blend::MOMENTS;
use super::exponential::exponentials;
use super::states::Kin;

/// Demands that no drift counts for, and that the common drift counts for beside one kind's own.
const STEADY_WORTH: f64 = 100.0;
/// Demands, each a factor e from the usual, that no bend of the mean counts for.
const STRAIGHT_WORTH: f64 = 50.0;
/// Windows that a spread as stated counts for.
const STATED_WORTH: f64 = 50.0;
/// A squared error counts as no more than so many of the variances stated.
const MOST_SURPRISE: f64 = 9.0;
const ROUNDS: usize = 8;
/// Change of a power in one round.
const LARGEST_STEP: f64 = 0.3;

/// One window of a test: what was foreseen, and what came.
#[derive(Debug, Clone, Copy)]
pub(super) struct Foreseen {
    pub moment: usize,
    /// Pieces of a demand of the item.
    pub size: f64,
    /// Pieces.
    pub mean: f64,
    pub variance: f64,
    pub came: f64,
    pub worth: f64,
}

/// How the forecasts of all items together turned out: how much of what was foreseen came, in each
/// kind of moment, and how far from it, with both as powers of an item's size of a demand and of
/// its demands foreseen.
///
/// What a plant asks for rises and falls together, which no item shows by itself; and an item that
/// stands out, by many demands or by large ones, mostly stands out less in the time to come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Drift {
    of_moment: [f64; MOMENTS],
    mean: [f64; 2],
    width: f64,
    spread: [f64; 2],
    usual_size: f64,
    usual_demands: f64,
}

impl Drift {
    pub fn learnt(windows: &[Foreseen], kin: &Kin, horizon: usize) -> Self {
        let mut drift = Self {
            of_moment: [1.0; MOMENTS],
            mean: [0.0; 2],
            width: 1.0,
            spread: [0.0; 2],
            usual_size: kin.size,
            usual_demands: kin.rate * horizon as f64,
        };
        let mut rows: Vec<Row> = windows.iter().map(|window| drift.row(window)).collect();
        for _ in 0..ROUNDS {
            bend(&mut rows, &drift.mean);
            drift.of_moment = levels(&rows);
            drift.bend_mean(&rows);
        }
        bend(&mut rows, &drift.mean);
        drift.compare(windows, &mut rows);
        for _ in 0..ROUNDS {
            bend(&mut rows, &drift.spread);
            drift.bend_spread(&rows);
        }
        drift
    }

    fn row(&self, window: &Foreseen) -> Row {
        let Foreseen { moment, size, mean, came, worth, .. } = *window;
        let standing = self.standing(size, mean);
        Row {
            moment,
            worth,
            standing,
            came: came / size,
            mean: mean / size,
            bent: 1.0,
            square: 0.0,
        }
    }

    /// Logarithms of how far an item stands out, by size and by number of demands.
    fn standing(&self, size: f64, mean: f64) -> [f64; 2] {
        let ln = |ratio: f64| ratio.clamp(1e-3, 1e3).ln();
        [ln(size / self.usual_size), ln(mean / size / self.usual_demands)]
    }

    fn bent(powers: &[f64; 2], standing: &[f64; 2]) -> f64 {
        (powers[0] * standing[0] + powers[1] * standing[1]).exp()
    }

    /// What the mean and the variance of a forecast are to be multiplied with.
    pub fn times(&self, moment: usize, size: f64, mean: f64) -> (f64, f64) {
        let standing = self.standing(size, mean);
        let times = self.times_mean(moment, Self::bent(&self.mean, &standing));
        (times, times * self.times_spread(Self::bent(&self.spread, &standing)))
    }

    /// What the mean is multiplied with, given how it is bent.
    fn times_mean(&self, moment: usize, bent: f64) -> f64 {
        (self.of_moment[moment] * bent).clamp(0.1, 10.0)
    }

    fn times_spread(&self, bent: f64) -> f64 {
        (self.width * bent).clamp(0.1, 10.0)
    }

    /// One step of Fisher scoring for the powers of the mean: Poisson, in demands of each size.
    fn bend_mean(&mut self, rows: &[Row]) {
        let off = rows.iter().map(|row| {
            let demands = row.mean * self.times_mean(row.moment, row.bent);
            (row.standing, row.worth * (row.came - demands), row.worth * demands)
        });
        self.mean = stepped(self.mean, STRAIGHT_WORTH, off);
    }

    /// Holds what came against the mean that was learnt.
    fn compare(&self, windows: &[Foreseen], rows: &mut [Row]) {
        for (window, row) in windows.iter().zip(rows) {
            let times = self.times_mean(row.moment, row.bent);
            let off = window.came - window.mean * times;
            row.square = off * off / (window.variance * times).max(1e-9);
        }
    }

    /// The same for the powers of the spread: gamma, in squared errors over the variance stated.
    fn bend_spread(&mut self, rows: &[Row]) {
        let (mut sum, mut whole) = (STATED_WORTH / self.width, STATED_WORTH);
        let before = *self;
        let off = rows.iter().map(|row| {
            let surprise = (row.square / before.times_spread(row.bent)).min(MOST_SURPRISE);
            sum += row.worth * surprise;
            whole += row.worth;
            (row.standing, row.worth * (surprise - 1.0), row.worth)
        });
        self.spread = stepped(before.spread, STATED_WORTH, off);
        self.width *= sum / whole;
    }
}

/// One window, with what does not change from round to round.
struct Row {
    moment: usize,
    worth: f64,
    /// Logarithms of how far the item stands out.
    standing: [f64; 2],
    /// What came and what was foreseen, in demands of the item's size.
    came: f64,
    mean: f64,
    /// What the mean, and then the spread, is multiplied with for how far the item stands out.
    bent: f64,
    /// Squared error over the variance stated.
    square: f64,
}

/// Bends all rows by the same powers, some side by side.
fn bend(rows: &mut [Row], powers: &[f64; 2]) {
    for rows in rows.chunks_mut(BENT) {
        let mut bent = [0.0; BENT];
        for (bent, Row { standing, .. }) in bent.iter_mut().zip(rows.iter()) {
            *bent = powers[0] * standing[0] + powers[1] * standing[1];
        }
        exponentials(&mut bent);
        rows.iter_mut().zip(bent).for_each(|(row, bent)| row.bent = bent);
    }
}

/// Rows that are bent side by side.
const BENT: usize = 32;

fn levels(rows: &[Row]) -> [f64; MOMENTS] {
    let mut sums = [(0.0, 0.0); MOMENTS];
    for row in rows {
        let (came, foreseen) = &mut sums[row.moment];
        *came += row.worth * row.came;
        *foreseen += row.worth * row.mean * row.bent;
    }
    let (came, foreseen) = sums.iter().fold((0.0, 0.0), |all, one| (all.0 + one.0, all.1 + one.1));
    let common = (came + STEADY_WORTH) / (foreseen + STEADY_WORTH);
    sums.map(|(came, foreseen)| (came + STEADY_WORTH * common) / (foreseen + STEADY_WORTH))
}

/// Powers after a step by slopes and curvatures, drawn towards none.
fn stepped(
    powers: [f64; 2],
    none_worth: f64,
    rows: impl Iterator<Item = ([f64; 2], f64, f64)>,
) -> [f64; 2] {
    let mut slope = powers.map(|power| -none_worth * power);
    let (mut a, mut b, mut c) = (none_worth, 0.0, none_worth);
    for ([x, y], off, weight) in rows {
        slope[0] += off * x;
        slope[1] += off * y;
        a += weight * x * x;
        b += weight * x * y;
        c += weight * y * y;
    }
    let whole = a * c - b * b;
    let step = [(c * slope[0] - b * slope[1]) / whole, (a * slope[1] - b * slope[0]) / whole];
    [0, 1].map(|n| powers[n] + step[n].clamp(-LARGEST_STEP, LARGEST_STEP))
}
