use super::parts::Kind;
use super::states::State;
use crate::in_parallel;

/// Chances of what then happened, of every part, in one window of a back-test.
#[derive(Debug, Clone)]
pub(super) struct Window {
    /// Over the largest of them.
    pub chances: Vec<f32>,
    pub most: f64,
    /// What it counts for: less where windows overlap, and the longer ago it is.
    pub worth: f64,
    /// What kind of moment it starts from.
    pub moment: usize,
}

/// Kinds of moments: nothing ever asked for; nothing in the last year; then months with demand in
/// the last year, 1 or 2, 3 to 5, 6 to 9, more, each without and with one in the last quarter.
pub(super) const MOMENTS: usize = 10;

pub(super) fn moment(state: &State) -> usize {
    let often = match state.recent * 12 / state.seen.months.clamp(1, 12) {
        _ if !state.seen.was_asked() => return 0,
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
pub(super) fn weights(items: &[Vec<&Window>], kinds: &[Kind]) -> Weights {
    let even = even(kinds);
    let all: Vec<&Window> = items.iter().flatten().copied().collect();
    // The common blend is only where the others start from: some of the windows are enough.
    let some: Vec<&Window> = all.iter().copied().step_by(1 + all.len() / COMMON_WINDOWS).collect();
    let common = fitted(&some, &even, EVEN_WORTH, ROUNDS);
    let moments: Vec<usize> = (0..MOMENTS).collect();
    let of_moment = in_parallel(&moments, |moment| {
        let within = |window: &&Window| window.moment == *moment;
        let own: Vec<&Window> = all.iter().copied().filter(within).collect();
        fitted(&own, &common, COMMON_WORTH, ROUNDS_OF_KIND)
    });
    let worth =
        if items.len() >= ENOUGH_ITEMS { best_worth(items, &of_moment) } else { KIND_WORTH };
    Weights { of_moment, worth }
}

impl Weights {
    /// Weights for one item, from its kind of moment and its own windows.
    pub fn of_item(&self, windows: &[&Window], moment: usize) -> Vec<f64> {
        of_item(&self.of_moment[moment], windows, self.worth)
    }
}

fn of_item(of_kind: &[f64], windows: &[&Window], worth: f64) -> Vec<f64> {
    if worth.is_infinite() || windows.is_empty() {
        return of_kind.to_vec();
    }
    fitted(windows, of_kind, worth, ROUNDS_OF_ITEM)
}

fn even(kinds: &[Kind]) -> Vec<f64> {
    let total: f64 = kinds.iter().map(|kind| kind.share).sum();
    kinds.iter().map(|kind| kind.share / total).collect()
}

/// Weights that make what came in some windows likeliest, from and towards those that stood before.
fn fitted(windows: &[&Window], prior: &[f64], prior_worth: f64, rounds: usize) -> Vec<f64> {
    let mut weights: Vec<f32> = prior.iter().map(|weight| *weight as f32).collect();
    let whole = prior_worth + windows.iter().map(|window| window.worth).sum::<f64>();
    let prior: Vec<f32> = prior.iter().map(|prior| (prior_worth * prior / whole) as f32).collect();
    let mut shares = vec![0.0; weights.len()];
    for _ in 0..if windows.is_empty() { 0 } else { rounds } {
        shares.fill(0.0);
        let times = |window: &&Window| {
            (window.worth / whole) as f32 / mean_chance(&window.chances, &weights).max(1e-30)
        };
        let (fours, rest) = windows.as_chunks::<4>();
        for four in fours {
            add_four(
                &mut shares,
                four.map(|window| &window.chances[..]),
                four.each_ref().map(times),
            );
        }
        for window in rest {
            let times = times(window);
            let shares = shares.iter_mut().zip(&window.chances);
            shares.for_each(|(share, chance)| *share += chance * times);
        }
        for ((weight, share), prior) in weights.iter_mut().zip(&shares).zip(&prior) {
            *weight = prior + *weight * share;
        }
    }
    let whole: f64 = weights.iter().map(|weight| f64::from(*weight)).sum();
    weights.into_iter().map(|weight| f64::from(weight) / whole).collect()
}

/// Adds so many times the chances of four windows.
fn add_four(shares: &mut [f32], chances: [&[f32]; 4], times: [f32; 4]) {
    let [a, b, c, d] = chances.map(|chances| &chances[..shares.len()]);
    for (n, share) in shares.iter_mut().enumerate() {
        let (first, second) =
            (a[n] * times[0] + b[n] * times[1], c[n] * times[2] + d[n] * times[3]);
        *share += first + second;
    }
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
fn best_worth(items: &[Vec<&Window>], of_moment: &[Vec<f64>]) -> f64 {
    let every = 1 + (items.len() + 1) / WORTH_ITEMS;
    let tried: Vec<&[&Window]> = items
        .iter()
        .step_by(every)
        .map(Vec::as_slice)
        .filter(|windows| windows.len() >= 2)
        .collect();
    let score = |worth: f64| -> f64 {
        let of_item = |windows: &&[&Window]| {
            let Some((last, before)) = windows.split_last() else { return 0.0 };
            let own = of_item(&of_moment[last.moment], before, worth);
            let own: Vec<f32> = own.iter().map(|weight| *weight as f32).collect();
            f64::from(mean_chance(&last.chances, &own).max(1e-30)).ln()
        };
        tried.iter().map(of_item).sum()
    };
    let scored = in_parallel(&KIND_WORTHS, |worth| (*worth, score(*worth)));
    let best = scored.into_iter().max_by(|a, b| a.1.total_cmp(&b.1));
    best.map_or(KIND_WORTH, |(worth, _)| worth)
}
