use super::method::Method;
use super::parts::{
    CLUMPS, ENDED_CLUMPS, ENDED_MEANS, ENDING, ENDS, EVOLVING, EVOLVING_CLUMPS, EVOLVING_MEANS,
    KEPT, Kind, MEANS, PLAIN, PULL,
};
use super::spread::{Spread, fall};
use super::states::{Kin, State};

/// Months of which a plain method's level is taken to be the mean.
const LEVEL_MONTHS: f64 = 10.0;
/// Demands that the common clumping counts for.
const CLUMP_WORTH: f64 = 8.0;

/// So many months to come, as the parts count them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Months {
    months: f64,
    /// Sums of the months, each so many times the one before.
    drifted: [f64; EVOLVING.len()],
    /// What is known fades until their middle: what is left of it.
    left: [f64; KEPT.len()],
}

impl Months {
    pub fn of(months: f64) -> Self {
        let drifted = |drift: f64| match drift {
            1.0 => months,
            _ => drift * (1.0 - drift.powf(months)) / (1.0 - drift),
        };
        Self {
            months,
            drifted: std::array::from_fn(|at| drifted(EVOLVING[at].drift)),
            left: KEPT.map(|kept| kept.powf(months / 2.0)),
        }
    }
}

/// Demand of some months as all parts foresee it. Many parts share a mean, or the variance over it,
/// so each figure is kept once.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Ahead {
    means: [f64; MEANS],
    /// Variances over the mean.
    pub clumps: [f64; CLUMPS],
    /// Chances that the demand has ended; the first is none.
    ended: [f64; 1 + ENDS.len()],
}

impl State {
    pub fn foresee(&self, kin: &Kin, months: &Months) -> Ahead {
        let seen = &self.seen;
        let size = seen.size().unwrap_or(kin.size);
        let own = seen.asked / (seen.asked + CLUMP_WORTH);
        let clump = seen.clump().unwrap_or(kin.clump).ln() * own + kin.clump.ln() * (1.0 - own);
        let index = size * clump.exp();
        let long_run =
            size * (seen.asked + kin.shape) / (seen.months as f64 + kin.shape / kin.rate);
        let mut ahead =
            Ahead { means: [0.0; MEANS], clumps: [0.0; CLUMPS], ended: [0.0; 1 + ENDS.len()] };
        self.plain(index, months, &mut ahead);
        self.evolving(index, index / long_run, months, &mut ahead);
        self.ended(index, index / long_run, months, &mut ahead);
        ahead
    }

    fn plain(&self, index: f64, months: &Months, ahead: &mut Ahead) {
        for (mean, level) in ahead.means[..EVOLVING_MEANS].iter_mut().zip(self.levels) {
            *mean = level * months.months;
        }
        ahead.means[Method::Season as usize] = self.of_season(months.months);
        for (clump, (of_months, of_level, _)) in ahead.clumps.iter_mut().zip(PLAIN) {
            *clump = of_months * index + of_level * index * months.months / LEVEL_MONTHS;
        }
    }

    fn of_season(&self, months: f64) -> f64 {
        let season = self.season.len() as f64;
        let (whole, rest) = ((months / season).floor(), months % season);
        let part = self.season.iter().enumerate();
        let part: f64 = part.map(|(at, month)| month * (rest - at as f64).clamp(0.0, 1.0)).sum();
        whole * self.season.iter().sum::<f64>() + part
    }

    /// A gamma distribution of the mean, from discounted demands. `pace` is the variance of a month
    /// over the long-run mean.
    fn evolving(&self, index: f64, pace: f64, months: &Months, ahead: &mut Ahead) {
        for (kept_at, left) in months.left.iter().enumerate() {
            let demands = self.kept[kept_at] / index;
            for (at, spread) in EVOLVING.iter().enumerate() {
                let place = kept_at * EVOLVING.len() + at;
                let weight = spread.pull * pace + self.weights[kept_at];
                let each = months.drifted[at] * index / weight;
                ahead.means[EVOLVING_MEANS + place] = each * (spread.pull + demands);
                ahead.clumps[EVOLVING_CLUMPS + place] =
                    spread.of_months * index + spread.of_level * each / left;
            }
        }
    }

    /// The demand goes on as until its last, or has ended since: the longer nothing was asked for
    /// against what went before, the likelier.
    fn ended(&self, index: f64, pace: f64, months: &Months, ahead: &mut Ahead) {
        let seen = &self.seen;
        let events = PULL + seen.total / index;
        let until = if seen.was_asked() { seen.last } else { seen.months };
        let level = index * events / (PULL * pace + until as f64);
        for (at, spread) in EVOLVING[..ENDING].iter().enumerate() {
            let mean = months.drifted[at] * level;
            ahead.means[ENDED_MEANS + at] = mean;
            ahead.clumps[ENDED_CLUMPS + at] =
                spread.of_months * index + spread.of_level * mean / events;
        }
        let none = (-level * fall(index)).exp();
        let since = (seen.months - until) as i32;
        for (chance, ends) in ahead.ended[1..].iter_mut().zip(ENDS) {
            let goes_on = (1.0 - ends) * none;
            let alive = goes_on.powi(since);
            let ended = ends * (1.0 - alive) / (1.0 - goes_on);
            *chance = ended / (alive + ended);
        }
    }
}

impl Ahead {
    pub fn mean(&self, kind: &Kind) -> f64 {
        self.means[kind.mean_at]
    }

    pub fn clump(&self, kind: &Kind) -> f64 {
        self.clumps[kind.clump_at]
    }

    pub fn ended_by(&self, kind: &Kind) -> f64 {
        self.ended[kind.end_at]
    }

    pub fn expected(&self, kind: &Kind) -> f64 {
        self.mean(kind) * (1.0 - self.ended_by(kind))
    }

    pub fn spread(&self, kind: &Kind) -> Spread {
        let mean = self.mean(kind);
        Spread { mean, variance: mean * self.clump(kind), idle: self.ended_by(kind) }
    }

    /// The same with means and variances so many times as large.
    pub fn drifted(&self, (mean, variance): (f64, f64)) -> Self {
        Self {
            means: self.means.map(|one| one * mean),
            clumps: self.clumps.map(|one| one * (variance / mean)),
            ended: self.ended,
        }
    }

    /// Mean and variance of a blend.
    pub fn mean_and_variance(&self, kinds: &[Kind], weights: &[f64]) -> (f64, f64) {
        let (mut first, mut second) = (0.0, 0.0);
        for (kind, weight) in kinds.iter().zip(weights) {
            let expected = weight * self.expected(kind);
            first += expected;
            second += expected * (self.clump(kind) + self.mean(kind));
        }
        (first, second - first * first)
    }
}
