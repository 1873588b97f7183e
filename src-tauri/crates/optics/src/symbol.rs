use fast_qr::{ECL, QRBuilder, Version};

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
}

impl Level {
    const FALLING: [Self; 4] = [Self::H, Self::Q, Self::M, Self::L];

    fn ecl(self) -> ECL {
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
    let smallest = QRBuilder::new(text).ecl(least.ecl()).build().map_err(|_| too_long())?;
    let side = smallest.size;
    let version = ((side - 17) / 4) as u32;
    let (level, code) = Level::FALLING
        .into_iter()
        .filter(|level| *level > least)
        .find_map(|level| {
            let code = QRBuilder::new(text).ecl(level.ecl()).build().ok()?;
            (code.size == side).then_some((level, code))
        })
        .unwrap_or((least, smallest));
    debug_assert_eq!(code.version.map(version_number), Some(version));
    let modules = code.data[..side * side].iter().map(|module| module.value()).collect();
    Ok(Symbol { version, level, size: side, modules })
}

fn version_number(version: Version) -> u32 {
    version as u32 + 1
}

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
