//! Chances of a battery's course, on fixed lines through the space of its uncertain figures.
//!
//! The four standard normal variables are turned so that one axis, the line, runs the way in which
//! the need grows fastest against the capacity, at the point of the border that is nearest to the
//! middle. Along a line the border is crossed once, since the need grows with each of its figures,
//! and the chance beyond is a normal tail: no error there. Across the lines the crossing bends
//! slowly, so few lines are enough: four Gauss-Hermite nodes in the direction in which it bends most,
//! times the rule of degree three for the other two.
//!
//! Against 80 × 80 × 80 Gauss-Hermite nodes with the capacity integrated in closed form: with usual
//! spreads 0.1 of 10,000 days at a chance of 1 in 100 and 0.4 of 5,000 at 1 in 1,000; with spreads
//! of 20, 100, 50 and 50 per cent and 5 K, 28 of 1,490 days at 1 in 1,000, 0.3 of 2,300 at 1 in 100
//! and 6 of 7,200 at a half. A test holds the chances against random draws.
//!
//! Source: line sampling and the design point of first-order reliability (Ditlevsen and Madsen,
//! Structural Reliability Methods, 1996, from memory); Gauss-Hermite nodes (Abramowitz and Stegun,
//! table 25.10, for the weight e^(-x²)).

use super::course::{Course, Open};
use crate::spares::normal_quantile;
use statrs::function::erf::erfc;
use std::f64::consts::SQRT_2;

/// The direction of the lines and where each runs.
pub(super) struct Lines<'a> {
    course: &'a Course,
    along: [f64; 4],
    across: [[f64; 4]; LINES],
}

const LINES: usize = 20;

/// Longest time and power-off that are told from endless, days: a thousand years.
const FAR_D: f64 = 365_250.0;

/// Standard deviations past which no chance is left.
const RIM: f64 = 12.0;

impl<'a> Lines<'a> {
    /// The probability that the capacity needed on a day since fitting, for a power-off of so many
    /// days, is above the capacity.
    pub(super) fn chance(course: &'a Course, at_d: f64, hold_up_d: f64) -> f64 {
        let open = Open::Day { hold_up_d };
        let (mut z, mut beta, mut along, mut steepest) = ([0.0; 4], 0.0, [0.0; 4], [0.0; 4]);
        for _ in 0..4 {
            let (excess, slopes, _) = border(course, &z, at_d, open);
            let steep = norm(&slopes);
            if excess == f64::NEG_INFINITY {
                return 0.0;
            }
            if steep == 0.0 {
                return if excess > 0.0 { 1.0 } else { 0.0 };
            }
            if !(excess.is_finite() && steep.is_finite()) {
                break;
            }
            along = slopes.map(|slope| slope / steep);
            steepest = slopes;
            beta = (dot(&along, &z) - excess / steep).clamp(-RIM, RIM);
            z = along.map(|part| beta * part);
        }
        if norm(&along) == 0.0 {
            along = course.sigma.map(|sigma| sigma / norm(&course.sigma));
            along[0] = -along[0];
        }
        let lines = Self::through(course, along, &steepest);
        let tails =
            (0..LINES).map(|line| NODES[line].1 * tail(lines.crossing(line, at_d, open, beta)));
        tails.sum::<f64>().clamp(0.0, 1.0)
    }

    /// The open figure, days, at which that probability is `chance`: zero where it is above it from
    /// the start, infinite where it never is.
    pub(super) fn quantile(course: &'a Course, open: Open, chance: f64) -> f64 {
        let beta = -normal_quantile(chance);
        let (mut z, mut along, mut steepest) = ([0.0; 4], [0.0; 4], [0.0; 4]);
        let mut open_d = course.open_d(&z, open);
        if open_d == f64::INFINITY || course.sigma == [0.0; 4] {
            return open_d;
        }
        for _ in 0..3 {
            if !(open_d > 0.0 && open_d < FAR_D) {
                return bisect(course, open, chance);
            }
            let (_, slopes, _) = border(course, &z, open_d, open);
            let steep = norm(&slopes);
            if !(steep.is_finite() && steep > 0.0) {
                return bisect(course, open, chance);
            }
            along = slopes.map(|slope| slope / steep);
            steepest = slopes;
            z = along.map(|part| beta * part);
            open_d = course.open_d(&z, open);
        }
        Self::through(course, along, &steepest)
            .settle(open, chance, beta, open_d)
            .unwrap_or_else(|| bisect(course, open, chance))
    }

    /// Newton for the open figure and for the crossings of all lines at once; none where it does
    /// not come to rest.
    fn settle(&self, open: Open, chance: f64, beta: f64, start_d: f64) -> Option<f64> {
        let mut open_d = start_d;
        let mut crossings = [beta; LINES];
        for _ in 0..12 {
            let (mut drifts, mut moved) = ([0.0; LINES], 0.0f64);
            for line in 0..LINES {
                let z = self.point(line, crossings[line]);
                let (excess, slopes, per_d) = border(self.course, &z, open_d, open);
                let rises = dot(&slopes, &self.along);
                crossings[line] -= excess / rises;
                drifts[line] = -per_d / rises;
                moved = moved.max((excess / rises).abs());
            }
            let by_d = shift(&crossings, &drifts, chance, beta)?;
            open_d += by_d;
            for (crossing, drift) in crossings.iter_mut().zip(drifts) {
                *crossing += drift * by_d;
                moved = moved.max((drift * by_d).abs());
            }
            if !(open_d > 0.0 && open_d < FAR_D && moved < RIM) {
                return None;
            }
            // What is left after a step of Newton's is a small part of its square, but for the bend
            // where a power-off begins or ends.
            let bent = open_d.min(open_d - by_d) < self.course.last_off_d();
            if moved < if bent { 1e-4 } else { 0.04 } {
                return Some(open_d);
            }
        }
        None
    }

    fn through(course: &'a Course, along: [f64; 4], slopes: &[f64; 4]) -> Self {
        let mut axes = [[0.0; 4]; 3];
        let mut found = 0;
        let unit = |axis: usize| std::array::from_fn(|part| f64::from(u8::from(part == axis)));
        let candidates = [bends_most(course, slopes), unit(1), unit(0), unit(2), unit(3)];
        for mut rest in candidates {
            for known in std::iter::once(&along).chain(&axes[..found]) {
                let shadow = dot(&rest, known);
                rest = std::array::from_fn(|part| rest[part] - shadow * known[part]);
            }
            let length = norm(&rest);
            if found < 3 && length > 1e-4 {
                axes[found] = rest.map(|part| part / length);
                found += 1;
            }
        }
        let across = std::array::from_fn(|line| {
            let at = &NODES[line].0;
            std::array::from_fn(|part| (0..3).map(|axis| at[axis] * axes[axis][part]).sum())
        });
        Self { course, along, across }
    }

    fn point(&self, line: usize, crossing: f64) -> [f64; 4] {
        std::array::from_fn(|part| self.across[line][part] + crossing * self.along[part])
    }

    /// Where a line crosses the border, from a guess: Newton, and halving where that strays.
    fn crossing(&self, line: usize, open_d: f64, open: Open, guess: f64) -> f64 {
        let mut crossing = guess;
        for _ in 0..12 {
            let z = self.point(line, crossing);
            let (excess, slopes, _) = border(self.course, &z, open_d, open);
            let step = excess / dot(&slopes, &self.along);
            if !(step.is_finite() && (crossing - step).abs() <= RIM) {
                break;
            }
            crossing -= step;
            if step.abs() < 1e-7 {
                return crossing;
            }
        }
        let (mut low, mut high) = (-RIM, RIM);
        for _ in 0..48 {
            let middle = (low + high) / 2.0;
            let (excess, ..) = border(self.course, &self.point(line, middle), open_d, open);
            // What is no number comes of a need past all bounds.
            if excess <= 0.0 { low = middle } else { high = middle }
        }
        low
    }
}

/// Logarithm of the need over the capacity, its slopes with the four variables, and with the open
/// figure.
fn border(course: &Course, z: &[f64; 4], open_d: f64, open: Open) -> (f64, [f64; 4], f64) {
    let need = match open {
        Open::Day { hold_up_d } => course.need(z, open_d, hold_up_d, open),
        Open::HoldUp { at_d } => course.need(z, at_d, open_d, open),
    };
    let [sigma, k, standby, backup] = course.sigma;
    let [by_k, by_standby, by_backup] = need.slopes;
    let slopes = [-sigma, k * by_k, standby * by_standby, backup * by_backup];
    (need.ln_mah - course.ln_capacity - sigma * z[0], slopes, need.per_d)
}

/// The way in which the border bends most: self-discharge, whose effect grows by itself, or one
/// drain against the other, of which the larger counts for more.
fn bends_most(course: &Course, slopes: &[f64; 4]) -> [f64; 4] {
    let [_, k, standby, backup] = course.sigma;
    let kept = if backup > 0.0 { slopes[3] / backup } else { 1.0 - slopes[2] / standby };
    let drains = kept * (1.0 - kept) * (standby * standby + backup * backup);
    if drains > k * slopes[1] {
        let length = standby.hypot(backup);
        [0.0, 0.0, standby / length, -backup / length]
    } else {
        [0.0, 1.0, 0.0, 0.0]
    }
}

/// How far the open figure must move so that the tails add up to the chance, each crossing drifting
/// with it: a Newton step on the probit of the sum, which is nearly straight.
fn shift(crossings: &[f64; LINES], drifts: &[f64; LINES], chance: f64, beta: f64) -> Option<f64> {
    let near = Near::to(beta, chance);
    let (mut sum, mut rises) = (0.0, 0.0);
    for line in 0..LINES {
        let (tail, density) = near.tail(crossings[line]);
        let weight = NODES[line].1;
        sum += weight * tail;
        rises -= weight * density * drifts[line];
    }
    if !(sum > 0.0 && sum < 1.0 && rises > 0.0) {
        return None;
    }
    let reached = -normal_quantile(sum);
    let by_d = (reached - beta) * density(reached) / rises;
    by_d.is_finite().then_some(by_d)
}

/// Normal tails beside one that is known.
struct Near {
    beta: f64,
    tail: f64,
    /// Derivatives of the tail at beta over the factorials, from the first.
    series: [f64; 7],
}

impl Near {
    fn to(beta: f64, tail: f64) -> Self {
        // The next derivative of the density is -beta times the last less its number times the one
        // before (Hermite polynomials).
        let mut series = [0.0; 7];
        let (mut before, mut last) = (0.0, -density(beta));
        let mut factorial = 1.0;
        for (order, term) in series.iter_mut().enumerate() {
            factorial *= (order + 1) as f64;
            *term = last / factorial;
            (before, last) = (last, -beta * last - order as f64 * before);
        }
        Self { beta, tail, series }
    }

    /// The tail and the density at a crossing: by the series where it is close enough for nine
    /// digits.
    fn tail(&self, crossing: f64) -> (f64, f64) {
        let off = crossing - self.beta;
        if off.abs() > 0.2 {
            return (tail(crossing), density(crossing));
        }
        let (mut sum, mut slope) = (0.0, 0.0);
        for (order, term) in self.series.iter().enumerate().rev() {
            sum = sum * off + term;
            slope = slope * off + term * (order + 1) as f64;
        }
        (self.tail + sum * off, -slope)
    }
}

/// The quantile by halving, for courses that begin or end at a bound.
fn bisect(course: &Course, open: Open, chance: f64) -> f64 {
    let below = |open_d: f64| match open {
        Open::Day { hold_up_d } => course.chance(open_d, hold_up_d) <= chance,
        Open::HoldUp { at_d } => course.chance(at_d, open_d) <= chance,
    };
    if !below(0.0) {
        return 0.0;
    }
    if below(FAR_D) {
        return f64::INFINITY;
    }
    let (mut low, mut high) = (0.0, FAR_D);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if below(middle) { low = middle } else { high = middle }
    }
    low
}

/// The normal probability of lying above.
fn tail(crossing: f64) -> f64 {
    erfc(crossing / SQRT_2) / 2.0
}

fn density(z: f64) -> f64 {
    (-z * z / 2.0).exp() / (2.0 * std::f64::consts::PI).sqrt()
}

fn dot(a: &[f64; 4], b: &[f64; 4]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn norm(a: &[f64; 4]) -> f64 {
    dot(a, a).sqrt()
}

/// Where the lines run across, and their weights.
const NODES: [([f64; 3], f64); LINES] = {
    let four = [
        (0.741_963_784_302_725_8, 0.454_124_145_231_931_5),
        (-0.741_963_784_302_725_8, 0.454_124_145_231_931_5),
        (2.334_414_218_338_977_3, 0.045_875_854_768_068_485),
        (-2.334_414_218_338_977_3, 0.045_875_854_768_068_485),
    ];
    let side = 1.732_050_807_568_877_2;
    let others = [
        (0.0, 0.0, 1.0 / 3.0),
        (side, 0.0, 1.0 / 6.0),
        (-side, 0.0, 1.0 / 6.0),
        (0.0, side, 1.0 / 6.0),
        (0.0, -side, 1.0 / 6.0),
    ];
    let mut nodes = [([0.0; 3], 0.0); LINES];
    let mut node = 0;
    while node < LINES {
        let (first, weight) = four[node / 5];
        let (second, third, share) = others[node % 5];
        nodes[node] = ([first, second, third], weight * share);
        node += 1;
    }
    nodes
};
