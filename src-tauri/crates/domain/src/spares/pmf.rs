use super::poisson::{DemandRefusal, LARGEST_MEAN};

#[cfg(test)]
mod tests;

/// Demand that is not certain: the probabilities of 0, 1, 2 … pieces.
///
/// Cut where less than 1e-20 is left above, so that tails and what is owed keep their digits. What
/// is above each number is kept beside, since asking for it is what most figures of stock are.
#[derive(Debug, Clone, PartialEq)]
pub struct Pmf {
    /// P(X = k); never empty, and the last is above zero.
    at: Vec<f64>,
    /// P(X > k), of the same length.
    above: Vec<f64>,
}

/// What may be left out above the last number.
const TAIL: f64 = 1e-20;
/// Weights this far below the likeliest are left at zero; smaller ones lose digits.
const FAINT: f64 = 1e-306;
/// Weights that cannot show in a sum of two demands.
const UNSEEN: f64 = 1e-30;
/// Largest variance for each piece of the mean; the tail is some fifty times as long.
const LARGEST_SPREAD: f64 = 1e5;

impl Pmf {
    /// A demand that is known, as for planned changes. More than [`LARGEST_MEAN`] pieces count as
    /// that many.
    pub fn certain(pieces: u64) -> Self {
        let last = pieces.min(LARGEST_MEAN as u64) as usize;
        let mut at = vec![0.0; last + 1];
        at[last] = 1.0;
        Self::from_ready(at)
    }

    /// Poisson demand, as of failures at a constant rate that is known.
    ///
    /// Fails with [`DemandRefusal::Mean`] unless 0 <= mean <= [`LARGEST_MEAN`].
    pub fn poisson(mean: f64) -> Result<Self, DemandRefusal> {
        let mean = sound_mean(mean)?;
        Ok(Self::from_mode(mean as usize, |k| mean / (k + 1.0)))
    }

    /// Negative-binomial demand of this mean and variance: Poisson of a rate that is itself
    /// gamma-distributed (mixed), or groups of logarithmic size that arrive at random (compound).
    /// Poisson where the variance is not above the mean.
    ///
    /// Fails with [`DemandRefusal::Mean`] as [`Self::poisson`] does, and with
    /// [`DemandRefusal::Variance`] unless 0 <= variance <= 100,000 · mean.
    ///
    /// Source: Johnson, Kemp and Kotz, Univariate Discrete Distributions, chapter 5, with
    /// r = m²/(v − m), p = m/v.
    pub fn negative_binomial(mean: f64, variance: f64) -> Result<Self, DemandRefusal> {
        let mut at = Vec::with_capacity(24);
        Self::negative_binomial_into(&mut at, mean, variance)?;
        Ok(Self::from_ready(at))
    }

    /// Demand of `n` places that each ask for one piece with probability `p`.
    ///
    /// Fails with [`DemandRefusal::Chance`] unless 0 <= p <= 1, and with [`DemandRefusal::Mean`]
    /// where n·p is above [`LARGEST_MEAN`].
    pub fn binomial(n: u64, p: f64) -> Result<Self, DemandRefusal> {
        if !(0.0..=1.0).contains(&p) {
            return Err(DemandRefusal::Chance(p));
        }
        let places = n as f64;
        sound_mean(places * p)?;
        if p == 1.0 {
            return Ok(Self::certain(n));
        }
        let odds = p / (1.0 - p);
        let mode = ((places + 1.0) * p).min(places) as usize;
        Ok(Self::from_mode(mode, |k| (places - k).max(0.0) / (k + 1.0) * odds))
    }

    /// Any demand from the weights of 0, 1, 2 … pieces, which are made to sum to 1.
    ///
    /// Fails with [`DemandRefusal::Weights`] unless all are finite, none is below zero and one is
    /// above.
    pub fn of(weights: Vec<f64>) -> Result<Self, DemandRefusal> {
        let sum: f64 = weights.iter().sum();
        if !(sum > 0.0 && sum.is_finite() && weights.iter().all(|weight| *weight >= 0.0)) {
            return Err(DemandRefusal::Weights);
        }
        Ok(Self::from_weights(weights, sum))
    }

    /// The sum of two demands that know nothing of each other.
    pub fn plus(&self, other: &Self) -> Self {
        let (short, long) =
            if self.at.len() <= other.at.len() { (self, other) } else { (other, self) };
        let first = long.at.iter().position(|weight| *weight > UNSEEN).unwrap_or(0);
        let mut at = vec![0.0; short.at.len() + long.at.len() - 1];
        for (shift, weight) in short.at.iter().enumerate().filter(|(_, weight)| **weight > UNSEEN) {
            let sums = &mut at[shift + first..shift + long.at.len()];
            for (sum, other) in sums.iter_mut().zip(&long.at[first..]) {
                *sum += weight * other;
            }
        }
        let sum = at.iter().sum();
        Self::from_weights(at, sum)
    }

    /// One of several demands, each with its weight; the weights are made to sum to 1, and parts
    /// without a finite weight above zero are left out. No part at all is no demand.
    pub fn mixed(parts: &[(f64, Self)]) -> Self {
        let parts: Vec<(f64, &Self)> = parts.iter().map(|(weight, part)| (*weight, part)).collect();
        Self::mixed_of(&parts)
    }

    pub(super) fn mixed_of(parts: &[(f64, &Self)]) -> Self {
        let weighty = || parts.iter().filter(|(weight, _)| *weight > 0.0 && weight.is_finite());
        let length = weighty().map(|(_, part)| part.at.len()).max().unwrap_or(0);
        if length == 0 {
            return Self::certain(0);
        }
        let mut at = vec![0.0; length];
        for (weight, part) in weighty() {
            at.iter_mut().zip(&part.at).for_each(|(sum, part)| *sum += weight * part);
        }
        let sum = at.iter().sum();
        Self::from_weights(at, sum)
    }

    /// P(X = k).
    pub fn at(&self, k: u64) -> f64 {
        self.index(k).map_or(0.0, |k| self.at[k])
    }

    /// P(X <= k).
    pub fn cdf(&self, k: u64) -> f64 {
        match self.index(k) {
            Some(k) if self.above[k] > 0.5 => self.at[..=k].iter().sum(),
            Some(k) => 1.0 - self.above[k],
            None => 1.0,
        }
    }

    /// P(X > k), which keeps its digits where [`Self::cdf`] is all but 1.
    pub fn above(&self, k: u64) -> f64 {
        self.index(k).map_or(0.0, |k| self.above[k])
    }

    /// Pieces.
    pub fn mean(&self) -> f64 {
        self.above.iter().sum()
    }

    /// Pieces squared.
    pub fn variance(&self) -> f64 {
        let mean = self.mean();
        let square = |(k, weight): (usize, &f64)| weight * (k as f64 - mean).powi(2);
        self.at.iter().enumerate().map(square).sum()
    }

    /// The smallest k with P(X <= k) >= p. Nothing below zero and nothing above the last number
    /// that is kept, whatever is asked.
    ///
    /// Source: spares without resupply as in B. S. Blanchard, Logistics Engineering and Management.
    /// Some pages write P(X < k), which asks for one piece more.
    pub fn quantile(&self, p: f64) -> u64 {
        // Of the two ways to say it one is exact near 0, the other near 1.
        let mut below = 0.0;
        let covered = self.at.iter().zip(&self.above).position(|(at, above)| {
            below += at;
            *above <= 1.0 - p || (below >= p && p < 1.0)
        });
        covered.unwrap_or(self.at.len() - 1) as u64
    }

    /// E[(X − s)+], what a stock of `s` pieces leaves owed.
    pub fn expected_above(&self, s: u64) -> f64 {
        self.index(s).map_or(0.0, |s| self.above[s..].iter().rev().sum())
    }

    /// E[(s − X)+], what is left of a stock of `s` pieces.
    pub fn expected_below(&self, s: u64) -> f64 {
        let left = self.at.iter().enumerate().take_while(|(k, _)| (*k as u64) < s);
        left.map(|(k, weight)| (s - k as u64) as f64 * weight).sum()
    }

    /// P(X = 0), P(X = 1) … up to the last that is kept; never empty.
    pub fn weights(&self) -> &[f64] {
        &self.at
    }

    fn index(&self, k: u64) -> Option<usize> {
        usize::try_from(k).ok().filter(|k| *k < self.at.len())
    }

    pub(super) fn from_mode(mode: usize, ratio: impl Fn(f64) -> f64) -> Self {
        let mut at = Vec::with_capacity(mode + 24);
        weights_from_mode(&mut at, mode, ratio);
        Self::from_ready(at)
    }

    /// Writes the weights of [`Self::negative_binomial`] into a list, which is emptied first.
    ///
    /// Fails as that does.
    pub(super) fn negative_binomial_into(
        at: &mut Vec<f64>,
        mean: f64,
        variance: f64,
    ) -> Result<(), DemandRefusal> {
        let mean = sound_mean(mean)?;
        if !(0.0..=mean * LARGEST_SPREAD).contains(&variance) {
            return Err(DemandRefusal::Variance(variance));
        }
        at.clear();
        if variance <= mean {
            weights_from_mode(at, mean as usize, |k| mean / (k + 1.0));
            return Ok(());
        }
        // r·q is m·p, so that nothing cancels where the variance is all but the mean.
        let (p, q) = (mean / variance, (variance - mean) / variance);
        let mode = ((mean * p - q) / p).max(0.0) as usize;
        weights_from_mode(at, mode, |k| (k * q + mean * p) / (k + 1.0));
        Ok(())
    }

    /// Leaves out the tail; `sum` is that of all weights and above zero.
    fn from_weights(mut at: Vec<f64>, sum: f64) -> Self {
        let mut tail = 0.0;
        while let Some(last) = at.last() {
            tail += last;
            if tail > TAIL * sum || at.len() == 1 {
                break;
            }
            at.pop();
        }
        Self::scaled(at, sum)
    }

    fn scaled(mut at: Vec<f64>, sum: f64) -> Self {
        at.iter_mut().for_each(|weight| *weight /= sum);
        Self::from_ready(at)
    }

    fn from_ready(at: Vec<f64>) -> Self {
        let mut above = vec![0.0; at.len()];
        let mut tail: f64 = 0.0;
        for k in (0..at.len()).rev() {
            // The last digits of a sum may pass 1.
            above[k] = tail.min(1.0);
            tail += at[k];
        }
        Self { at, above }
    }
}

/// Writes the chances of 0, 1, 2 … from the likeliest number and P(X = k + 1) / P(X = k), downwards
/// and upwards, so that nothing underflows however large the mean is. `at` is empty.
fn weights_from_mode(at: &mut Vec<f64>, mode: usize, ratio: impl Fn(f64) -> f64) {
    at.resize(mode + 1, 0.0);
    at[mode] = 1.0;
    for k in (0..mode).rev() {
        at[k] = at[k + 1] / ratio(k as f64);
        if at[k] < FAINT {
            at[k] = 0.0;
            break;
        }
    }
    let farthest = ratio(1e18);
    let mut sum: f64 = at.iter().sum();
    let mut k = mode as f64;
    let mut last = at[mode];
    let mut step = ratio(k);
    loop {
        let next = last * step;
        // Ratios fall or rise towards a limit below 1: a geometric series bounds the rest.
        let after = ratio(k + 1.0);
        let limit = step.max(after).max(farthest);
        if next == 0.0 || (limit < 1.0 && next < TAIL * sum * (1.0 - limit)) {
            break;
        }
        sum += next;
        at.push(next);
        (k, last, step) = (k + 1.0, next, after);
    }
    at.iter_mut().for_each(|weight| *weight /= sum);
}

fn sound_mean(mean: f64) -> Result<f64, DemandRefusal> {
    if (0.0..=LARGEST_MEAN).contains(&mean) { Ok(mean) } else { Err(DemandRefusal::Mean(mean)) }
}
