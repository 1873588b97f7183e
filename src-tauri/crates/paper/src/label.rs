//! Label sheets and rolls.

use crate::canvas::{Canvas, document};
use crate::fonts::{Face, MM_PER_PT, printable, unprintable, wrap};
use crate::symbol::QUIET_MODULES;
use crate::{PaperRefusal, SheetFormat, Symbol};

/// One label: the symbol and what people read beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetLabel {
    pub symbol: Symbol,
    /// The label text as people read and type it; printed in bold and never shortened.
    pub human_line: String,
    /// What the thing is or where it belongs; may be empty.
    pub second_line: String,
}

/// How a sheet goes through the printer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Printing {
    /// Resolution in dots per inch; modules are whole dots of it.
    pub dpi: u16,
    /// First place to use on the first sheet, from 1, row by row: for sheets begun before.
    pub start_position: usize,
    /// Moves every label to the right (mm).
    pub offset_x_mm: f64,
    /// Moves every label down (mm).
    pub offset_y_mm: f64,
    /// Multiplies the distances of the labels, for printers that shrink or stretch the page.
    /// Modules stay whole dots.
    pub scale: f64,
}

impl Default for Printing {
    fn default() -> Self {
        Self { dpi: 600, start_position: 1, offset_x_mm: 0.0, offset_y_mm: 0.0, scale: 1.0 }
    }
}

/// Makes a PDF of labels, one page for each sheet or for each label of a roll.
///
/// Each symbol is drawn as one vector shape with modules of a whole number of printer dots on
/// the dot grid, and a quiet zone of four modules (ISO/IEC 18004) inside the label. The page
/// itself is rounded to whole dots, less than 0.1 mm at 203 dpi.
///
/// Fails when a label does not fit, a text cannot be printed, or a setting is out of range;
/// nothing is printed then.
pub fn label_sheet(
    format: &SheetFormat,
    printing: &Printing,
    labels: &[SheetLabel],
) -> Result<Vec<u8>, PaperRefusal> {
    check(format, printing, labels)?;
    let dots = |mm: f64| (mm / 25.4 * f64::from(printing.dpi)).round() as i64;
    let mm = |dots: i64| dots as f64 * 25.4 / f64::from(printing.dpi);
    let page_mm = (mm(dots(format.page_width_mm)), mm(dots(format.page_height_mm)));
    let mut pages = Vec::new();
    for (index, label) in labels.iter().enumerate() {
        let place = (printing.start_position - 1 + index) % format.places();
        if pages.is_empty() || place == 0 {
            pages.push(Canvas::new(page_mm.0, page_mm.1));
        }
        let (x_mm, y_mm) = printed_corner(format, printing, place);
        let layout = arrange(format, label, printing.dpi)?;
        if let Some(page) = pages.last_mut() {
            layout.draw(page, label, (dots(x_mm), dots(y_mm)), printing.dpi);
        }
    }
    Ok(document(&format!("Labels {}", format.name), pages))
}

fn check(
    format: &SheetFormat,
    printing: &Printing,
    labels: &[SheetLabel],
) -> Result<(), PaperRefusal> {
    if labels.is_empty() {
        return Err(PaperRefusal::NoLabels);
    }
    if !(150..=1200).contains(&printing.dpi) {
        return Err(PaperRefusal::Resolution { dpi: printing.dpi });
    }
    let (start, places) = (printing.start_position, format.places());
    if start == 0 || start > places {
        return Err(PaperRefusal::StartBeyond { format: format.name.to_owned(), start, places });
    }
    let settings = [
        ("offset to the right in mm", printing.offset_x_mm, -20.0, 20.0),
        ("offset down in mm", printing.offset_y_mm, -20.0, 20.0),
        ("scale", printing.scale, 0.9, 1.1),
    ];
    for (what, value, lowest, highest) in settings {
        if !(lowest..=highest).contains(&value) {
            return Err(PaperRefusal::Adjustment { what, value, lowest, highest });
        }
    }
    check_on_page(format, printing)?;
    for text in labels.iter().flat_map(|label| [&label.human_line, &label.second_line]) {
        if let Some(character) = unprintable(text) {
            return Err(PaperRefusal::CannotPrint { text: text.clone(), character });
        }
    }
    Ok(())
}

fn check_on_page(format: &SheetFormat, printing: &Printing) -> Result<(), PaperRefusal> {
    let first = printed_corner(format, printing, 0);
    let last = printed_corner(format, printing, format.places() - 1);
    // What may leave the page is the margin that every label keeps free.
    let on_page = first.0 >= -MARGIN_MM
        && first.1 >= -MARGIN_MM
        && last.0 + format.label_width_mm <= format.page_width_mm + MARGIN_MM
        && last.1 + format.label_height_mm <= format.page_height_mm + MARGIN_MM;
    if on_page { Ok(()) } else { Err(PaperRefusal::OffPage { format: format.name.to_owned() }) }
}

fn printed_corner(format: &SheetFormat, printing: &Printing, place: usize) -> (f64, f64) {
    let (x_mm, y_mm) = format.corner_mm(place);
    (x_mm * printing.scale + printing.offset_x_mm, y_mm * printing.scale + printing.offset_y_mm)
}

/// Where things stand on one label, in dots or mm from its upper left corner.
struct Layout {
    module_dots: i64,
    symbol_x_dots: i64,
    symbol_y_dots: i64,
    text_x_mm: f64,
    text_y_mm: f64,
    human_pt: f64,
    human_rows: Vec<String>,
    second_pt: f64,
    second_rows: Vec<String>,
}

/// Finds the largest symbol beside which the texts can be read.
///
/// The human line stands in one row if any module size allows it, else it is broken after a
/// dash.
fn arrange(format: &SheetFormat, label: &SheetLabel, dpi: u16) -> Result<Layout, PaperRefusal> {
    let human = printable(label.human_line.trim());
    let second = printable(label.second_line.trim());
    let dots_per_mm = f64::from(dpi) / 25.4;
    let side = label.symbol.size_with_quiet() as f64;
    let smallest = (MODULE_MM.0 * dots_per_mm).ceil().max(1.0) as i64;
    let largest = ((MODULE_MM.1 * dots_per_mm).floor() as i64).max(smallest);
    let inner = (format.label_width_mm - 2.0 * MARGIN_MM, format.label_height_mm - 2.0 * MARGIN_MM);
    for rows in splits(&human) {
        for module_dots in (smallest..=largest).rev() {
            let symbol_mm = side * module_dots as f64 / dots_per_mm;
            if symbol_mm > inner.1 {
                continue;
            }
            let width_mm = inner.0 - symbol_mm;
            if let Some(text) = fit_text(&rows, &second, width_mm, inner.1) {
                return Ok(place(format, label, module_dots, dots_per_mm, text));
            }
        }
    }
    Err(too_small(format, label, &human, side * smallest as f64 / dots_per_mm))
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

fn fit_text(rows: &[String], second: &str, width_mm: f64, height_mm: f64) -> Option<FittedText> {
    let widest_mm = rows.iter().map(|row| Face::Bold.width_mm(1.0, row)).fold(0.0_f64, f64::max);
    let mut human_pt = HUMAN_PT.1.min((width_mm / widest_mm.max(1e-6) * 4.0).floor() / 4.0);
    while human_pt >= HUMAN_PT.0 {
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

impl Layout {
    fn draw(&self, page: &mut Canvas, label: &SheetLabel, corner_dots: (i64, i64), dpi: u16) {
        let x_dots = corner_dots.0 + self.symbol_x_dots;
        let y_dots = corner_dots.1 + self.symbol_y_dots;
        page.symbol(&label.symbol, x_dots, y_dots, self.module_dots, dpi);
        let mm = |dots: i64| dots as f64 * 25.4 / f64::from(dpi);
        let x_mm = mm(corner_dots.0) + self.text_x_mm;
        let mut y_mm = mm(corner_dots.1) + self.text_y_mm;
        let parts = [
            (Face::Bold, self.human_pt, &self.human_rows),
            (Face::Regular, self.second_pt, &self.second_rows),
        ];
        for (face, size_pt, rows) in parts {
            for row in rows {
                page.text(face, size_pt, x_mm, y_mm + size_pt * MM_PER_PT, row);
                y_mm += size_pt * LEADING * MM_PER_PT;
            }
        }
    }
}

/// The ways to set the human line: in one row, then in two, broken after the middle dash.
fn splits(human: &str) -> Vec<Vec<String>> {
    let mut ways = vec![vec![human.to_owned()]];
    let middle = human.len() / 2;
    let dash = human.match_indices('-').map(|(at, _)| at + 1).filter(|&at| at < human.len());
    if let Some(at) = dash.min_by_key(|at| at.abs_diff(middle)) {
        ways.push(vec![human[..at].to_owned(), human[at..].to_owned()]);
    }
    ways
}

/// Says what is wrong: the second line if the label would do without it, else the size.
fn too_small(
    format: &SheetFormat,
    label: &SheetLabel,
    human: &str,
    symbol_mm: f64,
) -> PaperRefusal {
    let inner = (format.label_width_mm - 2.0 * MARGIN_MM, format.label_height_mm - 2.0 * MARGIN_MM);
    let fits_without =
        splits(human).iter().any(|rows| fit_text(rows, "", inner.0 - symbol_mm, inner.1).is_some());
    if symbol_mm <= inner.1 && fits_without {
        let text = label.second_line.clone();
        return PaperRefusal::TextTooLong { format: format.name.to_owned(), text };
    }
    let narrowest_mm = splits(human)
        .iter()
        .map(|rows| {
            rows.iter().map(|row| Face::Bold.width_mm(HUMAN_PT.0, row)).fold(0.0_f64, f64::max)
        })
        .fold(f64::INFINITY, f64::min);
    let round_up = |mm: f64| (mm * 10.0).ceil() / 10.0;
    PaperRefusal::LabelTooSmall {
        format: format.name.to_owned(),
        text: label.human_line.clone(),
        width_mm: format.label_width_mm,
        height_mm: format.label_height_mm,
        needed_width_mm: round_up(symbol_mm + narrowest_mm + 2.0 * MARGIN_MM),
        needed_height_mm: round_up(symbol_mm + 2.0 * MARGIN_MM),
    }
}

/// Kept free at each edge of a label, for sheets that lie a little off.
const MARGIN_MM: f64 = 0.5;
/// Smallest and largest module; common practice, no source. The smallest is two dots at 203 dpi.
const MODULE_MM: (f64, f64) = (0.24, 0.7);
/// Smallest and largest size of the human line in points; common practice, no source.
const HUMAN_PT: (f64, f64) = (6.0, 16.0);
/// Smallest size of the second line in points; common practice, no source.
const SECOND_PT_LEAST: f64 = 5.0;
/// Distance of baselines as a multiple of the size.
const LEADING: f64 = 1.18;
