use super::method::{COUNT, Method, levels, season_ahead};
use super::spread::Spread;

/// What items have in common; each figure is drawn towards it the more, the less an item shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Kin {
    /// Demands of a month, in demands of an item's own size: mean over items, and the shape of
    /// their gamma distribution.
    pub rate: f64,
    pub shape: f64,
    /// Size of a demand where an item has none.
    pub size: f64,
    /// Variance of a month over its mean, in units of the item's size.
    pub clump: f64,
}

/// How quickly the evolving mean forgets: what a month counts for one month later.
pub(super) const KEPT: [f64; 5] = [0.7, 0.85, 0.92, 0.97, 1.0];
/// Chances that an item's demand ends in a month.
const ENDS: [f64; 2] = [0.01, 0.05];
/// Spread of the plain methods: what multiplies the variance of the months, and that of the level;
/// with the share of each before anything is known. Methods of little weight take the middle one.
const PLAIN: [(f64, f64, f64); 3] = [(0.6, 0.0, 0.3), (1.0, 0.5, 0.5), (1.0, 3.0, 0.2)];
/// Months of which a plain method's level is taken to be the mean.
const LEVEL_MONTHS: f64 = 10.0;
/// Spread of the evolving mean: what multiplies the variance of the months and that of its gamma
/// distribution; its drift; the demands that the long-run mean counts for; and the share of each.
const EVOLVING: [[f64; 5]; 6] = [
    [1.0, 1.0, 1.0, 0.3, 0.3],
    [0.7, 0.5, 1.0, 0.3, 0.15],
    [1.0, 2.5, 0.97, 0.3, 0.1],
    [0.7, 0.7, 0.88, 0.3, 0.15],
    [1.0, 1.0, 1.04, 0.3, 0.1],
    [0.8, 0.7, 0.96, 2.5, 0.2],
];
/// Demands that the common clumping counts for.
const CLUMP_WORTH: f64 = 8.0;

/// Which part of the blend a figure belongs to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Kind {
    pub method: Method,
    /// How much of the past is kept, or how often demand ends.
    pace: f64,
    /// What multiplies the variance of the months, and that of the level.
    of_months: f64,
    of_level: f64,
    /// Demands that the long-run mean counts for.
    pull: f64,
    /// Where its pace and its spread stand in their lists.
    pace_at: usize,
    spread_at: usize,
    /// Weight before anything is known; not made to sum to 1.
    pub share: f64,
}

/// Lists the parts that the methods of a choice have.
pub(super) fn kinds(methods: &[Method]) -> Vec<Kind> {
    let mut kinds = Vec::new();
    for method in methods.iter().copied() {
        let whole = share_of(method);
        let mut add = |pace, row: [f64; 5], pace_at, spread_at| {
            let [of_months, of_level, _, pull, share] = row;
            let share = share * whole;
            let first = Kind { method, pace, of_months, of_level, pull, pace_at, spread_at, share };
            kinds.push(first);
        };
        let mut evolving = |paces: &[f64], spreads: usize| {
            let each = 1.0 / paces.len() as f64;
            for (pace_at, pace) in paces.iter().enumerate() {
                for (spread_at, [m, l, drift, pull, share]) in
                    EVOLVING.iter().take(spreads).enumerate()
                {
                    add(*pace, [*m, *l, *drift, *pull, share * each], pace_at, spread_at);
                }
            }
        };
        match method {
            Method::Zero => add(1.0, [0.0, 0.0, 1.0, 0.0, 1.0], 0, 0),
            Method::EvolvingCounts => evolving(&KEPT, EVOLVING.len()),
            Method::ZeroInflated => evolving(&ENDS, 3),
            _ => {
                let (from, to) = if whole < 1.0 { (1, 2) } else { (0, PLAIN.len()) };
                for (m, l, share) in &PLAIN[from..to] {
                    add(1.0, [*m, *l, 1.0, 0.0, *share], 0, 0);
                }
            }
        }
    }
    kinds
}

/// Weight of a method before anything is known, against one of the usual ones: a decision, no
/// source. Those that follow the last month or nothing at all rarely do well.
fn share_of(method: Method) -> f64 {
    match method {
        Method::Zero | Method::Naive => 0.2,
        Method::Average3 | Method::Croston | Method::Sbj | Method::Season => 0.5,
        Method::EvolvingCounts => 4.0,
        _ => 1.0,
    }
}

/// What an item's history says at one moment.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct State {
    pub levels: [f64; COUNT],
    /// Months before the moment.
    pub months: usize,
    /// Months with demand in the last twelve.
    pub recent: usize,
    /// Whether the last three months had demand.
    pub lately: bool,
    /// Sum of the demands, and number of months with demand.
    total: f64,
    asked: f64,
    /// Months until the last demand, and since.
    last: f64,
    /// Discounted sums of demand.
    kept: [f64; KEPT.len()],
    /// Discounted numbers of months.
    weights: [f64; KEPT.len()],
    /// Demand of each month of the season to come.
    ahead: Vec<f64>,
    /// Squared one-step errors of a slowly evolving mean.
    errors: f64,
}

/// The mean that errors are measured from forgets a twentieth a month.
const SLOW: f64 = 0.95;

/// Reads a history at some moments, which rise.
pub(super) fn states(demands: &[f64], origins: &[usize], season: usize) -> Vec<State> {
    let mut kept = [0.0; KEPT.len()];
    let mut weights = [0.0; KEPT.len()];
    let (mut total, mut asked, mut last, mut errors) = (0.0, 0.0, 0.0, 0.0);
    let (mut slow, mut weight) = (0.0, 0.0);
    let mut wanted = origins.iter().zip(levels(demands, origins)).peekable();
    let mut states = Vec::with_capacity(origins.len());
    for (at, demand) in demands.iter().enumerate() {
        if weight > 0.0 {
            let off: f64 = demand - slow / weight;
            errors += off * off;
        }
        (slow, weight) = (SLOW * slow + demand, SLOW * weight + 1.0);
        kept.iter_mut().zip(KEPT).for_each(|(sum, factor)| *sum = *sum * factor + demand);
        weights.iter_mut().zip(KEPT).for_each(|(sum, factor)| *sum = *sum * factor + 1.0);
        total += demand;
        if *demand > 0.0 {
            asked += 1.0;
            last = (at + 1) as f64;
        }
        while let Some((_, levels)) = wanted.next_if(|(origin, _)| **origin == at + 1) {
            let months = at + 1;
            let year = &demands[months.saturating_sub(12)..months];
            let recent = year.iter().filter(|demand| **demand > 0.0).count();
            let lately =
                demands[months.saturating_sub(3)..months].iter().any(|demand| *demand > 0.0);
            let ahead = season_ahead(&demands[..months], season);
            states.push(State {
                levels,
                months,
                recent,
                lately,
                total,
                asked,
                last,
                kept,
                weights,
                ahead,
                errors,
            });
        }
    }
    states
}

impl State {
    pub fn rate(&self) -> f64 {
        self.asked / self.months as f64
    }

    pub fn was_asked(&self) -> bool {
        self.asked > 0.0
    }

    pub fn size(&self) -> Option<f64> {
        (self.asked > 0.0).then(|| self.total / self.asked)
    }

    /// Variance of a month over its mean, in units of the mean size.
    pub fn clump(&self) -> Option<f64> {
        let size = self.size()?;
        (self.months > 2).then(|| (self.errors / (self.total * size)).clamp(1e-4, 100.0))
    }

    /// Fills in what each part foresees for so many months.
    pub fn foresee(&self, kinds: &[Kind], kin: &Kin, months: f64, spreads: &mut Vec<Spread>) {
        let size = self.size().unwrap_or(kin.size);
        let own = self.asked / (self.asked + CLUMP_WORTH);
        let clump = self.clump().unwrap_or(kin.clump).ln() * own + kin.clump.ln() * (1.0 - own);
        let index = size * clump.exp();
        let long_run =
            size * (self.asked + kin.shape) / (self.months as f64 + kin.shape / kin.rate);
        let drifted = EVOLVING.map(|[_, _, drift, ..]| drifted(months, drift));
        let fades = KEPT.map(|kept| kept.powf(months / 2.0));
        spreads.clear();
        spreads.extend(kinds.iter().map(|kind| match kind.method {
            Method::EvolvingCounts => {
                self.evolving(kind, index, long_run, drifted[kind.spread_at], fades[kind.pace_at])
            }
            Method::ZeroInflated => self.ended(kind, index, long_run, drifted[kind.spread_at]),
            _ => {
                let mean = self.mean_of(kind.method, months);
                let of_level = kind.of_level * index * mean * months / LEVEL_MONTHS;
                let variance = kind.of_months * index * mean + of_level;
                Spread { mean, variance, idle: 0.0 }
            }
        }));
    }

    /// Demand that a plain method expects in so many months.
    fn mean_of(&self, method: Method, months: f64) -> f64 {
        if method != Method::Season {
            return self.levels[method as usize] * months;
        }
        let season = self.ahead.len() as f64;
        let (whole, rest) = ((months / season).floor(), months % season);
        let part = self.ahead.iter().enumerate();
        let part: f64 = part.map(|(at, month)| month * (rest - at as f64).clamp(0.0, 1.0)).sum();
        whole * self.ahead.iter().sum::<f64>() + part
    }

    /// `months` are those to come as the drift counts them; what is known fades until their middle.
    fn evolving(&self, kind: &Kind, index: f64, long_run: f64, months: f64, fade: f64) -> Spread {
        let events = kind.pull + self.kept[kind.pace_at] / index;
        let weight = kind.pull * index / long_run + self.weights[kind.pace_at];
        let mean = months * index * events / weight;
        let certain = events * fade;
        Spread {
            mean,
            variance: kind.of_months * index * mean + kind.of_level * mean * mean / certain,
            idle: 0.0,
        }
    }

    /// The demand goes on as until its last, or has ended since: the longer nothing was asked for
    /// against what went before, the likelier.
    fn ended(&self, kind: &Kind, index: f64, long_run: f64, months: f64) -> Spread {
        let events = kind.pull + self.total / index;
        let until = if self.asked > 0.0 { self.last } else { self.months as f64 };
        let level = index * events / (kind.pull * index / long_run + until);
        let over = index - 1.0;
        let none = if over > 1e-6 { (-level / over * over.ln_1p()).exp() } else { (-level).exp() };
        let goes_on = (1.0 - kind.pace) * none;
        let since = self.months as f64 - until;
        let alive = goes_on.powf(since);
        let ended = kind.pace * (1.0 - alive) / (1.0 - goes_on);
        let mean = months * level;
        let idle = ended / (alive + ended);
        Spread {
            mean,
            variance: kind.of_months * index * mean + kind.of_level * mean * mean / events,
            idle,
        }
    }
}

/// Sum of the months to come, each so many times the one before.
fn drifted(months: f64, drift: f64) -> f64 {
    if drift == 1.0 { months } else { drift * (1.0 - drift.powf(months)) / (1.0 - drift) }
}

/// What items have in common, from the state of each.
pub(super) fn kin<'a>(states: impl Iterator<Item = &'a State> + Clone) -> Kin {
    let rates: Vec<f64> = states.clone().map(State::rate).collect();
    let count = rates.len().max(1) as f64;
    let months = states.clone().map(|state| state.months as f64).sum::<f64>() / count;
    // Where nothing was ever asked for, half a demand in as long as was watched.
    let rate = (rates.iter().sum::<f64>() / count).max(0.5 / (months * count).max(1.0));
    let squares: f64 = rates.iter().map(|other| (other - rate).powi(2)).sum();
    let variance = squares / (count - 1.0).max(1.0) - rate / months.max(1.0);
    let shape = if count < 5.0 { 0.5 } else { (rate * rate / variance.max(1e-9)).clamp(0.1, 50.0) };
    let mean_ln = |figures: &mut dyn Iterator<Item = f64>| {
        let (sum, count) =
            figures.fold((0.0, 1.0), |(sum, n), figure| (sum + figure.ln(), n + 1.0));
        (sum / count).exp()
    };
    let size = mean_ln(&mut states.clone().filter_map(State::size));
    let clump = mean_ln(&mut states.filter_map(State::clump));
    Kin { rate, shape, size, clump }
}
