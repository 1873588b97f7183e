//! What the smallest symbol at the highest correction (version 1, level H) holds: 9 codewords of
//! data, 17 of correction, and where each bit lies.
//!
//! Source of all tables: ISO/IEC 18004. Only labels are encoded here; any other text goes through
//! [`crate::symbol()`].

use slotkeep_domain::label::LabelCode;
use std::sync::LazyLock;

/// Modules a side.
pub const SIDE: usize = 21;

/// Codewords of data of 1-H.
pub const DATA: usize = 9;

/// All codewords of version 1.
pub const CODEWORDS: usize = 26;

/// Modules that hold codewords.
pub const BITS: usize = CODEWORDS * 8;

/// The polynomial of GF(256) in QR symbols, x⁸ + x⁴ + x³ + x² + 1.
const FIELD: u16 = 0x11D;

/// Two bits of the level in format information, by table 12: L 01, M 00, Q 11, H 10.
const LEVEL_H: u16 = 0b10;

/// Computes codewords of labels; holds the answers of every data byte, 39 kB.
pub struct Encoder {
    /// What a byte at a place of the data adds to the correction (linear over GF(2)).
    adds: Vec<[[u8; CODEWORDS - DATA]; 256]>,
}

impl Encoder {
    pub fn new() -> Self {
        let generator = generator(CODEWORDS - DATA);
        let adds = (0..DATA)
            .map(|place| {
                let mut table = [[0; CODEWORDS - DATA]; 256];
                for (byte, row) in (0..=255).zip(&mut table) {
                    let mut data = [0; DATA];
                    data[place] = byte;
                    row.copy_from_slice(&remainder(&data, &generator));
                }
                table
            })
            .collect();
        Self { adds }
    }

    /// The 26 codewords of a label's symbol, data first.
    pub fn codewords(&self, label: &LabelCode) -> [u8; CODEWORDS] {
        let mut text = [0; 10];
        text.copy_from_slice(label.as_str().as_bytes());
        self.codewords_of(&text)
    }

    /// The codewords of any ten capitals and digits.
    pub fn codewords_of(&self, text: &[u8; 10]) -> [u8; CODEWORDS] {
        let mut words = [0; CODEWORDS];
        words[..DATA].copy_from_slice(&data(text));
        let (data, correction) = words.split_at_mut(DATA);
        for (table, byte) in self.adds.iter().zip(data) {
            for (sum, add) in correction.iter_mut().zip(&table[usize::from(*byte)]) {
                *sum ^= add;
            }
        }
        words
    }
}

/// The 26 codewords of a label's symbol (version 1, level H), data first.
pub fn codewords(label: &LabelCode) -> [u8; CODEWORDS] {
    static ENCODER: LazyLock<Encoder> = LazyLock::new(Encoder::new);
    ENCODER.codewords(label)
}

/// The data of ten capitals and digits: mode 0010, the count 10 in 9 bits, five pairs of 11 bits, and four bits
/// that end the text: 72 bits, so that no byte is left to fill.
fn data(text: &[u8; 10]) -> [u8; DATA] {
    let value = |byte: u8| match byte {
        b'0'..=b'9' => u128::from(byte - b'0'),
        _ => u128::from(byte.saturating_sub(b'A')) + 10,
    };
    let mut bits: u128 = 0b0010 << 9 | 10;
    for pair in text.chunks_exact(2) {
        bits = bits << 11 | (value(pair[0]) * 45 + value(pair[1]));
    }
    let bytes = (bits << 4).to_be_bytes();
    let mut data = [0; DATA];
    data.copy_from_slice(&bytes[16 - DATA..]);
    data
}

fn times(a: u8, b: u8) -> u8 {
    let mut product: u16 = 0;
    for bit in (0..8).rev() {
        product <<= 1;
        if product & 0x100 != 0 {
            product ^= FIELD;
        }
        if b >> bit & 1 == 1 {
            product ^= u16::from(a);
        }
    }
    product as u8
}

/// The product of (x − 2⁰) … (x − 2^(degree−1)) without its leading 1, highest power first.
fn generator(degree: usize) -> Vec<u8> {
    let mut product = vec![0; degree];
    product[degree - 1] = 1;
    let mut root = 1;
    for _ in 0..degree {
        for at in 0..degree {
            product[at] = times(product[at], root);
            if at + 1 < degree {
                product[at] ^= product[at + 1];
            }
        }
        root = times(root, 2);
    }
    product
}

/// The correction of Reed and Solomon: what is left when the data, as a polynomial, is divided by
/// the generator.
fn remainder(data: &[u8], generator: &[u8]) -> Vec<u8> {
    let mut rest = vec![0; generator.len()];
    for byte in data {
        let factor = byte ^ rest.remove(0);
        rest.push(0);
        for (sum, coefficient) in rest.iter_mut().zip(generator) {
            *sum ^= times(*coefficient, factor);
        }
    }
    rest
}

/// The 15 bits of format information of level H with a mask, as they stand in the symbol.
pub fn format_word(mask: u8) -> u16 {
    protected(LEVEL_H << 3 | u16::from(mask & 7))
}

fn protected(five_bits: u16) -> u16 {
    let mut rest = five_bits << 10;
    for bit in (10..15).rev() {
        if rest >> bit & 1 == 1 {
            rest ^= 0b101_0011_0111 << (bit - 10);
        }
    }
    (five_bits << 10 | rest) ^ 0b101_0100_0001_0010
}

/// Where the two copies of the format information lie, most significant bit first, as (x, y).
pub fn format_places() -> [[(usize, usize); 15]; 2] {
    let mut places = [[(0, 0); 15]; 2];
    let [across, along] = &mut places;
    // The most significant bit is written first.
    for (at, (a, b)) in across.iter_mut().zip(along).enumerate() {
        *a = match at {
            0..=5 => (at, 8),
            6 => (7, 8),
            7 => (8, 8),
            8 => (8, 7),
            _ => (8, 14 - at),
        };
        *b = if at < 7 { (8, SIDE - 1 - at) } else { (SIDE - 15 + at, 8) };
    }
    places
}

/// Where the bits of the codewords lie, in their order, as (x, y).
pub fn data_places() -> Vec<(usize, usize)> {
    let mut places = Vec::with_capacity(BITS);
    for (turn, right) in [20, 18, 16, 14, 12, 10, 8, 5, 3, 1].into_iter().enumerate() {
        for step in 0..SIDE {
            let y = if turn % 2 == 0 { SIDE - 1 - step } else { step };
            places
                .extend([right, right - 1].into_iter().filter(|x| is_data(*x, y)).map(|x| (x, y)));
        }
    }
    places
}

fn is_data(x: usize, y: usize) -> bool {
    fixed(x, y).is_none() && !format_places().iter().flatten().any(|place| *place == (x, y))
}

/// Whether a module that is the same in every symbol is dark: finder patterns with their light
/// border, timing patterns, and the one dark module. `None` elsewhere.
pub fn fixed(x: usize, y: usize) -> Option<bool> {
    for (left, top) in [(0, 0), (SIDE - 7, 0), (0, SIDE - 7)] {
        let (dx, dy) = (x as i32 - left as i32 - 3, y as i32 - top as i32 - 3);
        match dx.abs().max(dy.abs()) {
            0 | 1 | 3 => return Some(true),
            2 | 4 => return Some(false),
            _ => {}
        }
    }
    match (x, y) {
        (8, y) if y == SIDE - 8 => Some(true),
        (6, along) | (along, 6) => Some(along % 2 == 0),
        _ => None,
    }
}

/// Whether a mask turns a module over (table 10).
pub fn turned(mask: u8, x: usize, y: usize) -> bool {
    let (i, j) = (y, x);
    match mask & 7 {
        0 => (i + j) % 2 == 0,
        1 => i % 2 == 0,
        2 => j % 3 == 0,
        3 => (i + j) % 3 == 0,
        4 => (i / 2 + j / 3) % 2 == 0,
        5 => i * j % 2 + i * j % 3 == 0,
        6 => (i * j % 2 + i * j % 3) % 2 == 0,
        _ => ((i + j) % 2 + i * j % 3) % 2 == 0,
    }
}

#[cfg(test)]
mod tests;
