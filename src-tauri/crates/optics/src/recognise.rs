//! From what was seen of a symbol to its text: corrected as any decoder does, or else recognised
//! among the known labels.

use crate::codeword::{BITS, SIDE, data_places, format_places, format_word, turned};
use crate::known::{KnownLabels, Match, Soft};
use crate::sight::Sight;
use std::sync::LazyLock;
use zxingcpp::{BarcodeError, BarcodeFormat, ImageFormat, ImageView};

/// Px of a module in the clean drawing that is given to the decoder.
const DRAWN_PX: usize = 3;

/// Light modules around the clean drawing.
const BORDER: usize = 4;

static PLACES: LazyLock<Vec<(usize, usize)>> = LazyLock::new(data_places);
static FORMAT: LazyLock<[[(usize, usize); 15]; 2]> = LazyLock::new(format_places);

/// Decodes the modules as they most likely are, with the correction that the symbol has.
pub fn decoded(sight: &Sight) -> Option<String> {
    let side = (SIDE + 2 * BORDER) * DRAWN_PX;
    let mut values = vec![255; side * side];
    for (at, weight) in sight.weights.iter().enumerate() {
        if *weight > 0.0 {
            let (left, top) = ((at % SIDE + BORDER) * DRAWN_PX, (at / SIDE + BORDER) * DRAWN_PX);
            for y in top..top + DRAWN_PX {
                values[y * side + left..y * side + left + DRAWN_PX].fill(0);
            }
        }
    }
    let view = ImageView::from_slice(&values, side, side, ImageFormat::Lum).ok()?;
    let options = zxingcpp::read().formats([BarcodeFormat::QRCode]).is_pure(true);
    let codes = options.from(view).ok()?;
    let code = codes.first()?;
    let text = code.text();
    (matches!(code.error(), BarcodeError::None()) && !text.is_empty()).then_some(text)
}

/// Finds the known label that a symbol shows, with each mask that its format information allows.
pub fn known(sight: &Sight, labels: &KnownLabels) -> Option<Match> {
    masks(sight).into_iter().find_map(|mask| labels.find(&unmasked(sight, mask)))
}

/// Masks, the most likely first; those that are clearly not meant are left out.
fn masks(sight: &Sight) -> Vec<u8> {
    let score = |mask: u8| -> f32 {
        let word = format_word(mask);
        let sum = |copy: &[(usize, usize); 15]| -> f32 {
            let bit = |(at, (x, y)): (usize, &(usize, usize))| {
                let weight = sight.weights[y * SIDE + x];
                if word >> (14 - at) & 1 == 1 { weight } else { -weight }
            };
            copy.iter().enumerate().map(bit).sum()
        };
        FORMAT.iter().map(sum).sum()
    };
    let mut masks: Vec<(u8, f32)> = (0..8).map(|mask| (mask, score(mask))).collect();
    masks.sort_by(|a, b| b.1.total_cmp(&a.1));
    let best = masks[0].1;
    masks.iter().take_while(|(_, score)| best - score < 24.0).map(|(mask, _)| *mask).collect()
}

fn unmasked(sight: &Sight, mask: u8) -> Soft {
    let mut soft = [0.0; BITS];
    for (bit, (x, y)) in soft.iter_mut().zip(PLACES.iter()) {
        let weight = sight.weights[y * SIDE + x];
        *bit = if turned(mask, *x, *y) { -weight } else { weight };
    }
    soft
}
