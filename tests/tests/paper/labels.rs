//! Sheets and rolls of labels, test pages, and how large a label has to be.

use crate::printed::{Picture, code, decode, flat, human, label, pages, pdf_text, symbol};
use slotkeep_optics::{Level, TextMode};
use slotkeep_paper::{
    FORMATS, LabelWish, Measured, PaperRefusal, Printing, SheetFormat, SheetLabel, design,
    label_sheet, test_page,
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
