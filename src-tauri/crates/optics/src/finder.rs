//! Looks for the three corner patterns of symbols whose modules are only one to four pixels wide.
//!
//! Readers look for the ratio 1:1:3:1:1 on lines of a black and white image, which blur destroys
//! first. Here the grey image is correlated with the pattern as a whole: a dark square, a light
//! ring, a dark ring and the light border, in several sizes.

use crate::Grey;
use crate::pose::Pose;
use slotkeep_domain::in_parallel;

/// Sides of a module that are tried, px; each is 1.19 times the one before.
const SIZES: [f32; 8] = [1.2, 1.43, 1.7, 2.02, 2.4, 2.86, 3.4, 4.05];

/// Sides of a module from which every second pixel is enough, px.
const STEP_FROM: f32 = 2.2;

/// Correlation from which a place counts as a corner pattern.
const LEAST: f32 = 0.5;

/// Corner patterns that are kept of one image; the best ones.
const MOST: usize = 3_000;

/// Spread of grey levels below which nothing is there.
const LEAST_SPREAD: f32 = 5.0;

/// Sums of everything above and to the left, in steps of half a pixel.
struct Sums {
    row: usize,
    values: Vec<u32>,
    squares: Vec<u64>,
}

/// A place that looks like a corner pattern.
#[derive(Debug, Clone, Copy)]
pub struct Corner {
    pub x: f32,
    pub y: f32,
    pub module_px: f32,
    /// Correlation with the pattern, 1 at best.
    pub likeness: f32,
}

/// Pixels of a part of an image that is searched at once.
const TILE_PIXELS: usize = 2_200_000;

/// How far parts overlap, px: a symbol of the largest modules and its border.
const OVERLAP: usize = 120;

/// A part of an image: rows from the first to before the last.
pub struct Tile {
    first_row: usize,
    last_row: usize,
}

impl Tile {
    pub fn top(&self) -> f64 {
        self.first_row as f64
    }

    pub fn left(&self) -> f64 {
        0.0
    }

    pub fn cut(&self, grey: &Grey) -> Grey {
        let width = grey.width as usize;
        let values = grey.values[self.first_row * width..self.last_row * width].to_vec();
        Grey { width: grey.width, height: (self.last_row - self.first_row) as u32, values }
    }
}

/// Parts that together cover an image.
pub fn tiles(grey: &Grey) -> Vec<Tile> {
    let height = grey.height as usize;
    let rows = (TILE_PIXELS / grey.width.max(1) as usize).max(2 * OVERLAP);
    let mut tiles = Vec::new();
    let mut first_row = 0;
    loop {
        let last_row = (first_row + rows).min(height);
        tiles.push(Tile { first_row, last_row });
        if last_row == height {
            return tiles;
        }
        first_row = last_row - OVERLAP;
    }
}

/// Places of symbols, the most likely first.
///
/// Takes 60 bytes a pixel of memory while it runs, so the caller cuts large images into
/// [`tiles`].
pub fn symbols(grey: &Grey) -> Vec<Pose> {
    triples(&corners(grey))
}

impl Sums {
    /// Each pixel counts as four of half the size, so that squares of any half pixel can be
    /// summed; between pixels nothing is smoothed.
    fn new(grey: &Grey) -> Self {
        let (width, height) = (grey.width as usize * 2, grey.height as usize * 2);
        let row = width + 1;
        let mut values = vec![0_u32; row * (height + 1)];
        let mut squares = vec![0_u64; row * (height + 1)];
        for y in 0..height {
            let (mut sum, mut square) = (0_u32, 0_u64);
            let line = &grey.values[y / 2 * grey.width as usize..][..grey.width as usize];
            for x in 0..width {
                let value = u32::from(line[x / 2]);
                sum += value;
                square += u64::from(value * value);
                let at = (y + 1) * row + x + 1;
                values[at] = values[at - row].wrapping_add(sum);
                squares[at] = squares[at - row] + square;
            }
        }
        Self { row, values, squares }
    }

    fn square(&self, x: usize, y: usize, half: usize) -> f32 {
        let (above, below) = ((y - half) * self.row, (y + half) * self.row);
        let (left, right) = (x - half, x + half);
        let sum = self.values[below + right]
            .wrapping_sub(self.values[below + left])
            .wrapping_sub(self.values[above + right])
            .wrapping_add(self.values[above + left]);
        sum as f32
    }

    fn square_of_squares(&self, x: usize, y: usize, half: usize) -> f32 {
        let (above, below) = ((y - half) * self.row, (y + half) * self.row);
        let (left, right) = (x - half, x + half);
        (self.squares[below + right] + self.squares[above + left]
            - self.squares[below + left]
            - self.squares[above + right]) as f32
    }

    /// Correlation of the surroundings of a point (half pixels) with the pattern.
    fn likeness(&self, x: usize, y: usize, halves: &[usize; 4]) -> f32 {
        let area = |half: usize| (4 * half * half) as f32;
        // The light ring must be lighter than the dark core, not only the border; that is cheap
        // to see, and is not so nearly everywhere.
        let (core, inner) = (self.square(x, y, halves[0]), self.square(x, y, halves[1]));
        let ring = (inner - core) / (area(halves[1]) - area(halves[0]));
        if ring < core / area(halves[0]) + LEAST_SPREAD {
            return 0.0;
        }
        let whole = self.square(x, y, halves[3]);
        let all = area(halves[3]);
        let mean = whole / all;
        let variance = self.square_of_squares(x, y, halves[3]) / all - mean * mean;
        if variance < LEAST_SPREAD * LEAST_SPREAD {
            return 0.0;
        }
        let outer = self.square(x, y, halves[2]) - inner;
        let dark_area = area(halves[0]) + area(halves[2]) - area(halves[1]);
        let dark = (core + outer) / dark_area;
        let light = (whole - core - outer) / (all - dark_area);
        let share = dark_area / all;
        (light - dark) * (share * (1.0 - share) / variance).sqrt()
    }
}

fn corners(grey: &Grey) -> Vec<Corner> {
    let sums = Sums::new(grey);
    strongest(in_parallel(&SIZES, |size| of_size(grey, &sums, *size)).concat())
}

/// Corner patterns of one size: places more like it than all around them.
fn of_size(grey: &Grey, sums: &Sums, size: f32) -> Vec<Corner> {
    let halves = [1.5, 2.5, 3.5, 4.5].map(|modules| (modules * size * 2.0).round() as usize);
    let margin = halves[3].div_ceil(2);
    let (width, height) = (grey.width as usize, grey.height as usize);
    if width <= 2 * margin || height <= 2 * margin {
        return Vec::new();
    }
    // Larger patterns are wide enough to be met by every second pixel.
    let step = if size < STEP_FROM { 1 } else { 2 };
    let columns = (width - 2 * margin).div_ceil(step);
    let mut lines = vec![vec![0.0_f32; columns]; 3];
    let mut found = Vec::new();
    for y in (margin..height - margin).step_by(step) {
        lines.rotate_left(1);
        for (x, place) in (margin..).step_by(step).zip(lines[2].iter_mut()) {
            *place = sums.likeness(2 * x + 1, 2 * y + 1, &halves);
        }
        for x in 1..columns.saturating_sub(1) {
            let here = lines[1][x];
            let around = || lines.iter().flat_map(|line| &line[x - 1..=x + 1]);
            if here >= LEAST && y > margin + step && around().all(|other| *other <= here) {
                // The top of the parabola through the neighbours.
                let top = |a: f32, c: f32| {
                    ((a - c) / (2.0 * (a - 2.0 * here + c)).min(-1e-3)).clamp(-0.5, 0.5)
                };
                let (dx, dy) =
                    (top(lines[1][x - 1], lines[1][x + 1]), top(lines[0][x], lines[2][x]));
                found.push(Corner {
                    x: (x * step + margin) as f32 + 0.5 + dx * step as f32,
                    y: (y - step) as f32 + 0.5 + dy * step as f32,
                    module_px: size,
                    likeness: here,
                });
            }
        }
    }
    found
}

/// Leaves one corner pattern at each place, the one that is most like it.
fn strongest(mut found: Vec<Corner>) -> Vec<Corner> {
    found.sort_by(|a, b| b.likeness.total_cmp(&a.likeness));
    let mut kept = Near::default();
    for corner in found {
        let reach = 2.0 * corner.module_px;
        let taken = |other: &Corner| (other.x - corner.x).hypot(other.y - corner.y) < reach;
        if kept.corners.len() < MOST && !kept.around(corner.x, corner.y, reach).any(taken) {
            kept.add(corner);
        }
    }
    kept.corners
}

/// Corner patterns by place.
#[derive(Default)]
struct Near {
    corners: Vec<Corner>,
    cells: std::collections::HashMap<(i32, i32), Vec<usize>>,
}

const CELL: f32 = 24.0;

impl Near {
    fn add(&mut self, corner: Corner) {
        let cell = ((corner.x / CELL) as i32, (corner.y / CELL) as i32);
        self.cells.entry(cell).or_default().push(self.corners.len());
        self.corners.push(corner);
    }

    fn around(&self, x: f32, y: f32, reach: f32) -> impl Iterator<Item = &Corner> {
        let cells =
            move |at: f32| ((at - reach) / CELL).floor() as i32..=((at + reach) / CELL) as i32;
        let places = cells(y).flat_map(move |row| cells(x).map(move |column| (column, row)));
        let found = places.filter_map(|cell| self.cells.get(&cell)).flatten();
        found.map(|at| &self.corners[*at])
    }
}

/// Sets of three that can be the corners of one symbol, the most likely first, each corner in
/// the best one only.
fn triples(corners: &[Corner]) -> Vec<Pose> {
    let mut near = Near::default();
    corners.iter().for_each(|corner| near.add(*corner));
    let mut found: Vec<(f32, [Corner; 3])> = Vec::new();
    for a in corners {
        let side = 14.0 * a.module_px;
        let partner = |b: &&Corner| {
            let far = (b.x - a.x).hypot(b.y - a.y) / side;
            let size = b.module_px / a.module_px;
            (0.78..1.28).contains(&far) && (0.69..1.45).contains(&size)
        };
        let others: Vec<&Corner> = near.around(a.x, a.y, side * 1.3).filter(partner).collect();
        for b in &others {
            let (bx, by) = (b.x - a.x, b.y - a.y);
            for c in &others {
                let (cx, cy) = (c.x - a.x, c.y - a.y);
                let (across, along) = (bx * cy - by * cx, bx * cx + by * cy);
                let (long, short) = (bx.hypot(by), cx.hypot(cy));
                let askew = along / (long * short);
                let uneven = (long / short).ln().abs();
                if across > 0.0 && askew.abs() < 0.2 && uneven < 0.18 {
                    let likeness = a.likeness + b.likeness + c.likeness;
                    found.push((likeness - askew.abs() - uneven, [*a, **b, **c]));
                }
            }
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut taken: Vec<(f32, f32)> = Vec::new();
    let mut poses = Vec::new();
    for (_, [a, b, c]) in found {
        let used = |corner: &Corner| {
            taken.iter().any(|t| (t.0 - corner.x).abs() < 0.5 && (t.1 - corner.y).abs() < 0.5)
        };
        if used(&a) || used(&b) || used(&c) {
            continue;
        }
        taken.extend([a, b, c].map(|corner| (corner.x, corner.y)));
        let place = |corner: Corner| (f64::from(corner.x), f64::from(corner.y));
        poses.push(Pose::of_finders(place(a), place(b), place(c)));
    }
    poses
}
