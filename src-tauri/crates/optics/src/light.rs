//! How modules become grey values: each is spread by the blur of the lens and the width of a
//! pixel, taken together as a Gaussian, and lit by light that changes slowly over the symbol.

use std::sync::LazyLock;

/// Modules on each side of a pixel's own that still reach it.
pub const REACH: usize = 3;

/// Modules of a row that reach a pixel; one is always 0, so that sums have an even length.
pub const TAPS: usize = 8;

/// Steps of the table for one standard deviation.
const STEPS: f32 = 128.0;

/// The normal distribution from −4 to 4.
static NORMAL: LazyLock<Vec<f32>> = LazyLock::new(|| {
    let count = (8.0 * STEPS) as usize + 2;
    let mut sum = 0.0_f64;
    let step = 1.0 / f64::from(STEPS);
    (0..count)
        .map(|at| {
            let x = at as f64 * step - 4.0;
            let density = |x: f64| (-x * x / 2.0).exp() / std::f64::consts::TAU.sqrt();
            if at > 0 {
                sum +=
                    (density(x - step) + 4.0 * density(x - step / 2.0) + density(x)) * step / 6.0;
            }
            sum as f32
        })
        .collect()
});

fn normal(x: f32) -> f32 {
    let at = (x + 4.0) * STEPS;
    if at <= 0.0 {
        return 0.0;
    }
    let whole = at as usize;
    match NORMAL.get(whole..whole + 2) {
        Some(&[a, b]) => a + (b - a) * (at - whole as f32),
        _ => 1.0,
    }
}

/// Share of a pixel that each of the modules `first ..` takes along one axis, and how it grows as
/// the pixel moves on by one module.
#[derive(Clone, Copy)]
pub struct Spread {
    pub share: [f32; TAPS],
    pub growth: [f32; TAPS],
}

/// A pixel at `place` (modules) under a blur of standard deviation `blur` (modules).
pub fn spread(place: f32, blur: f32) -> Spread {
    let base = place.floor() - REACH as f32;
    let mut edges = [0.0; TAPS];
    let mut slopes = [0.0; TAPS];
    for (at, (edge, slope)) in edges.iter_mut().zip(&mut slopes).enumerate() {
        let x = (base + at as f32 - place) / blur;
        *edge = normal(x);
        *slope = (-x * x / 2.0).exp() / (blur * 2.506_628_3);
    }
    let mut share = [0.0; TAPS];
    let mut growth = [0.0; TAPS];
    for at in 0..TAPS - 1 {
        share[at] = edges[at + 1] - edges[at];
        growth[at] = slopes[at] - slopes[at + 1];
    }
    Spread { share, growth }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_those_of_the_normal_distribution() {
        let spread = spread(10.5, 0.5);
        // Source: tables of the normal distribution; within 1 standard deviation 0.6827.
        assert!((spread.share[3] - 0.6827).abs() < 1e-3, "{:?}", spread.share);
        assert!((spread.share.iter().sum::<f32>() - 1.0).abs() < 1e-3);
    }

    #[test]
    fn growth_is_the_change_of_the_share() {
        let (a, b) = (spread(10.30, 0.6), spread(10.31, 0.6));
        for at in 0..TAPS {
            let change = (b.share[at] - a.share[at]) / 0.01;
            assert!((change - a.growth[at]).abs() < 0.02, "{change} beside {}", a.growth[at]);
        }
    }
}
