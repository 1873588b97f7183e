//! Random draws that are the same each time, and what they say with which certainty.

/// A generator of equal draws for equal seeds (SplitMix64).
pub(crate) struct Draws(pub u64);

impl Draws {
    /// From 0 to below 1.
    pub(crate) fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^= mixed >> 31;
        (mixed >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Exponential of mean 1.
    pub(crate) fn exponential(&mut self) -> f64 {
        -(1.0 - self.next()).ln()
    }
}

/// Where a mean lies by the means of batches, with some 99.9 %.
#[derive(Debug)]
pub(crate) struct Interval {
    pub mean: f64,
    pub half: f64,
}

impl Interval {
    pub(crate) fn of(batches: &[f64]) -> Self {
        let count = batches.len() as f64;
        let mean = batches.iter().sum::<f64>() / count;
        let variance = batches.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / (count - 1.0);
        // Student's t of 39 degrees of freedom: 3.56 for 99.9 % on both sides.
        Self { mean, half: 3.56 * (variance / count).sqrt() }
    }

    pub(crate) fn holds(&self, figure: f64) -> bool {
        (figure - self.mean).abs() <= self.half
    }
}
