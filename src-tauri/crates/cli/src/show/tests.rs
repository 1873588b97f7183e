use super::*;
use serde_json::json;

const ENDLESS: Page = Page { width: None, bold: false };

#[test]
fn a_list_becomes_a_table() {
    let list = json!([
        {"label": "MPU", "label_human": "MP-U", "width_mm": 12.5, "key": {"scheme": "std", "code": "BD"},
            "since": "2026-02-03T04:05:06.789Z", "note": null},
        {"label": "MPS", "label_human": "MP-S", "width_mm": 100.0, "key": null,
            "since": null, "note": "a note"},
    ]);
    let shown = render(&list, &ENDLESS);
    let lines: Vec<&str> = shown.lines().collect();
    let words: Vec<Vec<&str>> = lines
        .iter()
        .map(|l| l.split("  ").map(str::trim).filter(|w| !w.is_empty()).collect())
        .collect();
    assert_eq!(words[0], ["label", "width (mm)", "key", "since", "note"]);
    assert_eq!(words[2], ["MP-U", "12.5", "std BD", "2026-02-03 04:05 UTC"]);
    assert_eq!(words[3], ["MP-S", "100", "a note"]);
    assert!(!shown.contains("null"));
}

#[test]
fn a_thing_becomes_names_and_values_with_tables_below() {
    let thing = json!({
        "message": "two loops hang on it",
        "unit": {"label": "MPU", "model": "AX-1", "title": "Eight inputs", "serial": "77"},
        "powered": true,
        "loops": [{"tag": "LT-1"}, {"tag": "LT-2"}],
        "history": [],
    });
    let shown = render(&thing, &ENDLESS);
    assert!(shown.starts_with("Two loops hang on it\n"), "{shown}");
    assert!(shown.contains("\nUnit\n"), "{shown}");
    let lines: Vec<&str> = shown.lines().map(str::trim).collect();
    let at = lines.iter().position(|line| *line == "Loops (2)").expect("a title");
    assert_eq!((lines[at + 1], lines[at + 3], lines[at + 4]), ("tag", "LT-1", "LT-2"));
    let powered = lines.iter().find(|line| line.starts_with("powered")).expect("a line");
    assert!(powered.ends_with("yes"), "{shown}");
    assert!(!shown.contains("History"), "an empty list has no table:\n{shown}");
}

#[test]
fn a_narrow_page_keeps_what_says_most() {
    let row = |n: u32| {
        json!({"name": format!("unit {n}"), "id": "0195-0123-4567-89ab-cdef-0123-456789",
            "site": "Marrow Point", "place": format!("+K01.1.0{n}"), "sum": [{"what": "a"}],
            "message": "the battery is due before the next planned visit of this cabinet"})
    };
    let list = json!([row(1), row(2)]);
    for width in [45, 60, 80] {
        let shown = render(&list, &Page { width: Some(width), bold: false });
        let table: Vec<&str> = shown.lines().filter(|l| !l.starts_with("Not shown")).collect();
        assert!(table.iter().all(|line| line.chars().count() <= width), "{width}:\n{shown}");
        assert!(table[0].contains("name") && table[0].contains("message"), "{width}:\n{shown}");
        let note = shown.lines().find(|line| line.starts_with("Not shown here")).expect("a note");
        assert!(note.split([' ', ',']).any(|word| word == "id"), "{width}:\n{shown}");
    }
}

#[test]
fn what_only_programs_read_is_left_out_and_said_so() {
    let list = json!([{"name": "a", "symbol": "01".repeat(200)}]);
    let shown = render(&list, &ENDLESS);
    assert!(!shown.contains("0101"));
    assert!(shown.contains("Not shown here: symbol"));
}

#[test]
fn lists_within_a_list_are_named_or_shown_below() {
    let item = |n: u32| json!({"kind": "slot", "x_mm": n});
    let rail = json!({"address": "+K01.1", "items": [item(1), item(2)]});
    let shown = render(&json!({"address": "+K01", "rails": [rail]}), &ENDLESS);
    assert!(shown.contains("Rails: +K01.1: items (2)"), "{shown}");
    let shown = render(&json!([rail]), &ENDLESS);
    assert!(shown.contains("slot 1") && shown.contains("slot 2"), "{shown}");
}

#[test]
fn figures_are_rounded_for_people() {
    for (figure, shown) in
        [(0.1 + 0.2, "0.3"), (12.0, "12"), (0.000123456, "1.235e-4"), (-3.25, "-3.25"), (0.0, "0")]
    {
        assert_eq!(cell::text(&json!(figure)), shown);
    }
}
