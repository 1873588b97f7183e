use slotkeep_optics::ProofFailure;

/// Why a page was not made, and what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PaperRefusal {
    #[error("There is no label sheet called {name}. Choose one of: {known}.")]
    UnknownFormat { name: String, known: String },

    #[error("There is no label to print. Choose at least one thing to label.")]
    NoLabels,

    #[error(
        "Start position {start} is not on sheet {format}: it has {places} labels. \
         Choose a number from 1 to {places}."
    )]
    StartBeyond { format: String, start: usize, places: usize },

    #[error(
        "Label {text} does not fit on sheet {format}: a label there is {width_mm} x {height_mm} mm. \
         The smallest label that would do is {needed_width_mm:.1} x {needed_height_mm:.1} mm; \
         choose a sheet with larger labels or a shorter label text."
    )]
    LabelTooSmall {
        format: String,
        text: String,
        width_mm: f64,
        height_mm: f64,
        needed_width_mm: f64,
        needed_height_mm: f64,
    },

    #[error(
        "The line \u{201c}{text}\u{201d} is too long for sheet {format}. \
         Shorten it, leave it out, or choose a sheet with larger labels."
    )]
    TextTooLong { format: String, text: String },

    #[error(
        "The line \u{201c}{text}\u{201d} holds the character \u{201c}{character}\u{201d} (U+{code:04X}), \
         which the label font cannot print. Write it with Latin, Greek or Cyrillic letters.",
        code = *character as u32
    )]
    CannotPrint { text: String, character: char },

    #[error(
        "A printer of {dpi} dots per inch is outside 150 to 1200. Common ones have 203, 300 or 600."
    )]
    Resolution { dpi: u16 },

    #[error(
        "A reading distance of {distance_mm} mm is outside 0 to 3000. Labels are read from a tenth \
         of a metre to a metre; further away, use a sign."
    )]
    Distance { distance_mm: f64 },

    #[error("A label {side_mm} mm in {what} is outside 4 to 420 mm. Measure it in mm.")]
    LabelSide { what: &'static str, side_mm: f64 },

    #[error("{length} characters fit no QR symbol. Use the label text, which has 10.")]
    TextBeyond { length: usize },

    #[error(
        "Sheet {format} cannot be read from {wanted_mm} mm: its symbols are read from \
         {reached_mm} mm at most, ten times their width. What would do: a label of at least \
         {needed_width_mm:.1} x {needed_height_mm:.1} mm; or a distance of {reached_mm} mm{}{}.",
        finer_dpi.map_or(String::new(), |dpi| format!("; or a printer of {dpi} dots per inch")),
        if *compact { "; or the short text in place of the link" } else { "" }
    )]
    TooFar {
        format: String,
        wanted_mm: f64,
        reached_mm: f64,
        needed_width_mm: f64,
        needed_height_mm: f64,
        /// The least resolution at which it could be.
        finer_dpi: Option<u16>,
        /// Whether the label text alone, without a link, could be.
        compact: bool,
    },

    #[error(
        "The symbol of label {text} was not read back from a proof of sheet {format} ({failure}). \
         Nothing was printed. Choose a sheet with larger labels, a printer with more dots on an \
         inch, or the short text in place of the link."
    )]
    NotReadBack { format: String, text: String, failure: ProofFailure },

    #[error(
        "The {what} of {value} is outside {lowest} to {highest}. \
         Measure a test sheet and enter the difference again."
    )]
    Adjustment { what: &'static str, value: f64, lowest: f64, highest: f64 },

    #[error(
        "A roll ({format}) has no room for crosses and rulers. Print one label of it, measure how \
         far its symbol is off, and enter the offset with the opposite sign."
    )]
    RollTestPage { format: String },

    #[error(
        "The {what} was measured as {value} mm, but cross and ruler say {wanted} mm: a printer is \
         never so far off. Measure again in mm, to the middle of the crosses."
    )]
    Measure { what: &'static str, value: f64, wanted: f64 },

    #[error(
        "With this offset and scale the labels of sheet {format} leave the page. \
         Use a smaller offset or a scale nearer to 1."
    )]
    OffPage { format: String },

    #[error(
        "A symbol of {size} modules a side needs {needed} modules, but {given} were given. \
         Make the symbol again from its text."
    )]
    SymbolShape { size: usize, needed: usize, given: usize },
}
