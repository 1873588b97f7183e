//! The parts of a symbol, read off its modules.

use crate::codeword::{format_places, turned};
use crate::quality::zigzag;
use crate::symbol::encoded;
use crate::{Blocks, Level, SymbolRefusal, TextMode};
use fast_qr::ModuleType;

/// What a symbol is made of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Anatomy {
    /// Codewords of data in the order of the symbol: in turns from each block.
    pub data: Vec<u8>,
    /// Codewords of error correction, likewise.
    pub correction: Vec<u8>,
    /// The 15 bits of format information as they stand in the symbol, the first one highest.
    pub format: u16,
    /// The 18 bits of version information, from version 7 on.
    pub version_bits: Option<u32>,
}

/// Takes the symbol of a text apart, with version, level, mask pattern and mode all chosen.
///
/// Fails as [`symbol_of`](crate::symbol_of) does.
///
/// Source: ISO/IEC 18004, clauses 7.7.3 (placing), 7.8 (masks), 7.9 and 7.10 (format and version).
pub fn anatomy(
    text: &str,
    version: u32,
    level: Level,
    mask: u32,
    mode: TextMode,
) -> Result<Anatomy, SymbolRefusal> {
    let code = encoded(text, version, level, mask, mode)?;
    let size = code.size;
    let dark = |x: usize, y: usize| code.data[y * size + x].value();
    let way = zigzag(size).filter(|at| code.data[*at].module_type() == ModuleType::Data);
    let bits: Vec<bool> = way
        .map(|at| (at % size, at / size))
        .map(|(x, y)| dark(x, y) != turned(mask as u8, x, y))
        .collect();
    let word = |bits: &[bool]| bits.iter().fold(0, |word, bit| word << 1 | u8::from(*bit));
    let mut data: Vec<u8> = bits.chunks_exact(8).map(word).collect();
    let correction = data.split_off(Blocks::of(version, level).map_or(0, |b| b.data()));
    let [first, _] = format_places();
    let format = first.iter().fold(0, |bits, (x, y)| bits << 1 | u16::from(dark(*x, *y)));
    // Beside the lower left corner pattern, three modules wide, the last bit first.
    let last_first = (0..18).map(|at| dark(at / 3, size.saturating_sub(11) + at % 3));
    let version_bits = last_first.rev().fold(0, |bits, bit| bits << 1 | u32::from(bit));
    Ok(Anatomy { data, correction, format, version_bits: (version >= 7).then_some(version_bits) })
}
