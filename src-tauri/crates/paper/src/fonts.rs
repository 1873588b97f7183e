//! The two embedded faces: which characters they print, how wide a text is, where it wraps.

use printpdf::ParsedFont;
use std::sync::OnceLock;
use unicode_normalization::UnicodeNormalization;

/// Stands on the page for a character that the faces cannot print.
pub(crate) const SUBSTITUTE: char = '\u{25A1}';

pub(crate) const MM_PER_PT: f64 = 25.4 / 72.0;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Face {
    Regular,
    Bold,
}

impl Face {
    pub(crate) const ALL: [Self; 2] = [Self::Regular, Self::Bold];

    /// Name of the face among the resources of a document: six capitals, which also serve as
    /// the tag of a subset (ISO 32000-1, 9.6.4), and fixed, so that output is stable.
    pub(crate) fn resource(self) -> &'static str {
        match self {
            Self::Regular => "SLTREG",
            Self::Bold => "SLTBLD",
        }
    }

    pub(crate) fn font(self) -> &'static ParsedFont {
        static REGULAR: OnceLock<ParsedFont> = OnceLock::new();
        static BOLD: OnceLock<ParsedFont> = OnceLock::new();
        let (slot, bytes): (_, &[u8]) = match self {
            Self::Regular => (&REGULAR, include_bytes!("../fonts/LiberationSans-Regular.ttf")),
            Self::Bold => (&BOLD, include_bytes!("../fonts/LiberationSans-Bold.ttf")),
        };
        slot.get_or_init(|| {
            ParsedFont::from_bytes(bytes, 0, &mut Vec::new())
                .expect("the built-in face is read by the tests of this crate")
        })
    }

    /// Returns the width (mm) of a text at a size in points.
    pub(crate) fn width_mm(self, size_pt: f64, text: &str) -> f64 {
        let font = self.font();
        let common = self.common_advances();
        let advance = |c: char| match common.get(c as usize) {
            Some(advance) => *advance,
            None => self.advance(c),
        };
        let units: u32 = text.chars().map(|c| u32::from(advance(c))).sum();
        f64::from(units) / f64::from(font.font_metrics.units_per_em) * size_pt * MM_PER_PT
    }

    fn advance(self, c: char) -> u16 {
        let font = self.font();
        font.get_horizontal_advance(font.lookup_glyph_index(c as u32).unwrap_or(0))
    }

    /// Advances of the first characters, which labels are mostly made of: sheets of ten thousand
    /// labels ask for a million.
    fn common_advances(self) -> &'static [u16; 256] {
        static COMMON: [OnceLock<[u16; 256]>; 2] = [const { OnceLock::new() }; 2];
        COMMON[self as usize]
            .get_or_init(|| std::array::from_fn(|c| self.advance(char::from(c as u8))))
    }
}

/// Returns the first character of a text that the faces cannot print.
pub(crate) fn unprintable(text: &str) -> Option<char> {
    compose(text).find(|&c| !prints(c))
}

/// Makes a text printable: composed, blanks in place of tabs and line ends, and
/// [`SUBSTITUTE`] for each character that the faces lack.
pub(crate) fn printable(text: &str) -> String {
    compose(text).map(|c| if prints(c) { c } else { SUBSTITUTE }).collect()
}

/// Breaks a text into lines no wider than `width_mm`; at least one line.
///
/// Breaks at blanks; a word that is too wide alone is broken after `-`, `/`, `.`, `_`, `,`,
/// else between any two characters.
pub(crate) fn wrap(face: Face, size_pt: f64, width_mm: f64, text: &str) -> Vec<String> {
    let fits = |line: &str| face.width_mm(size_pt, line) <= width_mm;
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        let mut rest = word;
        while !rest.is_empty() && !fits(rest) {
            let (head, tail) = rest.split_at(break_point(rest, fits));
            lines.push(head.to_owned());
            rest = tail;
        }
        line = rest.to_owned();
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// Returns the byte at which to break a word that does not fit; never 0 nor beyond the word.
fn break_point(word: &str, fits: impl Fn(&str) -> bool) -> usize {
    let ends = word.char_indices().map(|(at, c)| (at + c.len_utf8(), c));
    let fitting: Vec<_> = ends.take_while(|&(end, _)| fits(&word[..end])).collect();
    let after_mark = fitting.iter().rev().find(|(_, c)| "-/._,".contains(*c));
    let first_char = word.chars().next().map_or(0, char::len_utf8);
    after_mark.or(fitting.last()).map_or(first_char, |&(end, _)| end)
}

fn compose(text: &str) -> impl Iterator<Item = char> + '_ {
    text.nfc().map(|c| if c.is_whitespace() { ' ' } else { c })
}

/// Whether a character stands on the page as it is meant to.
///
/// Scripts written from right to left are left out although the faces have some of their
/// glyphs: they would come out in the wrong order.
fn prints(c: char) -> bool {
    let right_to_left =
        matches!(c, '\u{0590}'..='\u{08FF}' | '\u{FB1D}'..='\u{FDFF}' | '\u{FE70}'..='\u{FEFF}');
    let invisible = c.is_control()
        || matches!(c, '\u{00AD}' | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{206F}');
    !right_to_left
        && !invisible
        && Face::ALL
            .iter()
            .all(|face| face.font().lookup_glyph_index(c as u32).is_some_and(|glyph| glyph != 0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn accents_greek_and_cyrillic_print_and_others_are_seen_to_be_missing() {
        for text in ["Ångström", "ΔΩμ", "Щит", "cafe\u{301}", "≤ 5 °C", "–"] {
            assert_eq!(unprintable(text), None, "{text}");
        }
        assert_eq!(printable("cafe\u{301}"), "café");
        assert_eq!(printable("a漢b\u{200B}c"), "a□b□c");
        assert_eq!(printable("two\nlines\tend"), "two lines end");
        assert_eq!(unprintable("שלום"), Some('ש'));
        assert_eq!(unprintable(&SUBSTITUTE.to_string()), None);
    }

    #[test]
    fn wrapping_loses_no_character_and_keeps_the_width() {
        let text = "Have operations put LIC-4711/LIC-4712/LIC-4713_and_all_the_rest in manual now";
        for width_mm in [8.0, 20.0, 45.0] {
            let lines = wrap(Face::Regular, 9.0, width_mm, text);
            assert!(lines.iter().all(|line| Face::Regular.width_mm(9.0, line) <= width_mm));
            assert_eq!(lines.concat().replace(' ', ""), text.replace(' ', ""));
        }
        assert_eq!(wrap(Face::Bold, 9.0, 50.0, ""), [""]);
        // No room at all is no reason to lose a character or to go on for ever.
        for width_mm in [0.1, 0.0, -5.0] {
            assert_eq!(wrap(Face::Bold, 9.0, width_mm, "ab").concat(), "ab");
        }
    }
}
