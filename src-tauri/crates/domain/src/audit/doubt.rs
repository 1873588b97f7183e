//! Whether a photo can tell one place of a label from another.
//!
//! Seen from aside a rail is drawn out or pressed together, and that can look like a unit that
//! moved: the fewer labels, the more. The sizes of their symbols say how far aside the camera is.

use super::map::{AGREES, Anchor};

/// How far labels stand off the middle of their slots, as a share of the slot's width: standard
/// deviation (a decision: [`AGREES`] is three of them).
const SPREAD: f64 = AGREES / 3.0;

/// How much worse another place must fit, in squares of the standard deviation (a decision: two of
/// them).
const WORSE: f64 = 4.0;

/// How far off the sizes of symbols may be, as a share (a decision).
const SIDES_OFF: f64 = 0.1;

/// Views that are tried between the two outermost.
const VIEWS: u32 = 40;

/// Where sizes say nothing: the nearest label is seen this many times as large as the furthest,
/// as a natural logarithm (a decision: e times).
const ANY_VIEW: f64 = 1.0;

/// Whether a label fits the others as well in one place as in another, seen from anywhere from
/// where the sizes of the symbols allow it.
pub(super) fn as_well(others: &[Anchor], own: Anchor, other: Anchor) -> bool {
    let with = |place: Anchor| -> Vec<Anchor> { others.iter().copied().chain([place]).collect() };
    let (own, other) = (with(own), with(other));
    let Some((from, to)) = ends(&own) else { return true };
    let (low, high) = views(&own, from, to);
    let best = |anchors: &[Anchor]| {
        let tried = (0..=VIEWS).map(|n| low + (high - low) * f64::from(n) / f64::from(VIEWS));
        // From 1 at the left end the divisor of the map goes to so many times as much.
        let divisor = |view: f64, t: f64| 1.0 + (view.exp() - 1.0) * (t - from) / (to - from);
        tried.map(|view| cost(anchors, |t| divisor(view, t))).fold(f64::INFINITY, f64::min)
    };
    best(&other) < best(&own) + WORSE
}

/// The outermost places along the line, px; none where all are in one.
fn ends(anchors: &[Anchor]) -> Option<(f64, f64)> {
    let from = anchors.iter().map(|a| a.t).fold(f64::INFINITY, f64::min);
    let to = anchors.iter().map(|a| a.t).fold(f64::NEG_INFINITY, f64::max);
    (to - from > 1e-6).then_some((from, to))
}

/// How many times as large things may be seen at the right end as at the left one: the least and
/// the most, as natural logarithms.
///
/// Across the rail a symbol shrinks as its distance grows, along it as the square of that, so its
/// side says something in between. Where sizes do not go evenly, labels differ in size, and say
/// nothing of the view.
fn views(anchors: &[Anchor], from: f64, to: f64) -> (f64, f64) {
    let n = anchors.len() as f64;
    let mean = |of: &dyn Fn(&Anchor) -> f64| anchors.iter().map(of).sum::<f64>() / n;
    let (t, side) = (mean(&|a| a.t), mean(&|a| a.side));
    let spread = mean(&|a| (a.t - t).powi(2));
    let grows = mean(&|a| (a.t - t) * (a.side - side)) / spread;
    let even = |at: f64| side + grows * (at - t);
    let goes_evenly = anchors.iter().all(|a| (a.side / even(a.t) - 1.0).abs() <= SIDES_OFF);
    if !goes_evenly || even(from) <= 0.0 || even(to) <= 0.0 {
        return (-ANY_VIEW, ANY_VIEW);
    }
    let seen = (even(to) / even(from)).ln();
    (seen.min(seen / 2.0) - SIDES_OFF, seen.max(seen / 2.0) + SIDES_OFF)
}

/// The least cost of a map `(a + b t) / divisor(t)`, as a straight rail is seen from any side:
/// squares of what each label is off, in standard deviations.
fn cost(anchors: &[Anchor], divisor: impl Fn(f64) -> f64) -> f64 {
    // With the divisor given, the place goes evenly with u = t / divisor and v = 1 / divisor.
    let (mut uu, mut uv, mut vv, mut um, mut vm) = (0.0, 0.0, 0.0, 0.0, 0.0);
    let rows = || {
        anchors.iter().map(|a| {
            let (v, weight) = (1.0 / divisor(a.t), 1.0 / (SPREAD * a.width_mm));
            (a.t * v * weight, v * weight, a.mm * weight)
        })
    };
    for (u, v, m) in rows() {
        uu += u * u;
        uv += u * v;
        vv += v * v;
        um += u * m;
        vm += v * m;
    }
    let whole = uu * vv - uv * uv;
    if whole.abs() < 1e-12 {
        return f64::INFINITY;
    }
    let (b, a) = ((um * vv - vm * uv) / whole, (vm * uu - um * uv) / whole);
    rows().map(|(u, v, m)| (b * u + a * v - m).powi(2)).sum()
}
