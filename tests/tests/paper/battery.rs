//! The lists of battery changes, the sheet of a visit, and what survives a power-off.

use crate::printed::{code, decode, flat, human, in_order, pages, pdf_text, symbol, text_by_page};
use chrono::NaiveDate;
use slotkeep_paper::{
    BatteryChange, BatteryList, CabinetVisit, MemoryLine, PageSize, ReadinessSheet, ScanLabel,
    SheetChange, VisitSheet, battery_list, readiness_sheet, visit_sheet,
};

#[test]
fn a_readiness_sheet_is_one_page_however_many_memories_there_are() {
    for (count, lost, advised) in [(0, 0, 0), (3, 1, 1), (25, 4, 4), (400, 60, 60), (5, 5, 0)] {
        let memories = (0..count).map(|n| MemoryLine {
            slot_address: format!("+K{:02}.1.02", n + 11),
            controller: format!("MP-CP2 unit number {n} with a name that is far too long"),
            lasts: format!("{} h", 40 + n),
            margin: format!("{} h", n - lost),
            chance: "0.4 %".to_owned(),
            survives: n >= lost,
        });
        let sheet = ReadinessSheet {
            page: PageSize::A4,
            site: "Marrow Point".to_owned(),
            printed_on: NaiveDate::from_ymd_opt(2026, 11, 25).unwrap(),
            scope: "The whole site".to_owned(),
            times: "From 2027-04-11 04:00 to 2027-04-14 04:00 UTC, 72 h".to_owned(),
            reason: "Yearly shutdown".to_owned(),
            verdict: format!("{lost} of {count} memories would not outlast it."),
            memories: memories.collect(),
            first: (0..advised).map(|n| format!("Change the battery at +K{n}.1.02")).collect(),
            basis: "With 1 chance in 100 of being worse.".to_owned(),
        };
        let pages = text_by_page(&readiness_sheet(&sheet));
        assert_eq!(pages.len(), 1, "{count} memories");
        let text = flat(&pages[0]);
        assert!(text.contains("Page 1 of 1") && text.contains("does not replace local codes"));
        assert!(text.contains("With 1 chance in 100"), "{count}: {text}");
        let shown = (0..count).filter(|n| text.contains(&format!("+K{:02}.1.02", n + 11))).count();
        let more = text.split_once(" more controllers").map(|(before, _)| before);
        let left_out = more.map_or(0, |before| before.rsplit(' ').next().unwrap().parse().unwrap());
        assert_eq!(shown + left_out, usize::try_from(count).unwrap(), "{count}: {text}");
        assert!(count < 26 || shown > 8, "{shown} of {count} are shown");
    }
}

#[test]
fn a_battery_list_is_grouped_by_cabinet_under_the_lithium_cautions() {
    let text = flat(&pdf_text(&battery_list(&batteries())));
    let order = [
        "Battery changes",
        "Lithium cells",
        "No short circuit, no heat, no recharging.",
        "UN 38.3",
        "Before any work",
        "This program does not replace local codes",
        "3 batteries in 2 visits.",
        "+K02 on 2026-03-04 – Intake building",
        "+K02.1.01",
        "2026-05-01",
        "L-0042",
        "+K02.2.01",
        "2026-02-01 overdue",
        "None on the shelf",
        "+K12 on 2026-03-05",
        "+K12.1.01",
        "Done by (name)",
    ];
    in_order(&text, &order);
}

#[test]
fn the_sheet_of_a_visit_says_what_to_take_and_carries_both_labels_of_each_change() {
    let pdf = visit_sheet(&battery_visit());
    let text = flat(&pdf_text(&pdf));
    let order = [
        "2026-03-04 – +K02, Intake",
        "55 min, in the power-off",
        "Lithium cells",
        "Save the program and check the copy",
        "This program does not replace local codes",
        "Take along",
        "1 cell PX-BAT36 from lot L-0042",
        "order 1 cell PX-BAT36 by 2026-02-01",
        "+K02.1.01: 1 cell PX-BAT36, due 2026-05-01",
        "with the controller powered",
        "Old cell good",
        "+K02.2.01",
        "None on the shelf",
        "Done by (name)",
    ];
    in_order(&text, &order);
    let halves = pages(&pdf, 300).into_iter().flat_map(|page| {
        let half = page.width / 2;
        [page.crop((0, 0, half, page.height)), page.crop((half, 0, half, page.height))]
    });
    let mut read = decode(&halves.collect::<Vec<_>>());
    read.sort();
    let mut printed = [code(1), code(2), code(3)];
    printed.sort();
    assert_eq!(read, printed);
}

pub fn battery_visit() -> VisitSheet {
    let day = |month, day| NaiveDate::from_ymd_opt(2026, month, day).unwrap();
    let scan = |title: &str, n: usize| ScanLabel {
        title: title.to_owned(),
        human_line: human(&code(n)),
        symbol: symbol(&code(n)),
    };
    let change = |slot: &str, n, lot| SheetChange {
        slot_address: slot.to_owned(),
        battery: "1 cell PX-BAT36, due 2026-05-01".to_owned(),
        power: "Change it with the controller powered.".to_owned(),
        controller: scan("First the controller: PX-C200", n),
        lot,
    };
    VisitSheet {
        page: PageSize::A4,
        site: "Marrow Point desalination works".to_owned(),
        printed_on: day(3, 2),
        on: day(3, 4),
        scope: "+K02, Intake".to_owned(),
        work: "55 min, in the power-off of 2026-03-04".to_owned(),
        take: vec![
            "1 cell PX-BAT36 from lot L-0042 in ST1/C-01".to_owned(),
            "order 1 cell PX-BAT36 by 2026-02-01".to_owned(),
        ],
        changes: vec![
            change("+K02.1.01", 1, Some(scan("Then the lot: L-0042", 2))),
            change("+K02.2.01", 3, None),
        ],
    }
}

pub fn batteries() -> BatteryList {
    let day = |month, day| NaiveDate::from_ymd_opt(2026, month, day).unwrap();
    let change = |slot_address: &str, due_on, lot: &str| BatteryChange {
        slot_address: slot_address.to_owned(),
        controller: "PX-C200, MPU-4F7-Q2K-9".to_owned(),
        battery_model: "PX-BAT36".to_owned(),
        due_on,
        lot: lot.to_owned(),
    };
    BatteryList {
        page: PageSize::A4,
        site: "Marrow Point desalination works".to_owned(),
        printed_on: day(3, 2),
        visits: vec![
            CabinetVisit {
                cabinet: "+K02".to_owned(),
                location: "Intake building".to_owned(),
                visit_on: day(3, 4),
                changes: vec![
                    change("+K02.1.01", day(5, 1), "L-0042, ST1/B-01, best before 2031-05"),
                    change("+K02.2.01", day(2, 1), ""),
                ],
            },
            CabinetVisit {
                cabinet: "+K12".to_owned(),
                location: String::new(),
                visit_on: day(3, 5),
                changes: vec![change("+K12.1.01", day(4, 9), "L-0042, ST1/B-01")],
            },
        ],
    }
}
