use super::*;
use slotkeep_domain::label::{LabelKind, SitePrefix};

/// Source: ISO/IEC 18004, annex I (from memory), recomputed with qrcodegen 1.8.0.
#[test]
fn the_worked_example_of_the_standard_has_its_correction() {
    let data = [
        0x10, 0x20, 0x0C, 0x56, 0x61, 0x80, 0xEC, 0x11, 0xEC, 0x11, 0xEC, 0x11, 0xEC, 0x11, 0xEC,
        0x11,
    ];
    let correction = [0xA5, 0x24, 0xD4, 0xC1, 0xED, 0x36, 0xC7, 0x87, 0x2C, 0x55];
    assert_eq!(remainder(&data, &generator(10)), correction);
}

/// Source: ISO/IEC 18004, 7.9, from memory; recomputed as a BCH (15, 5) code.
#[test]
fn format_words_are_those_of_the_standard() {
    // Levels in the order of their two bits: M, L, H, Q.
    let words: [[u16; 8]; 4] = [
        [
            0b101010000010010,
            0b101000100100101,
            0b101111001111100,
            0b101101101001011,
            0b100010111111001,
            0b100000011001110,
            0b100111110010111,
            0b100101010100000,
        ],
        [
            0b111011111000100,
            0b111001011110011,
            0b111110110101010,
            0b111100010011101,
            0b110011000101111,
            0b110001100011000,
            0b110110001000001,
            0b110100101110110,
        ],
        [
            0b001011010001001,
            0b001001110111110,
            0b001110011100111,
            0b001100111010000,
            0b000011101100010,
            0b000001001010101,
            0b000110100001100,
            0b000100000111011,
        ],
        [
            0b011010101011111,
            0b011000001101000,
            0b011111100110001,
            0b011101000000110,
            0b010010010110100,
            0b010000110000011,
            0b010111011011010,
            0b010101111101101,
        ],
    ];
    for (five_bits, word) in (0..).zip(words.into_iter().flatten()) {
        assert_eq!(protected(five_bits), word, "{five_bits:05b}");
    }
    assert_eq!(format_word(5), words[2][5]);
}

/// Source: qrcodegen 1.8.0 and the Python package qrcode 8.2, which agree in every module.
#[test]
fn symbols_of_other_encoders_are_drawn_module_by_module() {
    // "U-00123" in byte mode, 1-H, mask 5: mode 0100, 8 bits of length, 7 bytes, 4 bits of end.
    let text = b"U-00123";
    let bits = text.iter().fold(0b0100_0000_0111_u128, |bits, byte| bits << 8 | u128::from(*byte));
    let bytes = (bits << 4).to_be_bytes();
    same(&bytes[16 - DATA..], 17, format_word(5), 5, &U_00123);
    // The worked example of the standard, 1-M, mask 2.
    let data = [16, 32, 12, 86, 97, 128, 236, 17, 236, 17, 236, 17, 236, 17, 236, 17];
    same(&data, 10, protected(0b00_010), 2, &WORKED);
}

fn same(data: &[u8], degree: usize, format: u16, mask: u8, rows: &[&str; SIDE]) {
    let mut words = [0; CODEWORDS];
    words[..data.len()].copy_from_slice(data);
    words[data.len()..].copy_from_slice(&remainder(data, &generator(degree)));
    let drawn = drawn_as(&words, format, mask);
    for (row, wanted) in drawn.chunks(SIDE).zip(rows) {
        let row: String = row.iter().map(|dark| if *dark { '1' } else { '0' }).collect();
        assert_eq!(&row, wanted);
    }
}

#[test]
fn labels_are_encoded_as_they_are_printed() {
    let encoder = Encoder::new();
    let mut masks = [0; 8];
    for (prefix, kind, number) in (0..2000_u32).map(|n| {
        let prefix = if n % 3 == 0 { "MP" } else { "7Z" };
        (prefix, LabelKind::ALL[n as usize % 5], n.wrapping_mul(2_654_435_761) >> (n % 20))
    }) {
        let label = LabelCode::allocate(SitePrefix::parse(prefix).unwrap(), kind, number);
        let printed = crate::symbol(label.as_str(), crate::Level::M).unwrap();
        let words = encoder.codewords(&label);
        let mask = (0..8).find(|mask| drawn(&words, *mask)[..] == printed.modules[..]);
        masks[usize::from(mask.expect("one of the masks gives the printed symbol"))] += 1;
    }
    assert!(masks.iter().all(|count| *count > 0), "{masks:?}");
}

const U_00123: [&str; SIDE] = [
    "111111101001101111111",
    "100000100110001000001",
    "101110101000101011101",
    "101110100101101011101",
    "101110101001101011101",
    "100000100001001000001",
    "111111101010101111111",
    "000000001100100000000",
    "000001100101101010101",
    "011001011011110011000",
    "001010111110011101100",
    "100111000110000110110",
    "101101101011001110001",
    "000000001101000110110",
    "111111100110001100110",
    "100000101111111000110",
    "101110100100110101010",
    "101110100100101110100",
    "101110100110111111111",
    "100000100000110100100",
    "111111100000001101010",
];

const WORKED: [&str; SIDE] = [
    "111111100101101111111",
    "100000100111101000001",
    "101110101000001011101",
    "101110101100001011101",
    "101110101011101011101",
    "100000101000101000001",
    "111111101010101111111",
    "000000001001100000000",
    "101111100100101111100",
    "000101011010100101100",
    "001000110101010011111",
    "000010000100000111100",
    "000111111001010010000",
    "000000001011111001100",
    "111111100110101100000",
    "100000101011111000101",
    "101110101000100101100",
    "101110101100100100000",
    "101110101011010010100",
    "100000100000000110110",
    "111111101111010010100",
];

/// The whole symbol of 26 codewords with a mask, row by row; true is dark.
fn drawn(words: &[u8; CODEWORDS], mask: u8) -> [bool; SIDE * SIDE] {
    drawn_as(words, format_word(mask), mask)
}

fn drawn_as(words: &[u8; CODEWORDS], format: u16, mask: u8) -> [bool; SIDE * SIDE] {
    let mut modules = [false; SIDE * SIDE];
    for y in 0..SIDE {
        for x in 0..SIDE {
            modules[y * SIDE + x] = fixed(x, y).unwrap_or(false);
        }
    }
    for copy in format_places() {
        for (bit, (x, y)) in copy.into_iter().enumerate() {
            modules[y * SIDE + x] = format >> (14 - bit) & 1 == 1;
        }
    }
    for (at, (x, y)) in data_places().into_iter().enumerate() {
        let dark = words[at / 8] >> (7 - at % 8) & 1 == 1;
        modules[y * SIDE + x] = dark != turned(mask, x, y);
    }
    modules
}
