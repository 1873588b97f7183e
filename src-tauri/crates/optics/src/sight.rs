//! What can be seen of the modules of one symbol: soft values, and a better place for it.
//!
//! The image near a symbol is explained as light × (modules spread by blur) + noise. Known
//! modules (finder and timing patterns, the quiet zone) fix place, blur and light; the others
//! follow by least squares with noise taken into account (Wiener); with these, place, blur and
//! light are fitted again. The register has no part in it, so that nothing is seen because it is
//! hoped for.

use crate::Grey;
use crate::codeword::{SIDE, fixed};
use crate::light::{REACH, Spread, TAPS, spread};
use crate::pose::{Pose, solved};
use std::sync::LazyLock;

/// Light modules around the symbol that are part of the model.
const QUIET: usize = 5;

/// How far outside the symbol pixels are looked at, modules.
const MARGIN: f64 = 1.5;

/// Modules a side of the model.
const FIELD: usize = SIDE + 2 * QUIET;

/// A module is dark (1), light (−1), or between where it is not known.
type Modules = [f32; FIELD * FIELD];

/// Larger modules are reduced to about this many px, which costs nothing and saves time.
const ENOUGH_PX: f64 = 2.4;

/// How often place, blur and light are fitted again to modules that were seen.
const ROUNDS: usize = 3;

/// Terms of the slow change of light: 1, u, v, u², uv, v².
const TERMS: usize = 6;

struct Pixel {
    x: f64,
    y: f64,
    value: f32,
    /// First module (column, row) of the model that reaches it.
    first: usize,
    across: Spread,
    down: Spread,
    /// Light, and contrast (below 0: dark modules are darker).
    light: f32,
    contrast: f32,
    terms: [f64; TERMS],
    /// Share of known modules in it.
    known: f32,
}

/// What was seen of a symbol.
pub struct Sight {
    pub pose: Pose,
    /// Weight of each module, row by row, in natural logarithms of odds; above 0 is dark.
    pub weights: [f32; SIDE * SIDE],
    /// How well known modules agree with the image, 1 at best, 0 for chance.
    pub fit: f32,
    /// Difference of light and dark, grey levels.
    pub contrast: f32,
}

/// Fit from which a place is said to hold a symbol even if nothing can be read.
const SYMBOL_FIT: f32 = 0.8;

impl Sight {
    pub fn is_symbol(&self) -> bool {
        self.fit > SYMBOL_FIT && self.contrast > 12.0
    }
}

static KNOWN: LazyLock<Modules> = LazyLock::new(|| {
    let mut modules = [-1.0; FIELD * FIELD];
    for y in 0..SIDE {
        for x in 0..SIDE {
            modules[(y + QUIET) * FIELD + x + QUIET] = match (fixed(x, y), x, y) {
                (Some(dark), _, _) => {
                    if dark {
                        1.0
                    } else {
                        -1.0
                    }
                }
                (None, _, _) => 0.0,
            };
        }
    }
    modules
});

struct Model {
    pixels: Vec<Pixel>,
    modules: Modules,
    /// Standard deviation of the blur, modules.
    blur: f32,
    /// Variance of the noise, grey levels².
    noise: f32,
}

/// Looks at a symbol near `start`, with modules of at least 1 px, until `enough` says so.
///
/// `None` where the known modules are not there.
pub fn look(grey: &Grey, start: &Pose, enough: impl Fn(&Sight) -> bool) -> Option<Sight> {
    if !start.is_sane(grey.width, grey.height) {
        return None;
    }
    let (small, left, top, factor) = cropped(grey, start)?;
    let mut pose = start.reduced(left, top, factor);
    let mut model = Model::new(&small, &pose)?;
    let likely = model.blur;
    for (blur, known) in [(1.0, 0.6), (likely, 0.7), (likely, 0.7)] {
        // Seen through more blur, a symbol pulls from further away.
        model.blur = blur.max(likely);
        model.aim(&pose);
        model.fit_light(known);
        pose = model.fit_place(&pose, known, false)?;
    }
    model.aim(&pose);
    model.fit_light(0.85);
    let fit = model.fit();
    if fit < 0.35 {
        return None;
    }
    for round in 0.. {
        model.solve();
        let (weights, contrast) = (model.weights(), model.contrast());
        let sight = Sight { pose: pose.enlarged(left, top, factor), weights, fit, contrast };
        if round == ROUNDS || enough(&sight) {
            return Some(sight);
        }
        model.decide();
        model.fit_light(0.0);
        pose = model.fit_place(&pose, 0.0, true)?;
        model.aim(&pose);
    }
    None
}

/// The surroundings of a symbol, reduced where its modules are large.
fn cropped(grey: &Grey, pose: &Pose) -> Option<(Grey, f64, f64, f64)> {
    let reach = 21.0 + MARGIN + 1.0;
    let corners = [(-2.5, -2.5), (reach, -2.5), (reach, reach), (-2.5, reach)];
    let corners = corners.map(|(u, v)| pose.pixel(u, v));
    let least = |f: fn(&(f64, f64)) -> f64| corners.iter().map(f).fold(f64::MAX, f64::min);
    let most = |f: fn(&(f64, f64)) -> f64| corners.iter().map(f).fold(f64::MIN, f64::max);
    let left = least(|c| c.0).floor().max(0.0);
    let top = least(|c| c.1).floor().max(0.0);
    let right = most(|c| c.0).ceil().min(f64::from(grey.width));
    let bottom = most(|c| c.1).ceil().min(f64::from(grey.height));
    let factor = (pose.module_px() / ENOUGH_PX).max(1.0);
    let width = ((right - left) / factor) as u32;
    let height = ((bottom - top) / factor) as u32;
    if !(20..200).contains(&width) || !(20..200).contains(&height) {
        return None;
    }
    let row = grey.width as usize;
    let across: Vec<_> = (0..width).map(|x| shares(left, x, factor)).collect();
    let mut values = Vec::with_capacity((width * height) as usize);
    for y in 0..height {
        let down = shares(top, y, factor);
        for across in &across {
            let line = |(y, part): &(usize, f64)| -> f64 {
                across
                    .iter()
                    .map(|(x, share)| f64::from(grey.values[y * row + x]) * share * part)
                    .sum()
            };
            values.push(down.iter().map(line).sum::<f64>().round() as u8);
        }
    }
    Some((Grey { width, height, values }, left, top, factor))
}

/// Pixels that the pixel `at` of the reduced image covers along one axis, with their shares.
fn shares(start: f64, at: u32, factor: f64) -> Vec<(usize, f64)> {
    let from = start + f64::from(at) * factor;
    let to = from + factor;
    let part = |x: usize| (to.min(x as f64 + 1.0) - from.max(x as f64)).max(0.0) / factor;
    (from as usize..to.ceil() as usize).map(|x| (x, part(x))).filter(|(_, p)| *p > 1e-9).collect()
}

impl Model {
    fn new(grey: &Grey, pose: &Pose) -> Option<Self> {
        let mut pixels = Vec::new();
        for y in 0..grey.height {
            for x in 0..grey.width {
                let (px, py) = (f64::from(x) + 0.5, f64::from(y) + 0.5);
                let (u, v) = pose.module(px, py);
                let inside = -MARGIN..21.0 + MARGIN;
                if inside.contains(&u) && inside.contains(&v) {
                    let none = Spread { share: [0.0; TAPS], growth: [0.0; TAPS] };
                    pixels.push(Pixel {
                        x: px,
                        y: py,
                        value: f32::from(grey.values[(y * grey.width + x) as usize]),
                        first: 0,
                        across: none,
                        down: none,
                        light: 0.0,
                        contrast: 0.0,
                        terms: [0.0; TERMS],
                        known: 0.0,
                    });
                }
            }
        }
        let blur = (0.75 / pose.module_px()).clamp(0.25, 0.8) as f32;
        (pixels.len() > 300).then(|| Self { pixels, modules: *KNOWN, blur, noise: 400.0 })
    }

    /// Lays the pixels over the modules.
    fn aim(&mut self, pose: &Pose) {
        let limit = (SIDE + QUIET - REACH) as f64 - 1e-3;
        for pixel in &mut self.pixels {
            let (u, v) = pose.module(pixel.x, pixel.y);
            let low = REACH as f64 - QUIET as f64;
            let (u, v) = (u.clamp(low, limit), v.clamp(low, limit));
            pixel.across = spread(u as f32, self.blur);
            pixel.down = spread(v as f32, self.blur);
            let column = (u.floor() + QUIET as f64) as usize - REACH;
            let row = (v.floor() + QUIET as f64) as usize - REACH;
            pixel.first = row * FIELD + column;
            let (u, v) = (u / 10.5 - 1.0, v / 10.5 - 1.0);
            pixel.terms = [1.0, u, v, u * u, u * v, v * v];
        }
        let known: Modules = KNOWN.map(f32::abs);
        for at in 0..self.pixels.len() {
            self.pixels[at].known = self.pixels[at].of(&known);
        }
    }

    /// Fits light and contrast to pixels with at least this share of known modules.
    fn fit_light(&mut self, known: f32) {
        const N: usize = 2 * TERMS;
        let mut rows = [[0.0; N + 1]; N];
        let mut count = 0.0;
        for pixel in self.pixels.iter().filter(|pixel| pixel.known >= known) {
            let seen = f64::from(pixel.of(&self.modules));
            let mut terms = [0.0; N];
            for (at, term) in pixel.terms.into_iter().enumerate() {
                terms[at] = term;
                terms[at + TERMS] = term * seen;
            }
            for (row, a) in rows.iter_mut().zip(terms) {
                for (cell, b) in row.iter_mut().zip(terms) {
                    *cell += a * b;
                }
                row[N] += a * f64::from(pixel.value);
            }
            count += 1.0;
        }
        for (at, row) in rows.iter_mut().enumerate() {
            // Steep changes need evidence.
            row[at] += count * if at % TERMS == 0 { 1e-6 } else { 2e-3 };
        }
        let Some(found) = solved(rows) else { return };
        let (mut error, mut all) = (0.0, 0.0);
        for pixel in &mut self.pixels {
            let of = |terms: &[f64]| pixel.terms.iter().zip(terms).map(|(a, b)| a * b).sum::<f64>();
            pixel.light = of(&found[..TERMS]) as f32;
            pixel.contrast = (of(&found[TERMS..]) as f32).min(-2.0);
        }
        for pixel in self.pixels.iter().filter(|pixel| pixel.known >= known) {
            let miss = pixel.value - pixel.light - pixel.contrast * pixel.of(&self.modules);
            error += miss * miss;
            all += 1.0;
        }
        self.noise = (error / f32::max(all, 1.0)).max(6.0);
    }

    /// Moves the symbol so that the image is explained better (one step of Gauss and Newton), and
    /// sets the blur.
    fn fit_place(&mut self, pose: &Pose, known: f32, perspective: bool) -> Option<Pose> {
        const N: usize = 9;
        let mut rows = [[0.0; N + 1]; N];
        let step = pose.module_px();
        let blurrier = self.blur * 1.05;
        for pixel in self.pixels.iter().filter(|pixel| pixel.known >= known) {
            let (value, du, dv) = pixel.change(&self.modules);
            let contrast = f64::from(pixel.contrast);
            let (u, v) = (pixel.terms[1], pixel.terms[2]);
            // A move of the symbol by (dx, dy) moves the pixel's place in it the other way.
            let (dx, dy) = pose.slopes(u, v, f64::from(du) * contrast, f64::from(dv) * contrast);
            let (x, y) = pose.pixel((u + 1.0) * 10.5, (v + 1.0) * 10.5);
            let toward = dx * x + dy * y;
            let miss = f64::from(pixel.value - pixel.light - pixel.contrast * value);
            let wider = pixel.with_blur(&self.modules, blurrier);
            let blur = f64::from(wider - value) * contrast / 0.05;
            let terms = [dx, dy, dx * u, dy * u, dx * v, dy * v, -toward * u, -toward * v, blur];
            for (row, a) in rows.iter_mut().zip(terms) {
                for (cell, b) in row.iter_mut().zip(terms) {
                    *cell += a * b;
                }
                row[N] += a * miss;
            }
        }
        let noise = f64::from(self.noise);
        // What is not seen stays as it is: places to about a module, perspective to a little.
        let bend = if perspective { 0.03 } else { 1e-4 };
        for (at, row) in rows.iter_mut().enumerate() {
            row[at] += match at {
                0 | 1 => noise / (step * step),
                2..=5 => 2.0 * noise / (step * step),
                6 | 7 => noise / (bend * bend),
                _ => noise / 0.04,
            };
        }
        let change = solved(rows)?;
        let mut next = pose.0;
        let longest = change[..6].iter().fold(0.0_f64, |a, b| a.max(b.abs()));
        let damped = (1.2 * step / longest.max(1e-9)).min(1.0);
        for (value, change) in next.iter_mut().zip(&change[..8]) {
            *value += change * damped;
        }
        self.blur = (self.blur * (1.0 + change[8].clamp(-0.25, 0.25) as f32)).clamp(0.15, 1.1);
        let next = Pose(next);
        next.0.iter().all(|value| value.is_finite()).then_some(next)
    }

    /// Correlation of known modules with the image.
    fn fit(&self) -> f32 {
        let (mut n, mut a, mut b, mut aa, mut bb, mut ab) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        for pixel in self.pixels.iter().filter(|pixel| pixel.known >= 0.85) {
            let expected = pixel.light + pixel.contrast * pixel.of(&self.modules);
            let (x, y) = (expected, pixel.value);
            n += 1.0;
            a += x;
            b += y;
            aa += x * x;
            bb += y * y;
            ab += x * y;
        }
        let spread = |sum: f32, squares: f32| (squares - sum * sum / f32::max(n, 1.0)).max(1e-3);
        (ab - a * b / f32::max(n, 1.0)) / (spread(a, aa) * spread(b, bb)).sqrt()
    }

    /// Unknown modules by least squares with noise: minimises Σ miss² / noise + Σ modules².
    fn solve(&mut self) {
        let unknown: [f32; FIELD * FIELD] = KNOWN.map(|known| if known == 0.0 { 1.0 } else { 0.0 });
        let mut right = [0.0; FIELD * FIELD];
        for pixel in &self.pixels {
            let miss = pixel.value - pixel.light - pixel.contrast * pixel.of(&KNOWN);
            pixel.add(&mut right, miss * pixel.contrast / self.noise);
        }
        let only = |values: &mut Modules| {
            for (value, unknown) in values.iter_mut().zip(&unknown) {
                *value *= unknown;
            }
        };
        only(&mut right);
        let apply = |modules: &Modules| {
            let mut out = *modules;
            for pixel in &self.pixels {
                let seen = pixel.of(modules) * pixel.contrast * pixel.contrast / self.noise;
                pixel.add(&mut out, seen);
            }
            only(&mut out);
            out
        };
        // Conjugate gradients; ten steps are enough for values that are rounded anyway.
        let dot = |a: &Modules, b: &Modules| a.iter().zip(b).map(|(a, b)| a * b).sum::<f32>();
        let mut found = [0.0; FIELD * FIELD];
        let mut rest = right;
        let mut way = rest;
        let mut length = dot(&rest, &rest);
        for _ in 0..10 {
            if length < 1e-6 {
                break;
            }
            let ahead = apply(&way);
            let step = length / dot(&way, &ahead).max(1e-12);
            for at in 0..FIELD * FIELD {
                found[at] += step * way[at];
                rest[at] -= step * ahead[at];
            }
            let next = dot(&rest, &rest);
            for at in 0..FIELD * FIELD {
                way[at] = rest[at] + next / length * way[at];
            }
            length = next;
        }
        for (at, known) in KNOWN.iter().enumerate() {
            self.modules[at] = if *known == 0.0 { found[at] } else { *known };
        }
    }

    /// Share of the truth in each least-squares value: the mean square of those around it.
    fn share(&self, x: usize, y: usize) -> f32 {
        let (mut sum, mut count) = (0.0, 0.0_f32);
        for y in y.saturating_sub(2)..(y + 3).min(SIDE) {
            for x in x.saturating_sub(2)..(x + 3).min(SIDE) {
                let at = (y + QUIET) * FIELD + x + QUIET;
                if KNOWN[at] == 0.0 {
                    sum += self.modules[at].powi(2).min(1.0);
                    count += 1.0;
                }
            }
        }
        (sum / count.max(1.0)).clamp(0.01, 0.9)
    }

    /// Natural logarithms of the odds of dark to light, no more than 4 either way.
    fn weights(&self) -> [f32; SIDE * SIDE] {
        std::array::from_fn(|at| {
            let (x, y) = (at % SIDE, at / SIDE);
            let value = self.modules[(y + QUIET) * FIELD + x + QUIET];
            (2.0 * value / (1.0 - self.share(x, y))).clamp(-4.0, 4.0)
        })
    }

    /// Draws the unknown modules towards dark or light, as far as they are sure.
    fn decide(&mut self) {
        let weights = self.weights();
        for (at, weight) in weights.into_iter().enumerate() {
            let place = (at / SIDE + QUIET) * FIELD + at % SIDE + QUIET;
            if KNOWN[place] == 0.0 {
                self.modules[place] = (weight / 2.0).tanh();
            }
        }
    }

    fn contrast(&self) -> f32 {
        let sum: f32 = self.pixels.iter().map(|pixel| -2.0 * pixel.contrast).sum();
        sum / self.pixels.len() as f32
    }
}

impl Pixel {
    /// The blurred modules at this pixel.
    fn of(&self, modules: &Modules) -> f32 {
        let mut sum = 0.0;
        for (row, down) in self.down.share[..TAPS - 1].iter().enumerate() {
            let from = self.first + row * FIELD;
            let line = &modules[from..from + TAPS - 1];
            let across: f32 = line.iter().zip(&self.across.share).map(|(m, s)| m * s).sum();
            sum += across * down;
        }
        sum
    }

    /// The blurred modules, and their change as the pixel's place grows by one module.
    fn change(&self, modules: &Modules) -> (f32, f32, f32) {
        let (mut value, mut du, mut dv) = (0.0, 0.0, 0.0);
        for row in 0..TAPS - 1 {
            let from = self.first + row * FIELD;
            let line = &modules[from..from + TAPS - 1];
            let across: f32 = line.iter().zip(&self.across.share).map(|(m, s)| m * s).sum();
            let along: f32 = line.iter().zip(&self.across.growth).map(|(m, s)| m * s).sum();
            value += across * self.down.share[row];
            du += along * self.down.share[row];
            dv += across * self.down.growth[row];
        }
        (value, du, dv)
    }

    fn with_blur(&self, modules: &Modules, blur: f32) -> f32 {
        let place = |term: f64| ((term + 1.0) * 10.5) as f32;
        let (across, down) =
            (spread(place(self.terms[1]), blur), spread(place(self.terms[2]), blur));
        let mut sum = 0.0;
        for row in 0..TAPS - 1 {
            let from = self.first + row * FIELD;
            let line = &modules[from..from + TAPS - 1];
            let along: f32 = line.iter().zip(&across.share).map(|(m, s)| m * s).sum();
            sum += along * down.share[row];
        }
        sum
    }

    /// Spreads a value over the modules that reach this pixel.
    fn add(&self, modules: &mut Modules, value: f32) {
        for (row, down) in self.down.share[..TAPS - 1].iter().enumerate() {
            let from = self.first + row * FIELD;
            let amount = value * down;
            for (cell, across) in modules[from..from + TAPS - 1].iter_mut().zip(&self.across.share)
            {
                *cell += amount * across;
            }
        }
    }
}
