use crate::spares::rates::{LARGEST_SHAPE, gamma_below};
use statrs::function::gamma::ln_gamma;
use std::cell::RefCell;
use std::rc::Rc;

/// Returns how many slices a time or a rate needs: the more, the more the swing of the demand by it
/// (pieces, one standard deviation) outdoes the variance that is left once it is known.
pub(in crate::spares) fn slices_for(swing: f64, variance: f64) -> usize {
    let outdone = swing / variance.sqrt();
    if outdone.is_finite() { (24.0 + 16.0 * outdone).min(400.0) as usize } else { 24 }
}

/// Returns points with weights that stand for a gamma distribution: it is cut into slices at evenly
/// spread deviations and at `breaks`, and each slice is worth two points with its own chance, mean
/// and variance. So nothing that jumps at a break is smeared, and the whole keeps its mean and
/// variance exactly.
///
/// One point where `deviation` is nothing beside the mean.
pub(in crate::spares) fn gamma_points(
    mean: f64,
    deviation: f64,
    breaks: &[f64],
    slices: usize,
) -> Vec<(f64, f64)> {
    let shape = (mean / deviation).powi(2);
    if !(mean > 0.0 && deviation > 0.0 && shape <= LARGEST_SHAPE) {
        return vec![(1.0, mean)];
    }
    let scale = mean / shape;
    let mut edges = edges(shape, slices);
    edges.extend(breaks.iter().map(|at| at / scale).filter(|at| *at > 0.0 && at.is_finite()));
    edges.sort_by(f64::total_cmp);
    let mut points = Vec::with_capacity(2 * edges.len() + 2);
    let (mut low, mut below) = (0.0, [0.0; 3]);
    for edge in edges.into_iter().chain([f64::INFINITY]) {
        let below_edge = moments_below(shape, edge);
        let [chance, first, second] = [0, 1, 2].map(|n| below_edge[n] - below[n]);
        // What hardly ever happens has lost its digits: it goes with the next slice.
        if chance < LEAST_CHANCE && edge < f64::INFINITY {
            continue;
        }
        if chance < LEAST_CHANCE {
            points.push((chance.max(0.0), low * scale));
            break;
        }
        let mean = (first / chance).clamp(low, edge);
        let spread = (second / chance - mean * mean).max(0.0).sqrt();
        if spread <= mean - low && mean + spread <= edge {
            points.push((chance / 2.0, (mean - spread) * scale));
            points.push((chance / 2.0, (mean + spread) * scale));
        } else {
            // One of the two lies on the lower edge, so that neither leaves the slice below. Where
            // digits are lost the other would run away: then the mean stands for both.
            let (off, square) = (mean - low, spread * spread + (mean - low).powi(2));
            let far = (square / off).min(if edge.is_finite() { edge - low } else { 4.0 * off });
            let share = if far > 0.0 { off / far } else { 1.0 };
            points.push((chance * (1.0 - share), low * scale));
            points.push((chance * share, (low + far.max(0.0)) * scale));
        }
        (low, below) = (edge, below_edge);
    }
    points
}

/// Points of a gamma distribution without breaks, with their weights.
type Points = Rc<[(f64, f64)]>;

/// Mean, deviation and slices of such points.
type Asked = (f64, f64, usize);

thread_local! {
    /// The points that were asked for last: one model's storerooms all wait for the same supplier,
    /// and cutting its lead time takes as long as all else of a demand.
    static LAST: RefCell<Option<(Asked, Points)>> = const { RefCell::new(None) };
}

/// Returns [`gamma_points`] without breaks, at once where the same were asked for last.
pub(in crate::spares) fn even_points(mean: f64, deviation: f64, slices: usize) -> Points {
    let asked: Asked = (mean, deviation, slices);
    LAST.with_borrow_mut(|last| match last {
        Some((before, points)) if *before == asked => points.clone(),
        _ => {
            let points: Points = gamma_points(mean, deviation, &[], slices).into();
            *last = Some((asked, points.clone()));
            points
        }
    })
}

/// Smallest chance that a slice is made for.
const LEAST_CHANCE: f64 = 1e-10;

/// Chance of lying below, and the parts of mean and mean square that lie there, scale 1.
fn moments_below(shape: f64, at: f64) -> [f64; 3] {
    if at == f64::INFINITY {
        return [1.0, shape, shape * (shape + 1.0)];
    }
    let chance = gamma_below(shape, at);
    // P(k + 1, x) = P(k, x) - x^k e^-x / Γ(k + 1).
    let density = (shape * at.ln() - at - ln_gamma(shape + 1.0)).exp();
    let once = (chance - density).max(0.0);
    let twice = (once - density * at / (shape + 1.0)).max(0.0);
    [chance, shape * once, shape * (shape + 1.0) * twice]
}

/// Where to cut, scale 1. Any cuts give a sound answer; these lie where the chance is.
///
/// Source: Wilson and Hilferty's cube for shapes from 1 on; below, the power at zero and the
/// exponential tail.
fn edges(shape: f64, slices: usize) -> Vec<f64> {
    let deviations = (0..slices.max(2)).map(|n| -4.5 + 9.5 * n as f64 / (slices.max(2) - 1) as f64);
    if shape >= 1.0 {
        let cube = |z: f64| shape * (1.0 - 1.0 / (9.0 * shape) + z / (3.0 * shape.sqrt())).powi(3);
        return deviations.map(cube).filter(|edge| *edge > 0.0).collect();
    }
    let power = |share: f64| ((share.ln() + ln_gamma(shape + 1.0)) / shape).exp();
    let near = (1..slices).map(|n| power(n as f64 / slices as f64));
    let far = (1..slices).map(|n| 40.0 * (n as f64 / slices as f64).powi(2));
    near.chain(far).filter(|edge| *edge > 0.0).collect()
}
