//! Labels: ten characters that name one thing of one site.
//!
//! `MP U 4F7Q2K 9`: two characters of the site, one for the kind of thing, six that number it,
//! and a check character. All of them are in the alphanumeric set of QR codes, and ten such
//! characters fit the smallest symbol at its highest error correction (version 1, level H;
//! ISO/IEC 18004).

mod check;

pub use check::check_character;

use std::fmt;

/// Letters and digits that are hard to mistake for one another: no I, L, O or U.
const ALPHABET: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// Characters of a label.
const LENGTH: usize = 10;

/// The largest number of a label, 30 bits.
const NUMBERS: u32 = 1 << 30;

/// What a label is stuck on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LabelKind {
    Unit,
    Slot,
    Bin,
    Lot,
    Cabinet,
}

/// The two characters that all labels of a site begin with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SitePrefix([u8; 2]);

/// A label with a right check character.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct LabelCode([u8; LENGTH]);

/// Why a text is no label of ours, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LabelRefusal {
    #[error("{0:?} is not one of our labels: it is a code of somebody else")]
    Foreign(String),

    #[error("{text:?} has {length} characters, a label has 10: read it again")]
    Length { text: String, length: usize },

    #[error("{text:?} has {found:?}, which no label contains: read it again")]
    Character { text: String, found: char },

    #[error("{0:?} does not add up: a character is wrong or two are swapped; read it again")]
    Check(String),

    #[error("{0:?} is of a kind that this program does not know: it may come from a newer one")]
    Kind(String),

    #[error("{0:?} is not a label prefix: write two of 0-9 and A-Z without I, L, O, U")]
    Prefix(String),
}

impl LabelKind {
    pub const ALL: [Self; 5] = [Self::Unit, Self::Slot, Self::Bin, Self::Lot, Self::Cabinet];

    fn letter(self) -> u8 {
        match self {
            Self::Unit => b'U',
            Self::Slot => b'S',
            Self::Bin => b'B',
            Self::Lot => b'T',
            Self::Cabinet => b'C',
        }
    }

    /// The word for it in sentences.
    pub fn word(self) -> &'static str {
        match self {
            Self::Unit => "unit",
            Self::Slot => "slot",
            Self::Bin => "bin",
            Self::Lot => "lot",
            Self::Cabinet => "cabinet",
        }
    }
}

impl SitePrefix {
    /// Reads two characters of the label alphabet, in either case.
    pub fn parse(text: &str) -> Result<Self, LabelRefusal> {
        let upper = text.trim().to_ascii_uppercase();
        match *upper.as_bytes() {
            [a, b] if ALPHABET.contains(&a) && ALPHABET.contains(&b) => Ok(Self([a, b])),
            _ => Err(LabelRefusal::Prefix(shortened(text))),
        }
    }
}

impl fmt::Display for SitePrefix {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(ascii(&self.0))
    }
}

impl LabelCode {
    /// Makes the label with a number (its lowest 30 bits).
    ///
    /// Numbers whose check character would be `*`, or a letter that is read as a digit, are passed
    /// over: the next number is taken instead.
    pub fn allocate(prefix: SitePrefix, kind: LabelKind, number: u32) -> Self {
        let mut number = number % NUMBERS;
        loop {
            let mut code = [0; LENGTH];
            code[..2].copy_from_slice(&prefix.0);
            code[2] = kind.letter();
            for (place, slot) in code[3..9].iter_mut().enumerate() {
                *slot = ALPHABET[((number >> (25 - 5 * place)) & 31) as usize];
            }
            match check_character(&code[..9]) {
                b'*' | b'I' | b'L' | b'O' => number = (number + 1) % NUMBERS,
                check => {
                    code[9] = check;
                    return Self(code);
                }
            }
        }
    }

    /// The label after this one, for when this one is taken.
    pub fn next(&self) -> Self {
        let digit = |byte: &u8| ALPHABET.iter().position(|known| known == byte).unwrap_or(0);
        let number = self.0[3..9].iter().fold(0, |sum, byte| sum * 32 + digit(byte) as u32);
        Self::allocate(SitePrefix([self.0[0], self.0[1]]), self.kind(), number + 1)
    }

    /// Reads a label as printed or typed: spaces and dashes do not count, nor does the case, and
    /// O is read as 0, I and L as 1.
    ///
    /// Fails when length, characters, kind or check character are wrong.
    pub fn parse(text: &str) -> Result<Self, LabelRefusal> {
        let code: Vec<char> =
            text.chars().filter(|c| !c.is_whitespace() && *c != '-').map(plain).collect();
        if code.len() != LENGTH {
            return Err(LabelRefusal::Length { text: shortened(text), length: code.len() });
        }
        let mut bytes = [0; LENGTH];
        for (slot, &found) in bytes.iter_mut().zip(&code) {
            if !found.is_ascii_digit() && !found.is_ascii_uppercase() {
                return Err(LabelRefusal::Character { text: shortened(text), found });
            }
            *slot = found as u8;
        }
        if check_character(&bytes[..9]) != bytes[9] {
            return Err(LabelRefusal::Check(shortened(text)));
        }
        let known = LabelKind::ALL.iter().any(|kind| kind.letter() == bytes[2]);
        let numbered = bytes[3..9].iter().chain(&bytes[..2]).all(|byte| ALPHABET.contains(byte));
        if !known || !numbered {
            return Err(LabelRefusal::Kind(shortened(text)));
        }
        Ok(Self(bytes))
    }

    /// Reads what a scanner gives: a label, or a link that ends in `/L/` and a label.
    ///
    /// Fails as [`LabelCode::parse`] does, and with [`LabelRefusal::Foreign`] when the text does
    /// not look like a label at all.
    pub fn parse_scan(text: &str) -> Result<Self, LabelRefusal> {
        let text = text.trim();
        if let Some(scheme) = text.find("://") {
            let upper = text[scheme..].to_ascii_uppercase();
            let code = upper.rsplit_once("/L/").map(|(_, code)| code.trim_end_matches('/'));
            return match code {
                Some(code) => Self::parse(code),
                None => Err(LabelRefusal::Foreign(shortened(text))),
            };
        }
        let label_like =
            text.chars().all(|c| c.is_ascii_alphanumeric() || c.is_whitespace() || c == '-');
        let length = text.chars().filter(char::is_ascii_alphanumeric).count();
        if !label_like || !(LENGTH - 1..=LENGTH + 1).contains(&length) {
            return Err(LabelRefusal::Foreign(shortened(text)));
        }
        Self::parse(text)
    }

    pub fn as_str(&self) -> &str {
        ascii(&self.0)
    }

    pub fn prefix(&self) -> SitePrefix {
        SitePrefix([self.0[0], self.0[1]])
    }

    pub fn kind(&self) -> LabelKind {
        LabelKind::ALL.into_iter().find(|k| k.letter() == self.0[2]).unwrap_or(LabelKind::Unit)
    }

    /// The label in groups, as printed beside the symbol: `MPU-4F7-Q2K-9`.
    pub fn human(&self) -> String {
        let text = self.as_str();
        format!("{}-{}-{}-{}", &text[..3], &text[3..6], &text[6..9], &text[9..])
    }

    /// The link that phones' own cameras open, in capitals so that it stays alphanumeric.
    pub fn link(&self, door: &str) -> String {
        format!("{}/L/{}", door.trim_end_matches('/').to_uppercase(), self.as_str())
    }
}

impl fmt::Display for LabelCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

fn plain(c: char) -> char {
    match c.to_ascii_uppercase() {
        'O' => '0',
        'I' | 'L' => '1',
        other => other,
    }
}

fn ascii(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap_or_default()
}

fn shortened(text: &str) -> String {
    let mut short: String = text.chars().take(40).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    short
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn labels() -> impl Strategy<Value = LabelCode> {
        ((0..32usize, 0..32usize), 0..5usize, 0..NUMBERS).prop_map(|((a, b), kind, number)| {
            let prefix = SitePrefix([ALPHABET[a], ALPHABET[b]]);
            LabelCode::allocate(prefix, LabelKind::ALL[kind], number)
        })
    }

    proptest! {
        #[test]
        fn a_label_reads_back_in_every_form(label in labels()) {
            for text in [
                label.to_string(),
                label.human(),
                label.human().to_lowercase(),
                label.link("https://192.0.2.7:8443"),
            ] {
                prop_assert_eq!(LabelCode::parse_scan(&text), Ok(label));
            }
        }

        /// Every wrong character and every two swapped ones are refused.
        #[test]
        fn one_wrong_or_two_swapped_characters_are_refused(label in labels()) {
            let code = label.as_str().as_bytes();
            for at in 0..LENGTH {
                for other in *b"0123456789ABCDEFGHJKMNPQRSTUVWXYZ" {
                    let mut wrong = code.to_vec();
                    wrong[at] = other;
                    if wrong != code {
                        prop_assert!(LabelCode::parse(ascii(&wrong)).is_err());
                    }
                }
                for with in 0..at {
                    let mut swapped = code.to_vec();
                    swapped.swap(at, with);
                    if swapped != code {
                        prop_assert!(LabelCode::parse(ascii(&swapped)).is_err());
                    }
                }
            }
        }

        #[test]
        fn any_text_is_answered(text in ".{0,60}") {
            let _ = LabelCode::parse_scan(&text);
        }
    }

    #[test]
    fn what_cannot_be_mistaken_is_read_as_meant() {
        let label = LabelCode::allocate(SitePrefix::parse("mp").unwrap(), LabelKind::Unit, 33);
        let typed = label.to_string().replace('0', "O").replace('1', "l");
        assert_eq!(LabelCode::parse(&typed), Ok(label));
    }

    #[test]
    fn a_taken_label_has_a_next_one_of_the_same_kind() {
        let prefix = SitePrefix::parse("MP").unwrap();
        let mut label = LabelCode::allocate(prefix, LabelKind::Lot, NUMBERS - 1);
        for _ in 0..200 {
            let next = label.next();
            assert_ne!(next, label);
            assert_eq!((next.kind(), next.prefix()), (LabelKind::Lot, prefix));
            assert!(!next.as_str().contains('*'));
            label = next;
        }
    }

    #[test]
    fn each_refusal_says_what_is_wrong() {
        let label = LabelCode::allocate(SitePrefix::parse("MP").unwrap(), LabelKind::Unit, 7);
        let damaged = label.as_str().replace('7', "8");
        for (text, said) in [
            ("https://example.org/menu", "somebody else"),
            ("4006381333931", "somebody else"),
            (&label.as_str()[..9], "has 9 characters"),
            (damaged.as_str(), "does not add up"),
        ] {
            let refusal = LabelCode::parse_scan(text).unwrap_err().to_string();
            assert!(refusal.contains(said), "{text}: {refusal}");
        }
    }
}
