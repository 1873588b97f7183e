//! Whether symbol and texts of a label fit on it, tried in sizes one after another.

use super::{LEADING, MARGIN_MM, SheetLabel};
use crate::fonts::{Face, MM_PER_PT, printable, wrap};
use crate::symbol::QUIET_MODULES;

/// The room of one label.
#[derive(Debug, Clone, Copy)]
pub(super) struct Size<'a> {
    /// How refusals call it.
    pub name: &'a str,
    pub width_mm: f64,
    pub height_mm: f64,
}

/// What stands on one label, measured once.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Item {
    /// Modules a side, quiet zone included.
    pub modules: usize,
    pub whole: Rows,
    pub broken: Rows,
    pub second: String,
    /// Width of the second line at a size of one point.
    second_mm: f64,
}

/// The human line in rows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Rows {
    pub rows: Vec<String>,
    /// Width of the widest at a size of one point.
    pub widest_mm: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Arrangement {
    /// The text stands at the right of the symbol.
    Beside,
    /// The text stands below the symbol, both in the middle.
    Below,
}

/// A way to fill labels that is tried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fitted {
    pub arrangement: Arrangement,
    pub module_mm: f64,
    pub broken: bool,
}

impl Item {
    pub(super) fn of(label: &SheetLabel) -> Self {
        Self::new(label.symbol.size(), &label.human_line, &label.second_line)
    }

    pub(super) fn new(symbol_modules: usize, human_line: &str, second_line: &str) -> Self {
        let second = printable(second_line.trim());
        let human = printable(human_line.trim());
        Self {
            modules: symbol_modules + 2 * QUIET_MODULES,
            broken: Rows::new(broken(&human)),
            whole: Rows::new(vec![human]),
            second_mm: Face::Regular.width_mm(1.0, &second),
            second,
        }
    }

    pub(super) fn symbol_modules(&self) -> usize {
        self.modules - 2 * QUIET_MODULES
    }

    pub(super) fn without_second(&self) -> Self {
        Self { second: String::new(), second_mm: 0.0, ..self.clone() }
    }

    /// The same with the symbol of a label's text alone: version 1.
    pub(super) fn compact(&self) -> Self {
        Self { modules: 21 + 2 * QUIET_MODULES, ..self.clone() }
    }

    fn rows(&self, broken: bool) -> &Rows {
        if broken { &self.broken } else { &self.whole }
    }
}

impl Rows {
    fn new(rows: Vec<String>) -> Self {
        let widest_mm = rows.iter().map(|row| Face::Bold.width_mm(1.0, row)).fold(0.0, f64::max);
        Self { rows, widest_mm }
    }
}

/// Returns the human line broken after the dash that leaves the rows most alike.
fn broken(human: &str) -> Vec<String> {
    let breaks = human.match_indices('-').map(|(at, _)| at + 1).filter(|&at| at < human.len());
    match breaks.min_by_key(|&at| at.max(human.len() - at)) {
        Some(at) => vec![human[..at].to_owned(), human[at..].to_owned()],
        None => vec![human.to_owned()],
    }
}

/// Fits the texts of all labels to symbols of one module size, and returns the size of the human
/// lines (points) that suits them all.
///
/// Fails with the index of the first label that does not fit.
pub(super) fn fit_all(
    size: Size<'_>,
    items: &[Item],
    as_this: Fitted,
    (least_pt, most_pt): (f64, f64),
) -> Result<f64, usize> {
    let mut common_pt = most_pt;
    for (at, item) in items.iter().enumerate() {
        common_pt = fit_one(size, item, as_this, (least_pt, common_pt)).ok_or(at)?;
    }
    Ok(common_pt)
}

/// Returns the largest size (points) of the human line at which everything fits.
fn fit_one(
    size: Size<'_>,
    item: &Item,
    as_this: Fitted,
    (least_pt, most_pt): (f64, f64),
) -> Option<f64> {
    let (width_mm, height_mm) = text_room(size, item, as_this)?;
    let rows = item.rows(as_this.broken);
    let quarter = |pt: f64| (pt * 4.0 + TOLERANCE_MM).floor() / 4.0;
    let mut human_pt = most_pt.min(quarter(width_mm / rows.widest_mm.max(TOLERANCE_MM)));
    while human_pt >= least_pt {
        let human_mm = rows.rows.len() as f64 * human_pt;
        let second_mm = second_count(item, human_pt, width_mm) as f64 * second_pt(human_pt);
        if (human_mm + second_mm) * LEADING * MM_PER_PT <= height_mm {
            return Some(human_pt);
        }
        human_pt -= 0.25;
    }
    None
}

/// Width and height (mm) left for text; `None` where not even the symbol fits.
fn text_room(size: Size<'_>, item: &Item, as_this: Fitted) -> Option<(f64, f64)> {
    let symbol_mm = item.modules as f64 * as_this.module_mm;
    let inner = (size.width_mm - 2.0 * MARGIN_MM, size.height_mm - 2.0 * MARGIN_MM);
    match as_this.arrangement {
        Arrangement::Beside if symbol_mm <= inner.1 + TOLERANCE_MM => {
            Some((inner.0 - symbol_mm, inner.1))
        }
        Arrangement::Below if symbol_mm <= inner.0 + TOLERANCE_MM => {
            Some((inner.0, inner.1 - symbol_mm))
        }
        _ => None,
    }
}

fn second_pt(human_pt: f64) -> f64 {
    (human_pt * 0.75).max(SECOND_PT_LEAST)
}

/// Rows that the second line takes.
fn second_count(item: &Item, human_pt: f64, width_mm: f64) -> usize {
    let size_pt = second_pt(human_pt);
    if item.second.is_empty() {
        0
    } else if item.second_mm * size_pt <= width_mm {
        1
    } else {
        wrap(Face::Regular, size_pt, width_mm, &item.second).len()
    }
}

/// The rows of a label with face and size (points), from top to bottom.
pub(super) fn item_rows(
    size: Size<'_>,
    item: &Item,
    as_this: Fitted,
    human_pt: f64,
) -> Vec<(Face, f64, String)> {
    let width_mm = text_room(size, item, as_this).map_or(0.0, |room| room.0);
    let human = item.rows(as_this.broken).rows.iter().cloned();
    let mut rows: Vec<_> = human.map(|row| (Face::Bold, human_pt, row)).collect();
    let size_pt = second_pt(human_pt);
    if item.second.is_empty() {
        return rows;
    }
    // A line that fits is taken as it was counted: summing its parts would round otherwise.
    let second = if item.second_mm * size_pt <= width_mm {
        vec![item.second.clone()]
    } else {
        wrap(Face::Regular, size_pt, width_mm, &item.second)
    };
    rows.extend(second.into_iter().map(|row| (Face::Regular, size_pt, row)));
    rows
}

/// Smallest size of the second line in points: 14.5 minutes of arc at 285 mm. It is a comfort, the
/// human line is what must be read.
const SECOND_PT_LEAST: f64 = 5.0;
/// Rounding errors of sums of measures stay below this.
const TOLERANCE_MM: f64 = 1e-6;
