use super::label_sheet::Correction;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ResolveInput {
    /// What was scanned or typed.
    pub text: String,
}

/// What a scanned or typed text stands for.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Thing {
    pub kind: ThingKind,
    /// The text that was read, shortened where it is long.
    pub text: String,
    /// The label, where it is one of ours.
    pub label: Option<String>,
    pub label_human: Option<String>,
    /// Label or address to open it by.
    pub key: Option<String>,
    /// A unit that was scrapped: its label outlived it.
    pub scrapped: bool,
    /// What it is, or why it is nothing of ours and what to do.
    pub message: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ThingKind {
    Unit,
    Slot,
    Bin,
    Lot,
    Cabinet,
    /// A label of this or another site that is not in the register.
    Unknown,
    /// A code of somebody else.
    Foreign,
    /// A label misread or mistyped, or a symbol too damaged to read.
    Damaged,
}

/// What a photo shows.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PhotoReading {
    pub width_px: u32,
    pub height_px: u32,
    /// Left to right.
    pub found: Vec<FoundLabel>,
    /// Rows of symbols of one size, the uppermost first; a single symbol is a row too.
    pub rails: Vec<FoundRail>,
    pub message: String,
}

/// Symbols in one row, as they stand on a rail.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FoundRail {
    /// Places in `found`, counted from 0, from the left as the labels are read.
    pub order: Vec<u32>,
    /// Distance from one slot to the next, px, where at least two distances agree.
    pub pitch_px: Option<f32>,
}

/// Rails as several photos show them.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MergeInput {
    /// For each photo its rails, for each rail its labels from the left.
    pub photos: Vec<Vec<Vec<SeenLabel>>>,
}

/// A label as one photo shows it.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SeenLabel {
    /// What was read.
    pub text: String,
    /// Recognised only, see `FoundLabel.confirm`.
    #[serde(default)]
    pub confirm: bool,
}

/// Rails put together from several photos.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MergedRails {
    pub rails: Vec<MergedRail>,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MergedRail {
    /// From the left as the labels are read.
    pub labels: Vec<MergedLabel>,
    /// Texts that two photos show at different places of the order.
    pub contradictions: Vec<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MergedLabel {
    /// In how many photos it was read.
    pub photos: u32,
    /// Recognised only, and by one photo only: a person has to agree.
    pub confirm: bool,
    pub thing: Thing,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FoundLabel {
    /// Corners in px, clockwise from the symbol's own top left.
    pub corners: Vec<Corner>,
    /// `QR Code`, `Data Matrix`, `Code 128`, ...
    pub symbology: String,
    /// Which pass read it: `first`, `enlarged`, `equalised`, `second`, `register`.
    pub reader: String,
    /// `corrected`: the symbol's own error correction holds. `recognised`: it does not, but one
    /// label of the register agrees so well that a foreign symbol would do so less than once in a
    /// billion times. `unread`: nothing is known but the place.
    pub surety: String,
    /// A person, or a second photo, has to agree before this label is acted upon.
    pub confirm: bool,
    pub thing: Thing,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Corner {
    /// From the left, px.
    pub x: f32,
    /// From the top, px.
    pub y: f32,
}

/// A sheet or roll that labels are printed on.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FormatLine {
    pub name: String,
    pub title: String,
    pub label_width_mm: f64,
    pub label_height_mm: f64,
    /// Labels on one page.
    pub per_page: u32,
}

/// Which labels.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LabelChoice {
    /// Labels of what is in this cabinet: itself, its slots and the units in them.
    pub cabinet: Option<String>,
    /// Labels of what is in this storeroom: bins, units and lots.
    pub storeroom: Option<String>,
    /// Only these kinds: `unit`, `slot`, `bin`, `lot`, `cabinet`.
    pub kinds: Option<Vec<String>>,
    /// Exactly these labels or addresses.
    pub things: Option<Vec<String>>,
}

/// One label as it will be printed.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LabelLine {
    pub kind: String,
    pub label: String,
    pub label_human: String,
    /// Address, or model and serial.
    pub name: String,
    /// Modules a side of the symbol.
    pub modules: u32,
    /// The symbol row by row, `1` dark and `0` light.
    pub symbol: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SheetInput {
    /// Which labels.
    #[serde(default)]
    pub labels: LabelChoice,
    /// Name of a format; the first of the list where nothing is given.
    pub format: Option<String>,
    /// First free position of the first sheet, counted from 1.
    pub start: Option<u32>,
    /// Dots of the printer on an inch (300).
    pub dpi: Option<u32>,
    /// Puts right a printer that shifts or shrinks the page.
    pub correction: Option<Correction>,
    /// Write the link form for phones' own cameras, with this door address in front.
    pub link_base: Option<String>,
    /// Distance from which every label must be read; none is asked where nothing is given.
    pub distance_mm: Option<f64>,
    /// Least error correction: `L`, `M`, `Q` or `H` (M).
    pub least_level: Option<String>,
}
