use statrs::function::beta::beta_reg;
use statrs::function::erf::erf;
use statrs::function::gamma::{gamma_ur, ln_gamma};

/// Demand of some months as one method foresees it: with chance `idle` nothing, else counts of
/// this mean and variance. Negative-binomial; where the variance is below the mean, normal in
/// whole pieces for means of five and more, and Poisson below.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spread {
    pub mean: f64,
    pub variance: f64,
    pub idle: f64,
}

/// Mean from which a demand steadier than Poisson is taken as normal.
const STEADY_FROM: f64 = 5.0;
/// Largest variance for each piece of the mean whose tail is followed to its end.
const LARGEST_CLUMP: f64 = 1e5;
/// Counts up to which chances are multiplied up from that of none, and the least such chance.
pub(super) const STEPS: u64 = 48;
pub(super) const LEAST_NONE: f64 = 1e-280;
/// Variance for each piece of the mean, above 1, from which a demand is not taken as Poisson.
const OVER: f64 = 1e-6;

/// What -ln of the chance of none is for each piece of the mean, by the variance for each.
pub(super) fn fall(clump: f64) -> f64 {
    let over = clump - 1.0;
    if over > OVER { clump.ln() / over } else { 1.0 }
}

fn is_steady(mean: f64, clump: f64) -> bool {
    clump < 0.98 && mean >= STEADY_FROM
}

/// How chances follow each other, by the variance for each piece of the mean alone: that of k is
/// multiplied with (k · more + first · mean) / (k + 1) for that of k + 1.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Walked {
    clump: f64,
    fall: f64,
    pub first: f64,
    pub more: f64,
}

impl Walked {
    pub fn of(clump: f64) -> Self {
        let over = clump - 1.0;
        let (first, more) = if over > OVER { (1.0 / clump, over / clump) } else { (1.0, 0.0) };
        Self { clump, fall: fall(clump), first, more }
    }

    /// Logarithm of the chance of none; very low where the others cannot be multiplied up from it.
    pub fn ln_none(&self, mean: f64) -> f64 {
        if is_steady(mean, self.clump) { f64::MIN } else { -mean * self.fall }
    }
}

impl Spread {
    fn steady(&self) -> bool {
        is_steady(self.mean, self.variance / self.mean)
    }

    /// Chance of exactly so many pieces, and of at most so many.
    pub fn chances(&self, pieces: u64) -> (f64, f64) {
        if self.mean <= 0.0 {
            return if pieces == 0 { (1.0, 1.0) } else { (0.0, 1.0) };
        }
        let (at, upto) = self.chances_of(pieces);
        let none = if pieces == 0 { self.idle } else { 0.0 };
        let busy = 1.0 - self.idle;
        (none + busy * at, self.idle + busy * upto.min(1.0))
    }

    fn chances_of(&self, pieces: u64) -> (f64, f64) {
        let k = pieces as f64;
        if self.steady() {
            let below = if pieces == 0 { 0.0 } else { self.normal(k - 0.5) };
            let upto = self.normal(k + 0.5);
            return (upto - below, upto);
        }
        let (none, step) = self.steps();
        if pieces <= STEPS && none > LEAST_NONE {
            let (mut at, mut upto) = (none, none);
            for k in 0..pieces {
                at *= step(k as f64);
                upto += at;
            }
            return (at, upto);
        }
        let over = self.variance / self.mean - 1.0;
        let upto = if over > OVER {
            beta_reg(self.mean / over, k + 1.0, 1.0 / (1.0 + over))
        } else {
            gamma_ur(k + 1.0, self.mean)
        };
        (self.ln_chance(k).exp(), upto)
    }

    fn normal(&self, at: f64) -> f64 {
        let scale = (2.0 * self.variance.max(0.01)).sqrt();
        0.5 * (1.0 + erf((at - self.mean) / scale))
    }

    /// Chance of none, and what the chance of k is multiplied with for that of k + 1.
    fn steps(&self) -> (f64, impl Fn(f64) -> f64) {
        let mean = self.mean;
        let over = self.variance / mean - 1.0;
        let (none, p, q) = if over > OVER {
            let shape = mean / over;
            ((-shape * over.ln_1p()).exp(), 1.0 / (1.0 + over), over / (1.0 + over))
        } else {
            ((-mean).exp(), 1.0, 0.0)
        };
        (none, move |k: f64| (k * q + mean * p) / (k + 1.0))
    }

    fn ln_chance(&self, k: f64) -> f64 {
        let over = self.variance / self.mean - 1.0;
        if over > OVER {
            let shape = self.mean / over;
            ln_gamma(k + shape) - ln_gamma(shape) - ln_gamma(k + 1.0) - shape * over.ln_1p()
                + k * (over / (1.0 + over)).ln()
        } else {
            k * self.mean.ln() - self.mean - ln_gamma(k + 1.0)
        }
    }

    /// Adds `weight` times the chances of 0, 1, 2 … to a list, as far as it goes.
    pub fn add_to(&self, chances: &mut [f64], weight: f64) {
        if chances.is_empty() {
            return;
        }
        if self.mean <= 0.0 {
            chances[0] += weight;
            return;
        }
        chances[0] += weight * self.idle;
        let weight = weight * (1.0 - self.idle);
        if self.steady() {
            let mut below = 0.0;
            for (k, chance) in chances.iter_mut().enumerate() {
                let upto = self.normal(k as f64 + 0.5);
                *chance += weight * (upto - below);
                below = upto;
            }
            return;
        }
        let (none, step) = self.steps();
        if none > LEAST_NONE {
            let mut at = weight * none;
            for (k, chance) in chances.iter_mut().enumerate() {
                *chance += at;
                at *= step(k as f64);
            }
            return;
        }
        let middle = (self.mean as usize).min(chances.len() - 1);
        let start = weight * self.ln_chance(middle as f64).exp();
        let mut at = start;
        for (k, chance) in chances.iter_mut().enumerate().skip(middle) {
            *chance += at;
            at *= step(k as f64);
        }
        at = start;
        for k in (0..middle).rev() {
            at /= step(k as f64);
            chances[k] += at;
        }
    }

    /// Number of pieces above which no chance is worth counting.
    pub fn reach(&self) -> usize {
        if self.mean <= 0.0 {
            return 1;
        }
        let over = (self.variance / self.mean).clamp(1.0, LARGEST_CLUMP);
        (self.mean + 9.0 * (self.mean * over).sqrt() + 30.0 * over) as usize + 5
    }
}
