//! What is printed can be read back: by a decoder and a text extractor that are not ours.

mod battery;
mod door;
mod labels;
mod printed;
mod swap;

use battery::{batteries, battery_visit};
use chrono::NaiveDate;
use door::door;
use printed::{code, flat, label, pdf_text, run, text_by_page, write};
use slotkeep_paper::{
    PageSize, Printing, SheetFormat, SwapSheet, battery_list, door_sheet, label_sheet, swap_sheet,
    visit_sheet,
};
use std::process::Command;
use swap::swap;

#[test]
fn every_sheet_that_work_is_done_by_has_every_caution() {
    let sheets = [
        ("method statement", swap_sheet(&swap())),
        ("battery list", battery_list(&batteries())),
        ("battery visit", visit_sheet(&battery_visit())),
        ("door sheet", door_sheet(&door(PageSize::A4, 3, 8)).unwrap()),
    ];
    for (name, pdf) in sheets {
        let first = flat(&text_by_page(&pdf)[0]);
        for caution in slotkeep_domain::swap::CAUTIONS {
            assert!(first.contains(caution), "the first page of the {name} lacks {caution:?}");
        }
    }
}

#[test]
fn names_print_in_their_script_and_what_cannot_is_seen() {
    let mut sheet = swap();
    sheet.site = "Usine d'Åland – Щит № 5 – Ωμέγα".to_owned();
    sheet.verdict = "Checked against 泵房.".to_owned();
    let text = flat(&pdf_text(&swap_sheet(&sheet)));
    assert!(text.contains("Usine d'Åland – Щит № 5 – Ωμέγα"), "{text}");
    assert!(text.contains("Checked against □□."), "{text}");
}

#[test]
fn equal_input_gives_equal_bytes() {
    let labels = [label(&code(1), "+K12.2.07")];
    let format = SheetFormat::named("roll-50x25").unwrap();
    let sheet = || label_sheet(format, &Printing::default(), &labels).unwrap();
    assert_eq!(sheet(), sheet());
    assert_eq!(swap_sheet(&swap()), swap_sheet(&swap()));
    assert_eq!(battery_list(&batteries()), battery_list(&batteries()));
    let later = NaiveDate::from_ymd_opt(2027, 1, 1).unwrap();
    assert_ne!(swap_sheet(&swap()), swap_sheet(&SwapSheet { printed_on: later, ..swap() }));
}

#[test]
fn fonts_travel_with_the_document_as_subsets() {
    let folder = tempfile::tempdir().unwrap();
    let pdf = swap_sheet(&swap());
    let path = write(folder.path(), "sheet.pdf", &pdf);
    let listed = run(Command::new("pdffonts").arg(path));
    let fonts: Vec<_> = listed.lines().skip(2).collect();
    assert_eq!(fonts.len(), 2, "{listed}");
    for font in fonts {
        // A subset has a tag of six letters; the columns are embedded, subset, unicode.
        assert!(font.chars().nth(6) == Some('+') && font.contains("yes yes yes"), "{font}");
    }
    // One whole face alone has 400 kB.
    assert!(pdf.len() < 150_000, "{} bytes", pdf.len());
}
