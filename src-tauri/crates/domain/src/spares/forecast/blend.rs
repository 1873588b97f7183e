use super::parts::{Kind, State};
use super::processors::in_parallel;

/// Chances of what then happened, of every part, in every window of a back-test.
pub(super) struct Tested {
    /// Chances, window by window; each window's largest is 1.
    pub chances: Vec<f32>,
    /// What each window counts for: less where windows overlap, and the longer ago they are.
    pub worths: Vec<f64>,
    /// What kind of moment each window starts from.
    pub moments: Vec<usize>,
    /// Windows of each item, from the oldest: where they start, and after the last.
    pub items: Vec<usize>,
}

/// Kinds of moments: nothing ever asked for; nothing in the last year; then months with demand in
/// the last year, 1 or 2, 3 to 5, 6 to 9, more, each without and with one in the last quarter.
pub(super) const MOMENTS: usize = 10;

pub(super) fn moment(state: &State) -> usize {
    let often = match state.recent * 12 / state.months.clamp(1, 12) {
        _ if !state.was_asked() => return 0,
        0 => return 1,
        1..=2 => 2,
        3..=5 => 4,
        6..=9 => 6,
        _ => 8,
    };
    often + usize::from(state.lately)
}

/// Windows that the even blend counts for, and that the common blend counts for beside the windows
/// of one kind of moment.
const EVEN_WORTH: f64 = 2.5;
const COMMON_WORTH: f64 = 15.0;
/// What is tried for the windows that the blend of its kind counts for beside an item's own.
const KIND_WORTHS: [f64; 5] = [1.0, 3.0, 8.0, 25.0, f64::INFINITY];
const KIND_WORTH: f64 = 8.0;
/// Items from which their own windows say how far an item may leave its kind.
const ENOUGH_ITEMS: usize = 20;

/// Windows that the common blend is taken from, and items that the worth of a kind is.
const COMMON_WINDOWS: usize = 2000;
const WORTH_ITEMS: usize = 300;

const ROUNDS: usize = 25;
const ROUNDS_OF_KIND: usize = 10;
const ROUNDS_OF_ITEM: usize = 4;

/// Weights of the parts, for each kind of moment, and how strongly they hold for one item.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Weights {
    pub of_moment: Vec<Vec<f64>>,
    pub worth: f64,
}

/// Blends so that what happened was as likely as can be (maximum of the mean logarithm of the
/// mixture's chance, by expectation and maximisation), drawn towards an even blend of the methods.
///
/// Source of the criterion: Hall and Mitchell 2007, International Journal of Forecasting 23:1-13.
pub(super) fn weights(tested: &Tested, kinds: &[Kind]) -> Weights {
    let even = even(kinds);
    let all: Vec<usize> = (0..tested.moments.len()).collect();
    // The common blend is only where the others start from: some of the windows are enough.
    let some: Vec<usize> = all.iter().copied().step_by(1 + all.len() / COMMON_WINDOWS).collect();
    let common = fitted(tested, &some, &even, &even, EVEN_WORTH, ROUNDS);
    let moments: Vec<usize> = (0..MOMENTS).collect();
    let of_moment = in_parallel(&moments, |moment| {
        let within = |window: &usize| tested.moments[*window] == *moment;
        let own: Vec<usize> = all.iter().copied().filter(within).collect();
        fitted(tested, &own, &common, &common, COMMON_WORTH, ROUNDS_OF_KIND)
    });
    let mut weights = Weights { of_moment, worth: KIND_WORTH };
    if tested.items.len() > ENOUGH_ITEMS {
        weights.worth = best_worth(tested, &weights);
    }
    weights
}

impl Weights {
    /// Weights for one item, from its kind of moment and its own windows.
    pub fn of_item(&self, tested: &Tested, windows: &[usize], moment: usize) -> Vec<f64> {
        let of_kind = &self.of_moment[moment];
        if self.worth.is_infinite() || windows.is_empty() {
            return of_kind.clone();
        }
        fitted(tested, windows, of_kind, of_kind, self.worth, ROUNDS_OF_ITEM)
    }
}

fn even(kinds: &[Kind]) -> Vec<f64> {
    let total: f64 = kinds.iter().map(|kind| kind.share).sum();
    kinds.iter().map(|kind| kind.share / total).collect()
}

fn fitted(
    tested: &Tested,
    windows: &[usize],
    start: &[f64],
    prior: &[f64],
    prior_worth: f64,
    rounds: usize,
) -> Vec<f64> {
    let parts = start.len();
    let mut weights: Vec<f32> = start.iter().map(|weight| *weight as f32).collect();
    let whole = prior_worth + windows.iter().map(|window| tested.worths[*window]).sum::<f64>();
    let prior: Vec<f32> = prior.iter().map(|prior| (prior_worth * prior / whole) as f32).collect();
    let mut shares = vec![0.0; parts];
    for _ in 0..if windows.is_empty() { 0 } else { rounds } {
        shares.fill(0.0);
        for window in windows {
            let chances = &tested.chances[window * parts..][..parts];
            let worth = tested.worths[*window] / whole;
            let times = worth as f32 / mean_chance(chances, &weights).max(1e-30);
            shares.iter_mut().zip(chances).for_each(|(share, chance)| *share += chance * times);
        }
        for ((weight, share), prior) in weights.iter_mut().zip(&shares).zip(&prior) {
            *weight = prior + *weight * share;
        }
    }
    let whole: f64 = weights.iter().map(|weight| f64::from(*weight)).sum();
    weights.into_iter().map(|weight| f64::from(weight) / whole).collect()
}

/// Sum of the products, in eight sums side by side so that none waits for the one before.
fn mean_chance(chances: &[f32], weights: &[f32]) -> f32 {
    let mut sums = [0.0; 8];
    let (chances, last) = chances.as_chunks::<8>();
    let (weights, last_weights) = weights.as_chunks::<8>();
    for (chances, weights) in chances.iter().zip(weights) {
        (0..8).for_each(|n| sums[n] += chances[n] * weights[n]);
    }
    let rest: f32 = last.iter().zip(last_weights).map(|(c, w)| c * w).sum();
    sums.iter().sum::<f32>() + rest
}

/// Tries each item's last window after the windows before it.
fn best_worth(tested: &Tested, weights: &Weights) -> f64 {
    let every = 1 + tested.items.len() / WORTH_ITEMS;
    let ranges = tested.items.windows(2).step_by(every);
    let ranges: Vec<(usize, usize)> =
        ranges.map(|range| (range[0], range[1])).filter(|(from, to)| to - from >= 2).collect();
    let score = |worth: f64| -> f64 {
        let trial = Weights { of_moment: weights.of_moment.clone(), worth };
        let of_item = |(from, to): &(usize, usize)| {
            let (before, last): (Vec<usize>, usize) = ((*from..to - 1).collect(), to - 1);
            let own = trial.of_item(tested, &before, tested.moments[last]);
            let own: Vec<f32> = own.iter().map(|weight| *weight as f32).collect();
            let chances = &tested.chances[last * own.len()..][..own.len()];
            f64::from(mean_chance(chances, &own).max(1e-30)).ln()
        };
        ranges.iter().map(of_item).sum()
    };
    let scored = in_parallel(&KIND_WORTHS, |worth| (*worth, score(*worth)));
    let best = scored.into_iter().max_by(|a, b| a.1.total_cmp(&b.1));
    best.map_or(KIND_WORTH, |(worth, _)| worth)
}
