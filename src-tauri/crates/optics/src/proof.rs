//! Print proof: a symbol is drawn as a printer will draw it, spoilt, and read back by two readers.

use std::panic::AssertUnwindSafe;
use zxingcpp::{BarcodeFormat, ImageFormat, ImageView};

/// Why a symbol is not fit to be printed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ProofFailure {
    #[error("printed {spoilt}, blurred and turned, the {reader} reader reads nothing")]
    Unread { reader: &'static str, spoilt: &'static str },
    #[error("the {reader} reader reads {text:?}, which is something else")]
    Other { reader: &'static str, text: String },
}

/// How a print goes wrong.
#[derive(Debug, Clone, Copy)]
struct Spoilt {
    name: &'static str,
    /// How far each dark edge moves outwards, in dots of the printer.
    gain_dots: f64,
    /// Grey of dark and light.
    dark: f64,
    light: f64,
    turned_deg: f64,
}

/// Proves symbols of one size with modules of one width.
///
/// What a camera's pixel sees of a print is the same for all of them and worked out once.
pub struct Proof {
    size: usize,
    spoilt: [Seen; 2],
}

impl Proof {
    /// Prepares the proof of symbols with `size` modules a side of `module_dots` printer's dots.
    pub fn new(size: usize, module_dots: u32) -> Self {
        Self { size, spoilt: [HEAVY, FAINT].map(|spoilt| Seen::new(size, module_dots, spoilt)) }
    }

    /// Reads a symbol back, printed too heavily and too faintly, blurred, lightened and turned.
    ///
    /// The first reader has to find it in both pictures. The decoder of the second gets the
    /// modules of the second picture: its own search needs far larger pictures and fifty times as
    /// long. `None` where both read what it must say.
    pub fn fails(&self, text: &str, modules: &[bool]) -> Option<ProofFailure> {
        if modules.len() != self.size * self.size {
            return Some(ProofFailure::Unread { reader: "first", spoilt: "at all" });
        }
        let [heavy, faint] = &self.spoilt;
        let (dark, light) = (heavy.picture(modules), faint.picture(modules));
        judge(text, "first", heavy.spoilt.name, read_first(&dark))
            .or_else(|| judge(text, "first", faint.spoilt.name, read_first(&light)))
            .or_else(|| judge(text, "second", faint.spoilt.name, faint.read_second(&light)))
    }
}

fn judge(
    wanted: &str,
    reader: &'static str,
    spoilt: &'static str,
    read: Option<String>,
) -> Option<ProofFailure> {
    match read {
        Some(text) if text == wanted => None,
        Some(text) => Some(ProofFailure::Other { reader, text }),
        None => Some(ProofFailure::Unread { reader, spoilt }),
    }
}

/// A print as a camera sees it: three pixels a module, which is what the camera of a phone has of
/// a label at ten times its width.
struct Seen {
    spoilt: Spoilt,
    /// Modules a side.
    size: usize,
    /// Pixels a side.
    side: usize,
    /// For each fine cell of the symbol the modules that ink may reach it from.
    sources: Vec<[u32; 4]>,
    /// For each pixel the four fine cells that it sees.
    cells: Vec<[u32; 4]>,
}

impl Seen {
    fn new(size: usize, module_dots: u32, spoilt: Spoilt) -> Self {
        let side = (size + 8) * PIXELS;
        let gain = spoilt.gain_dots / f64::from(module_dots.max(1));
        let sources = sources(size, gain.abs());
        let mut cells = Vec::with_capacity(side * side);
        for y in 0..side {
            for x in 0..side {
                let at = |dx: f64, dy: f64| {
                    let (column, row) = turned(spoilt, size, (x as f64 + dx, y as f64 + dy));
                    cell(size, column, row)
                };
                cells.push([at(0.25, 0.25), at(0.75, 0.25), at(0.25, 0.75), at(0.75, 0.75)]);
            }
        }
        Self { spoilt, size, side, sources, cells }
    }

    fn picture(&self, modules: &[bool]) -> Picture {
        // One more of each stands for the paper around, so that no place is out of range.
        let mut dark: Vec<u8> = modules.iter().map(|dark| u8::from(*dark)).collect();
        dark.push(0);
        let at = |cells: &[u8], place: u32| cells[place as usize];
        let mut ink: Vec<u8> = if self.spoilt.gain_dots >= 0.0 {
            let any = |of: &[u32; 4]| of.iter().fold(0, |sum, module| sum | at(&dark, *module));
            self.sources.iter().map(any).collect()
        } else {
            let all = |of: &[u32; 4]| of.iter().fold(1, |sum, module| sum & at(&dark, *module));
            self.sources.iter().map(all).collect()
        };
        ink.push(0);
        let Spoilt { dark, light, .. } = self.spoilt;
        let shades: [u8; 5] =
            std::array::from_fn(|quarter| (light + (dark - light) * quarter as f64 / 4.0) as u8);
        let sees = |of: &[u32; 4]| of.iter().map(|cell| at(&ink, *cell)).sum::<u8>();
        let values: Vec<u8> = self.cells.iter().map(|of| shades[usize::from(sees(of))]).collect();
        Picture { side: self.side, values: blurred(&values, self.side) }
    }

    /// Takes the modules from the middles of where they lie, and decodes them.
    fn read_second(&self, picture: &Picture) -> Option<String> {
        let threshold = (self.spoilt.dark + self.spoilt.light) / 2.0;
        let grid = rqrr::SimpleGrid::from_func(self.size, |x, y| {
            let (middle, at) = (self.size as f64 / 2.0, |v: usize| v as f64 + 0.5);
            // The other way round: a point of the symbol is turned into the picture.
            let (sin, cos) = (-self.spoilt.turned_deg).to_radians().sin_cos();
            let (u, v) = (at(x) - middle, at(y) - middle);
            let pixel = |along: f64| (along * PIXELS as f64 + self.side as f64 / 2.0) as usize;
            let (px, py) = (pixel(u * cos + v * sin), pixel(v * cos - u * sin));
            picture.values.get(py * self.side + px).is_some_and(|v| f64::from(*v) < threshold)
        });
        // This reader is known to fail an assertion on some input; that is a symbol not read.
        let read =
            std::panic::catch_unwind(AssertUnwindSafe(|| rqrr::Grid::new(grid).decode().ok()));
        read.ok().flatten().map(|(_, text)| text)
    }
}

/// The modules under the corners of a square of `2 × reach` modules around each fine cell, with
/// one cell of paper around the symbol, where ink may have spread.
fn sources(size: usize, reach: f64) -> Vec<[u32; 4]> {
    let inside = |at: f64| (at >= 0.0).then_some(at as usize).filter(|at| *at < size);
    let module = |column: f64, row: f64| match (inside(column), inside(row)) {
        (Some(column), Some(row)) => (row * size + column) as u32,
        _ => (size * size) as u32,
    };
    let side = size * FINE + 2;
    let middle = |cell: usize| (cell as f64 - 0.5) / FINE as f64;
    let mut sources = Vec::with_capacity(side * side);
    for row in 0..side {
        for column in 0..side {
            let (x, y) = (middle(column), middle(row));
            sources.push([
                module(x - reach, y - reach),
                module(x + reach, y - reach),
                module(x - reach, y + reach),
                module(x + reach, y + reach),
            ]);
        }
    }
    sources
}

/// Where a point of the picture (pixels) lies on the symbol (modules).
fn turned(spoilt: Spoilt, size: usize, (x, y): (f64, f64)) -> (f64, f64) {
    let (sin, cos) = spoilt.turned_deg.to_radians().sin_cos();
    let middle = ((size + 8) * PIXELS) as f64 / 2.0;
    let (u, v) = ((x - middle) / PIXELS as f64, (y - middle) / PIXELS as f64);
    let centre = size as f64 / 2.0;
    (u * cos + v * sin + centre, v * cos - u * sin + centre)
}

/// The fine cell at a place of the symbol (modules); one beyond the last outside it.
fn cell(size: usize, column: f64, row: f64) -> u32 {
    let side = size * FINE + 2;
    let fine = |at: f64| at * FINE as f64 + 1.0;
    let (x, y) = (fine(column), fine(row));
    let inside = |at: f64| at >= 0.0 && at < side as f64;
    if inside(x) && inside(y) {
        (y as usize * side + x as usize) as u32
    } else {
        (side * side) as u32
    }
}

struct Picture {
    side: usize,
    values: Vec<u8>,
}

/// Weights 1, 2, 1 across and down: a spread of 0.7 pixels, a quarter of a module.
fn blurred(values: &[u8], side: usize) -> Vec<u8> {
    let mut across = vec![0_u16; values.len()];
    for (from, to) in values.chunks_exact(side).zip(across.chunks_exact_mut(side)) {
        for (three, to) in from.windows(3).zip(&mut to[1..]) {
            *to = u16::from(three[0]) + 2 * u16::from(three[1]) + u16::from(three[2]);
        }
        // The picture goes on beyond its edges as it ends: there is paper.
        (to[0], to[side - 1]) = (4 * u16::from(from[0]), 4 * u16::from(from[side - 1]));
    }
    let mut both = values.to_vec();
    for y in 1..side - 1 {
        let rows =
            across[(y - 1) * side..].iter().zip(&across[y * side..]).zip(&across[(y + 1) * side..]);
        for (((above, here), below), to) in rows.zip(&mut both[y * side..(y + 1) * side]) {
            *to = ((above + 2 * here + below) / 16) as u8;
        }
    }
    both
}

fn read_first(picture: &Picture) -> Option<String> {
    let options = zxingcpp::read()
        .formats([BarcodeFormat::QRCode])
        .try_harder(false)
        .try_rotate(false)
        .try_downscale(false)
        .try_invert(false)
        .max_number_of_symbols(1);
    let side = picture.side as u32;
    let view = ImageView::from_slice(&picture.values, side, side, ImageFormat::Lum).ok()?;
    options.from(view).ok()?.first().map(zxingcpp::Barcode::text)
}

/// Pixels of a module in the eye of a camera.
const PIXELS: usize = 3;
/// Cells of a module in which the spread of ink is drawn.
const FINE: usize = 4;

/// Printed too heavily: each dark edge a quarter of a dot too far out, on grey paper.
const HEAVY: Spoilt =
    Spoilt { name: "too heavily", gain_dots: 0.25, dark: 70.0, light: 190.0, turned_deg: 7.0 };
/// Printed too faintly: each dark edge a quarter of a dot too far in, and dark only a mid grey.
const FAINT: Spoilt =
    Spoilt { name: "too faintly", gain_dots: -0.25, dark: 130.0, light: 235.0, turned_deg: -5.0 };

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Level, symbol};

    #[test]
    fn a_good_symbol_passes_at_every_size_of_module() {
        for text in ["MPU4F7Q2K9", "HTTPS://STORES-7.MARROW-POINT.EXAMPLE:8443/L/MPU4F7Q2K9"] {
            for least in Level::FALLING {
                let made = symbol(text, least).unwrap();
                for module_dots in [2, 3, 4, 8, 24] {
                    let failure = Proof::new(made.size, module_dots).fails(text, &made.modules);
                    assert_eq!(failure, None, "{text} {least:?} {module_dots}");
                }
            }
        }
    }

    #[test]
    fn a_symbol_that_says_something_else_fails() {
        let made = symbol("MPU4F7Q2K8", Level::M).unwrap();
        let failure = Proof::new(21, 3).fails("MPU4F7Q2K9", &made.modules);
        assert!(matches!(failure, Some(ProofFailure::Other { .. })), "{failure:?}");
        assert!(failure.unwrap().to_string().contains("MPU4F7Q2K8"));
    }

    #[test]
    fn a_symbol_that_is_spoilt_or_too_fine_fails() {
        let text = "MPU4F7Q2K9";
        let made = symbol(text, Level::M).unwrap();
        let proof = Proof::new(21, 3);
        assert!(proof.fails(text, &[false; 21 * 21]).is_some());
        assert!(proof.fails(text, &made.modules[1..]).is_some());
        let mut striped = made.modules.clone();
        striped[8 * 21..13 * 21].fill(true);
        assert!(proof.fails(text, &striped).is_some());
        let mut no_finder = made.modules.clone();
        for row in 0..7 {
            no_finder[row * 21..row * 21 + 7].fill(true);
        }
        assert!(proof.fails(text, &no_finder).is_some());
    }

    /// The second reader's decoder alone must notice what the first might mend.
    #[test]
    fn the_modules_are_taken_from_where_they_lie() {
        let text = "MPU4F7Q2K9";
        let made = symbol(text, Level::M).unwrap();
        for spoilt in [HEAVY, FAINT] {
            let seen = Seen::new(21, 2, spoilt);
            assert_eq!(seen.read_second(&seen.picture(&made.modules)).as_deref(), Some(text));
        }
    }
}
