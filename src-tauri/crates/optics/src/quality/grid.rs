//! The grid of a symbol in a picture, and how light it is at a place of the grid.

use crate::Grey;

/// A picture in reflectance: grey values are taken to be coded as sRGB (IEC 61966-2-1).
pub(super) struct Light<'a> {
    grey: &'a Grey,
    linear: [f64; 256],
}

impl<'a> Light<'a> {
    pub(super) fn new(grey: &'a Grey) -> Self {
        let linear = std::array::from_fn(|value| {
            let coded = value as f64 / 255.0;
            if coded <= 0.04045 { coded / 12.92 } else { ((coded + 0.055) / 1.055).powf(2.4) }
        });
        Self { grey, linear }
    }

    /// Between the middles of four pixels; the picture goes on as its edge.
    pub(super) fn at(&self, x: f64, y: f64) -> f64 {
        let last = |side: u32| f64::from(side.saturating_sub(1));
        let (x, y) = (x - 0.5, y - 0.5);
        let x = if x.is_finite() { x.clamp(0.0, last(self.grey.width)) } else { 0.0 };
        let y = if y.is_finite() { y.clamp(0.0, last(self.grey.height)) } else { 0.0 };
        let (left, top) = (x.floor(), y.floor());
        let (dx, dy) = (x - left, y - top);
        let width = self.grey.width as usize;
        let pixel = |column: f64, row: f64| {
            let column = column.min(last(self.grey.width)) as usize;
            let row = row.min(last(self.grey.height)) as usize;
            let value = self.grey.values.get(row * width + column).copied().unwrap_or(0);
            self.linear[usize::from(value)]
        };
        let upper = pixel(left, top) * (1.0 - dx) + pixel(left + 1.0, top) * dx;
        let lower = pixel(left, top + 1.0) * (1.0 - dx) + pixel(left + 1.0, top + 1.0) * dx;
        upper * (1.0 - dy) + lower * dy
    }
}

/// Modules to pixels: the projective map of the four corners.
#[derive(Debug, Clone, Copy)]
pub(super) struct Grid {
    corners: [(f64, f64); 4],
    size: f64,
    /// `x = (a u + b v + c) / (g u + h v + 1)`, `y` with d, e, f; u and v from 0 to 1.
    map: [f64; 8],
}

impl Grid {
    /// Takes the corners clockwise from the symbol's own top left.
    pub(super) fn new(corners: [(f64, f64); 4], size: usize) -> Self {
        let [(x0, y0), (x1, y1), (x2, y2), (x3, y3)] = corners;
        let (dx1, dx2, sx) = (x1 - x2, x3 - x2, x0 - x1 + x2 - x3);
        let (dy1, dy2, sy) = (y1 - y2, y3 - y2, y0 - y1 + y2 - y3);
        let whole = dx1 * dy2 - dx2 * dy1;
        let (g, h) = if whole.abs() < 1e-12 {
            (0.0, 0.0)
        } else {
            ((sx * dy2 - dx2 * sy) / whole, (dx1 * sy - sx * dy1) / whole)
        };
        let map =
            [x1 - x0 + g * x1, x3 - x0 + h * x3, x0, y1 - y0 + g * y1, y3 - y0 + h * y3, y0, g, h];
        Self { corners, size: size as f64, map }
    }

    pub(super) fn corners(&self) -> [(f32, f32); 4] {
        self.corners.map(|(x, y)| (x as f32, y as f32))
    }

    pub(super) fn size(&self) -> usize {
        self.size as usize
    }

    /// Where a place of the symbol (modules) lies in the picture.
    pub(super) fn point(&self, column: f64, row: f64) -> (f64, f64) {
        let (u, v) = (column / self.size, row / self.size);
        let [a, b, c, d, e, f, g, h] = self.map;
        let w = g * u + h * v + 1.0;
        ((a * u + b * v + c) / w, (d * u + e * v + f) / w)
    }

    /// The same grid with its corners moved by so many modules.
    pub(super) fn moved(&self, by: [(f64, f64); 4]) -> Self {
        let at = [(0.0, 0.0), (self.size, 0.0), (self.size, self.size), (0.0, self.size)];
        let mut corners = self.corners;
        for ((corner, (column, row)), (dx, dy)) in corners.iter_mut().zip(at).zip(by) {
            *corner = self.point(column + dx, row + dy);
        }
        Self::new(corners, self.size as usize)
    }

    /// Mean width and height of a module (px).
    pub(super) fn module_px(&self) -> (f64, f64) {
        let [a, b, c, d] = self.corners;
        let length = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1);
        let mean = |one: f64, other: f64| (one + other) / 2.0 / self.size;
        (mean(length(a, b), length(d, c)), mean(length(a, d), length(b, c)))
    }

    pub(super) fn light(&self, light: &Light<'_>, column: f64, row: f64) -> f64 {
        let (x, y) = self.point(column, row);
        light.at(x, y)
    }

    /// Mean over a round aperture of 0.8 modules.
    pub(super) fn reflectance(&self, light: &Light<'_>, column: f64, row: f64) -> f64 {
        let (mut sum, mut count) = (0.0, 0.0);
        for i in -2..=2 {
            for j in -2..=2 {
                let (dx, dy) = (f64::from(i) * 0.16, f64::from(j) * 0.16);
                if dx.hypot(dy) <= 0.4 {
                    sum += self.light(light, column + dx, row + dy);
                    count += 1.0;
                }
            }
        }
        sum / count
    }
}

/// Share of the modules that count that are on their side of the middle between dark and light.
pub(super) fn agreement(
    light: &Light<'_>,
    grid: &Grid,
    modules: &[bool],
    counts: impl Fn(usize) -> bool,
) -> f64 {
    let side = grid.size();
    let middle = |at: usize| at as f64 + 0.5;
    let values: Vec<f64> = (0..modules.len())
        .map(|at| grid.light(light, middle(at % side), middle(at / side)))
        .collect();
    let threshold = between(&values);
    let counted: Vec<usize> = (0..modules.len()).filter(|at| counts(*at)).collect();
    let same = counted.iter().filter(|at| (values[**at] < threshold) == modules[**at]).count();
    same as f64 / counted.len().max(1) as f64
}

fn between(values: &[f64]) -> f64 {
    let highest = values.iter().copied().fold(0.0, f64::max);
    let lowest = values.iter().copied().fold(f64::INFINITY, f64::min);
    (highest + lowest) / 2.0
}

/// Moves the corners that a reader gave to where the fixed patterns suit best, in ever smaller
/// steps.
pub(super) fn climbed(
    light: &Light<'_>,
    corners: [(f64, f64); 4],
    fixed: &[Option<bool>],
    size: usize,
) -> [(f64, f64); 4] {
    let worth = |corners: [(f64, f64); 4]| {
        let grid = Grid::new(corners, size);
        let known = fixed.iter().enumerate().filter_map(|(at, dark)| Some((at, (*dark)?)));
        known
            .map(|(at, dark)| {
                let (column, row) = ((at % size) as f64 + 0.5, (at / size) as f64 + 0.5);
                let value = grid.light(light, column, row);
                if dark { -value } else { value }
            })
            .sum::<f64>()
    };
    let (mut best, mut most) = (corners, worth(corners));
    let module = Grid::new(corners, size).module_px();
    let module = module.0.max(module.1);
    for step in [0.8, 0.4, 0.2, 0.1] {
        for _ in 0..6 {
            let before = most;
            for corner in 0..4 {
                for (dx, dy) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
                    let mut tried = best;
                    tried[corner].0 += dx * step * module;
                    tried[corner].1 += dy * step * module;
                    let worth = worth(tried);
                    if worth > most {
                        (best, most) = (tried, worth);
                    }
                }
            }
            if most <= before {
                break;
            }
        }
    }
    best
}
