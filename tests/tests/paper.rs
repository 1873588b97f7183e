//! What is printed can be read back: by a decoder and a text extractor that are not ours.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use chrono::NaiveDate;
use slotkeep_optics::{Level, TextMode};
use slotkeep_paper::{
    BatteryChange, BatteryList, CabinetVisit, DoorLabel, DoorRail, DoorSheet, DoorSlot, EffectRow,
    EffectsSheet, FORMATS, LabelWish, LoopEffect, Measured, MemoryLine, PageSize, PaperRefusal,
    Printing, ReadinessSheet, ScanLabel, Section, Severity, SheetChange, SheetFormat, SheetLabel,
    SwapFinding, SwapSheet, SwapStep, Symbol, VisitSheet, battery_list, design, door_sheet,
    effects_sheet, label_sheet, readiness_sheet, swap_sheet, test_page, visit_sheet,
};

/// Quiet zone of a QR code symbol in modules. Source: ISO/IEC 18004.
const QUIET_MODULES: usize = 4;

#[test]
fn every_label_of_every_format_is_read_back_at_203_dpi() {
    for format in &FORMATS {
        check_read_back(format, 203, format.places().max(2));
    }
}

#[test]
fn every_label_of_every_format_is_read_back_at_300_dpi() {
    for format in &FORMATS {
        check_read_back(format, 300, format.places().max(2));
    }
}

#[test]
fn the_last_row_of_every_format_is_read_back_at_600_dpi() {
    for format in &FORMATS {
        check_read_back(format, 600, format.columns);
    }
}

/// Prints labels onto the last `count` places of a sheet and reads them back.
fn check_read_back(format: &SheetFormat, dpi: u16, count: usize) {
    let labels: Vec<_> = (0..count).map(|n| label(&code(n), "+K12.2.07")).collect();
    let start_position = format.places().saturating_sub(count) + 1;
    let printing = Printing { dpi, start_position, ..Printing::default() };
    let pdf = label_sheet(format, &printing, &labels).unwrap();
    let texts: Vec<_> = (0..count).map(code).collect();
    assert_eq!(read_labels(&pdf, format, dpi), texts, "{} at {dpi} dpi", format.name);
}

#[test]
fn every_module_is_whole_dots_of_pure_black_inside_its_quiet_zone() {
    for format in &FORMATS {
        for dpi in [203, 300, 600] {
            let text = code(7);
            let printing = Printing { dpi, start_position: format.places(), ..Printing::default() };
            let pdf = label_sheet(format, &printing, &[label(&text, "")]).unwrap();
            let page = &pages(&pdf, dpi)[0];
            let crop = page.crop(label_box(format, dpi, format.places() - 1));
            check_symbol(&crop, &text, &format!("{} at {dpi} dpi", format.name));
        }
    }
}

#[test]
fn the_human_line_stands_beside_each_symbol() {
    for format in &FORMATS {
        let printing = Printing { dpi: 203, ..Printing::default() };
        let texts: Vec<_> = (0..3).map(code).collect();
        let labels: Vec<_> = texts.iter().map(|text| label(text, "Größe Ωλ Щит")).collect();
        let pdf = label_sheet(format, &printing, &labels).unwrap();
        let said = flat(&pdf_text(&pdf)).replace("- ", "-");
        for text in &texts {
            assert!(said.contains(&human(text)), "{} in {said}", human(text));
        }
        assert_eq!(said.matches("Größe Ωλ Щит").count(), 3, "{}: {said}", format.name);
    }
}

#[test]
fn a_sheet_begun_before_goes_on_at_its_start_position() {
    let format = SheetFormat::named("a4-70x37-24").unwrap();
    let printing = Printing { dpi: 300, start_position: 23, ..Printing::default() };
    let labels: Vec<_> = (0..3).map(|n| label(&code(n), "")).collect();
    let pdf = label_sheet(format, &printing, &labels).unwrap();
    let pages = pages(&pdf, 300);
    assert_eq!(pages.len(), 2);
    for (page, place, n) in [(0, 22, 0), (0, 23, 1), (1, 0, 2)] {
        let crop = pages[page].crop(label_box(format, 300, place));
        assert_eq!(decode(&[crop]), [code(n)]);
    }
    assert!(pages[0].crop(label_box(format, 300, 21)).first_dark().is_none());
    assert!(pages[1].crop(label_box(format, 300, 1)).first_dark().is_none());
}

#[test]
fn offset_and_scale_move_labels_and_leave_modules_whole() {
    let format = SheetFormat::named("a4-38x21-65").unwrap();
    let labels: Vec<_> = (0..65).map(|n| label(&code(n), "")).collect();
    let at = |printing: Printing, place: usize| {
        let pdf = label_sheet(format, &printing, &labels).unwrap();
        let (left, top, width, height) = label_box(format, 300, place);
        let page = &pages(&pdf, 300)[0];
        let moved = (
            (left as f64 * printing.scale_x + printing.offset_x_mm / 25.4 * 300.0).round() as usize,
            (top as f64 * printing.scale_y + printing.offset_y_mm / 25.4 * 300.0).round() as usize,
        );
        let crop = page.crop((moved.0, moved.1, width, height));
        check_symbol(&crop, &code(place), "moved label");
        let (x, y, _) = crop.finder().unwrap();
        (moved.0 + x, moved.1 + y)
    };
    let plain = Printing { dpi: 300, ..Printing::default() };
    let moved = Printing { offset_x_mm: 2.54, offset_y_mm: -1.27, ..plain };
    let (before, after) = (at(plain, 8), at(moved, 8));
    // 2.54 mm are 30 dots at 300 dpi, 1.27 mm are 15.
    assert_eq!((after.0 - before.0, before.1 - after.1), (30, 15));
    let shrunk = at(Printing { scale_x: 0.99, ..plain }, 64);
    let whole = at(plain, 64);
    let expected = 0.01 * (4.75 + 4.0 * 40.6) / 25.4 * 300.0;
    assert!(((whole.0 - shrunk.0) as f64 - expected).abs() <= 1.0, "{whole:?} {shrunk:?}");
    assert_eq!(whole.1, shrunk.1);
    let stretched = at(Printing { scale_y: 1.01, ..plain }, 60);
    let expected = 0.01 * (10.7 + 12.0 * 21.2) / 25.4 * 300.0;
    let moved = stretched.1 as f64 - at(plain, 60).1 as f64;
    assert!((moved - expected).abs() <= 1.0, "{moved} {expected}");
}

/// What a printer that shrinks and shifts does to a page, and a person with a ruler.
#[test]
fn a_measured_test_page_gives_the_correction_that_puts_labels_right() {
    let format = SheetFormat::named("a4-38x21-65").unwrap();
    let (shrinks, shifts) = ((0.991, 1.006), (1.4, -2.1));
    let through = |(x, y): (f64, f64)| (x * shrinks.0 + shifts.0, y * shrinks.1 + shifts.1);
    let [a, b, c] = [(20.0, 20.0), (190.0, 20.0), (20.0, 270.0)].map(through);
    let seen = Measured { left_mm: a.0, top_mm: a.1, across_mm: b.0 - a.0, down_mm: c.1 - a.1 };
    let corrected = Printing::default().corrected_by(format, &seen).unwrap();
    for (x, y) in [(4.75, 10.7), (150.0, 260.0)] {
        let put = (
            x * corrected.scale_x + corrected.offset_x_mm,
            y * corrected.scale_y + corrected.offset_y_mm,
        );
        let came = through(put);
        assert!((came.0 - x).abs() < 1e-9 && (came.1 - y).abs() < 1e-9, "{came:?} {x} {y}");
    }
    let inches = Measured { across_mm: 6.63, ..seen };
    let said = Printing::default().corrected_by(format, &inches).unwrap_err().to_string();
    assert!(said.contains("6.63") && said.contains("170"), "{said}");
    let roll = SheetFormat::named("roll-50x25").unwrap();
    assert!(Printing::default().corrected_by(roll, &seen).is_err());
    assert!(test_page(roll, &Printing::default()).is_err());
}

#[test]
fn the_crosses_of_a_test_page_lie_where_the_page_says() {
    for (name, across, down) in [("a4-70x37-24", 170.0, 250.0), ("letter-67x25-30", 170.0, 230.0)] {
        let format = SheetFormat::named(name).unwrap();
        let pdf = test_page(format, &Printing::default()).unwrap();
        let said = flat(&pdf_text(&pdf));
        assert!(said.contains(&format!("({across})")) && said.contains(&format!("({down})")));
        let page = &pages(&pdf, 600)[0];
        let dot = |mm: f64| (mm / 25.4 * 600.0) as usize;
        for (x, y) in [(20.0, 20.0), (20.0 + across, 20.0), (20.0, 20.0 + down)] {
            // Each arm is black to its end, and nothing of it is 7.3 mm away.
            for (dx, dy) in [(6.8, 0.0), (-6.8, 0.0), (0.0, -6.8)] {
                assert!(page.at(dot(x + dx), dot(y + dy)) < 64, "{name} {x} {y}");
            }
            assert!(page.at(dot(x - 7.4), dot(y)) > 128, "{name} {x} {y}");
        }
    }
}

#[test]
fn what_cannot_be_printed_is_refused_with_what_would_do() {
    let format = SheetFormat::named("a4-25x10-189").unwrap();
    let plain = Printing::default();
    let refuse = |printing: &Printing, labels: &[SheetLabel]| {
        label_sheet(format, printing, labels).unwrap_err()
    };
    assert_eq!(refuse(&plain, &[]), PaperRefusal::NoLabels);

    let start = Printing { start_position: 190, ..plain };
    let said = refuse(&start, &[label(&code(1), "")]).to_string();
    assert!(said.contains("190") && said.contains("1 to 189"), "{said}");
    let start = Printing { start_position: 0, ..plain };
    assert!(matches!(refuse(&start, &[label(&code(1), "")]), PaperRefusal::StartBeyond { .. }));

    let long = "A very long description of what this module does in the whole of the plant";
    let said = refuse(&plain, &[label(&code(1), &long.repeat(3))]).to_string();
    assert!(said.contains(long) && said.contains("too long"), "{said}");

    let said = refuse(&plain, &[label(&code(1), "泵房")]).to_string();
    assert!(said.contains('泵') && said.contains("U+6CF5"), "{said}");

    for printing in [
        Printing { dpi: 72, ..plain },
        Printing { scale_x: 0.5, ..plain },
        Printing { scale_y: f64::NAN, ..plain },
        Printing { offset_x_mm: 90.0, ..plain },
        Printing { offset_y_mm: -19.0, ..plain },
    ] {
        assert!(label_sheet(format, &printing, &[label(&code(1), "")]).is_err(), "{printing:?}");
    }
}

#[test]
fn a_label_that_is_too_small_names_a_size_that_does() {
    let format = SheetFormat::named("a4-25x10-189").unwrap();
    let link = "HTTPS://STORES-7.MARROW-POINT.EXAMPLE:8443/L/MPU4F7Q2K9";
    let large = SheetLabel { text: link.to_owned(), symbol: symbol(link), ..label(&code(1), "") };
    let refusal =
        label_sheet(format, &Printing::default(), std::slice::from_ref(&large)).unwrap_err();
    let PaperRefusal::LabelTooSmall { needed_width_mm, needed_height_mm, .. } = refusal else {
        panic!("{refusal}");
    };
    let made = |label_width_mm: f64, label_height_mm: f64| SheetFormat {
        label_width_mm,
        label_height_mm,
        page_width_mm: label_width_mm,
        page_height_mm: label_height_mm,
        ..*SheetFormat::named("roll-25x13").unwrap()
    };
    let does = made(needed_width_mm, needed_height_mm);
    let pdf = label_sheet(&does, &Printing::default(), std::slice::from_ref(&large)).unwrap();
    assert_eq!(decode(&pages(&pdf, 600)), [link]);
    for (less_x, less_y) in [(0.2, 0.0), (0.0, 0.2)] {
        let small = made(needed_width_mm - less_x, needed_height_mm - less_y);
        assert!(label_sheet(&small, &Printing::default(), std::slice::from_ref(&large)).is_err());
    }
}

fn wish(width_mm: f64, height_mm: f64, dpi: u16, distance_mm: f64) -> LabelWish {
    LabelWish {
        dpi,
        width_mm,
        height_mm,
        length: 10,
        mode: TextMode::Alphanumeric,
        least: Level::M,
        distance_mm,
        human_line: human(&code(1)),
        second_line: String::new(),
    }
}

#[test]
fn a_label_is_designed_in_whole_dots_for_the_distance_that_is_asked() {
    for (width_mm, height_mm, dpi, distance_mm) in [
        (50.0, 25.0, 203, 0.0),
        (50.0, 25.0, 300, 150.0),
        (70.0, 37.0, 600, 200.0),
        (25.0, 25.0, 300, 120.0),
    ] {
        let made = design(&wish(width_mm, height_mm, dpi, distance_mm)).unwrap();
        assert_eq!((made.version, made.level), (1, Level::H));
        let dots = made.module_mm / 25.4 * f64::from(dpi);
        assert!((dots - f64::from(made.module_dots)).abs() < 1e-9, "{made:?}");
        assert!((made.symbol_mm - 21.0 * made.module_mm).abs() < 1e-9);
        assert!(made.with_quiet_mm <= width_mm.min(height_mm) - 0.99, "{made:?}");
        assert!(made.distance_mm >= distance_mm, "{made:?}");
        assert!((made.distance_mm - 10.0 * made.symbol_mm).abs() < 1e-9);
        assert!(made.human_pt >= 5.5);
    }
}

#[test]
fn a_wish_that_cannot_be_met_is_answered_with_what_would_meet_it() {
    let asked = wish(50.0, 25.0, 300, 250.0);
    let refusal = design(&asked).unwrap_err();
    let PaperRefusal::TooFar { reached_mm, needed_width_mm, needed_height_mm, compact, .. } =
        refusal.clone()
    else {
        panic!("{refusal}");
    };
    assert!(!compact && reached_mm < 250.0);
    let said = refusal.to_string();
    assert!(said.contains("250 mm") && said.contains(&format!("{needed_width_mm:.1}")), "{said}");
    // Each way out is one.
    assert!(design(&LabelWish { distance_mm: reached_mm, ..asked.clone() }).is_ok());
    let larger = |less_mm: f64| LabelWish {
        width_mm: needed_width_mm - less_mm,
        height_mm: needed_height_mm - less_mm,
        ..asked.clone()
    };
    assert!(design(&larger(0.0)).is_ok());
    assert!(design(&larger(0.2)).is_err());

    // Three dots of 203 on an inch are too few, four do not fit; finer dots come nearer.
    let coarse = wish(26.0, 13.0, 203, 82.0);
    let PaperRefusal::TooFar { finer_dpi: Some(finer), .. } = design(&coarse).unwrap_err() else {
        panic!("{}", design(&coarse).unwrap_err());
    };
    assert!(design(&LabelWish { dpi: finer, ..coarse.clone() }).is_ok());

    // A link has so many modules that they get two dots here, the label's text has three.
    let link = LabelWish { length: 55, ..wish(40.0, 12.5, 203, 76.0) };
    let refusal = design(&link).unwrap_err();
    assert!(refusal.to_string().contains("the short text"), "{refusal}");
    assert!(design(&LabelWish { length: 10, ..link }).is_ok());

    for wrong in [
        wish(2.0, 25.0, 300, 0.0),
        wish(50.0, f64::NAN, 300, 0.0),
        wish(50.0, 25.0, 72, 0.0),
        wish(50.0, 25.0, 300, -1.0),
        LabelWish { length: 9000, ..wish(50.0, 25.0, 300, 0.0) },
    ] {
        assert!(design(&wrong).is_err(), "{wrong:?}");
    }
}

/// The printed sheet keeps the distance that was asked, measured on the page.
#[test]
fn symbols_of_a_sheet_are_as_wide_as_the_distance_asks() {
    let format = SheetFormat::named("a4-70x37-24").unwrap();
    let printing = Printing { dpi: 300, distance_mm: 220.0, ..Printing::default() };
    let pdf = label_sheet(format, &printing, &[label(&code(3), "+K12.2.07")]).unwrap();
    let crop = pages(&pdf, 300)[0].crop(label_box(format, 300, 0));
    let (_, _, run) = crop.finder().unwrap();
    // The first row of a symbol begins with the seven modules of its finder, of 21.
    let symbol_mm = run as f64 * 3.0 / 300.0 * 25.4;
    assert!(symbol_mm >= 22.0, "{symbol_mm}");
    let far = Printing { distance_mm: 600.0, ..printing };
    let refusal = label_sheet(format, &far, &[label(&code(3), "")]).unwrap_err();
    assert!(matches!(refusal, PaperRefusal::TooFar { .. }), "{refusal}");
}

#[test]
fn a_sheet_with_a_symbol_that_says_something_else_is_not_printed() {
    let format = SheetFormat::named("a4-70x37-24").unwrap();
    let mut labels: Vec<_> = (0..30).map(|n| label(&code(n), "")).collect();
    labels[17].symbol = symbol(&code(99));
    let said = label_sheet(format, &Printing::default(), &labels).unwrap_err().to_string();
    assert!(said.contains(&human(&code(17))) && said.contains("Nothing was printed"), "{said}");
}

#[test]
fn links_are_read_back_from_sheets_and_rolls() {
    let link = |n: usize| format!("HTTPS://STORES-7.MARROW-POINT.EXAMPLE:8443/L/{}", code(n));
    for (name, dpi) in [
        ("a4-70x37-24", 203),
        ("a4-64x34-24", 300),
        ("letter-67x25-30", 300),
        ("letter-102x51-10", 600),
        ("roll-50x25", 203),
        ("roll-62x29", 300),
    ] {
        let format = SheetFormat::named(name).unwrap();
        let labels: Vec<_> = (0..4)
            .map(|n| SheetLabel {
                text: link(n),
                symbol: symbol(&link(n)),
                ..label(&code(n), "+K1")
            })
            .collect();
        let printing = Printing { dpi, ..Printing::default() };
        let pdf = label_sheet(format, &printing, &labels).unwrap();
        let texts: Vec<_> = (0..4).map(link).collect();
        assert_eq!(read_labels(&pdf, format, dpi), texts, "{name} at {dpi} dpi");
    }
}

fn door(page: PageSize, rails: usize, slots: usize) -> DoorSheet {
    let door_label = |n: usize| DoorLabel {
        text: code(n),
        human_line: human(&code(n)),
        symbol: symbol(&code(n)),
    };
    let rail = |rail: usize| DoorRail {
        address: format!("+K12.{rail}"),
        title: "Feed pumps".to_owned(),
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

#[test]
fn a_swap_sheet_opens_with_the_cautions_and_ends_with_signatures() {
    let text = flat(&pdf_text(&swap_sheet(&swap())));
    let order = [
        "Method statement +K12.2.07",
        "Before any work",
        "Permit and isolation",
        "Running loops",
        "Electrostatic discharge",
        "Hazardous areas",
        "Lithium cells",
        "This program does not replace local codes, the maker's instructions or licensed practice.",
        "What is swapped",
        "PX-DI16, MPU-AAA-BBB-C",
        "PX-DI16, MPU-4F7-Q2K-9",
        "Verdict",
        "STOP",
        "Caution",
        "In order",
        "Effects on running loops",
        "LIC-4001",
        "Steps",
        "All steps take about 35 min.",
        "1. Scan the label",
        "Label: MPS-000-123-4",
        "Reading: ______________ V (20.4 to 28.8 V)",
        "12. Step number 12",
        "Signatures",
        "Technician",
        "Second person",
        "Control room",
    ];
    let mut from = 0;
    for part in order {
        match text[from..].find(part) {
            Some(at) => from += at + part.len(),
            None => panic!("“{part}” is missing or out of order in:\n{text}"),
        }
    }
}

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
fn a_list_of_effects_opens_with_the_cautions_and_keeps_every_loop_over_its_pages() {
    let row = |n: usize| EffectRow {
        tag: format!("LIC-{n:04}"),
        channel: (n % 16).to_string(),
        service: "Level".to_owned(),
        happens: "Valve closes".to_owned(),
        to_do: "put the controller in manual".to_owned(),
        safety_function: n == 7,
    };
    let sheet = EffectsSheet {
        page: PageSize::A4,
        site: "Marrow Point desalination works".to_owned(),
        printed_on: NaiveDate::from_ymd_opt(2026, 3, 2).unwrap(),
        revision: "Register at entry 4711, 0a1b2c3d4e5f".to_owned(),
        slot_address: "+K12.1.02".to_owned(),
        slot_detail: "Filter bed 1, vital".to_owned(),
        unit: "PX-CP, MPU-AAA-BBB-C".to_owned(),
        message: "14 loops are wired to +K12.1.02".to_owned(),
        redundancy: "there is no redundant partner".to_owned(),
        isolates: Some("+K12.1".to_owned()),
        loops: (0..14).map(row).collect(),
        disturbed: (0..9)
            .map(|unit| Section {
                title: format!("+K12.1.{:02} PX-AI8, its rail is isolated", unit + 3),
                rows: (0..unit).map(|n| row(100 * (unit + 1) + n)).collect(),
            })
            .collect(),
        scan: ScanLabel {
            title: "Slot +K12.1.02".to_owned(),
            human_line: human(&code(1)),
            symbol: symbol(&code(1)),
        },
    };
    for page in [PageSize::A4, PageSize::Letter] {
        let pages = text_by_page(&effects_sheet(&EffectsSheet { page, ..sheet.clone() }));
        assert!(pages.len() > 2);
        for (index, text) in pages.iter().enumerate() {
            assert!(text.contains(&format!("Page {} of {}", index + 1, pages.len())), "{text}");
            assert!(text.contains("Register at entry 4711"), "{text}");
        }
        let all = flat(&pages.concat());
        let order = [
            "Before any work",
            "Permit and isolation",
            "rail +K12.1 is isolated",
            "LIC-0000",
            "LIC-0013",
            "+K12.1.11 PX-AI8",
            "LIC-0907",
            "Control room, after work",
        ];
        let mut from = 0;
        for part in order {
            match all[from..].find(part) {
                Some(at) => from += at,
                None => panic!("{part} is missing or out of order in:\n{all}"),
            }
        }
        assert_eq!(all.matches("SAFETY FUNCTION").count(), 1);
        assert_eq!(all.matches("No loop is recorded on it.").count(), 1);
    }
}

#[test]
fn pages_are_numbered_and_every_row_survives_the_page_break() {
    let mut sheet = swap();
    sheet.loops = (0..120)
        .map(|n| LoopEffect {
            tag: format!("LIC-{n:04}"),
            channel: format!("{n}"),
            effect: "Manual at the last value; operations hold the level by hand.".to_owned(),
        })
        .collect();
    // Higher than a page: such a row is broken, never cut off.
    sheet.loops[3].effect = (0..900).map(|n| format!("word{n} ")).collect();
    for page in [PageSize::A4, PageSize::Letter] {
        let pdf = swap_sheet(&SwapSheet { page, ..sheet.clone() });
        let pages = text_by_page(&pdf);
        assert!(pages.len() > 5);
        for (index, text) in pages.iter().enumerate() {
            assert!(text.contains(&format!("Page {} of {}", index + 1, pages.len())), "{text}");
            assert!(text.contains("swap at +K12.2.07"), "{text}");
            assert!(text.contains("Register: 1208 entries, 6ca855117447"), "{text}");
        }
        let all = flat(&pages.concat());
        for n in 0..120 {
            assert!(all.contains(&format!("LIC-{n:04}")), "loop {n}");
        }
        for n in 0..900 {
            assert!(all.contains(&format!("word{n} ")), "word {n}");
        }
        assert!(pages.iter().filter(|text| text.contains("Cleared by (sign)")).count() > 3);
    }
}

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
fn the_symbols_of_a_swap_sheet_are_read_by_a_camera_one_at_a_time() {
    let pdf = swap_sheet(&swap());
    let page = &pages(&pdf, 300)[0];
    let half = page.width / 2;
    let left = page.crop((0, 0, half, page.height));
    let right = page.crop((half, 0, page.width - half, page.height));
    assert_eq!(decode(&[left]), [code(1)]);
    assert_eq!(decode(&[right]), [code(2)]);
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
    let mut from = 0;
    for part in order {
        match text[from..].find(part) {
            Some(at) => from += at,
            None => panic!("“{part}” is missing or out of order in:\n{text}"),
        }
    }
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
    let mut from = 0;
    for part in order {
        match text[from..].find(part) {
            Some(at) => from += at,
            None => panic!("“{part}” is missing or out of order in:\n{text}"),
        }
    }
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

fn code(n: usize) -> String {
    const ALPHABET: &[u8] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
    let digit = |shift: usize| ALPHABET[n.wrapping_mul(40_503) >> shift & 31] as char;
    format!("MPU{}{}{}{}{}{}Q", digit(0), digit(5), digit(10), digit(3), digit(8), digit(1))
}

fn human(code: &str) -> String {
    format!("{}-{}-{}-{}", &code[..3], &code[3..6], &code[6..9], &code[9..])
}

fn symbol(text: &str) -> Symbol {
    let qr = fast_qr::QRBuilder::new(text).ecl(fast_qr::ECL::M).build().unwrap();
    let modules = (0..qr.size * qr.size).map(|at| qr.data[at].value()).collect();
    Symbol::new(qr.size, modules).unwrap()
}

fn label(text: &str, second_line: &str) -> SheetLabel {
    SheetLabel {
        text: text.to_owned(),
        symbol: symbol(text),
        human_line: human(text),
        second_line: second_line.to_owned(),
    }
}

fn swap() -> SwapSheet {
    let finding = |severity, text: &str, answer: &str| SwapFinding {
        severity,
        text: text.to_owned(),
        answer: answer.to_owned(),
    };
    let mut steps = vec![
        SwapStep {
            text: "Scan the label of slot +K12.2.07.".to_owned(),
            detail: "A wrong label stops the work here.".to_owned(),
            check: "Label: MPS-000-123-4".to_owned(),
            duration: "1 min".to_owned(),
        },
        SwapStep {
            text: "Have operations put 2 loops in manual or bypass.".to_owned(),
            detail: "Loops on this unit: LIC-4001, FIC-4002.".to_owned(),
            check: String::new(),
            duration: "10 min".to_owned(),
        },
    ];
    steps.extend((3..=16).map(|n| SwapStep {
        text: format!("Step number {n} of this swap."),
        detail: "Unlatched means switched off. Never pull a latched module.".to_owned(),
        check: if n == 7 { "Reading: ______________ V (20.4 to 28.8 V)" } else { "" }.to_owned(),
        duration: String::new(),
    }));
    let scan = |title: &str, n: usize| ScanLabel {
        title: title.to_owned(),
        human_line: human(&code(n)),
        symbol: symbol(&code(n)),
    };
    SwapSheet {
        page: PageSize::A4,
        site: "Marrow Point desalination works".to_owned(),
        printed_on: NaiveDate::from_ymd_opt(2026, 3, 2).unwrap(),
        reference: "0199-7c1e".to_owned(),
        revision: "1208 entries, 6ca855117447".to_owned(),
        duration: "All steps take about 35 min.".to_owned(),
        slot_address: "+K12.2.07".to_owned(),
        slot_detail: "compact base, key std BD".to_owned(),
        unit_out: "PX-DI16, MPU-AAA-BBB-C, serial 20117, fitted 2021-06-14".to_owned(),
        unit_in: "PX-DI16, MPU-4F7-Q2K-9, serial 20455, in ST1/A-03".to_owned(),
        verdict: "Stop: the key of the spare does not match the base.".to_owned(),
        findings: vec![
            finding(Severity::Pass, "The model is the one that the slot asks for.", ""),
            finding(
                Severity::Stop,
                "Slot +K12.2.07 is keyed BD, unit MPU-4F7-Q2K-9 is AE.",
                "Fetch a BD module, or correct the register if the base was re-keyed.",
            ),
            finding(
                Severity::Caution,
                "The spare has revision B, the slot had revision C.",
                "Check that the application needs nothing of revision C.",
            ),
        ],
        loops: ["LIC-4001", "FIC-4002"]
            .iter()
            .enumerate()
            .map(|(n, tag)| LoopEffect {
                tag: (*tag).to_owned(),
                channel: n.to_string(),
                effect: "Loses its measurement while the unit is out.".to_owned(),
            })
            .collect(),
        steps,
        scan: vec![scan("Slot +K12.2.07", 1), scan("Unit that goes in", 2)],
    }
}

fn battery_visit() -> VisitSheet {
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

fn batteries() -> BatteryList {
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

/// A grey picture of a page, or a part of one.
struct Picture {
    width: usize,
    height: usize,
    pixels: Vec<u8>,
}

impl Picture {
    /// Reads a binary portable grey map as `pdftoppm` writes it.
    fn read(path: &Path) -> Self {
        let bytes = fs::read(path).unwrap();
        let mut fields = Vec::new();
        let mut at = 0;
        while fields.len() < 4 {
            let end = at + bytes[at..].iter().position(u8::is_ascii_whitespace).unwrap();
            fields.push(String::from_utf8(bytes[at..end].to_vec()).unwrap());
            at = end + 1;
        }
        assert_eq!((fields[0].as_str(), fields[3].as_str()), ("P5", "255"));
        let (width, height) = (fields[1].parse().unwrap(), fields[2].parse().unwrap());
        Self { width, height, pixels: bytes[at..at + width * height].to_vec() }
    }

    /// Writes the picture with each pixel as a block of `times` x `times`, as a camera sees it.
    fn write_enlarged(&self, path: &Path, times: usize) {
        let (width, height) = (self.width * times, self.height * times);
        let mut bytes = format!("P5\n{width} {height}\n255\n").into_bytes();
        for row in self.pixels.chunks(self.width) {
            let wide: Vec<u8> =
                row.iter().flat_map(|&pixel| std::iter::repeat_n(pixel, times)).collect();
            bytes.extend(wide.repeat(times));
        }
        fs::write(path, bytes).unwrap();
    }

    fn at(&self, x: usize, y: usize) -> u8 {
        self.pixels[y * self.width + x]
    }

    fn crop(&self, (left, top, width, height): (usize, usize, usize, usize)) -> Self {
        let (right, bottom) = ((left + width).min(self.width), (top + height).min(self.height));
        let mut pixels = Vec::with_capacity((right - left) * (bottom - top));
        for y in top..bottom {
            pixels.extend_from_slice(&self.pixels[y * self.width + left..y * self.width + right]);
        }
        Self { width: right - left, height: bottom - top, pixels }
    }

    /// Returns the uppermost pixel of the leftmost column that is not white.
    fn first_dark(&self) -> Option<(usize, usize)> {
        (0..self.width)
            .find_map(|x| (0..self.height).find(|&y| self.at(x, y) < 255).map(|y| (x, y)))
    }

    /// Returns the upper left corner of a symbol and how many dots of its first row are dark.
    ///
    /// The symbol stands at the left of the text or above it, and its finder pattern begins with
    /// seven dark modules: more dots than any stroke of a letter.
    fn finder(&self) -> Option<(usize, usize, usize)> {
        let upper = (0..self.height)
            .find_map(|y| (0..self.width).find(|&x| self.at(x, y) < 255).map(|x| (x, y)));
        [self.first_dark(), upper]
            .into_iter()
            .flatten()
            .map(|(x, y)| (x, y, (x..self.width).take_while(|&x| self.at(x, y) < 255).count()))
            .max_by_key(|(_, _, run)| *run)
    }
}

/// Checks every pixel of the symbol of a label, quiet zone included.
fn check_symbol(label: &Picture, text: &str, name: &str) {
    // The modules come from the encoder, not from the code under test.
    let qr = fast_qr::QRBuilder::new(text).ecl(fast_qr::ECL::M).build().unwrap();
    let (left, top, run) = label.finder().unwrap_or_else(|| panic!("{name}: the label is empty"));
    assert!(run % 7 == 0, "{name}: seven modules are {run} dots");
    let module = run / 7;
    let quiet = QUIET_MODULES * module;
    let side = qr.size * module + 2 * quiet;
    assert!(left >= quiet && top >= quiet, "{name}: quiet zone leaves the label");
    assert!(top - quiet + side <= label.height, "{name}: quiet zone leaves the label");
    for y in 0..side {
        for x in 0..side {
            let inside = |at: usize| at.checked_sub(quiet).map(|at| at / module);
            let dark = match (inside(x), inside(y)) {
                (Some(column), Some(row)) if column < qr.size && row < qr.size => {
                    qr.data[row * qr.size + column].value()
                }
                _ => false,
            };
            let pixel = label.at(left - quiet + x, top - quiet + y);
            let expected = if dark { 0 } else { 255 };
            assert_eq!(pixel, expected, "{name}: dot {x}, {y} of {side}");
        }
    }
}

/// Left, top, width and height of a label in dots, from the published measures of the format.
fn label_box(format: &SheetFormat, dpi: u16, place: usize) -> (usize, usize, usize, usize) {
    let dots = |mm: f64| (mm / 25.4 * f64::from(dpi)).round() as usize;
    let (column, row) = (place % format.columns, place / format.columns);
    (
        dots(format.left_mm + column as f64 * format.pitch_x_mm),
        dots(format.top_mm + row as f64 * format.pitch_y_mm),
        dots(format.label_width_mm),
        dots(format.label_height_mm),
    )
}

/// Reads each label alone: whole pages full of symbols are not what a reader is made for.
fn read_labels(pdf: &[u8], format: &SheetFormat, dpi: u16) -> Vec<String> {
    let crops: Vec<_> = pages(pdf, dpi)
        .iter()
        .flat_map(|page| (0..format.places()).map(|place| page.crop(label_box(format, dpi, place))))
        // Empty places of a sheet hold nothing to read.
        .filter(|label| label.first_dark().is_some())
        .collect();
    decode(&crops)
}

/// Reads pictures with one symbol each.
fn decode(pictures: &[Picture]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let paths: Vec<PathBuf> =
        (0..pictures.len()).map(|n| folder.path().join(format!("{n:04}.pgm"))).collect();
    for (picture, path) in pictures.iter().zip(&paths) {
        // A reader wants a few pixels a module; a module has as few as two dots.
        picture.write_enlarged(path, if picture.width < 1000 { 3 } else { 1 });
    }
    let read = run(Command::new("zbarimg").args(["--quiet", "--raw"]).args(&paths));
    read.lines().map(str::to_owned).collect()
}

fn pages(pdf: &[u8], dpi: u16) -> Vec<Picture> {
    let folder = tempfile::tempdir().unwrap();
    let path = write(folder.path(), "sheet.pdf", pdf);
    let dpi = dpi.to_string();
    run(Command::new("pdftoppm")
        .args(["-gray", "-r", &dpi])
        .arg(path)
        .arg(folder.path().join("p")));
    let mut files: Vec<_> = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "pgm"))
        .collect();
    files.sort();
    files.iter().map(|file| Picture::read(file)).collect()
}

fn text_by_page(pdf: &[u8]) -> Vec<String> {
    let text = pdf_text(pdf);
    text.split('\u{C}').filter(|page| !page.is_empty()).map(str::to_owned).collect()
}

fn pdf_text(pdf: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = write(folder.path(), "sheet.pdf", pdf);
    run(Command::new("pdftotext").arg("-raw").arg(path).arg("-"))
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn write(folder: &Path, name: &str, bytes: &[u8]) -> PathBuf {
    let path = folder.join(name);
    fs::write(&path, bytes).unwrap();
    path
}

fn run(command: &mut Command) -> String {
    let program = command.get_program().to_string_lossy().into_owned();
    let output = command.output().unwrap_or_else(|error| {
        panic!("{program} cannot be started ({error}): run `cargo xtask test`, which installs it")
    });
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{program} failed: {said}");
    String::from_utf8(output.stdout).unwrap()
}
