//! What a QR symbol holds. Source: ISO/IEC 18004, tables 1, 7 and 9, from memory; the figures of
//! versions 1 to 24 are compared with a published table by the tests.

use crate::Level;

/// How characters are packed into bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TextMode {
    /// Digits alone: 10 bits for three.
    Numeric,
    /// Digits, capital letters and `$%*+-./: `: 11 bits for two.
    Alphanumeric,
    /// 8 bits for each byte.
    Byte,
    /// Shift JIS double-byte characters: 13 bits for each.
    Kanji,
}

/// Error correction of a symbol: how its codewords are divided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Blocks {
    pub count: usize,
    /// Error correction codewords of each block.
    pub correction: usize,
    /// Codewords of all blocks together, data and error correction.
    pub codewords: usize,
}

impl TextMode {
    /// The densest mode that holds a text.
    pub fn of(text: &str) -> Self {
        let alphanumeric =
            |b: u8| b.is_ascii_digit() || b.is_ascii_uppercase() || b"$%*+-./: ".contains(&b);
        if text.bytes().all(|b| b.is_ascii_digit()) {
            Self::Numeric
        } else if text.bytes().all(alphanumeric) {
            Self::Alphanumeric
        } else {
            Self::Byte
        }
    }

    /// Bits of the field that says how many characters follow.
    fn count_bits(self, version: u32) -> usize {
        let step = match version {
            ..10 => 0,
            10..27 => 1,
            _ => 2,
        };
        match self {
            Self::Numeric => [10, 12, 14][step],
            Self::Alphanumeric => [9, 11, 13][step],
            Self::Byte => [8, 16, 16][step],
            Self::Kanji => [8, 10, 12][step],
        }
    }
}

impl Blocks {
    /// The blocks of a symbol; `None` unless its version is 1 to 40.
    pub fn of(version: u32, level: Level) -> Option<Self> {
        let at = (1..=40).contains(&version).then_some(version as usize - 1)?;
        let (count, correction) = match level {
            Level::L => (BLOCKS_L[at], CORRECTION_L[at]),
            Level::M => (BLOCKS_M[at], CORRECTION_M[at]),
            Level::Q => (BLOCKS_Q[at], CORRECTION_Q[at]),
            Level::H => (BLOCKS_H[at], CORRECTION_H[at]),
        };
        let codewords = data_modules(version as usize) / 8;
        Some(Self { count: count.into(), correction: correction.into(), codewords })
    }

    /// Codewords that carry data.
    pub fn data(&self) -> usize {
        self.codewords - self.count * self.correction
    }
}

/// Characters that a symbol holds in one segment of a mode (bytes in byte mode); 0 for a version
/// that does not exist.
pub fn capacity(version: u32, level: Level, mode: TextMode) -> usize {
    let Some(blocks) = Blocks::of(version, level) else { return 0 };
    let bits = blocks.data() * 8 - 4 - mode.count_bits(version);
    match mode {
        TextMode::Numeric => {
            let left = match bits % 10 {
                7.. => 2,
                4.. => 1,
                _ => 0,
            };
            bits / 10 * 3 + left
        }
        TextMode::Alphanumeric => bits / 11 * 2 + usize::from(bits % 11 >= 6),
        TextMode::Byte => bits / 8,
        TextMode::Kanji => bits / 13,
    }
}

/// The smallest version that holds so many characters at level `least` or better, and the highest
/// level at which it still does.
pub fn smallest(length: usize, mode: TextMode, least: Level) -> Option<(u32, Level)> {
    let holds = |version, level| capacity(version, level, mode) >= length;
    let version = (1..=40).find(|version| holds(*version, least))?;
    let level = Level::FALLING.into_iter().find(|level| *level >= least && holds(version, *level));
    Some((version, level.unwrap_or(least)))
}

/// Modules that carry codewords or remainder bits: all but the function patterns.
fn data_modules(version: usize) -> usize {
    let mut modules = (16 * version + 128) * version + 64;
    if version >= 2 {
        let alignments = version / 7 + 2;
        modules -= (25 * alignments - 10) * alignments - 55;
    }
    if version >= 7 { modules - 36 } else { modules }
}

const CORRECTION_L: [u8; 40] = [
    7, 10, 15, 20, 26, 18, 20, 24, 30, 18, 20, 24, 26, 30, 22, 24, 28, 30, 28, 28, 28, 28, 30, 30,
    26, 28, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30,
];
const CORRECTION_M: [u8; 40] = [
    10, 16, 26, 18, 24, 16, 18, 22, 22, 26, 30, 22, 22, 24, 24, 28, 28, 26, 26, 26, 26, 28, 28, 28,
    28, 28, 28, 28, 28, 28, 28, 28, 28, 28, 28, 28, 28, 28, 28, 28,
];
const CORRECTION_Q: [u8; 40] = [
    13, 22, 18, 26, 18, 24, 18, 22, 20, 24, 28, 26, 24, 20, 30, 24, 28, 28, 26, 30, 28, 30, 30, 30,
    30, 28, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30,
];
const CORRECTION_H: [u8; 40] = [
    17, 28, 22, 16, 22, 28, 26, 26, 24, 28, 24, 28, 22, 24, 24, 30, 28, 28, 26, 28, 30, 24, 30, 30,
    30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30, 30,
];
const BLOCKS_L: [u8; 40] = [
    1, 1, 1, 1, 1, 2, 2, 2, 2, 4, 4, 4, 4, 4, 6, 6, 6, 6, 7, 8, 8, 9, 9, 10, 12, 12, 12, 13, 14,
    15, 16, 17, 18, 19, 19, 20, 21, 22, 24, 25,
];
const BLOCKS_M: [u8; 40] = [
    1, 1, 1, 2, 2, 4, 4, 4, 5, 5, 5, 8, 9, 9, 10, 10, 11, 13, 14, 16, 17, 17, 18, 20, 21, 23, 25,
    26, 28, 29, 31, 33, 35, 37, 38, 40, 43, 45, 47, 49,
];
const BLOCKS_Q: [u8; 40] = [
    1, 1, 2, 2, 4, 4, 6, 6, 8, 8, 8, 10, 12, 16, 12, 17, 16, 18, 21, 20, 23, 23, 25, 27, 29, 34,
    34, 35, 38, 40, 43, 45, 48, 51, 53, 56, 59, 62, 65, 68,
];
const BLOCKS_H: [u8; 40] = [
    1, 1, 2, 4, 4, 4, 5, 6, 8, 8, 11, 11, 16, 16, 18, 16, 19, 21, 25, 25, 25, 34, 30, 32, 35, 37,
    40, 42, 45, 48, 51, 54, 57, 60, 63, 66, 70, 74, 77, 81,
];

#[cfg(test)]
mod tests {
    use super::*;
    use fast_qr::QRBuilder;

    /// The encoder has tables of its own: what fits by ours fits by its, and one more does not.
    #[test]
    fn capacities_are_those_of_the_encoder() {
        for version in (1..=40).step_by(3) {
            for level in Level::FALLING {
                for (mode, letter) in
                    [(TextMode::Numeric, "7"), (TextMode::Alphanumeric, "Z"), (TextMode::Byte, "z")]
                {
                    let most = capacity(version, level, mode);
                    let side = |length: usize| {
                        let made = QRBuilder::new(letter.repeat(length)).ecl(level.ecl()).build();
                        made.map_or(usize::MAX, |made| made.size)
                    };
                    let own = 17 + 4 * version as usize;
                    assert_eq!(side(most), own, "{version} {level:?} {mode:?} {most}");
                    assert!(side(most + 1) > own, "{version} {level:?} {mode:?} {most}");
                }
            }
        }
    }

    #[test]
    fn a_label_needs_the_smallest_symbol_and_gets_the_highest_level() {
        assert_eq!(TextMode::of("MPU4F7Q2K9"), TextMode::Alphanumeric);
        assert_eq!(smallest(10, TextMode::Alphanumeric, Level::M), Some((1, Level::H)));
        assert_eq!(smallest(4297, TextMode::Alphanumeric, Level::L), None);
        assert_eq!(capacity(41, Level::L, TextMode::Byte), 0);
    }
}
