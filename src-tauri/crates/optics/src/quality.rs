//! Quality of a printed symbol in a photo or scan, in the terms of ISO/IEC 15415.
//!
//! The thresholds of contrast, modulation and unused error correction are those that a public
//! manual of a measuring device quotes from the standard; those of axial and grid non-uniformity
//! and of fixed patterns (ISO/IEC 18004) are from memory. A photo is no calibrated measurement:
//! light paper is taken as 100 %, and the camera's own tilt shows as stretching.

mod codewords;
mod edges;
mod grades;
mod grid;

pub use grades::{Grade, Graded};

use crate::{Blocks, Grey, Level, TextMode, smallest};
use codewords::Plan;
pub(crate) use codewords::zigzag;
use grades::{Notional, falling, rising};
use grid::{Grid, Light};

/// A graded symbol; 4 is best (A), 0 worst (F).
#[derive(Debug, Clone, PartialEq)]
pub struct Quality {
    pub version: u32,
    pub level: Level,
    /// Corners in px, from the symbol's own top left, clockwise, found anew from its edges.
    pub corners: [(f32, f32); 4],
    pub module_px: f64,
    /// Highest less lowest reflectance of a module, as a share of the highest.
    pub contrast: Graded,
    /// Lowest modulation of a module; graded codeword by codeword.
    pub modulation: Graded,
    /// The same where a module on the wrong side counts as nothing.
    pub margin: Graded,
    /// Share of the error correction that is not needed.
    pub unused_correction: Graded,
    /// Difference of the module's width and height over their mean.
    pub axial: Graded,
    /// Largest shift of a part of the grid, in modules.
    pub grid: Graded,
    /// Wrong modules of the finder, timing and alignment patterns.
    pub fixed_patterns: Graded,
    /// How far each dark edge is out, in modules; below zero where ink is missing. Not graded.
    pub growth: f64,
    /// The lowest of them.
    pub overall: Grade,
}

/// Why a symbol cannot be graded.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum QualityRefusal {
    #[error(
        "a module is only {module_px:.1} pixels wide here: go closer or scan it finer, {} are needed",
        MODULE_PX
    )]
    TooSmall { module_px: f64 },
    #[error("the symbol does not agree with its text, module by module: take a straighter photo")]
    NoMatch,
    #[error("nothing is dark or light here: take the photo in better light")]
    Blank,
}

/// Grades a symbol that was read: what it says and where its corners are.
///
/// The text is encoded again, so that what every module should be is known; the grid is then
/// fitted to the edges of the modules.
///
/// Fails when the symbol is too small in the picture, has no contrast at all, or was made in
/// another way than ours are.
pub fn quality(
    grey: &Grey,
    corners: [(f32, f32); 4],
    text: &str,
) -> Result<Quality, QualityRefusal> {
    let light = Light::new(grey);
    let (plan, corners) = matched(&light, corners, text)?;
    let mut grid = Grid::new(corners, plan.size);
    let mut fitted = edges::Fitted::default();
    for _ in 0..4 {
        let threshold = Measured::new(&light, &grid, &plan).threshold();
        let seen = edges::measure(&light, &grid, &plan, threshold);
        (grid, fitted) = edges::fit(&grid, seen);
    }
    let module_px = grid.module_px();
    if module_px.0.min(module_px.1) < MODULE_PX {
        return Err(QualityRefusal::TooSmall { module_px: module_px.0.min(module_px.1) });
    }
    let measured = Measured::new(&light, &grid, &plan);
    if measured.contrast() < 0.02 {
        return Err(QualityRefusal::Blank);
    }
    Ok(graded(&plan, &grid, &measured, &fitted))
}

fn graded(plan: &Plan, grid: &Grid, measured: &Measured, fitted: &edges::Fitted) -> Quality {
    let (across, down) = grid.module_px();
    let modulations = measured.modulations();
    let wrong = measured.wrong(plan);
    let margins: Vec<f64> = modulations
        .iter()
        .zip(&wrong)
        .map(|(modulation, wrong)| if *wrong { 0.0 } else { *modulation })
        .collect();
    let least = |values: &[f64]| values.iter().copied().fold(f64::INFINITY, f64::min);
    let by_codeword = |values: &[f64]| Graded {
        value: least(values),
        grade: Notional::new(plan).grade(&plan.lowest(values)),
    };
    let axial = 2.0 * (across - down).abs() / (across + down);
    let unused = Notional::new(plan).unused(&plan.wrong(&wrong));
    let contrast = measured.contrast();
    let fixed = plan.fixed_damage(&wrong);
    let mut quality = Quality {
        version: plan.version,
        level: plan.level,
        corners: grid.corners(),
        module_px: (across + down) / 2.0,
        contrast: Graded { value: contrast, grade: falling(contrast, [0.70, 0.55, 0.40, 0.20]) },
        modulation: by_codeword(&modulations),
        margin: by_codeword(&margins),
        unused_correction: Graded { value: unused, grade: grades::unused_grade(unused) },
        axial: Graded { value: axial, grade: rising(axial, [0.06, 0.08, 0.10, 0.12]) },
        grid: Graded {
            value: fitted.largest_shift,
            grade: rising(fitted.largest_shift, [0.38, 0.50, 0.63, 0.75]),
        },
        fixed_patterns: fixed,
        growth: fitted.growth,
        overall: Grade(0),
    };
    quality.overall =
        quality.parameters().into_iter().map(|one| one.grade).min().unwrap_or(Grade(0));
    quality
}

impl Quality {
    fn parameters(&self) -> [Graded; 7] {
        [
            self.contrast,
            self.modulation,
            self.margin,
            self.unused_correction,
            self.axial,
            self.grid,
            self.fixed_patterns,
        ]
    }
}

/// In px, clockwise from the symbol's own top left.
type Corners = [(f64, f64); 4];

/// Finds version, level and mask, and corners that suit them.
fn matched(
    light: &Light<'_>,
    corners: [(f32, f32); 4],
    text: &str,
) -> Result<(Plan, Corners), QualityRefusal> {
    let corners = corners.map(|(x, y)| (f64::from(x), f64::from(y)));
    let mode = TextMode::of(text);
    let mut sizes: Vec<(u32, Level)> = Vec::new();
    for least in Level::FALLING {
        sizes.extend(smallest(text.len(), mode, least));
        // A symbol may also have been made at just the level that was asked for.
        sizes.extend(smallest(text.len(), mode, least).map(|(version, _)| (version, least)));
    }
    sizes.sort_unstable();
    sizes.dedup();
    let mut best: Option<(f64, Plan, Corners)> = None;
    for (version, level) in sizes {
        let Some(pattern) = Plan::new(text, version, level, 0) else { continue };
        let near = grid::climbed(light, corners, &pattern.fixed(), pattern.size);
        for mask in 0..8 {
            let Some(plan) = Plan::new(text, version, level, mask) else { continue };
            let share = grid::agreement(light, &Grid::new(near, plan.size), &plan.modules, |at| {
                plan.is_data(at)
            });
            if best.as_ref().is_none_or(|(most, ..)| share > *most) {
                best = Some((share, plan, near));
            }
        }
    }
    match best {
        Some((share, plan, near)) if share >= AGREES => Ok((plan, near)),
        _ => Err(QualityRefusal::NoMatch),
    }
}

/// The reflectance of every module, seen through a round aperture of 0.8 modules.
struct Measured {
    values: Vec<f64>,
    highest: f64,
    lowest: f64,
}

impl Measured {
    fn new(light: &Light<'_>, grid: &Grid, plan: &Plan) -> Self {
        let side = plan.size;
        let middle = |at: usize| at as f64 + 0.5;
        let values: Vec<f64> = (0..side * side)
            .map(|at| grid.reflectance(light, middle(at % side), middle(at / side)))
            .collect();
        // The quiet zone is light too: one module around the symbol belongs to what is measured.
        let last = side as f64 + 0.5;
        let around = (0..side).flat_map(|at| {
            let at = middle(at);
            [(at, -0.5), (at, last), (-0.5, at), (last, at)]
        });
        let paper = around.map(|(x, y)| grid.reflectance(light, x, y)).fold(0.0, f64::max);
        let highest = values.iter().copied().fold(paper, f64::max);
        let lowest = values.iter().copied().fold(f64::INFINITY, f64::min);
        Self { values, highest, lowest }
    }

    fn threshold(&self) -> f64 {
        (self.highest + self.lowest) / 2.0
    }

    fn contrast(&self) -> f64 {
        if self.highest > 0.0 { (self.highest - self.lowest) / self.highest } else { 0.0 }
    }

    /// Twice the distance from the threshold over the contrast, module by module.
    fn modulations(&self) -> Vec<f64> {
        let (threshold, spread) = (self.threshold(), (self.highest - self.lowest).max(1e-9));
        self.values.iter().map(|value| 2.0 * (value - threshold).abs() / spread).collect()
    }

    /// Which modules are on the wrong side of the threshold.
    fn wrong(&self, plan: &Plan) -> Vec<bool> {
        let threshold = self.threshold();
        self.values.iter().zip(&plan.modules).map(|(v, dark)| (*v < threshold) != *dark).collect()
    }
}

/// Pixels of a module that grading needs. The standard's own devices have about ten.
const MODULE_PX: f64 = 4.0;
/// Share of data modules that must be as encoded. Level H corrects 31 % wrong codewords; another
/// text agrees in half of them, with a spread of 3.5 % in version 1.
const AGREES: f64 = 0.70;

#[cfg(test)]
mod tests;
