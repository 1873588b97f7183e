use crate::{TextMode, capacity, smallest};
use fast_qr::{ECL, Mask, Mode, QRBuilder, QRCode, Version};
use slotkeep_domain::in_parallel;

/// A QR symbol without its quiet zone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Symbol {
    /// 1 to 40; a side has 17 + 4 × version modules.
    pub version: u32,
    pub level: Level,
    /// Modules a side.
    pub size: usize,
    /// Row by row; true is dark.
    pub modules: Vec<bool>,
}

/// Error correction level: about 7, 15, 25 and 30 % of the codewords (ISO/IEC 18004).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    L,
    M,
    Q,
    H,
}

/// Why a text cannot be a symbol.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SymbolRefusal {
    #[error("an empty text cannot be a symbol: give it something to say")]
    Empty,
    #[error("{length} characters do not fit a QR symbol of level {least:?}: shorten the text")]
    TooLong { length: usize, least: Level },
    #[error(
        "version {version} with mask {mask} is no QR symbol: versions are 1 to 40, masks 0 to 7"
    )]
    NoSuch { version: u32, mask: u32 },
    #[error("this text cannot be written in {mode:?} mode: byte mode takes every text")]
    Mode { mode: TextMode },
}

impl Level {
    pub const FALLING: [Self; 4] = [Self::H, Self::Q, Self::M, Self::L];

    pub(crate) fn ecl(self) -> ECL {
        match self {
            Self::L => ECL::L,
            Self::M => ECL::M,
            Self::Q => ECL::Q,
            Self::H => ECL::H,
        }
    }
}

impl Symbol {
    /// Whether a module is dark; everything outside the symbol is light.
    pub fn is_dark(&self, x: usize, y: usize) -> bool {
        x < self.size && y < self.size && self.modules[y * self.size + x]
    }
}

/// Makes the smallest symbol that holds a text at level `least` or better, and then raises the
/// level as far as that size allows.
///
/// Capital letters, digits and `$%*+-./: ` alone take 5.5 bits each (alphanumeric mode).
///
/// Fails when the text is empty or fits no symbol.
pub fn symbol(text: &str, least: Level) -> Result<Symbol, SymbolRefusal> {
    if text.is_empty() {
        return Err(SymbolRefusal::Empty);
    }
    let too_long = || SymbolRefusal::TooLong { length: text.chars().count(), least };
    let mode = TextMode::of(text);
    let (version, level) = smallest(text.len(), mode, least).ok_or_else(too_long)?;
    let mut builder = QRBuilder::new(text);
    let made = builder.version(VERSIONS[version as usize - 1]).ecl(level.ecl()).build();
    made.map(|code| taken(&code, version, level)).map_err(|_| too_long())
}

/// Makes the symbols of many texts at once, on all processors of the machine.
///
/// Fails as [`symbol`] does, with the first text that does not fit.
pub fn symbols(texts: &[String], least: Level) -> Result<Vec<Symbol>, SymbolRefusal> {
    in_parallel(texts, |text| symbol(text, least)).into_iter().collect()
}

/// Makes the symbol of a text with version, level, mask pattern (0 to 7) and mode all chosen.
///
/// Fails when the text is empty, does not fit or cannot be written in the mode, and when a version
/// or mask does not exist.
pub fn symbol_of(
    text: &str,
    version: u32,
    level: Level,
    mask: u32,
    mode: TextMode,
) -> Result<Symbol, SymbolRefusal> {
    encoded(text, version, level, mask, mode).map(|code| taken(&code, version, level))
}

/// As [`symbol_of`], with what each module is for.
pub(crate) fn encoded(
    text: &str,
    version: u32,
    level: Level,
    mask: u32,
    mode: TextMode,
) -> Result<QRCode, SymbolRefusal> {
    if text.is_empty() {
        return Err(SymbolRefusal::Empty);
    }
    let number = version.checked_sub(1).and_then(|at| VERSIONS.get(at as usize));
    let (Some(number), Some(pattern)) = (number, MASKS.get(mask as usize)) else {
        return Err(SymbolRefusal::NoSuch { version, mask });
    };
    let packed = match (mode, TextMode::of(text)) {
        (TextMode::Numeric, TextMode::Numeric) => Mode::Numeric,
        (TextMode::Alphanumeric, TextMode::Numeric | TextMode::Alphanumeric) => Mode::Alphanumeric,
        (TextMode::Byte, _) => Mode::Byte,
        _ => return Err(SymbolRefusal::Mode { mode }),
    };
    let too_long = || SymbolRefusal::TooLong { length: text.chars().count(), least: level };
    if text.len() > capacity(version, level, mode) {
        return Err(too_long());
    }
    let mut builder = QRBuilder::new(text);
    let made = builder.version(*number).ecl(level.ecl()).mask(*pattern).mode(packed).build();
    made.map_err(|_| too_long())
}

fn taken(code: &QRCode, version: u32, level: Level) -> Symbol {
    let size = code.size;
    let modules = code.data[..size * size].iter().map(|module| module.value()).collect();
    Symbol { version, level, size, modules }
}

const VERSIONS: [Version; 40] = {
    use Version::*;
    [
        V01, V02, V03, V04, V05, V06, V07, V08, V09, V10, V11, V12, V13, V14, V15, V16, V17, V18,
        V19, V20, V21, V22, V23, V24, V25, V26, V27, V28, V29, V30, V31, V32, V33, V34, V35, V36,
        V37, V38, V39, V40,
    ]
};

const MASKS: [Mask; 8] = [
    Mask::Checkerboard,
    Mask::HorizontalLines,
    Mask::VerticalLines,
    Mask::DiagonalLines,
    Mask::LargeCheckerboard,
    Mask::Fields,
    Mask::Diamonds,
    Mask::Meadow,
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Capacities of alphanumeric mode: ISO/IEC 18004, table 7.
    #[test]
    fn symbols_are_as_small_as_the_standard_allows() {
        for (length, least, version, level) in [
            (10, Level::M, 1, Level::H),
            (11, Level::M, 1, Level::Q),
            (16, Level::M, 1, Level::Q),
            (17, Level::M, 1, Level::M),
            (20, Level::M, 1, Level::M),
            (21, Level::M, 2, Level::Q),
            (29, Level::M, 2, Level::Q),
            (38, Level::M, 2, Level::M),
            (39, Level::M, 3, Level::Q),
            (4296, Level::L, 40, Level::L),
        ] {
            let text = "A7".repeat(length).chars().take(length).collect::<String>();
            let made = symbol(&text, least).unwrap();
            assert_eq!((made.version, made.level), (version, level), "{length} characters");
            assert_eq!(made.modules.len(), made.size * made.size);
        }
    }

    #[test]
    fn what_is_too_long_is_refused_with_its_length() {
        let refusal = symbol(&"A".repeat(3392), Level::M).unwrap_err();
        assert!(refusal.to_string().contains("3392"));
        assert_eq!(symbol("", Level::M), Err(SymbolRefusal::Empty));
    }
}
