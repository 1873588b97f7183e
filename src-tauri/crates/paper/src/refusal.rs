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
        "The {what} of {value} is outside {lowest} to {highest}. \
         Measure a test sheet and enter the difference again."
    )]
    Adjustment { what: &'static str, value: f64, lowest: f64, highest: f64 },

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
