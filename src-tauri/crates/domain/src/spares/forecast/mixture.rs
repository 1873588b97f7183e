use super::ahead::Ahead;
use super::exponential::exponentials;
use super::parts::{CLUMPS, Kind};
use super::spread::{LEAST_NONE, STEPS, Spread, Walked};

/// Chances of several parts, carried from none upwards side by side.
#[derive(Debug, Default)]
struct Walk {
    pieces: f64,
    /// Chance of so many pieces, times the weight of the part.
    at: Vec<f64>,
    /// The chance of k pieces is multiplied with (k · more + first) / (k + 1) for that of k + 1.
    first: Vec<f64>,
    more: Vec<f64>,
}

impl Walk {
    /// Begins with the chances of none of some parts.
    fn begin<'a>(&mut self, ahead: &Ahead, kinds: impl Iterator<Item = &'a Kind> + Clone) {
        let mut used = [false; CLUMPS];
        kinds.clone().for_each(|kind| used[kind.clump_at] = true);
        let mut walked = [Walked::default(); CLUMPS];
        for (clump, walked) in walked.iter_mut().enumerate().filter(|(clump, _)| used[*clump]) {
            *walked = Walked::of(ahead.clumps[clump]);
        }
        self.pieces = 0.0;
        let walked = |kind: &'a Kind| (ahead.mean(kind), &walked[kind.clump_at]);
        let begun = kinds.map(walked);
        self.at.clear();
        self.at.extend(begun.clone().map(|(mean, walked)| walked.ln_none(mean)));
        exponentials(&mut self.at);
        self.first.clear();
        self.first.extend(begun.clone().map(|(mean, walked)| mean * walked.first));
        self.more.clear();
        self.more.extend(begun.map(|(_, walked)| walked.more));
    }

    fn step(&mut self) {
        let (pieces, share) = (self.pieces, 1.0 / (self.pieces + 1.0));
        let steps = self.first.iter().zip(&self.more);
        for (at, (first, more)) in self.at.iter_mut().zip(steps) {
            *at *= (pieces * more + first) * share;
        }
        self.pieces += 1.0;
    }

    fn sum(&self) -> f64 {
        let (fours, rest) = self.at.as_chunks::<4>();
        let sums = fours.iter().fold([0.0; 4], |sums, at| [0, 1, 2, 3].map(|n| sums[n] + at[n]));
        sums.iter().sum::<f64>() + rest.iter().sum::<f64>()
    }

    /// Leaves out the parts that are past their likeliest number and say nothing any more.
    fn drop_faint(&mut self) {
        let pieces = self.pieces;
        self.keep(|at, first, more| at > FAINT || (pieces * more + first) / (pieces + 1.0) > 1.0);
    }

    /// Keeps some of the parts.
    fn keep(&mut self, which: impl Fn(f64, f64, f64) -> bool) {
        let mut kept = 0;
        for n in 0..self.at.len() {
            let (at, first, more) = (self.at[n], self.first[n], self.more[n]);
            (self.at[kept], self.first[kept], self.more[kept]) = (at, first, more);
            kept += usize::from(which(at, first, more));
        }
        self.at.truncate(kept);
        self.first.truncate(kept);
        self.more.truncate(kept);
    }
}

/// What may be left out above the last number of a list, and chances that add nothing to it.
const TAIL: f64 = 1e-20;
const FAINT: f64 = 1e-30;
/// Numbers between two looks at what has become faint.
const LOOK: usize = 8;

/// Lists the parts of a blend that weigh `least` or more, with their weights.
pub(super) fn heavy(kinds: &[Kind], weights: &[f64], least: f64) -> Vec<(Kind, f64)> {
    let parts = kinds.iter().copied().zip(weights.iter().copied());
    parts.filter(|(_, weight)| *weight >= least).collect()
}

/// A blend of the parts that count.
#[derive(Debug, Default)]
pub(super) struct Mixture {
    walk: Walk,
    /// Parts that cannot be carried up from none, with their weights.
    far: Vec<(Spread, f64)>,
    /// Weight of all parts, and of what they leave to nothing being asked for.
    whole: f64,
    ended: f64,
    /// Largest mean and largest variance over the mean of the parts that are carried up.
    mean: f64,
    clump: f64,
}

impl Mixture {
    pub fn of(ahead: &Ahead, parts: &[(Kind, f64)]) -> Self {
        let mut mixture = Self::default();
        mixture.fill(ahead, parts, true);
        mixture
    }

    fn fill(&mut self, ahead: &Ahead, parts: &[(Kind, f64)], near: bool) {
        self.far.clear();
        (self.whole, self.ended, self.mean, self.clump) = (0.0, 0.0, 0.0, 1.0);
        self.walk.begin(ahead, parts.iter().map(|(kind, _)| kind));
        for ((kind, weight), at) in parts.iter().zip(&mut self.walk.at) {
            self.whole += weight;
            if near && *at > LEAST_NONE {
                let ended = ahead.ended_by(kind);
                self.ended += weight * ended;
                *at *= weight * (1.0 - ended);
                self.mean = self.mean.max(ahead.mean(kind));
                self.clump = self.clump.max(ahead.clump(kind));
            } else {
                *at = f64::NAN;
                self.far.push((ahead.spread(kind), *weight));
            }
        }
        if !self.far.is_empty() {
            self.walk.keep(|at, _, _| !at.is_nan());
        }
    }

    /// Chance of exactly so many pieces, and of at most so many, by some parts of a blend.
    pub fn chances(&mut self, ahead: &Ahead, parts: &[(Kind, f64)], pieces: u64) -> (f64, f64) {
        self.fill(ahead, parts, pieces <= STEPS);
        let mut at = self.ended + self.walk.sum();
        let mut upto = at;
        for _ in 0..if self.walk.at.is_empty() { 0 } else { pieces } {
            self.walk.step();
            at = self.walk.sum();
            upto += at;
        }
        for (spread, weight) in &self.far {
            let (far_at, far_upto) = spread.chances(pieces);
            at += weight * far_at;
            upto += weight * far_upto;
        }
        (at / self.whole, upto / self.whole)
    }

    /// Chance of exactly so many pieces by each part.
    pub fn apart(&mut self, ahead: &Ahead, kinds: &[Kind], pieces: u64) -> &[f64] {
        let walk = &mut self.walk;
        let near = pieces <= STEPS;
        walk.begin(ahead, kinds.iter());
        // No number marks the parts that are looked at by themselves.
        let far = walk.at.iter_mut().filter(|none| !near || **none <= LEAST_NONE);
        far.for_each(|none| *none = f64::NAN);
        (0..if near { pieces } else { 0 }).for_each(|_| walk.step());
        for (kind, at) in kinds.iter().zip(&mut walk.at) {
            *at = if at.is_nan() {
                ahead.spread(kind).chances(pieces).0
            } else {
                let ended = ahead.ended_by(kind);
                let nothing = if pieces == 0 { ended } else { 0.0 };
                nothing + (1.0 - ended) * *at
            };
        }
        &walk.at
    }

    /// Largest mean of a part.
    pub fn largest_mean(&self) -> f64 {
        self.far.iter().fold(self.mean, |most, (spread, _)| most.max(spread.mean))
    }

    /// Chances of 0, 1, 2 … pieces, as far as they can be told from nothing.
    pub fn list(mut self) -> Vec<f64> {
        let walk = &mut self.walk;
        let mut chances = vec![self.ended + walk.sum()];
        let longest = Spread { mean: self.mean, variance: self.mean * self.clump, idle: 0.0 };
        let longest = longest.reach();
        while !walk.at.is_empty() && chances.len() < longest {
            walk.step();
            let at = walk.sum();
            chances.push(at);
            // From the mean on, each chance is at most 1 - 1/clump of the one before, or soon is.
            if walk.pieces > self.mean && at * self.clump < TAIL * self.whole {
                break;
            }
            if chances.len() % LOOK == 0 {
                walk.drop_faint();
            }
        }
        let farthest = self.far.iter().map(|(spread, _)| spread.reach()).max().unwrap_or(0);
        chances.resize(chances.len().max(farthest), 0.0);
        for (spread, weight) in &self.far {
            spread.add_to(&mut chances, *weight);
        }
        chances.iter_mut().for_each(|chance| *chance /= self.whole);
        chances
    }
}
