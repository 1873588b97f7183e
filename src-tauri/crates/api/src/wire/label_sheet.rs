use super::label::SheetInput;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a printer that is off needs: where a point is put so that it comes out right.
#[derive(Debug, Clone, Copy, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Correction {
    /// Moves everything to the right; to the left where below zero.
    #[serde(default)]
    pub offset_x_mm: f64,
    /// Moves everything down; up where below zero.
    #[serde(default)]
    pub offset_y_mm: f64,
    /// Multiplies distances from the left edge, 0.9 to 1.1.
    #[serde(default = "one")]
    pub scale_x: f64,
    /// Multiplies distances from the top edge, 0.9 to 1.1.
    #[serde(default = "one")]
    pub scale_y: f64,
}

fn one() -> f64 {
    1.0
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TestPageInput {
    /// Name of the sheet whose labels are outlined; the first of the list where nothing is given.
    pub format: Option<String>,
    /// Prints with this correction, to see whether it is right.
    pub correction: Option<Correction>,
}

/// What a person measured on a test page that was printed without correction.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AdjustmentInput {
    /// Name of the sheet that the test page was printed for.
    pub format: Option<String>,
    /// Left edge of the paper to the middle of cross A.
    pub left_mm: f64,
    /// Top edge of the paper to the middle of cross A.
    pub top_mm: f64,
    /// Cross A to cross B.
    pub across_mm: f64,
    /// Cross A to cross C.
    pub down_mm: f64,
}

/// What is asked of a label.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DesignInput {
    /// Name of a sheet or roll, for the size of its labels; or give width and height.
    pub format: Option<String>,
    /// Width of a label, mm; goes with `height_mm`.
    pub width_mm: Option<f64>,
    /// Height of a label, mm; goes with `width_mm`.
    pub height_mm: Option<f64>,
    /// Dots of the printer on an inch (300).
    pub dpi: Option<u32>,
    /// The text of the symbol; a label of ten characters where nothing is given.
    pub text: Option<String>,
    /// Write the link form, with this door address in front.
    pub link_base: Option<String>,
    /// A line beside the label's own, e.g. an address.
    pub second_line: Option<String>,
    /// Distance from which it must be read; none is asked where nothing is given.
    pub distance_mm: Option<f64>,
    /// Least error correction: `L`, `M`, `Q` or `H` (M).
    pub least_level: Option<String>,
}

/// The label that meets what was asked.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Design {
    /// Characters in the symbol.
    pub length: u32,
    pub version: u32,
    /// Error correction that the symbol has: `L`, `M`, `Q` or `H`.
    pub level: String,
    /// Modules a side, without the quiet zone.
    pub modules: u32,
    /// Dots of the printer in a module.
    pub module_dots: u32,
    pub module_mm: f64,
    /// Width of the symbol without its quiet zone.
    pub symbol_mm: f64,
    /// Width of the symbol with the quiet zone on both sides.
    pub with_quiet_mm: f64,
    /// Distance from which it is read: ten times the width.
    pub distance_mm: f64,
    /// Size of the line that people read, in points.
    pub human_pt: f64,
    pub message: String,
}

/// Which page of which sheet is looked at before it is printed.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PreviewInput {
    /// What would be printed.
    pub sheet: SheetInput,
    /// Counted from 1; the first where nothing is given.
    pub page: Option<u32>,
}

/// A page as it will be printed; measures from its upper left corner.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Preview {
    /// Name of the sheet or roll.
    pub format: String,
    pub page_width_mm: f64,
    pub page_height_mm: f64,
    pub label_width_mm: f64,
    pub label_height_mm: f64,
    /// Counted from 1.
    pub page: u32,
    pub pages: u32,
    /// All labels together.
    pub labels: u32,
    /// Upper left corners of all places on the page, as the sheet was cut.
    pub places: Vec<PlaceLine>,
    pub printed: Vec<PrintedLabel>,
    /// Width of every module.
    pub module_mm: f64,
    /// Distance from which the narrowest symbol is read.
    pub distance_mm: f64,
    /// Size of the lines that people read, in points.
    pub human_pt: f64,
}

#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct PlaceLine {
    pub x_mm: f64,
    pub y_mm: f64,
}

/// One label on the page.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PrintedLabel {
    /// Position on the page, counted from 1.
    pub place: u32,
    pub label: String,
    /// Modules a side of the symbol.
    pub modules: u32,
    /// The symbol row by row, `1` dark and `0` light.
    pub symbol: String,
    /// Upper left corner of the first module.
    pub x_mm: f64,
    pub y_mm: f64,
    pub rows: Vec<PrintedRow>,
}

/// One row of text.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PrintedRow {
    pub text: String,
    pub bold: bool,
    pub size_pt: f64,
    pub x_mm: f64,
    /// Where the letters stand.
    pub baseline_mm: f64,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DoorSheetInput {
    /// Address or label of the cabinet.
    pub cabinet: String,
    /// `a4` or `letter` (a4).
    pub page: Option<String>,
}
