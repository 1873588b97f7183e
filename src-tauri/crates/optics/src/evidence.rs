//! How unlikely an agreement is by chance.
//!
//! A symbol that is not the label in question agrees with it in each module as a fair coin falls:
//! masks and the correction of Reed and Solomon spread every difference over the symbol. How
//! surely each module was seen (its weight) is known and is not left to chance. The sum of the
//! weights that agree less those that do not then exceeds `t` with a probability of at most
//! `exp(min over θ of Σ ln cosh(θ wᵢ) − θ t)`.
//!
//! Source: the bound of Chernoff; H. Chernoff, Ann. Math. Stat. 23 (1952).

/// Weights of modules, in any unit.
pub struct Chance<'a> {
    weights: &'a [f64],
    squares: f64,
    total: f64,
}

impl<'a> Chance<'a> {
    /// Weights are taken without their sign.
    pub fn new(weights: &'a [f64]) -> Self {
        let squares = weights.iter().map(|w| w * w).sum();
        let total = weights.iter().map(|w| w.abs()).sum();
        Self { weights, squares, total }
    }

    /// Natural logarithm of a bound on the probability of a sum of `sum` or more.
    ///
    /// 0 where the sum is no more than what is expected; never below that of all modules agreeing,
    /// −ln 2 for each.
    pub fn ln_of(&self, sum: f64) -> f64 {
        if sum <= 0.0 || self.squares <= 0.0 {
            return 0.0;
        }
        let all = -(self.weights.len() as f64) * std::f64::consts::LN_2;
        if sum >= self.total {
            return all;
        }
        let theta = self.tilt(sum);
        let exponent: f64 = self.weights.iter().map(|w| ln_cosh(theta * w)).sum();
        (exponent - theta * sum).clamp(all, 0.0)
    }

    /// The sum where everything agrees.
    pub fn sum_of_all(&self) -> f64 {
        self.total
    }

    /// What a weight of 1 is worth as the natural logarithm of odds, where `sum` is what the true
    /// label reaches: the α for which Σ wᵢ tanh(α wᵢ / 2), the sum to be expected, is `sum`.
    pub fn odds_for(&self, sum: f64) -> f64 {
        2.0 * self.tilt(sum)
    }

    fn tilt(&self, sum: f64) -> f64 {
        // The slope of the exponent grows with θ; halving finds its zero safely.
        let (mut low, mut high) = (0.0, self.steepest());
        for _ in 0..40 {
            let theta = (low + high) / 2.0;
            if self.slope(theta) < sum { low = theta } else { high = theta }
        }
        low
    }

    fn slope(&self, theta: f64) -> f64 {
        self.weights.iter().map(|w| w * (theta * w).tanh()).sum()
    }

    /// A θ beyond which nothing changes any more.
    fn steepest(&self) -> f64 {
        let mean_square = self.squares / self.weights.len().max(1) as f64;
        30.0 / mean_square.sqrt().max(f64::MIN_POSITIVE)
    }

    /// The sum that chance reaches with a probability of at most `exp(ln)`; more than every
    /// possible sum where even full agreement is not that unlikely.
    pub fn sum_for(&self, ln: f64) -> f64 {
        if self.ln_of(self.total) > ln {
            return self.total * 2.0;
        }
        // Each θ belongs to one sum, and larger ones to less likely sums.
        let (mut low, mut high) = (0.0, self.steepest());
        for _ in 0..40 {
            let theta = (low + high) / 2.0;
            let exponent: f64 = self.weights.iter().map(|w| ln_cosh(theta * w)).sum();
            if exponent - theta * self.slope(theta) > ln { low = theta } else { high = theta }
        }
        self.slope(high)
    }
}

/// ln cosh without overflow.
fn ln_cosh(x: f64) -> f64 {
    let x = x.abs();
    x + (-2.0 * x).exp().ln_1p() - std::f64::consts::LN_2
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 20 fair coins: 18 heads or more have probability (1 + 20 + 190) / 2²⁰ = 2.01e-4.
    #[test]
    fn the_bound_is_above_the_exact_probability_and_near_it() {
        let weights = [1.0; 20];
        let chance = Chance::new(&weights);
        let exact = (211.0 / f64::from(1 << 20)).ln();
        let bound = chance.ln_of(16.0);
        assert!(bound > exact && bound < exact + 1.5, "{bound} beside {exact}");
        assert!((chance.ln_of(20.0) - (0.5_f64.powi(20)).ln()).abs() < 1e-9);
        assert_eq!(chance.ln_of(-1.0), 0.0);
    }

    #[test]
    fn a_sum_and_its_chance_are_inverse() {
        let weights: Vec<f64> = (1..=180).map(|n| f64::from(n % 17) / 10.0).collect();
        let chance = Chance::new(&weights);
        for ln in [-5.0, -20.0, -40.0] {
            let back = chance.ln_of(chance.sum_for(ln));
            assert!((back - ln).abs() < 0.01, "{back} for {ln}");
        }
        assert!(chance.sum_for(-200.0) > chance.total);
    }
}
