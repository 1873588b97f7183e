//! Label sheets and rolls.

mod arrange;
mod design;
mod fit;
mod printing;
mod test_page;

pub use arrange::Row;
pub use design::{LabelDesign, LabelWish, design};
pub use printing::Printing;
pub use test_page::{Measured, test_page};

use crate::canvas::Canvas;
use crate::document::document;
use crate::fonts::{Face, unprintable};
use crate::{PaperRefusal, SheetFormat, Symbol};
use arrange::{Wish, misfit, place, shared};
use fit::{Item, Size};
use slotkeep_domain::in_parallel;
use slotkeep_optics::Proof;
use std::collections::{BTreeMap, BTreeSet};

/// One label: the symbol and what people read beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetLabel {
    /// What the symbol says: compared with what is read back from it before anything is printed.
    pub text: String,
    pub symbol: Symbol,
    /// The label text as people read and type it; printed in bold and never shortened.
    pub human_line: String,
    /// What the thing is or where it belongs; may be empty.
    pub second_line: String,
}

/// One label where it will be printed; all measures from the upper left corner of its page.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// From 0.
    pub page: usize,
    /// Position on the page, from 0, row by row.
    pub place: usize,
    /// Upper left corner of the label.
    pub x_mm: f64,
    pub y_mm: f64,
    /// Upper left corner of the first module, in dots of the printer.
    pub symbol_x_dots: i64,
    pub symbol_y_dots: i64,
    pub module_dots: i64,
    pub rows: Vec<Row>,
}

/// Says where every label of a sheet will be printed.
///
/// Fails when a label does not fit or cannot be read from the wanted distance, a text cannot be
/// printed, or a setting is out of range.
pub fn lay_out(
    format: &SheetFormat,
    printing: &Printing,
    labels: &[SheetLabel],
) -> Result<Vec<Placed>, PaperRefusal> {
    check(format, printing, labels)?;
    let size = Size {
        name: format.name,
        width_mm: format.label_width_mm,
        height_mm: format.label_height_mm,
    };
    let wish = Wish { dpi: printing.dpi, distance_mm: printing.distance_mm };
    let items = in_parallel(labels, Item::of);
    let shared = shared(size, &items, wish).ok_or_else(|| misfit(size, &items, wish))?;
    let numbered: Vec<_> = items.iter().enumerate().collect();
    Ok(in_parallel(&numbered, |(index, item)| {
        let layout = place(size, item, wish, shared);
        let position = printing.start_position - 1 + index;
        let (x_mm, y_mm) = printing.corrected(format.corner_mm(position % format.places()));
        let (x_dots, y_dots) = (printing.dots(x_mm), printing.dots(y_mm));
        let on_page = |row: Row| Row {
            x_mm: printing.mm(x_dots) + row.x_mm,
            baseline_mm: printing.mm(y_dots) + row.baseline_mm,
            ..row
        };
        Placed {
            page: position / format.places(),
            place: position % format.places(),
            x_mm,
            y_mm,
            symbol_x_dots: x_dots + layout.symbol_x_dots,
            symbol_y_dots: y_dots + layout.symbol_y_dots,
            module_dots: layout.module_dots,
            rows: layout.rows.into_iter().map(on_page).collect(),
        }
    }))
}

/// Makes a PDF of labels, one page for each sheet or for each label of a roll.
///
/// Each symbol is drawn as one vector shape with modules of a whole number of printer dots on
/// the dot grid, and a quiet zone of four modules (ISO/IEC 18004) inside the label. The page
/// itself is rounded to whole dots, less than 0.1 mm at 203 dpi. Before that every symbol is
/// proved: drawn at the printer's resolution, spoilt as printing and photographing spoil it, and
/// read back.
///
/// Fails as [`lay_out`] does, and when a symbol is not read back; nothing is printed then.
pub fn label_sheet(
    format: &SheetFormat,
    printing: &Printing,
    labels: &[SheetLabel],
) -> Result<Vec<u8>, PaperRefusal> {
    let placed = lay_out(format, printing, labels)?;
    prove(format, labels, &placed)?;
    let whole = |mm: f64| printing.mm(printing.dots(mm));
    let page_mm = (whole(format.page_width_mm), whole(format.page_height_mm));
    let together: Vec<_> = labels.iter().zip(&placed).collect();
    let sheets: Vec<_> = together.chunk_by(|a, b| a.1.page == b.1.page).collect();
    let pages = in_parallel(&sheets, |sheet| {
        let mut page = Canvas::new(page_mm.0, page_mm.1);
        for (label, placed) in *sheet {
            placed.draw(&mut page, &label.symbol, printing.dpi);
        }
        page
    });
    Ok(document(&format!("Labels {}", format.name), pages))
}

/// Reads every symbol back as it will be printed.
fn prove(
    format: &SheetFormat,
    labels: &[SheetLabel],
    placed: &[Placed],
) -> Result<(), PaperRefusal> {
    let module_dots = placed.first().map_or(1, |one| one.module_dots) as u32;
    let sizes: BTreeSet<usize> = labels.iter().map(|label| label.symbol.size()).collect();
    let proofs: BTreeMap<usize, Proof> =
        sizes.into_iter().map(|size| (size, Proof::new(size, module_dots))).collect();
    let failures = in_parallel(labels, |label| {
        proofs.get(&label.symbol.size())?.fails(&label.text, label.symbol.modules())
    });
    let failed =
        failures.into_iter().zip(labels).find_map(|(failure, label)| Some((failure?, label)));
    match failed {
        None => Ok(()),
        Some((failure, label)) => Err(PaperRefusal::NotReadBack {
            format: format.name.to_owned(),
            text: label.human_line.clone(),
            failure,
        }),
    }
}

fn check(
    format: &SheetFormat,
    printing: &Printing,
    labels: &[SheetLabel],
) -> Result<(), PaperRefusal> {
    if labels.is_empty() {
        return Err(PaperRefusal::NoLabels);
    }
    let (start, places) = (printing.start_position, format.places());
    if start == 0 || start > places {
        return Err(PaperRefusal::StartBeyond { format: format.name.to_owned(), start, places });
    }
    printing.check()?;
    check_on_page(format, printing)?;
    let unprintables = in_parallel(labels, |label| {
        [&label.human_line, &label.second_line]
            .into_iter()
            .find_map(|text| unprintable(text).map(|character| (text.clone(), character)))
    });
    match unprintables.into_iter().flatten().next() {
        Some((text, character)) => Err(PaperRefusal::CannotPrint { text, character }),
        None => Ok(()),
    }
}

fn check_on_page(format: &SheetFormat, printing: &Printing) -> Result<(), PaperRefusal> {
    let first = printing.corrected(format.corner_mm(0));
    let last = printing.corrected(format.corner_mm(format.places() - 1));
    // What may leave the page is the margin that every label keeps free.
    let on_page = first.0 >= -MARGIN_MM
        && first.1 >= -MARGIN_MM
        && last.0 + format.label_width_mm <= format.page_width_mm + MARGIN_MM
        && last.1 + format.label_height_mm <= format.page_height_mm + MARGIN_MM;
    if on_page { Ok(()) } else { Err(PaperRefusal::OffPage { format: format.name.to_owned() }) }
}

impl Placed {
    fn draw(&self, page: &mut Canvas, symbol: &Symbol, dpi: u16) {
        page.symbol(symbol, self.symbol_x_dots, self.symbol_y_dots, self.module_dots, dpi);
        for row in &self.rows {
            let face = if row.bold { Face::Bold } else { Face::Regular };
            page.text(face, row.size_pt, row.x_mm, row.baseline_mm, &row.text);
        }
    }
}

/// Kept free at each edge of a label, for sheets that lie a little off.
const MARGIN_MM: f64 = 0.5;
/// Distance of baselines as a multiple of the size.
const LEADING: f64 = 1.12;
