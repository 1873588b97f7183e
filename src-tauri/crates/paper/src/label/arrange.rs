//! How large symbol and texts are on a label, and where they stand.

use super::{LEADING, MARGIN_MM, SheetLabel};
use crate::fonts::{Face, MM_PER_PT, printable, wrap};
use crate::symbol::QUIET_MODULES;
use crate::{PaperRefusal, SheetFormat};

/// Where things stand on one label, in dots or mm from its upper left corner.
pub(super) struct Layout {
    pub module_dots: i64,
    pub symbol_x_dots: i64,
    pub symbol_y_dots: i64,
    pub text_x_mm: f64,
    pub text_y_mm: f64,
    pub human_pt: f64,
    pub human_rows: Vec<String>,
    pub second_pt: f64,
    pub second_rows: Vec<String>,
}

/// Finds the largest module with which every label fits, and the same sizes for all of them.
///
/// A text of comfortable size comes before a large symbol, and before keeping the human line
/// in one row: it may be broken after a dash.
pub(super) fn arrange(
    format: &SheetFormat,
    labels: &[SheetLabel],
    dpi: u16,
) -> Result<Vec<Layout>, PaperRefusal> {
    let dots_per_mm = f64::from(dpi) / 25.4;
    let smallest = (MODULE_MM.0 * dots_per_mm).ceil().max(1.0) as i64;
    let largest = ((MODULE_MM.1 * dots_per_mm).floor() as i64).max(smallest);
    let [least, comfortable, most] = HUMAN_PT;
    for (least_pt, broken) in
        [(comfortable, false), (comfortable, true), (least, false), (least, true)]
    {
        for module_dots in (smallest..=largest).rev() {
            let module_mm = module_dots as f64 / dots_per_mm;
            let range_pt = (least_pt, most);
            let Ok(texts) = fit_all(format, labels, module_mm, broken, range_pt) else { continue };
            return Ok(labels
                .iter()
                .zip(texts)
                .map(|(label, text)| place(format, label, module_dots, dots_per_mm, text))
                .collect());
        }
    }
    let module_mm = smallest as f64 / dots_per_mm;
    let misfit = fit_all(format, labels, module_mm, true, (least, least)).err();
    let label = misfit.and_then(|at| labels.get(at));
    Err(label.map_or(PaperRefusal::NoLabels, |label| too_small(format, label, module_mm)))
}

/// Fits the texts of all labels beside symbols of one module size, all in the same sizes.
///
/// Fails with the index of the first label that does not fit.
fn fit_all(
    format: &SheetFormat,
    labels: &[SheetLabel],
    module_mm: f64,
    broken: bool,
    (least_pt, most_pt): (f64, f64),
) -> Result<Vec<FittedText>, usize> {
    let fit = |most_pt: f64| {
        labels
            .iter()
            .enumerate()
            .map(|(at, label)| {
                fit_one(format, label, module_mm, broken, (least_pt, most_pt)).ok_or(at)
            })
            .collect::<Result<Vec<_>, _>>()
    };
    let common_pt = fit(most_pt)?.iter().map(|text| text.human_pt).fold(most_pt, f64::min);
    fit(common_pt)
}

fn fit_one(
    format: &SheetFormat,
    label: &SheetLabel,
    module_mm: f64,
    broken: bool,
    range_pt: (f64, f64),
) -> Option<FittedText> {
    let symbol_mm = label.symbol.size_with_quiet() as f64 * module_mm;
    let inner = inner_mm(format);
    let rows = human_rows(label, broken);
    let second = printable(label.second_line.trim());
    let fits = symbol_mm <= inner.1 + TOLERANCE_MM;
    fits.then(|| fit_text(&rows, &second, inner.0 - symbol_mm, inner.1, range_pt)).flatten()
}

/// Width and height of a label inside its margins (mm).
fn inner_mm(format: &SheetFormat) -> (f64, f64) {
    (format.label_width_mm - 2.0 * MARGIN_MM, format.label_height_mm - 2.0 * MARGIN_MM)
}

struct FittedText {
    human_pt: f64,
    human_rows: Vec<String>,
    second_pt: f64,
    second_rows: Vec<String>,
}

impl FittedText {
    fn height_mm(&self) -> f64 {
        (self.human_rows.len() as f64 * self.human_pt
            + self.second_rows.len() as f64 * self.second_pt)
            * LEADING
            * MM_PER_PT
    }
}

fn fit_text(
    rows: &[String],
    second: &str,
    width_mm: f64,
    height_mm: f64,
    (least_pt, most_pt): (f64, f64),
) -> Option<FittedText> {
    let quarter = |pt: f64| (pt * 4.0 + TOLERANCE_MM).floor() / 4.0;
    let mut human_pt = most_pt.min(quarter(width_mm / widest_mm(rows).max(TOLERANCE_MM)));
    while human_pt >= least_pt {
        let second_pt = (human_pt * 0.75).max(SECOND_PT_LEAST);
        let second_rows = if second.is_empty() {
            Vec::new()
        } else {
            wrap(Face::Regular, second_pt, width_mm, second)
        };
        let human_rows = rows.to_vec();
        let text = FittedText { human_pt, human_rows, second_pt, second_rows };
        if text.height_mm() <= height_mm {
            return Some(text);
        }
        human_pt -= 0.25;
    }
    None
}

/// Returns the width (mm) of the widest row of a human line at a size of one point.
fn widest_mm(rows: &[String]) -> f64 {
    rows.iter().map(|row| Face::Bold.width_mm(1.0, row)).fold(0.0, f64::max)
}

fn place(
    format: &SheetFormat,
    label: &SheetLabel,
    module_dots: i64,
    dots_per_mm: f64,
    text: FittedText,
) -> Layout {
    let symbol_dots = label.symbol.size_with_quiet() as i64 * module_dots;
    let quiet_dots = QUIET_MODULES as i64 * module_dots;
    let label_height_dots = (format.label_height_mm * dots_per_mm).floor() as i64;
    let margin_dots = (MARGIN_MM * dots_per_mm).ceil() as i64;
    Layout {
        module_dots,
        symbol_x_dots: margin_dots + quiet_dots,
        symbol_y_dots: (label_height_dots - symbol_dots) / 2 + quiet_dots,
        text_x_mm: MARGIN_MM + symbol_dots as f64 / dots_per_mm,
        text_y_mm: (format.label_height_mm - text.height_mm()) / 2.0,
        human_pt: text.human_pt,
        human_rows: text.human_rows,
        second_pt: text.second_pt,
        second_rows: text.second_rows,
    }
}

/// Returns the human line in one row, or broken after the dash that leaves the rows most alike.
fn human_rows(label: &SheetLabel, broken: bool) -> Vec<String> {
    let human = printable(label.human_line.trim());
    let breaks = human.match_indices('-').map(|(at, _)| at + 1).filter(|&at| at < human.len());
    match breaks.min_by_key(|&at| at.max(human.len() - at)) {
        Some(at) if broken => vec![human[..at].to_owned(), human[at..].to_owned()],
        _ => vec![human],
    }
}

/// Says what is wrong: the second line if the label would do without it, else the size.
fn too_small(format: &SheetFormat, label: &SheetLabel, module_mm: f64) -> PaperRefusal {
    let bare = SheetLabel { second_line: String::new(), ..label.clone() };
    if fit_one(format, &bare, module_mm, true, (HUMAN_PT[0], HUMAN_PT[0])).is_some() {
        let text = label.second_line.clone();
        return PaperRefusal::TextTooLong { format: format.name.to_owned(), text };
    }
    let symbol_mm = label.symbol.size_with_quiet() as f64 * module_mm;
    let text_mm = widest_mm(&human_rows(label, true)) * HUMAN_PT[0];
    let round_up = |mm: f64| (mm * 10.0).ceil() / 10.0;
    PaperRefusal::LabelTooSmall {
        format: format.name.to_owned(),
        text: label.human_line.clone(),
        width_mm: format.label_width_mm,
        height_mm: format.label_height_mm,
        needed_width_mm: round_up(symbol_mm + text_mm + 2.0 * MARGIN_MM),
        needed_height_mm: round_up(symbol_mm + 2.0 * MARGIN_MM),
    }
}

/// Smallest and largest module; common practice, no source. The smallest is two dots at 203 dpi.
const MODULE_MM: (f64, f64) = (0.24, 1.0);
/// Smallest, comfortable and largest size of the human line in points; common practice, no
/// source.
const HUMAN_PT: [f64; 3] = [5.5, 7.0, 28.0];
/// Smallest size of the second line in points; common practice, no source.
const SECOND_PT_LEAST: f64 = 5.0;
/// Rounding errors of sums of measures stay below this.
const TOLERANCE_MM: f64 = 1e-6;
