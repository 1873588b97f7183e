//! What random draws say, with which certainty.

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
