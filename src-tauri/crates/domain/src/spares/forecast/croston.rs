use super::smoothing::{NARROW, Smoother};

/// Sizes of the demands of a history and the periods between them; the first interval counts from
/// the start, so a demand in the first period has the interval 1.
#[derive(Debug, Clone, Default)]
pub(super) struct Demands {
    pub sizes: Vec<f64>,
    pub intervals: Vec<f64>,
}

impl Demands {
    pub fn of(demands: &[f64]) -> Self {
        let mut found = Self::default();
        let mut since = 0.0;
        for demand in demands {
            since += 1.0;
            if *demand > 0.0 {
                found.sizes.push(*demand);
                found.intervals.push(since);
                since = 0.0;
            }
        }
        found
    }

    /// Counts those of the first so many periods, for numbers of periods that rise.
    pub fn counts(&self, periods: &[usize]) -> Vec<usize> {
        let (mut count, mut at) = (0, 0.0);
        let within = |periods: &usize| {
            while count < self.intervals.len() && at + self.intervals[count] <= *periods as f64 {
                at += self.intervals[count];
                count += 1;
            }
            count
        };
        periods.iter().map(within).collect()
    }
}

/// Size and interval smoothed over each other, as Croston's forecast is, with factors of least
/// squared error between 0.1 and 0.3, each its own, after each of some numbers of demands, which do
/// not fall. 0 where nothing was asked for.
///
/// Source: Croston 1972, Operational Research Quarterly 23:289-303.
pub(super) fn croston_best(
    demands: &Demands,
    counts: &[usize],
    smoother: &mut Smoother,
) -> Vec<f64> {
    let mut levels = smoother.best(&demands.sizes, counts, NARROW).to_vec();
    let intervals = smoother.best(&demands.intervals, counts, NARROW);
    levels.iter_mut().zip(intervals).for_each(|(size, interval)| *size = over(*size, *interval));
    levels
}

fn over(size: f64, interval: f64) -> f64 {
    if interval > 0.0 { size / interval } else { 0.0 }
}

/// What Croston's forecast is multiplied with to be less biased: Syntetos and Boylan 2005,
/// International Journal of Forecasting 21:303-314.
pub(super) fn less_bias(alpha: f64) -> f64 {
    1.0 - alpha / 2.0
}

/// The same by Shale, Boylan and Johnston 2006, Journal of the Operational Research Society
/// 57:588-592.
pub(super) fn less_bias_for_poisson(alpha: f64) -> f64 {
    1.0 - alpha / (2.0 - alpha)
}
