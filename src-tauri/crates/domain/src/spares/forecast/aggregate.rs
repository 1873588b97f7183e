use super::smoothing::{NARROW, smoothed_best};

/// Forecast by sums over as many periods as lie between demands, smoothed and divided again.
///
/// The mean interval is rounded, a half to the even number; sums end with the last period.
///
/// Source: Nikolopoulos and others 2011, Journal of the Operational Research Society 62:544-554.
pub(super) fn adida(demands: &[f64], intervals: &[f64]) -> f64 {
    match level(intervals) {
        0 => 0.0,
        level => smoothed_sums(demands, level, &mut Vec::new()),
    }
}

/// Mean of such forecasts over all levels from 1 to the mean interval.
///
/// Source: Petropoulos and Kourentzes 2015, Journal of the Operational Research Society 66:914-924.
pub(super) fn imapa(demands: &[f64], intervals: &[f64]) -> f64 {
    let levels = level(intervals);
    if levels == 0 {
        return 0.0;
    }
    let mut sums = Vec::with_capacity(demands.len());
    let total: f64 = (1..=levels).map(|level| smoothed_sums(demands, level, &mut sums)).sum();
    total / levels as f64
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
