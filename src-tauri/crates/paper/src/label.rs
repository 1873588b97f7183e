//! Label sheets and rolls.

mod arrange;

use arrange::{Layout, arrange};

use crate::canvas::{Canvas, document};
use crate::fonts::{Face, MM_PER_PT, unprintable};
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
    let layouts = arrange(format, labels, printing.dpi)?;
    let mut pages = Vec::new();
    for (index, (label, layout)) in labels.iter().zip(&layouts).enumerate() {
        let place = (printing.start_position - 1 + index) % format.places();
        if pages.is_empty() || place == 0 {
            pages.push(Canvas::new(page_mm.0, page_mm.1));
        }
        let (x_mm, y_mm) = printed_corner(format, printing, place);
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

/// Kept free at each edge of a label, for sheets that lie a little off.
const MARGIN_MM: f64 = 0.5;
/// Distance of baselines as a multiple of the size.
const LEADING: f64 = 1.12;
