use crate::codeword::{CODEWORDS, Encoder};
use slotkeep_domain::label::{LabelCode, check_character};
use std::sync::LazyLock;

const DIGITS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// First letters of the kinds of things.
const KINDS: &[u8] = b"USBTC";

static ENCODER: LazyLock<Encoder> = LazyLock::new(Encoder::new);

/// Codewords of all labels that are easily confused with one, known or not: of another kind, of
/// every other site, and with one or two other characters in the number. About 16,000.
pub fn of(label: &LabelCode) -> impl Iterator<Item = [u8; CODEWORDS]> {
    let mut own = [0; 10];
    own.copy_from_slice(label.as_str().as_bytes());
    let changed = move |changes: &[(usize, u8)]| {
        let mut other = own;
        for (at, character) in changes {
            other[*at] = *character;
        }
        other[9] = check_character(&other[..9]);
        other
    };
    let kinds = KINDS.iter().map(move |kind| changed(&[(2, *kind)]));
    let sites = two(0, 1).map(move |change| changed(&change));
    let pairs = (3..9).flat_map(|a| (a + 1..9).map(move |b| (a, b)));
    let numbers = pairs.flat_map(|(a, b)| two(a, b)).map(move |change| changed(&change));
    kinds.chain(sites).chain(numbers).filter(move |o| *o != own).map(|o| ENCODER.codewords_of(&o))
}

/// Every two characters at two places.
fn two(a: usize, b: usize) -> impl Iterator<Item = [(usize, u8); 2]> {
    DIGITS.iter().flat_map(move |x| DIGITS.iter().map(move |y| [(a, *x), (b, *y)]))
}
