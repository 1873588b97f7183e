//! Where the edges between dark and light modules really lie.

use super::codewords::Plan;
use super::grid::{Grid, Light};

/// One edge: where it should be (modules), and how far it is off along its own direction.
#[derive(Debug, Clone, Copy)]
pub(super) struct Edge {
    column: f64,
    row: f64,
    /// Whether it was measured along a row; else along a column.
    across: bool,
    /// 1 from dark to light, -1 from light to dark.
    rise: f64,
    off: f64,
}

/// What is left when the grid has been fitted.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Fitted {
    /// Modules by which each dark edge is too far out.
    pub growth: f64,
    /// Largest mean shift of a part of the symbol, in modules.
    pub largest_shift: f64,
}

/// Finds the edges between neighbours of which one is dark and one is light.
pub(super) fn measure(light: &Light<'_>, grid: &Grid, plan: &Plan, threshold: f64) -> Vec<Edge> {
    let size = plan.size;
    let mut edges = Vec::new();
    for row in 0..size {
        for column in 0..size {
            let dark = plan.modules[row * size + column];
            let (x, y) = (column as f64 + 0.5, row as f64 + 0.5);
            for (across, inside, next) in [
                (true, column + 1 < size, row * size + column + 1),
                (false, row + 1 < size, (row + 1) * size + column),
            ] {
                if !inside || plan.modules[next] == dark {
                    continue;
                }
                let along = |t: f64| if across { (x + t, y) } else { (x, y + t) };
                let value = |t: f64| {
                    let (column, row) = along(t);
                    grid.light(light, column, row)
                };
                if let Some(t) = crossing(value, threshold, dark) {
                    let (column, row) = along(0.5);
                    let rise = if dark { 1.0 } else { -1.0 };
                    edges.push(Edge { column, row, across, rise, off: t - 0.5 });
                }
            }
        }
    }
    edges
}

/// Where a profile from the middle of one module to the middle of the next crosses the threshold,
/// nearest to half the way; `None` where it does not.
fn crossing(value: impl Fn(f64) -> f64, threshold: f64, dark: bool) -> Option<f64> {
    const STEPS: usize = 16;
    // A little beyond both middles: a grid that is off is measured before it is mended.
    let at = |step: usize| -0.25 + 1.5 * step as f64 / STEPS as f64;
    let values: Vec<f64> = (0..=STEPS).map(|step| value(at(step))).collect();
    let mut nearest: Option<f64> = None;
    for step in 0..STEPS {
        let (before, after) = (values[step], values[step + 1]);
        let rises = before < threshold && after >= threshold;
        let falls = before >= threshold && after < threshold;
        if (dark && rises) || (!dark && falls) {
            let t = at(step) + 1.5 / STEPS as f64 * (threshold - before) / (after - before);
            if nearest.is_none_or(|best| (t - 0.5).abs() < (best - 0.5).abs()) {
                nearest = Some(t);
            }
        }
    }
    nearest
}

/// Moves the corners of the grid so that the edges are off as little as possible (least squares),
/// the growth of dark parts apart, and says what is left.
pub(super) fn fit(grid: &Grid, edges: Vec<Edge>) -> (Grid, Fitted) {
    let size = grid.size() as f64;
    let model = |edge: &Edge| {
        let (u, v) = (edge.column / size, edge.row / size);
        [1.0, u, v, u * v, edge.rise]
    };
    let solve = |across: bool| {
        let own: Vec<_> = edges.iter().filter(|edge| edge.across == across).collect();
        solved(&own.iter().map(|edge| (model(edge), edge.off)).collect::<Vec<_>>())
    };
    let (Some(x), Some(y)) = (solve(true), solve(false)) else {
        return (*grid, Fitted::default());
    };
    let at = |c: &[f64; 5], u: f64, v: f64| c[0] + c[1] * u + c[2] * v + c[3] * u * v;
    let corners = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)];
    let moved = grid.moved(corners.map(|(u, v)| (at(&x, u, v), at(&y, u, v))));
    let left = edges.iter().map(|edge| {
        let of = if edge.across { &x } else { &y };
        let off = edge.off - model(edge).iter().zip(of).map(|(a, b)| a * b).sum::<f64>();
        Edge { off, ..*edge }
    });
    let left: Vec<Edge> = left.collect();
    let growth = (x[4] + y[4]) / 2.0;
    (moved, Fitted { growth, largest_shift: largest_shift(&left, grid.size()) })
}

/// The largest mean shift of a window of seven modules a side.
fn largest_shift(edges: &[Edge], size: usize) -> f64 {
    let last = size.saturating_sub(WINDOW);
    let steps: Vec<usize> = (0..=last).step_by(2).chain([last]).collect();
    let mut largest: f64 = 0.0;
    for top in &steps {
        for left in &steps {
            let inside = |at: f64, from: usize| at >= from as f64 && at <= (from + WINDOW) as f64;
            let here = edges.iter().filter(|e| inside(e.column, *left) && inside(e.row, *top));
            let here: Vec<_> = here.collect();
            let mean = |across: bool, rise: f64| {
                let own = here.iter().filter(|e| e.across == across && e.rise == rise);
                let own: Vec<f64> = own.map(|edge| edge.off).collect();
                (own.len() >= 3).then(|| own.iter().sum::<f64>() / own.len() as f64)
            };
            // Both directions of an edge together, so that ink that spreads is no shift.
            let shift = |across| Some((mean(across, 1.0)? + mean(across, -1.0)?) / 2.0);
            if let (Some(dx), Some(dy)) = (shift(true), shift(false)) {
                largest = largest.max(f64::hypot(dx, dy));
            }
        }
    }
    largest
}

/// Solves five unknowns by least squares (normal equations, elimination with the largest pivot).
fn solved(rows: &[([f64; 5], f64)]) -> Option<[f64; 5]> {
    let mut matrix = [[0.0_f64; 6]; 5];
    for (row, value) in rows {
        for (i, line) in matrix.iter_mut().enumerate() {
            for (j, cell) in line[..5].iter_mut().enumerate() {
                *cell += row[i] * row[j];
            }
            line[5] += row[i] * value;
        }
    }
    for pivot in 0..5 {
        let largest = (pivot..5)
            .max_by(|a, b| matrix[*a][pivot].abs().total_cmp(&matrix[*b][pivot].abs()))?;
        matrix.swap(pivot, largest);
        if matrix[pivot][pivot].abs() < 1e-9 {
            return None;
        }
        let own = matrix[pivot];
        for (at, line) in matrix.iter_mut().enumerate() {
            if at != pivot {
                let factor = line[pivot] / own[pivot];
                line.iter_mut().zip(own).for_each(|(cell, own)| *cell -= factor * own);
            }
        }
    }
    Some(std::array::from_fn(|at| matrix[at][5] / matrix[at][at]))
}

/// Modules a side of the parts of a symbol whose shift is measured.
const WINDOW: usize = 7;
