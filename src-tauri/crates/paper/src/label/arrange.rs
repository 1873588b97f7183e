//! How large symbol and texts are on a label, and where they stand.

use super::fit::{Arrangement, Fitted, Item, Size, fit_all, item_rows};
use super::{LEADING, MARGIN_MM};
use crate::PaperRefusal;
use crate::fonts::{Face, MM_PER_PT};
use slotkeep_optics::{distance_mm, dots_mm};

/// Where things stand on one label, in dots or mm from its upper left corner.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Layout {
    pub module_dots: i64,
    /// Upper left corner of the first module.
    pub symbol_x_dots: i64,
    pub symbol_y_dots: i64,
    pub rows: Vec<Row>,
}

/// One row of text.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    pub bold: bool,
    pub size_pt: f64,
    pub x_mm: f64,
    /// Where the letters stand.
    pub baseline_mm: f64,
    pub text: String,
}

/// What is asked of every symbol of a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wish {
    pub dpi: u16,
    /// Distance from which it must be read (mm); 0 where none is asked.
    pub distance_mm: f64,
}

/// Sizes that all labels of a sheet share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shared {
    pub arrangement: Arrangement,
    pub module_dots: i64,
    pub human_pt: f64,
    /// The human line is broken after a dash.
    pub broken: bool,
}

impl Wish {
    fn dots_per_mm(self) -> f64 {
        f64::from(self.dpi) / 25.4
    }

    pub(super) fn module_mm(self, dots: i64) -> f64 {
        dots_mm(self.dpi, dots.max(0) as u32)
    }

    /// Fewest dots of a module: what readers tell apart, and what the distance asks.
    pub(super) fn fewest_dots(self, items: &[Item]) -> i64 {
        let dots = |mm: f64| (mm * self.dots_per_mm() - 1e-9).ceil().max(1.0) as i64;
        let narrowest = items.iter().map(Item::symbol_modules).min().unwrap_or(1);
        dots(MODULE_MM.0).max(dots(self.distance_mm / distance_mm(narrowest as f64)))
    }

    /// Most dots of a module, and more where the distance asks for more.
    fn most_dots(self, fewest: i64) -> i64 {
        ((MODULE_MM.1 * self.dots_per_mm()).floor() as i64).max(fewest)
    }
}

/// Finds the largest module with which every label fits, and the same sizes for all of them.
///
/// A text of comfortable size comes before a large symbol, and before keeping the human line
/// in one row: it may be broken after a dash. The text stands beside the symbol or below it,
/// wherever the symbol can be larger.
///
/// `None` when the labels do not fit.
pub(super) fn shared(size: Size<'_>, items: &[Item], wish: Wish) -> Option<Shared> {
    let [least, comfortable, most] = HUMAN_PT;
    let fewest = wish.fewest_dots(items);
    for (least_pt, broken) in
        [(comfortable, false), (comfortable, true), (least, false), (least, true)]
    {
        for module_dots in (fewest..=wish.most_dots(fewest)).rev() {
            for arrangement in [Arrangement::Beside, Arrangement::Below] {
                let module_mm = wish.module_mm(module_dots);
                let as_this = Fitted { arrangement, module_mm, broken };
                if let Ok(human_pt) = fit_all(size, items, as_this, (least_pt, most)) {
                    return Some(Shared { arrangement, module_dots, human_pt, broken });
                }
            }
        }
    }
    None
}

/// Returns the distance (mm) from which the narrowest symbol is read when it is as large as the
/// label allows beside or above the smallest text; `None` when not even that fits.
pub(super) fn farthest_mm(size: Size<'_>, items: &[Item], dpi: u16) -> Option<f64> {
    let wish = Wish { dpi, distance_mm: 0.0 };
    let fewest = wish.fewest_dots(items);
    let most = (size.width_mm.max(size.height_mm) * wish.dots_per_mm() / 21.0) as i64;
    let fits = |module_dots: &i64| {
        [Arrangement::Beside, Arrangement::Below].into_iter().any(|arrangement| {
            let module_mm = wish.module_mm(*module_dots);
            let as_this = Fitted { arrangement, module_mm, broken: true };
            fit_all(size, items, as_this, (HUMAN_PT[0], HUMAN_PT[0])).is_ok()
        })
    };
    let dots = (fewest..=most.max(fewest)).rev().find(fits)?;
    let narrowest = items.iter().map(Item::symbol_modules).min()?;
    Some(distance_mm(wish.module_mm(dots) * narrowest as f64))
}

/// Says where everything of one label stands.
pub(super) fn place(size: Size<'_>, item: &Item, wish: Wish, shared: Shared) -> Layout {
    let dots_per_mm = wish.dots_per_mm();
    let module_mm = wish.module_mm(shared.module_dots);
    let as_this = Fitted { arrangement: shared.arrangement, module_mm, broken: shared.broken };
    let texts = item_rows(size, item, as_this, shared.human_pt);
    let text_mm: f64 = texts.iter().map(|(_, size_pt, _)| size_pt * LEADING * MM_PER_PT).sum();
    let symbol_dots = item.modules as i64 * shared.module_dots;
    let symbol_mm = symbol_dots as f64 / dots_per_mm;
    let quiet_dots = (item.modules - item.symbol_modules()) as i64 / 2 * shared.module_dots;
    let whole = |mm: f64| (mm * dots_per_mm).floor() as i64;
    let (left_dots, top_dots, mut y_mm) = match shared.arrangement {
        Arrangement::Beside => (
            (MARGIN_MM * dots_per_mm).ceil() as i64,
            (whole(size.height_mm) - symbol_dots) / 2,
            (size.height_mm - text_mm) / 2.0,
        ),
        Arrangement::Below => {
            let top_mm = (size.height_mm - symbol_mm - text_mm).max(0.0) / 2.0;
            let left_dots = (whole(size.width_mm) - symbol_dots) / 2;
            (left_dots, whole(top_mm), top_mm + symbol_mm)
        }
    };
    let mut rows = Vec::with_capacity(texts.len());
    for (face, size_pt, text) in texts {
        let x_mm = match shared.arrangement {
            Arrangement::Beside => MARGIN_MM + symbol_mm,
            Arrangement::Below => (size.width_mm - face.width_mm(size_pt, &text)) / 2.0,
        };
        let baseline_mm = y_mm + size_pt * MM_PER_PT;
        rows.push(Row { bold: face == Face::Bold, size_pt, x_mm, baseline_mm, text });
        y_mm += size_pt * LEADING * MM_PER_PT;
    }
    Layout {
        module_dots: shared.module_dots,
        symbol_x_dots: left_dots + quiet_dots,
        symbol_y_dots: top_dots + quiet_dots,
        rows,
    }
}

/// Says what cannot be met and what would meet it.
pub(super) fn misfit(size: Size<'_>, items: &[Item], wish: Wish) -> PaperRefusal {
    let plain = Wish { distance_mm: 0.0, ..wish };
    if wish.distance_mm > 0.0 && shared(size, items, plain).is_some() {
        return too_far(size, items, wish);
    }
    let module_mm = plain.module_mm(plain.fewest_dots(items));
    let as_this = Fitted { arrangement: Arrangement::Beside, module_mm, broken: true };
    let least = (HUMAN_PT[0], HUMAN_PT[0]);
    let at = fit_all(size, items, as_this, least).err().unwrap_or(0);
    let Some(item) = items.get(at) else { return PaperRefusal::NoLabels };
    let bare = [item.without_second()];
    if shared(size, &bare, plain).is_some() {
        let text = item.second.clone();
        return PaperRefusal::TextTooLong { format: size.name.to_owned(), text };
    }
    let (needed_width_mm, needed_height_mm) = needed(item, module_mm);
    PaperRefusal::LabelTooSmall {
        format: size.name.to_owned(),
        text: item.whole.rows.concat(),
        width_mm: size.width_mm,
        height_mm: size.height_mm,
        needed_width_mm,
        needed_height_mm,
    }
}

fn too_far(size: Size<'_>, items: &[Item], wish: Wish) -> PaperRefusal {
    let module_mm = wish.module_mm(wish.fewest_dots(items));
    let needs = items.iter().map(|item| needed(item, module_mm));
    let needed =
        needs.fold((0.0, 0.0), |most: (f64, f64), one| (most.0.max(one.0), most.1.max(one.1)));
    let finer = FINER_DPI.into_iter().filter(|dpi| *dpi > wish.dpi);
    let compact: Vec<Item> = items.iter().map(Item::compact).collect();
    PaperRefusal::TooFar {
        format: size.name.to_owned(),
        wanted_mm: wish.distance_mm,
        reached_mm: farthest_mm(size, items, wish.dpi).unwrap_or(0.0).floor(),
        needed_width_mm: needed.0,
        needed_height_mm: needed.1,
        finer_dpi: finer
            .into_iter()
            .find(|dpi| shared(size, items, Wish { dpi: *dpi, ..wish }).is_some()),
        compact: compact != items && shared(size, &compact, wish).is_some(),
    }
}

/// The smallest label (mm, to the next tenth) on which a label fits with its text beside the
/// symbol.
fn needed(item: &Item, module_mm: f64) -> (f64, f64) {
    let symbol_mm = item.modules as f64 * module_mm;
    let text_mm = item.broken.widest_mm * HUMAN_PT[0];
    let rows_mm = item.broken.rows.len() as f64 * HUMAN_PT[0] * LEADING * MM_PER_PT;
    let round_up = |mm: f64| (mm * 10.0 - 1e-6).ceil() / 10.0;
    (
        round_up(symbol_mm + text_mm + 2.0 * MARGIN_MM),
        round_up(symbol_mm.max(rows_mm) + 2.0 * MARGIN_MM),
    )
}

/// Smallest and largest module; common practice, no source. The smallest is two dots at 203 dpi.
/// A wanted distance may ask for larger ones.
const MODULE_MM: (f64, f64) = (0.24, 1.0);

/// Smallest, comfortable and largest size of the human line in points.
///
/// Capitals of the face are 0.69 of its size. At 5.5 points they are 1.34 mm high: 16 minutes of
/// arc at 285 mm, where a label is read in the hand; at 7 points, 20 minutes at the same distance.
/// ISO 9241-303 asks for 16 minutes at least and prefers 20 to 22 (from memory). The largest is
/// common practice, no source.
pub(super) const HUMAN_PT: [f64; 3] = [5.5, 7.0, 28.0];

/// Common resolutions of label and office printers. Common practice, no source.
const FINER_DPI: [u16; 4] = [203, 300, 600, 1200];
