use super::smoothing::{NARROW, smoothed_best};

/// Forecasts by sums over as many periods as lie between demands, smoothed and divided again
/// (ADIDA), and the mean of such forecasts over all levels up to that one (IMAPA).
///
/// The mean interval is rounded, a half to the even number; sums end with the last period.
///
/// Sources: Nikolopoulos and others 2011, Journal of the Operational Research Society 62:544-554;
/// Petropoulos and Kourentzes 2015, Journal of the Operational Research Society 66:914-924.
pub(super) fn adida_and_imapa(demands: &[f64], intervals: &[f64]) -> (f64, f64) {
    let levels = level(intervals);
    let mut sums = Vec::with_capacity(demands.len());
    let (mut last, mut total) = (0.0, 0.0);
    for level in 1..=levels {
        last = smoothed_sums(demands, level, &mut sums);
        total += last;
    }
    (last, total / levels.max(1) as f64)
}

fn level(intervals: &[f64]) -> usize {
    if intervals.is_empty() {
        return 0;
    }
    let mean = intervals.iter().sum::<f64>() / intervals.len() as f64;
    mean.round_ties_even().max(1.0) as usize
}

fn smoothed_sums(demands: &[f64], level: usize, sums: &mut Vec<f64>) -> f64 {
    sums.clear();
    sums.extend(
        demands[demands.len() % level..].chunks_exact(level).map(|c| c.iter().sum::<f64>()),
    );
    smoothed_best(sums, NARROW) / level as f64
}
