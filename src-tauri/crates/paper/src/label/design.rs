//! Label design by physics: what a printer, a label and a text can do together.

use super::arrange::{Wish, misfit, shared};
use super::fit::{Item, Size};
use super::printing::{check_distance, check_dpi};
use crate::PaperRefusal;
use slotkeep_optics::{
    Level, TextMode, distance_mm, side_modules, smallest, symbol_mm, with_quiet_mm,
};

/// What is asked of a label.
#[derive(Debug, Clone, PartialEq)]
pub struct LabelWish {
    pub dpi: u16,
    pub width_mm: f64,
    pub height_mm: f64,
    /// Characters of the text in the symbol (bytes where it is in byte mode).
    pub length: usize,
    pub mode: TextMode,
    /// Least error correction.
    pub least: Level,
    /// Distance from which it must be read; 0 where none is asked.
    pub distance_mm: f64,
    /// The line that people read.
    pub human_line: String,
    /// What the thing is; may be empty.
    pub second_line: String,
}

/// The label that meets it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabelDesign {
    pub version: u32,
    pub level: Level,
    /// Modules a side, without the quiet zone.
    pub modules: u32,
    pub module_dots: u32,
    pub module_mm: f64,
    /// Width of the symbol without its quiet zone.
    pub symbol_mm: f64,
    pub with_quiet_mm: f64,
    /// Distance from which it is read.
    pub distance_mm: f64,
    /// Size of the human line.
    pub human_pt: f64,
}

/// Chooses version, level and module of a symbol in whole dots for a label.
///
/// The smallest version that holds the text at level `least` has the largest modules, and takes
/// the highest level that costs no larger version. The label keeps room for its human line.
///
/// Fails with what cannot be met, and with what would meet it.
pub fn design(wish: &LabelWish) -> Result<LabelDesign, PaperRefusal> {
    check_dpi(wish.dpi)?;
    check_distance(wish.distance_mm)?;
    let (width_mm, height_mm) = (wish.width_mm, wish.height_mm);
    for (what, side_mm) in [("width", width_mm), ("height", height_mm)] {
        if !(4.0..=420.0).contains(&side_mm) {
            return Err(PaperRefusal::LabelSide { what, side_mm });
        }
    }
    let Some((version, level)) = smallest(wish.length.max(1), wish.mode, wish.least) else {
        return Err(PaperRefusal::TextBeyond { length: wish.length });
    };
    let name = format!("of one label {width_mm} x {height_mm} mm");
    let size = Size { name: &name, width_mm, height_mm };
    let modules = side_modules(version);
    let items = [Item::new(modules as usize, &wish.human_line, &wish.second_line)];
    let asked = Wish { dpi: wish.dpi, distance_mm: wish.distance_mm };
    let found = shared(size, &items, asked).ok_or_else(|| misfit(size, &items, asked))?;
    let module_mm = asked.module_mm(found.module_dots);
    Ok(LabelDesign {
        version,
        level,
        modules,
        module_dots: found.module_dots as u32,
        module_mm,
        symbol_mm: symbol_mm(version, module_mm),
        with_quiet_mm: with_quiet_mm(version, module_mm),
        distance_mm: distance_mm(symbol_mm(version, module_mm)),
        human_pt: found.human_pt,
    })
}
