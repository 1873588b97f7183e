//! Photos of rails with our labels, drawn: no two alike, and the same for the same seed.
//!
//! Modules of many widths and colours stand on a rail, each with a sticker that holds a symbol
//! and a line of print, a little askew. The plane is seen from aside, out of focus or moved, lit
//! unevenly, with a reflection on some, with noise, as a JPEG.

use image::codecs::jpeg::JpegEncoder;
use image::{GrayImage, ImageEncoder};
use slotkeep_domain::label::{LabelCode, LabelKind, SitePrefix};
use slotkeep_optics::{Level, Symbol, symbol};

/// What a made photo is like.
#[derive(Debug, Clone)]
pub struct Scene {
    pub seed: u64,
    pub width: u32,
    pub height: u32,
    /// Mean px of a module of a symbol.
    pub module_px: f64,
    /// Rails, one below the other.
    pub rails: usize,
    /// The most labels on a rail.
    pub most_on_rail: usize,
    /// Numbers that the labels are drawn from, and those that are in the register.
    pub register: u32,
    /// Nothing is taken from the register where it is false.
    pub registered: bool,
}

/// One label of a made photo.
#[derive(Debug, Clone)]
pub struct MadeLabel {
    pub text: String,
    /// Corners of the symbol in px, from its own top left, clockwise.
    pub corners: [(f64, f64); 4],
    /// Mean side of a module, px.
    pub module_px: f64,
    pub rail: usize,
}

/// Side of a module of a symbol on the plane, mm.
pub const MODULE_MM: f64 = 0.5;

/// A place on a rail that is to be drawn.
#[derive(Debug, Clone)]
pub struct MadePlace {
    /// Left edge from the left end of the rail.
    pub x_mm: f64,
    pub width_mm: f64,
    /// Whether a module stands there.
    pub body: bool,
    /// What its label says; none: it carries none.
    pub label: Option<String>,
}

pub struct MadePhoto {
    pub jpeg: Vec<u8>,
    pub labels: Vec<MadeLabel>,
}

/// Repeatable numbers; the step and the mix are those of SplitMix64 (public domain).
pub struct Dice(pub u64);

struct Sticker {
    /// Centre on the plane, in modules of a symbol.
    x: f64,
    y: f64,
    turn: f64,
    symbol: Symbol,
    text: String,
    rail: usize,
    paper: f64,
    ink: f64,
    print: Vec<bool>,
}

struct Body {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    grey: f64,
}

impl Dice {
    pub fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.roll() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// About normal, with standard deviation 1.
    pub fn normal(&mut self) -> f64 {
        (0..6).map(|_| self.between(-1.0, 1.0)).sum::<f64>() / 2.0_f64.sqrt()
    }
}

/// The label with a place in the register of made photos; numbers are spread as an import does.
pub fn label(place: u32) -> LabelCode {
    let prefix = SitePrefix::parse("MP").expect("a prefix");
    let kind = if place.is_multiple_of(3) { LabelKind::Slot } else { LabelKind::Unit };
    LabelCode::allocate(prefix, kind, place.wrapping_mul(2_654_435_761) >> 2)
}

impl Scene {
    /// A full-HD frame with one rail, or two where there is room.
    pub fn frame(seed: u64, module_px: f64, register: u32) -> Self {
        let rails = if module_px < 2.6 && seed.is_multiple_of(3) { 2 } else { 1 };
        Self {
            seed,
            width: 1920,
            height: 1080,
            module_px,
            rails,
            most_on_rail: 30,
            register,
            registered: true,
        }
    }

    pub fn draw(&self) -> MadePhoto {
        let mut dice = self.dice();
        let (bodies, stickers) = self.plan(&mut dice);
        self.shown(&mut dice, &bodies, &stickers)
    }

    /// A photo of one rail with these places, which is in the middle of it.
    pub fn draw_rail(&self, places: &[MadePlace]) -> MadePhoto {
        let mut dice = self.dice();
        let (bodies, stickers) = self.stand(&mut dice, places);
        self.shown(&mut dice, &bodies, &stickers)
    }

    /// Where the labels are in that photo, without drawing it.
    pub fn seen_rail(&self, places: &[MadePlace]) -> Vec<MadeLabel> {
        let mut dice = self.dice();
        let (_, stickers) = self.stand(&mut dice, places);
        let view = View::new(self, &mut dice);
        stickers.iter().filter_map(|sticker| self.truth(sticker, &view)).collect()
    }

    fn dice(&self) -> Dice {
        Dice(self.seed.wrapping_mul(0x5DEE_CE66_D1CE_4E5B) ^ self.module_px.to_bits())
    }

    fn stand(&self, dice: &mut Dice, places: &[MadePlace]) -> (Vec<Body>, Vec<Sticker>) {
        let left = places.iter().map(|p| p.x_mm).fold(f64::INFINITY, f64::min);
        let right = places.iter().map(|p| p.x_mm + p.width_mm).fold(0.0, f64::max);
        let (mut bodies, mut stickers) = (Vec::new(), Vec::new());
        for place in places.iter().filter(|place| place.body) {
            let x = (place.x_mm - (left + right) / 2.0) / MODULE_MM;
            let width = place.width_mm / MODULE_MM;
            let grey = [95.0, 120.0, 205.0, 220.0, 75.0][(dice.roll() % 5) as usize];
            let (top, bottom) = (-60.0, 60.0);
            bodies.push(Body { left: x, right: x + width - 0.6, top, bottom, grey });
            if let Some(text) = &place.label {
                stickers.push(self.stuck(dice, x + width / 2.0, 0.0, 0, text.clone()));
            }
        }
        (bodies, stickers)
    }

    fn shown(&self, dice: &mut Dice, bodies: &[Body], stickers: &[Sticker]) -> MadePhoto {
        let view = View::new(self, dice);
        let (sharp, labels) = self.render(bodies, stickers, &view);
        let seen = self.photographed(sharp, dice);
        let mut jpeg = Vec::new();
        let quality = dice.between(72.0, 95.0) as u8;
        JpegEncoder::new_with_quality(&mut jpeg, quality)
            .write_image(&seen, self.width, self.height, image::ExtendedColorType::L8)
            .expect("a JPEG");
        MadePhoto { jpeg, labels }
    }

    /// Bodies and stickers on the plane, in modules; its middle is (0, 0).
    fn plan(&self, dice: &mut Dice) -> (Vec<Body>, Vec<Sticker>) {
        let half = f64::from(self.width) / 2.0 / self.module_px * 0.94;
        let rail_gap = f64::from(self.height) / self.module_px / self.rails as f64;
        let (mut bodies, mut stickers) = (Vec::new(), Vec::new());
        for rail in 0..self.rails {
            let y = (rail as f64 + 0.5 - self.rails as f64 / 2.0) * rail_gap;
            let at = y + dice.between(-0.1, 0.1) * rail_gap;
            let mut x = -half;
            let mut labels = 0;
            while x < half - 40.0 && labels < self.most_on_rail {
                let width = [33.0, 33.0, 36.0, 48.0, 66.0][(dice.roll() % 5) as usize];
                let tall = dice.between(60.0, 110.0).min(rail_gap * 0.45);
                bodies.push(Body {
                    left: x,
                    right: x + width - dice.between(0.3, 1.0),
                    top: y - tall,
                    bottom: y + tall,
                    grey: [60.0, 95.0, 120.0, 205.0, 220.0, 75.0][(dice.roll() % 6) as usize],
                });
                if !dice.roll().is_multiple_of(12) {
                    stickers.push(self.sticker(dice, x + width / 2.0, at, rail));
                    labels += 1;
                }
                x += width;
            }
        }
        (bodies, stickers)
    }

    fn sticker(&self, dice: &mut Dice, x: f64, y: f64, rail: usize) -> Sticker {
        let place = (dice.roll() % u64::from(self.register)) as u32;
        let place = if self.registered { place } else { self.register + 1 + place };
        self.stuck(dice, x, y, rail, label(place).to_string())
    }

    fn stuck(&self, dice: &mut Dice, x: f64, y: f64, rail: usize, text: String) -> Sticker {
        let made = symbol(&text, Level::M).expect("a label is a symbol");
        Sticker {
            x: x + dice.between(-0.8, 0.8),
            y: y + dice.normal() * 1.2,
            turn: dice.normal() * 0.025,
            symbol: made,
            text,
            rail,
            paper: dice.between(205.0, 245.0),
            ink: dice.between(15.0, 50.0),
            print: (0..200).map(|_| dice.roll() % 5 < 2).collect(),
        }
    }

    fn render(
        &self,
        bodies: &[Body],
        stickers: &[Sticker],
        view: &View,
    ) -> (Vec<f64>, Vec<MadeLabel>) {
        let (width, height) = (self.width as usize, self.height as usize);
        let mut values = vec![0.0; width * height];
        const SUB: usize = 3;
        for y in 0..height {
            for x in 0..width {
                let mut sum = 0.0;
                for sub in 0..SUB * SUB {
                    let part = |n: usize| (n as f64 + 0.5) / SUB as f64;
                    let (px, py) = (x as f64 + part(sub % SUB), y as f64 + part(sub / SUB));
                    let (u, v) = view.plane(px, py);
                    sum += grey_at(bodies, stickers, u, v);
                }
                values[y * width + x] = sum / (SUB * SUB) as f64;
            }
        }
        let labels = stickers.iter().filter_map(|sticker| self.truth(sticker, view)).collect();
        (values, labels)
    }

    /// Where a label is in the photo; nothing where it is not wholly inside.
    fn truth(&self, sticker: &Sticker, view: &View) -> Option<MadeLabel> {
        let half = sticker.symbol.size as f64 / 2.0;
        let corner = |u: f64, v: f64| {
            let (sin, cos) = sticker.turn.sin_cos();
            view.pixel(sticker.x + u * cos - v * sin, sticker.y + u * sin + v * cos)
        };
        let corners =
            [corner(-half, -half), corner(half, -half), corner(half, half), corner(-half, half)];
        let inside = |(x, y): &(f64, f64)| {
            *x > 4.0
                && *y > 4.0
                && *x < f64::from(self.width) - 4.0
                && *y < f64::from(self.height) - 4.0
        };
        let sides = (0..4).map(|at| {
            let (a, b) = (corners[at], corners[(at + 1) % 4]);
            (a.0 - b.0).hypot(a.1 - b.1)
        });
        let module_px = sides.sum::<f64>() / 4.0 / sticker.symbol.size as f64;
        corners.iter().all(inside).then(|| MadeLabel {
            text: sticker.text.clone(),
            corners,
            module_px,
            rail: sticker.rail,
        })
    }

    /// Lens, light, sensor.
    fn photographed(&self, sharp: Vec<f64>, dice: &mut Dice) -> GrayImage {
        let (width, height) = (self.width as usize, self.height as usize);
        let defocus = dice.between(0.4, 1.3);
        let moved = if dice.roll().is_multiple_of(3) { dice.between(0.5, 3.0) } else { 0.0 };
        let along_x = dice.roll().is_multiple_of(2);
        let mut seen = blurred(&sharp, width, height, &gaussian(defocus));
        if moved > 0.0 {
            let taps = moved_taps(moved);
            let none = vec![1.0];
            let (h, v) = if along_x { (&taps, &none) } else { (&none, &taps) };
            seen = blurred_by(&seen, width, height, h, v);
        }
        let (tilt_x, tilt_y, dark) =
            (dice.between(-0.3, 0.3), dice.between(-0.3, 0.3), dice.between(0.55, 1.05));
        let glare = (dice.roll().is_multiple_of(3)).then(|| {
            let at = |dice: &mut Dice, side: u32| dice.between(0.1, 0.9) * f64::from(side);
            (
                at(dice, self.width),
                at(dice, self.height),
                dice.between(60.0, 160.0),
                dice.between(40.0, 150.0),
            )
        });
        let noise = dice.between(1.5, 6.0);
        GrayImage::from_fn(self.width, self.height, |x, y| {
            let (u, v) = (
                f64::from(x) / f64::from(self.width) - 0.5,
                f64::from(y) / f64::from(self.height) - 0.5,
            );
            let light = dark * (1.0 + tilt_x * u + tilt_y * v) * (1.0 - 0.5 * (u * u + v * v));
            let mut value = seen[y as usize * width + x as usize] * light;
            if let Some((gx, gy, size, strength)) = glare {
                let far =
                    ((f64::from(x) - gx).powi(2) + (f64::from(y) - gy).powi(2)) / (size * size);
                value += strength * (-far).exp();
            }
            image::Luma([(value + dice.normal() * noise).round().clamp(0.0, 255.0) as u8])
        })
    }
}

/// The camera: the plane of the rail, turned, tilted and seen from aside.
struct View {
    /// From plane to pixels, row by row; the last is 1.
    to_pixel: [f64; 8],
    to_plane: [f64; 9],
}

impl View {
    fn new(scene: &Scene, dice: &mut Dice) -> Self {
        let turn = dice.normal() * 0.05;
        let (sin, cos) = turn.sin_cos();
        let scale = scene.module_px;
        // Perspective over the half width of the image: up to 12 %.
        let half = f64::from(scene.width) / 2.0 / scale;
        let (g, h) = (dice.between(-0.12, 0.12) / half, dice.between(-0.12, 0.12) / half);
        let squeeze = dice.between(0.94, 1.0);
        let (cx, cy) = (f64::from(scene.width) / 2.0, f64::from(scene.height) / 2.0);
        let m = [
            scale * cos * squeeze + cx * g,
            -scale * sin + cx * h,
            cx,
            scale * sin * squeeze + cy * g,
            scale * cos + cy * h,
            cy,
            g,
            h,
        ];
        let [a, b, c, d, e, f, g, h] = m;
        let to_plane = [
            e - f * h,
            c * h - b,
            b * f - c * e,
            f * g - d,
            a - c * g,
            c * d - a * f,
            d * h - e * g,
            b * g - a * h,
            a * e - b * d,
        ];
        Self { to_pixel: m, to_plane }
    }

    fn pixel(&self, u: f64, v: f64) -> (f64, f64) {
        let [a, b, c, d, e, f, g, h] = self.to_pixel;
        let w = g * u + h * v + 1.0;
        ((a * u + b * v + c) / w, (d * u + e * v + f) / w)
    }

    fn plane(&self, x: f64, y: f64) -> (f64, f64) {
        let [a, b, c, d, e, f, g, h, i] = self.to_plane;
        let w = g * x + h * y + i;
        ((a * x + b * y + c) / w, (d * x + e * y + f) / w)
    }
}

fn grey_at(bodies: &[Body], stickers: &[Sticker], u: f64, v: f64) -> f64 {
    for sticker in stickers {
        let (dx, dy) = (u - sticker.x, v - sticker.y);
        if dx.abs() > 22.0 || dy.abs() > 28.0 {
            continue;
        }
        let (sin, cos) = sticker.turn.sin_cos();
        let (x, y) = (dx * cos + dy * sin, -dx * sin + dy * cos);
        // Four light modules around the symbol, and a line of print under it.
        if !(-14.5..14.5).contains(&x) || !(-14.5..20.0).contains(&y) {
            continue;
        }
        let (mx, my) = (x + 10.5, y + 10.5);
        if (0.0..21.0).contains(&mx) && (0.0..21.0).contains(&my) {
            let dark = sticker.symbol.is_dark(mx as usize, my as usize);
            return if dark { sticker.ink } else { sticker.paper };
        }
        if (25.5..28.5).contains(&my) && (0.0..20.0).contains(&mx) {
            let at = ((my - 25.5) / 0.6) as usize * 33 + (mx / 0.6) as usize;
            if sticker.print.get(at).copied().unwrap_or(false) {
                return sticker.ink;
            }
        }
        return sticker.paper;
    }
    let body =
        bodies.iter().find(|b| (b.left..b.right).contains(&u) && (b.top..b.bottom).contains(&v));
    match body {
        // A line of terminals above and below.
        Some(body) if (v - body.top) < 14.0 && ((u - body.left) / 5.0).fract() < 0.3 => {
            body.grey * 0.5
        }
        Some(body) => body.grey,
        None if (v / 9.0).rem_euclid(9.0) < 3.0 => 150.0,
        None => 70.0,
    }
}

fn gaussian(sigma: f64) -> Vec<f64> {
    let reach = (3.0 * sigma).ceil() as i32;
    let taps: Vec<f64> =
        (-reach..=reach).map(|x| (-f64::from(x * x) / (2.0 * sigma * sigma)).exp()).collect();
    let sum: f64 = taps.iter().sum();
    taps.iter().map(|tap| tap / sum).collect()
}

/// A move of so many px while the shutter was open.
fn moved_taps(length: f64) -> Vec<f64> {
    let reach = (length / 2.0 + 0.5).ceil() as i32;
    let part = |x: i32| {
        let (from, to) = (f64::from(x) - 0.5, f64::from(x) + 0.5);
        (to.min(length / 2.0) - from.max(-length / 2.0)).max(0.0) / length
    };
    (-reach..=reach).map(part).collect()
}

fn blurred(values: &[f64], width: usize, height: usize, taps: &[f64]) -> Vec<f64> {
    blurred_by(values, width, height, taps, taps)
}

fn blurred_by(
    values: &[f64],
    width: usize,
    height: usize,
    across: &[f64],
    down: &[f64],
) -> Vec<f64> {
    let pass = |from: &[f64], taps: &[f64], step_x: usize, step_y: usize| -> Vec<f64> {
        let reach = taps.len() as i64 / 2;
        let mut out = vec![0.0; from.len()];
        for y in 0..height as i64 {
            for x in 0..width as i64 {
                let tap = |(at, tap): (usize, &f64)| {
                    let shift = at as i64 - reach;
                    let x = (x + shift * step_x as i64).clamp(0, width as i64 - 1);
                    let y = (y + shift * step_y as i64).clamp(0, height as i64 - 1);
                    from[y as usize * width + x as usize] * tap
                };
                out[y as usize * width + x as usize] = taps.iter().enumerate().map(tap).sum();
            }
        }
        out
    };
    pass(&pass(values, across, 1, 0), down, 0, 1)
}

/// What would be seen of a label with a share of its modules wrong, as sure as `soft` already is.
pub fn seen_of(label: &LabelCode, wrong: f64, dice: &mut Dice, soft: &mut [f32; 208]) {
    let words = slotkeep_optics::codewords(label);
    for (at, weight) in soft.iter_mut().enumerate() {
        let dark = words[at / 8] >> (7 - at % 8) & 1 == 1;
        let as_is = dice.between(0.0, 1.0) >= wrong;
        *weight = if dark == as_is { weight.abs() } else { -weight.abs() };
    }
}
