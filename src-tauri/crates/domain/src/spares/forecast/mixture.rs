use super::ahead::Ahead;
use super::parts::{CLUMPS, Kind};
use super::spread::{STEPS, Spread, Walked};

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
    fn clear(&mut self) {
        self.pieces = 0.0;
        self.at.clear();
        self.first.clear();
        self.more.clear();
    }

    fn add(&mut self, none: f64, mean: f64, walked: &Walked) {
        self.at.push(none);
        self.first.push(mean * walked.first);
        self.more.push(walked.more);
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
        let mut kept = 0;
        for n in 0..self.at.len() {
            let step = (self.pieces * self.more[n] + self.first[n]) / (self.pieces + 1.0);
            if self.at[n] > FAINT || step > 1.0 {
                self.at[kept] = self.at[n];
                self.first[kept] = self.first[n];
                self.more[kept] = self.more[n];
                kept += 1;
            }
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
    /// Blends the parts that weigh `least` or more.
    pub fn of(ahead: &Ahead, kinds: &[Kind], weights: &[f64], least: f64) -> Self {
        let mut mixture = Self::default();
        mixture.fill(ahead, kinds, weights, least, true);
        mixture
    }

    fn fill(&mut self, ahead: &Ahead, kinds: &[Kind], weights: &[f64], least: f64, near: bool) {
        self.walk.clear();
        self.far.clear();
        (self.whole, self.ended, self.mean, self.clump) = (0.0, 0.0, 0.0, 1.0);
        let mut known = [None; CLUMPS];
        for (kind, weight) in kinds.iter().zip(weights).filter(|(_, weight)| **weight >= least) {
            self.whole += weight;
            let (mean, ended) = (ahead.mean(kind), ahead.ended_by(kind));
            let walked = known[kind.clump_at].get_or_insert_with(|| Walked::of(ahead.clump(kind)));
            match walked.none(mean).filter(|_| near) {
                Some(none) => {
                    self.ended += weight * ended;
                    self.walk.add(weight * (1.0 - ended) * none, mean, walked);
                    self.mean = self.mean.max(mean);
                    self.clump = self.clump.max(ahead.clump(kind));
                }
                None => self.far.push((ahead.spread(kind), *weight)),
            }
        }
    }

    /// Chance of exactly so many pieces, and of at most so many, by the parts of a blend that weigh
    /// `least` or more.
    pub fn chances(
        &mut self,
        ahead: &Ahead,
        kinds: &[Kind],
        weights: &[f64],
        least: f64,
        pieces: u64,
    ) -> (f64, f64) {
        self.fill(ahead, kinds, weights, least, pieces <= STEPS);
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
        walk.clear();
        let near = pieces <= STEPS;
        let mut known = [None; CLUMPS];
        for kind in kinds {
            let walked = known[kind.clump_at].get_or_insert_with(|| Walked::of(ahead.clump(kind)));
            let mean = ahead.mean(kind);
            // No number marks the parts that are looked at by themselves.
            walk.add(walked.none(mean).filter(|_| near).unwrap_or(f64::NAN), mean, walked);
        }
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
