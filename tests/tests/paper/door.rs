//! The card on a cabinet's door.

use crate::printed::{code, decode, flat, human, pages, pdf_text, run, symbol, write};
use chrono::NaiveDate;
use slotkeep_paper::{DoorLabel, DoorRail, DoorSheet, DoorSlot, PageSize, door_sheet};
use std::process::Command;

pub fn door(page: PageSize, rails: usize, slots: usize) -> DoorSheet {
    let door_label = |n: usize| DoorLabel {
        text: code(n),
        human_line: human(&code(n)),
        symbol: symbol(&code(n)),
    };
    let rail = |rail: usize| DoorRail {
        address: format!("+K12.{rail}"),
        title: "Feed pumps".to_owned(),
        joins: if rail == 2 { vec!["the bus goes on to +K12.3".to_owned()] } else { Vec::new() },
        length_mm: 600.0,
        others: vec![(0.0, 10.0), (580.0, 12.0)],
        slots: (0..slots)
            .map(|slot| DoorSlot {
                address: format!("+K12.{rail}.{:02}", slot + 1),
                number: format!("{:02}", slot + 1),
                x_mm: 12.0 + 35.0 * slot as f64,
                width_mm: 34.0,
                model: "PX-DI16 key std BD".to_owned(),
                label: door_label(rail * 100 + slot),
            })
            .collect(),
    };
    DoorSheet {
        page,
        site: "Marrow Point desalination works".to_owned(),
        printed_on: NaiveDate::from_ymd_opt(2026, 3, 2).unwrap(),
        revision: "1200 entries, 0a1b2c3d4e5f".to_owned(),
        cabinet: "+K12".to_owned(),
        title: "Feed pumps north".to_owned(),
        label: door_label(9999),
        rails: (1..=rails).map(rail).collect(),
    }
}

#[test]
fn every_label_of_a_door_sheet_is_read_back() {
    for (page, rails, slots) in
        [(PageSize::A4, 3, 16), (PageSize::Letter, 2, 9), (PageSize::A4, 5, 14)]
    {
        let sheet = door(page, rails, slots);
        let pdf = door_sheet(&sheet).unwrap();
        let pictures = pages(&pdf, 600);
        assert_eq!(pictures.len(), 1, "{rails} rails of {slots} slots");
        let said = flat(&pdf_text(&pdf));
        assert!(
            said.contains("Permit and isolation") && said.contains("does not replace"),
            "{said}"
        );
        assert!(
            said.contains("+K12 Feed pumps north") && said.contains("as of 2026-03-02"),
            "{said}"
        );
        assert!(said.contains("The bus goes on to +K12.3."), "{said}");
        for slot in sheet.rails.iter().flat_map(|rail| &rail.slots) {
            assert!(said.contains(&slot.address), "{}", slot.address);
            let (left_pt, top_pt) = word_at(&pdf, &slot.label.human_line);
            let dot = |pt: f64| (pt / 72.0 * 600.0).max(0.0) as usize;
            // The symbol stands at the left of the line that people read.
            let (width, height) = (dot(15.2 / 25.4 * 72.0), dot(21.0 / 25.4 * 72.0));
            let left = dot(left_pt).saturating_sub(width + 2);
            let crop = pictures[0].crop((left, dot(top_pt - 36.0), width, height));
            let read = decode(&[crop]);
            assert!(read.contains(&slot.label.text), "{}: {read:?}", slot.address);
        }
    }
    let large = door(PageSize::A4, 12, 16);
    let pdf = door_sheet(&large).unwrap();
    let said = flat(&pdf_text(&pdf));
    assert!(said.contains("Page 2 of") && said.contains("+K12.12.16"), "{said}");
}

/// Left and top of a word of the first page, in points.
fn word_at(pdf: &[u8], word: &str) -> (f64, f64) {
    let folder = tempfile::tempdir().unwrap();
    let path = write(folder.path(), "sheet.pdf", pdf);
    let boxes = run(Command::new("pdftotext").arg("-bbox").arg(path).arg("-"));
    let line = boxes.lines().find(|line| line.contains(&format!(">{word}<")));
    let line = line.unwrap_or_else(|| panic!("{word} is not on the page"));
    let number = |name: &str| {
        let from = line.find(name).unwrap() + name.len() + 2;
        line[from..].split('"').next().unwrap().parse::<f64>().unwrap()
    };
    (number("xMin"), number("yMin"))
}
