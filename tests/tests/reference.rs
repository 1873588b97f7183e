//! Every formula against figures from outside, each with its source beside it.
//!
//! The files of `tests/reference/` hold the cases: what a published source, a well-known library or
//! a hand computation gives (`expected`), how far ours may be off (`within`, absolute and relative),
//! and where it is from (`source`, `provenance`: `search` was read on a public page, `library` came
//! out of the named library, `computed` is our own arithmetic, `memory` still wants looking up).

use serde_json::{Value, json};
use slotkeep_api::calc;
use std::collections::BTreeSet;
use std::path::Path;

fn cases() -> Vec<Value> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference");
    let mut files: Vec<_> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "json"))
        .collect();
    files.sort();
    let mut cases = Vec::new();
    for file in files {
        let text = std::fs::read_to_string(&file).unwrap();
        let of_file: Vec<Value> = serde_json::from_str(&text).unwrap();
        cases.extend(of_file);
    }
    cases
}

#[test]
fn every_formula_agrees_with_its_references() {
    let mut wrong = Vec::new();
    for case in cases() {
        for call in case["calls"].as_array().unwrap() {
            let formula = call["formula"].as_str().unwrap();
            let name = format!("{} {formula}", case["id"].as_str().unwrap());
            match calc::run(formula, filled(&call["input"])) {
                Ok(reply) => compare(&name, &call["expected"], &reply, &call["within"], &mut wrong),
                Err(refusal) => wrong.push(format!("{name}: {refusal}")),
            }
        }
    }
    assert!(wrong.is_empty(), "{} differ:\n{}", wrong.len(), wrong.join("\n"));
}

/// Puts the series of a file in the place of its name.
fn filled(input: &Value) -> Value {
    let mut input = input.clone();
    if let Some(file) = input["series"]["file"].as_str() {
        let only = input["series"]["only"].as_str();
        input["series"] = slotkeep_tests::series::of(file, only);
    }
    input
}

/// Compares what is expected, and only that: a reply may say more.
fn compare(at: &str, expected: &Value, reply: &Value, within: &Value, wrong: &mut Vec<String>) {
    match expected {
        Value::Object(fields) => {
            for (key, expected) in fields {
                compare(&format!("{at}.{key}"), expected, &reply[key], within, wrong);
            }
        }
        Value::Array(items) => {
            let length = reply.as_array().map(Vec::len);
            if length != Some(items.len()) {
                wrong.push(format!("{at}: {length:?} items in place of {}", items.len()));
            }
            for (number, expected) in items.iter().enumerate() {
                let at = format!("{at}[{number}]");
                compare(&at, expected, &reply[number], within, wrong);
            }
        }
        Value::Number(number) => {
            let expected = number.as_f64().unwrap();
            let absolute = within["abs"].as_f64().unwrap_or(0.0);
            let relative = within["rel"].as_f64().unwrap_or(0.0) * expected.abs();
            match reply.as_f64() {
                Some(got) if (got - expected).abs() <= absolute.max(relative) => {}
                _ => wrong.push(format!("{at}: {reply} in place of {expected}")),
            }
        }
        other if other == reply => {}
        other => wrong.push(format!("{at}: {reply} in place of {other}")),
    }
}

#[test]
fn every_case_names_its_source_once() {
    let mut ids = BTreeSet::new();
    for case in cases() {
        let id = case["id"].as_str().unwrap().to_owned();
        for key in ["source", "provenance"] {
            assert!(case[key].as_str().is_some_and(|text| !text.is_empty()), "{id} has no {key}");
        }
        assert!(!case["calls"].as_array().unwrap().is_empty(), "{id} compares nothing");
        assert!(ids.insert(id.clone()), "{id} stands twice");
    }
    assert!(ids.len() >= 80, "only {} cases were found", ids.len());
}

#[test]
fn every_formula_says_what_it_takes_and_refuses_what_it_does_not() {
    let formulas = calc::list();
    assert!(formulas.len() >= 30);
    for formula in formulas {
        assert!(!formula.doc.is_empty() && !formula.fields.is_empty(), "{}", formula.name);
        for field in formula.fields.iter().chain(&formula.reply) {
            assert!(!field.doc.is_empty(), "{}: {} has no doc", formula.name, field.name);
            assert!(!field.kind.is_empty(), "{}: {} has no kind", formula.name, field.name);
        }
        let refusal = calc::run(formula.name, json!({ "colour": 7 })).unwrap_err();
        assert!(refusal.to_string().contains("colour"), "{refusal}");
    }
    let refusal = calc::run("battery-dew", json!({})).unwrap_err().to_string();
    assert!(refusal.contains("\"battery-due\""), "{refusal}");
}

#[test]
fn units_follow_from_the_names() {
    let due = calc::list().into_iter().find(|formula| formula.name == "battery-due").unwrap();
    let unit = |name: &str| due.fields.iter().find(|field| field.name == name).unwrap().unit;
    assert_eq!(unit("battery.capacity_mah"), "mAh");
    assert_eq!(unit("battery.standby_ua"), "µA");
    assert_eq!(unit("battery.cabinet_c"), "°C");
    assert_eq!(unit("battery.self_discharge_pct_a_20c"), "% a year at 20 °C");
    assert_eq!(unit("battery.power_offs[].from"), "time, RFC 3339");
    assert_eq!(unit("hold_up_required_h"), "h");
    assert_eq!(unit("today"), "date, YYYY-MM-DD");
    assert_eq!(unit("battery.spread.temperature_k"), "K");
    assert_eq!(unit("spent_chance"), "");
}

/// Puts extreme figures in the place of each number of each case: a refusal is an answer, a panic
/// or an endless figure is not.
#[test]
fn no_figure_breaks_a_formula() {
    let extremes = [
        json!(0),
        json!(-1),
        json!(1),
        json!(1e-300),
        json!(-1e300),
        json!(1e300),
        json!(1e6),
        json!(4_000_000_000u32),
        json!(u64::MAX),
        json!(i64::MIN),
        json!(null),
    ];
    let mut seen = BTreeSet::new();
    for case in cases() {
        for call in case["calls"].as_array().unwrap() {
            let formula = call["formula"].as_str().unwrap();
            if !seen.insert(formula.to_owned()) {
                continue;
            }
            let mut places = Vec::new();
            numbers("", &call["input"], &mut places);
            for place in places.iter().take(12) {
                for extreme in &extremes {
                    let mut input = call["input"].clone();
                    *input.pointer_mut(place).unwrap() = extreme.clone();
                    if let Err(refusal) = calc::run(formula, input) {
                        assert!(refusal.to_string().len() > formula.len() + 10, "{refusal}");
                    }
                }
            }
        }
    }
    assert!(seen.len() >= 25, "{seen:?}");
}

/// Lists where the numbers of an input stand, as JSON pointers.
fn numbers(at: &str, value: &Value, places: &mut Vec<String>) {
    match value {
        Value::Object(fields) => {
            fields.iter().for_each(|(key, value)| numbers(&format!("{at}/{key}"), value, places));
        }
        Value::Array(items) => {
            let items = items.iter().enumerate();
            items.for_each(|(number, value)| numbers(&format!("{at}/{number}"), value, places));
        }
        Value::Number(_) => places.push(at.to_owned()),
        _ => {}
    }
}
