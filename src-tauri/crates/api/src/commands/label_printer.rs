//! Printers that shift, shrink or stretch a page: a page that shows it, and what puts it right.

use super::label_sheet::refused;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command, File};
use crate::wire::label_sheet::{AdjustmentInput, Correction, TestPageInput};
use slotkeep_paper::{FORMATS, Measured, Printing, SheetFormat, test_page};

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::file(
            "label.test_page",
            "Prints a page of crosses and rulers that shows how far a printer is off (PDF).",
            tested,
        ),
        table::ask(
            "label.adjustment",
            "Reckons the correction of a printer from what was measured on its test page.",
            adjustment,
        ),
    ]
}

pub(super) fn format(name: Option<&str>) -> Result<&'static SheetFormat, Failure> {
    match name {
        Some(name) => SheetFormat::named(name).map_err(refused),
        None => FORMATS.first().ok_or_else(|| Failure::refused("no format is known")),
    }
}

pub(super) fn dpi(dpi: Option<u32>) -> Result<u16, Failure> {
    u16::try_from(dpi.unwrap_or(300))
        .map_err(|_| Failure::bad_input("no printer has so many dots on an inch"))
}

pub(super) fn corrected(correction: Option<Correction>) -> Printing {
    match correction {
        Some(Correction { offset_x_mm, offset_y_mm, scale_x, scale_y }) => {
            Printing { offset_x_mm, offset_y_mm, scale_x, scale_y, ..Printing::default() }
        }
        None => Printing::default(),
    }
}

fn tested(_: &Ask<'_>, input: TestPageInput) -> Result<File, Failure> {
    let printing = corrected(input.correction);
    let bytes = test_page(format(input.format.as_deref())?, &printing).map_err(refused)?;
    Ok(File { name: "test-page.pdf".to_owned(), content_type: "application/pdf", bytes })
}

fn adjustment(_: &Ask<'_>, input: AdjustmentInput) -> Result<Correction, Failure> {
    let AdjustmentInput { left_mm, top_mm, across_mm, down_mm, .. } = input;
    let seen = Measured { left_mm, top_mm, across_mm, down_mm };
    let format = format(input.format.as_deref())?;
    let Printing { offset_x_mm, offset_y_mm, scale_x, scale_y, .. } =
        Printing::default().corrected_by(format, &seen).map_err(refused)?;
    Ok(Correction { offset_x_mm, offset_y_mm, scale_x, scale_y })
}
