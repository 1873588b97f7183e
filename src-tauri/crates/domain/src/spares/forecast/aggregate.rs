use super::smoothing::{NARROW, Smoother};

/// Forecasts by sums over as many periods as lie between demands, smoothed and divided again
/// (ADIDA), and the mean of such forecasts over all levels up to that one (IMAPA), after the first
/// so many periods of a history, for numbers that rise. `lengths` are the levels: the periods that
/// lie between demands then, as [`between`] gives them.
///
/// Sums end with the last period, so that moments a multiple of the level apart share theirs.
///
/// Sources: Nikolopoulos and others 2011, Journal of the Operational Research Society 62:544-554;
/// Petropoulos and Kourentzes 2015, Journal of the Operational Research Society 66:914-924.
pub(super) fn adida_and_imapa(
    demands: &[f64],
    origins: &[usize],
    lengths: &[usize],
    smoother: &mut Smoother,
) -> Vec<(f64, f64)> {
    let mut found = vec![(0.0, 0.0); origins.len()];
    let (mut sums, mut alike, mut ends) = (Vec::new(), Vec::new(), Vec::new());
    for length in 1..=lengths.iter().copied().max().unwrap_or(0) {
        for first in 0..length {
            alike.clear();
            alike.extend(
                (0..origins.len())
                    .filter(|at| lengths[*at] >= length && origins[*at] % length == first),
            );
            let Some(last) = alike.last() else { continue };
            sums.clear();
            let whole = demands[first..origins[*last]].chunks_exact(length);
            sums.extend(whole.map(|periods| periods.iter().sum::<f64>()));
            ends.clear();
            ends.extend(alike.iter().map(|at| origins[*at] / length));
            let levels = smoother.best(&sums, &ends, NARROW);
            for (at, level) in alike.iter().zip(levels) {
                let level = level / length as f64;
                found[*at] = (level, found[*at].1 + level);
            }
        }
    }
    for ((_, imapa), length) in found.iter_mut().zip(lengths) {
        *imapa /= (*length).max(1) as f64;
    }
    found
}

/// Mean interval between demands in whole periods, a half rounded to the even number; 0 where
/// nothing was asked for.
pub(super) fn between(intervals: &[f64]) -> usize {
    if intervals.is_empty() {
        return 0;
    }
    let mean = intervals.iter().sum::<f64>() / intervals.len() as f64;
    mean.round_ties_even().max(1.0) as usize
}
