//! Site files: what is right is read whole, what is wrong is named where it stands.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use chrono::NaiveDate;
use serde_json::{Value, json};
use slotkeep_api::site_files::{FILES, Problem, Site, SiteFile, parse};
use slotkeep_domain::model::ChangeWith;
use slotkeep_domain::place::{BatteryRules, RailItemKind};
use slotkeep_domain::unit::{Condition, UnitPlace};
use slotkeep_xtask::make_site::{SAMPLE_SEED, Size, files};

const NUMBERED: &str = "(?<part>[0-9A-Za-z]+)-(?<number>[0-9]+)";
const UNCLOSED: &str = "(?<part>[0-9A-Za-z]+)-(?<serial>[0-9]+";

/// A plant of one cabinet in which every file has something.
const BASE: &[(&str, &str)] = &[
    (
        "site.json",
        r#"{
  "name": "Tiny works", "label_prefix": "TW",
  "temperature_c": 25, "shelf_temperature_c": 20, "battery_age_limit_y": null,
  "protection": 0.9, "hold_up_required_h": 24,
  "key_schemes": [
    {"name": "std", "title": "Two keys", "keys": 2, "letters": "ABCD", "intrinsically_safe": false}
  ],
  "failure_modes": [{"code": "drift", "title": "Drift"}],
  "failure_causes": [{"code": "ageing", "title": "Ageing"}],
  "detection_methods": [{"code": "test", "title": "Test"}]
}
"#,
    ),
    (
        "models.json",
        r#"{"models": [
  {"part_no": "CT1", "title": "Controller", "kind": "controller", "base": "own", "width_mm": 96,
   "battery": {"model": "CELL", "cells": 1, "standby_drain_ua": 5, "backup_drain_ua": 90},
   "revisions": ["A", "B"]},
  {"part_no": "IN8", "title": "Inputs", "kind": "module", "base": "compact", "key_scheme": "std",
   "key_code": "AC", "width_mm": 24, "channels": 8, "substitutes": ["IN8X"], "revisions": ["A"],
   "maker_codes": ["8i"], "code_patterns": ["(?<part>[0-9A-Za-z]+)-(?<serial>[0-9]+)"]},
  {"part_no": "IN8X", "title": "Inputs", "kind": "module", "base": "compact", "key_scheme": "std",
   "key_code": "AC", "width_mm": 24, "channels": 8},
  {"part_no": "OUT8", "title": "Outputs", "kind": "module", "base": "compact", "key_scheme": "std",
   "key_code": "BD", "width_mm": 24, "channels": 8},
  {"part_no": "CELL", "title": "Cell", "kind": "battery", "width_mm": 0, "counted": true,
   "cell": {"designation": null, "capacity_mah": 1400, "self_discharge_pct_a": 1}},
  {"part_no": "TRM", "title": "Terminator", "kind": "terminator", "width_mm": 10, "counted": true}
]}
"#,
    ),
    ("areas.csv", "code,title\nP,Pumps\n"),
    (
        "cabinets.csv",
        "address,area,title,width_mm,height_mm,temperature_c\n+K1,P,Pump house,600,1800,31.5\n",
    ),
    ("rails.csv", "address,length_mm,y_mm,title\n+K1.1,500,300,Upper\n+K1.2,500,700,Lower\n"),
    (
        "rail_items.csv",
        "rail,x_mm,width_mm,kind,model\n+K1.1,10,10,terminator,TRM\n+K1.1,154,10,terminator,TRM\n",
    ),
    (
        "slots.csv",
        "address,x_mm,width_mm,base,key_scheme,key_code,model_wanted,min_revision,min_firmware,\
         redundant_partner,bus_position,hot_swap,criticality,title\n\
         +K1.1.01,20,96,own,,,CT1,A,,,end,no,vital,Head\n\
         +K1.1.02,116,24,compact,std,AC,IN8,,,,end,yes,essential,Pressures\n",
    ),
    ("stores.csv", "code,title\nST1,Main\n"),
    ("bins.csv", "path,title\nST1/A-01,Modules\n"),
    (
        "units.csv",
        "serial,model,revision,firmware,place,installed_on,received_on,condition,battery_model,\
         battery_made_on,battery_fitted_on\n\
         1,CT1,B,1.2,+K1.1.01,2024-02-01,2024-01-10,good,CELL,2023-12-01,2024-02-01\n\
         2,IN8,A,,+K1.1.02,2024-02-01,,good,,,\n\
         3,IN8,,,ST1/A-01,,2025-05-05,good,,,\n",
    ),
    (
        "lots.csv",
        "code,model,bin,quantity,made_on,shelf_until,quarantined\n\
         L1,CELL,ST1/A-01,4,2025-01-01,2028-01-01,no\n",
    ),
    (
        "loops.csv",
        "tag,slot,channel,service,on_loss,in_safety_function,ui_v,ii_ma,pi_mw,ci_nf,li_mh,cable_m\n\
         PT-1,+K1.1.02,1,Pressure,,no,,,,,,\n\
         PT-2,+K1.1.02,2,Pressure,Trip,yes,30,100,750,,0.1,80\n",
    ),
    (
        "power_offs.csv",
        "scope,from,to,reason\nP,2025-04-01T06:00:00Z,2025-04-01T08:00:00+01:00,Works\n",
    ),
    (
        "history.csv",
        "on,what,serial,model,slot,lot,quantity,failure_mode,failure_cause,detection,note\n\
         2025-03-03,failure,2,,+K1.1.02,,,drift,ageing,test,Two per cent\n\
         2025-03-04,issued,,CELL,,L1,1,,,,\n",
    ),
    ("people.csv", "name,roles\nPlanner,planner clerk\n"),
];

fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 11, 25).unwrap()
}

fn site_files<'a>(texts: impl IntoIterator<Item = (&'a str, String)>) -> Vec<SiteFile> {
    texts
        .into_iter()
        .map(|(name, text)| SiteFile { name: name.to_owned(), bytes: text.into_bytes() })
        .collect()
}

fn base() -> Vec<(&'static str, String)> {
    BASE.iter().map(|(name, text)| (*name, (*text).to_owned())).collect()
}

/// Reads the base with one text of one file replaced.
fn changed(file: &str, from: &str, to: &str) -> Result<Site, Vec<Problem>> {
    let mut texts = base();
    let (_, text) = texts.iter_mut().find(|(name, _)| *name == file).unwrap();
    assert_eq!(text.matches(from).count(), 1, "{from:?} must stand once in {file}");
    *text = text.replacen(from, to, 1);
    parse(&site_files(texts), today())
}

/// What was changed, and each problem that must come of it: file, line, column, field, value,
/// and words of what was expected.
type Case<'a> = (&'a str, &'a str, &'a str, &'a [(&'a str, u32, u32, &'a str, &'a str, &'a str)]);

fn check(cases: &[Case<'_>]) {
    for (file, from, to, expected) in cases {
        let problems = changed(file, from, to).expect_err(&format!("{file}: {from:?} to {to:?}"));
        let found: Vec<_> = problems
            .iter()
            .map(|p| (p.file.as_str(), p.line, p.column, p.field.as_str(), p.value.as_str()))
            .collect();
        let wanted: Vec<_> = expected.iter().map(|e| (e.0, e.1, e.2, e.3, e.4)).collect();
        assert_eq!(found, wanted, "{file}: {from:?} to {to:?}: {problems:#?}");
        for (problem, (.., words)) in problems.iter().zip(*expected) {
            assert!(problem.expected.contains(words), "{words:?} is not said by: {problem}");
        }
    }
}

#[test]
fn a_whole_site_becomes_typed_rows() {
    let site = parse(&site_files(base()), today()).unwrap();
    assert_eq!(site.settings.value.name, "Tiny works");
    assert_eq!(site.settings.value.visit_window_d, 90);
    assert_eq!(site.cabinets[0].value.temperature_c, Some(31.5));
    assert_eq!(site.settings.value.battery_rules, BatteryRules::default());
    assert_eq!(site.models[0].value.battery.as_ref().unwrap().change_with(), ChangeWith::Powered);
    let items: Vec<_> = site.rails[0].value.items.iter().map(|i| (i.x_mm, i.kind)).collect();
    assert_eq!(items, [(10.0, RailItemKind::Terminator), (154.0, RailItemKind::Terminator)]);
    let unit = &site.units[2];
    assert_eq!((unit.line, unit.key.as_str()), (4, "IN8\t3"));
    assert!(matches!(&unit.value.place, UnitPlace::Bin(bin) if bin.as_str() == "ST1/A-01"));
    assert_eq!(unit.value.condition, Condition::Good);
    assert_eq!(site.history[0].value.unit, Some(1));
    assert_eq!(site.power_offs[0].value.off.to.to_rfc3339(), "2025-04-01T07:00:00+00:00");
    assert_eq!(site.loops[1].value.entity.and_then(|entity| entity.cable_m), Some(80.0));
    let model = &site.models[1];
    assert_eq!((model.line, model.key.as_str()), (5, "IN8"));
    assert_eq!(model.value.substitutes[0].as_str(), "IN8X");
}

#[test]
fn a_bad_cell_is_named_where_it_stands() {
    check(&[
        (
            "rails.csv",
            "500,300",
            "5OO,300",
            &[("rails.csv", 2, 2, "length_mm", "5OO", "a number above 0")],
        ),
        ("rails.csv", "500,300", "-1,300", &[("rails.csv", 2, 2, "length_mm", "-1", "above 0")]),
        ("rails.csv", "500,300", ",300", &[("rails.csv", 2, 2, "length_mm", "", "a number")]),
        ("rails.csv", "500,300", "inf,300", &[("rails.csv", 2, 2, "length_mm", "inf", "a number")]),
        ("cabinets.csv", "31.5", "31,5", &[("cabinets.csv", 2, 0, "", "7 cells", "6 cells")]),
        (
            "cabinets.csv",
            "temperature_c\n+K1,P,Pump house,600,1800,31.5",
            "temperatures_c\n+K1,P,Pump house,600,1800,20 21 22",
            &[("cabinets.csv", 2, 6, "temperatures_c", "20 21 22", "12 numbers")],
        ),
        (
            "cabinets.csv",
            "temperature_c\n+K1,P,Pump house,600,1800,31.5",
            "temperatures_c\n+K1,P,Pump house,600,1800,1 2 3 4 5 6 7 8 9 10 11 151",
            &[(
                "cabinets.csv",
                2,
                6,
                "temperatures_c",
                "1 2 3 4 5 6 7 8 9 10 11 151",
                "twelve temperatures of -60 to 150 °C",
            )],
        ),
        ("cabinets.csv", "31.5", "hot", &[("cabinets.csv", 2, 6, "temperature_c", "hot", "°C")]),
        (
            "slots.csv",
            "96,own",
            "96,owned",
            &[("slots.csv", 2, 4, "base", "owned", "one of one_piece")],
        ),
        (
            "slots.csv",
            "yes,essential",
            "maybe,essential",
            &[("slots.csv", 3, 12, "hot_swap", "maybe", "one of yes, no")],
        ),
        (
            "units.csv",
            "2025-05-05",
            "5.5.2025",
            &[("units.csv", 4, 7, "received_on", "5.5.2025", "a date such as")],
        ),
        (
            "units.csv",
            "2025-05-05",
            "2025-02-30",
            &[("units.csv", 4, 7, "received_on", "2025-02-30", "a date")],
        ),
        (
            "units.csv",
            ",ST1/A-01",
            ",shelf",
            &[("units.csv", 4, 5, "place", "shelf", "bench, repair, scrapped or lost")],
        ),
        (
            "lots.csv",
            "A-01,4,",
            "A-01,4.5,",
            &[("lots.csv", 2, 4, "quantity", "4.5", "a whole number")],
        ),
        (
            "people.csv",
            "planner clerk",
            "planner boss",
            &[("people.csv", 2, 2, "roles", "planner boss", "technician")],
        ),
        (
            "power_offs.csv",
            "2025-04-01T06:00:00Z",
            "2025-04-01 06:00",
            &[("power_offs.csv", 2, 2, "from", "2025-04-01 06:00", "RFC 3339")],
        ),
        (
            "history.csv",
            "Two per cent",
            "\"Two",
            &[("history.csv", 2, 0, "", "Two\n2025-03-04,issued,,CELL,,L1,1,,,,", "left open")],
        ),
    ]);
}

#[test]
fn a_bad_heading_or_file_name_is_named_with_the_nearest() {
    check(&[
        (
            "areas.csv",
            "code,title",
            "code,titel",
            &[
                ("areas.csv", 1, 0, "title", "", "a column title"),
                ("areas.csv", 1, 2, "titel", "titel", "the nearest is title"),
            ],
        ),
        (
            "stores.csv",
            "code,title",
            "code,title,title",
            &[("stores.csv", 1, 2, "title", "title", "each column once")],
        ),
    ]);
    let mut texts = base();
    texts.push(("unit.csv", String::new()));
    texts.push(("areas.csv", String::new()));
    let problems = parse(&site_files(texts), today()).unwrap_err();
    let said: Vec<_> = problems.iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "areas.csv: found \"areas.csv\"; expected each file once",
            "unit.csv: found \"unit.csv\"; expected a file of a site; the nearest name is units.csv",
        ]
    );
}

#[test]
fn json_is_named_by_line_and_column() {
    check(&[
        (
            "site.json",
            "\"protection\": 0.9",
            "\"protection\": 1",
            &[("site.json", 4, 17, "protection", "1", "the schema asks for")],
        ),
        ("site.json", "\"TW\"", "\"TI\"", &[("site.json", 2, 41, "label_prefix", "TI", "match")]),
        (
            "site.json",
            "\"label_prefix\"",
            "\"label_prefx\"",
            &[
                ("site.json", 1, 1, "label_prefix", "", "a field label_prefix"),
                ("site.json", 2, 40, "label_prefx", "label_prefx", "the nearest is label_prefix"),
            ],
        ),
        (
            "site.json",
            "\"protection\"",
            "\"battery_rules\": {\"spent_chanc\": 0.1}, \"protection\"",
            &[(
                "site.json",
                4,
                36,
                "battery_rules.spent_chanc",
                "spent_chanc",
                "the nearest is spent_chance",
            )],
        ),
        (
            "site.json",
            "\"protection\"",
            "\"battery_rules\": {\"crew_h_per_day\": 0}, \"protection\"",
            &[("site.json", 4, 39, "battery_rules.crew_h_per_day", "0", "the schema asks for")],
        ),
        (
            "site.json",
            "\"protection\"",
            "\"battery_rules\": {\"closed\": [{\"from\": \"2027-01-03\", \"to\": \"2027-01-02\"}]}, \
             \"protection\"",
            &[(
                "site.json",
                4,
                61,
                "battery_rules.closed.0.to",
                "2027-01-02",
                "not before 2027-01-03",
            )],
        ),
        (
            "models.json",
            "\"cells\": 1,",
            "\"cells\": 1, \"change_wth\": \"either\",",
            &[("models.json", 3, 59, "models.0.battery.change_wth", "change_wth", "change_with")],
        ),
        (
            "models.json",
            "\"kind\": \"controller\"",
            "\"kind\": \"computer\"",
            &[("models.json", 2, 53, "models.0.kind", "computer", "one of")],
        ),
        (
            "models.json",
            "[\"IN8X\"]",
            "[\"IN9\"]",
            &[("models.json", 6, 69, "models.1.substitutes.0", "IN9", "another part number")],
        ),
        (
            "models.json",
            "\"key_code\": \"BD\"",
            "\"key_code\": \"BX\"",
            &[("models.json", 11, 16, "models.3.key_code", "std BX", "2 of the letters ABCD")],
        ),
        (
            "models.json",
            "{\"model\": \"CELL\"",
            "{\"model\": \"TRM\"",
            &[(
                "models.json",
                3,
                25,
                "models.0.battery.model",
                "TRM",
                "a battery with its cell figures",
            )],
        ),
        (
            "models.json",
            "(?<serial>",
            "(?<number>",
            &[("models.json", 7, 45, "models.1.code_patterns.0", NUMBERED, "not \"number\"")],
        ),
        (
            "models.json",
            "[0-9]+)\"",
            "[0-9]+\"",
            &[("models.json", 7, 45, "models.1.code_patterns.0", UNCLOSED, "unclosed group")],
        ),
        (
            "models.json",
            "\"part_no\": \"OUT8\"",
            "\"maker_codes\": [\"8i\"], \"part_no\": \"OUT8\"",
            &[("models.json", 10, 20, "models.3.maker_codes.0", "8i", "no other model has")],
        ),
        (
            "models.json",
            "\"part_no\": \"OUT8\"",
            "\"part_no\": \"IN8X\"",
            &[("models.json", 10, 15, "models.3.part_no", "IN8X", "each part number once")],
        ),
        (
            "site.json",
            "\"TW\",",
            "\"TW\"",
            &[(
                "site.json",
                3,
                3,
                "",
                "\"temperature_c\": 25, \"shelf_temperature_c\": 20, \"battery_age_limit_y\": null,",
                "JSON",
            )],
        ),
    ]);
}

#[test]
fn rows_must_fit_each_other() {
    check(&[
        (
            "cabinets.csv",
            "+K1,P,",
            "+K1,Q,",
            &[("cabinets.csv", 2, 2, "area", "Q", "the nearest is P")],
        ),
        (
            "rails.csv",
            "+K1.2,500,700",
            "+K2.2,500,700",
            &[("rails.csv", 3, 1, "address", "+K2", "cabinets.csv; the nearest is +K1")],
        ),
        (
            "rails.csv",
            "500,700",
            "700,1900",
            &[
                ("rails.csv", 3, 2, "length_mm", "700", "at most 600 mm"),
                ("rails.csv", 3, 3, "y_mm", "1900", "at most 1800 mm"),
            ],
        ),
        (
            "rails.csv",
            "+K1.2,500",
            "+K1.01,500",
            &[("rails.csv", 3, 1, "address", "+K1.1", "line 2 says it already")],
        ),
        (
            "slots.csv",
            "116,24",
            "110,24",
            &[("slots.csv", 3, 2, "x_mm", "110", "at least 116 mm: +K1.1.01")],
        ),
        (
            "slots.csv",
            "116,24",
            "490,24",
            &[("slots.csv", 3, 2, "x_mm", "490", "rail +K1.1 of 500 mm")],
        ),
        (
            "rail_items.csv",
            "154,10",
            "130,10",
            &[("rail_items.csv", 3, 2, "x_mm", "130", "at least 140 mm: +K1.1.02")],
        ),
        (
            "slots.csv",
            "std,AC",
            "std,AX",
            &[
                ("slots.csv", 3, 6, "key_code", "AX", "2 of the letters ABCD"),
                ("slots.csv", 3, 6, "key_code", "AX", "the key of IN8, std AC"),
                ("units.csv", 3, 5, "place", "+K1.1.02", "this one has std AX"),
            ],
        ),
        (
            "slots.csv",
            "std,AC",
            "odd,AC",
            &[
                ("slots.csv", 3, 5, "key_scheme", "odd", "a key scheme of site.json: std"),
                ("slots.csv", 3, 6, "key_code", "AC", "the key of IN8"),
                ("units.csv", 3, 5, "place", "+K1.1.02", "this one has odd AC"),
            ],
        ),
        (
            "slots.csv",
            "std,AC",
            "std,",
            &[("slots.csv", 3, 6, "key_code", "", "key_scheme and key_code together")],
        ),
        (
            "slots.csv",
            "own,,,CT1",
            "own,std,AC,CT1",
            &[
                ("slots.csv", 2, 6, "key_code", "AC", "no key on this base"),
                ("slots.csv", 2, 6, "key_code", "AC", "the key of CT1, no key"),
                ("units.csv", 2, 5, "place", "+K1.1.01", "this one has std AC"),
            ],
        ),
        (
            "slots.csv",
            "CT1,A,,,",
            "CT1,Z,,,",
            &[("slots.csv", 2, 8, "min_revision", "Z", "a revision of CT1: A, B")],
        ),
        (
            "slots.csv",
            "CT1,A,,,",
            "CT1,A,,+K1.1.01,",
            &[("slots.csv", 2, 10, "redundant_partner", "+K1.1.01", "another slot")],
        ),
        (
            "slots.csv",
            "own,,,CT1,A",
            "own,,,TRM,",
            &[("slots.csv", 2, 7, "model_wanted", "TRM", "stands in a slot")],
        ),
        (
            "bins.csv",
            "ST1/A-01",
            "ST2/A-01",
            &[
                ("bins.csv", 2, 1, "path", "ST2", "a row of stores.csv; the nearest is ST1"),
                (
                    "units.csv",
                    4,
                    5,
                    "place",
                    "ST1/A-01",
                    "a row of bins.csv; the nearest is ST2/A-01",
                ),
                ("lots.csv", 2, 3, "bin", "ST1/A-01", "a row of bins.csv"),
            ],
        ),
        (
            "units.csv",
            "3,IN8,",
            "3,IN9,",
            &[("units.csv", 4, 2, "model", "IN9", "the nearest is IN8")],
        ),
        (
            "units.csv",
            "3,IN8,,,ST1/A-01",
            "3,CELL,,,ST1/A-01",
            &[("units.csv", 4, 2, "model", "CELL", "lots.csv")],
        ),
        (
            "units.csv",
            "3,IN8,,,ST1/A-01",
            "3,IN8,,,+k1.1.2",
            &[("units.csv", 4, 5, "place", "+K1.1.02", "the unit of line 3")],
        ),
        (
            "units.csv",
            "3,IN8,",
            "2,IN8,",
            &[("units.csv", 4, 2, "model", "IN8 2", "line 3 says it already")],
        ),
        (
            "units.csv",
            "2,IN8,A,,+K1.1.02",
            "2,OUT8,,,+K1.1.02",
            &[(
                "units.csv",
                3,
                5,
                "place",
                "+K1.1.02",
                "OUT8 can be plugged into; this one has std AC",
            )],
        ),
        (
            "units.csv",
            "2,IN8,A",
            "2,IN8,Q",
            &[("units.csv", 3, 3, "revision", "Q", "a revision of IN8: A")],
        ),
        (
            "units.csv",
            "2025-05-05",
            "2026-11-26",
            &[("units.csv", 4, 7, "received_on", "2026-11-26", "not after today")],
        ),
        (
            "units.csv",
            "2024-02-01,2024-01-10",
            "2024-01-09,2024-01-10",
            &[("units.csv", 2, 6, "installed_on", "2024-01-09", "not before it was received")],
        ),
        (
            "units.csv",
            "CELL,2023-12-01",
            "CELL,2024-12-01",
            &[(
                "units.csv",
                2,
                10,
                "battery_made_on",
                "2024-12-01",
                "not after the battery was fitted",
            )],
        ),
        (
            "units.csv",
            "CELL,2023-12-01,2024-02-01",
            "CELL,2023-12-01,",
            &[("units.csv", 2, 11, "battery_fitted_on", "", "the day the battery was fitted")],
        ),
        (
            "units.csv",
            "CELL,2023-12-01",
            "TRM,2023-12-01",
            &[("units.csv", 2, 9, "battery_model", "TRM", "a battery")],
        ),
        (
            "lots.csv",
            "2028-01-01",
            "2024-01-01",
            &[("lots.csv", 2, 6, "shelf_until", "2024-01-01", "not before it was made")],
        ),
        (
            "lots.csv",
            "L1,CELL",
            "L1,IN8",
            &[
                ("lots.csv", 2, 2, "model", "IN8", "units.csv"),
                ("history.csv", 3, 6, "lot", "L1", "a lot of CELL"),
            ],
        ),
        (
            "loops.csv",
            "PT-2,+K1.1.02,2",
            "PT-2,+K1.1.02,9",
            &[("loops.csv", 3, 3, "channel", "9", "a channel of IN8, which has 8")],
        ),
        (
            "loops.csv",
            "PT-2,+K1.1.02,2",
            "PT-2,+K1.1.02,1",
            &[("loops.csv", 3, 3, "channel", "1", "PT-1 is wired to this one")],
        ),
        (
            "loops.csv",
            "PT-2,+K1.1.02,2",
            "PT-2,+K1.1.03,2",
            &[("loops.csv", 3, 2, "slot", "+K1.1.03", "a row of slots.csv")],
        ),
        (
            "loops.csv",
            "PT-2,",
            "PT-1,",
            &[("loops.csv", 3, 1, "tag", "PT-1", "line 2 says it already")],
        ),
        (
            "power_offs.csv",
            "08:00:00+01:00",
            "07:00:00+01:00",
            &[("power_offs.csv", 2, 3, "to", "2025-04-01T06:00:00+00:00", "after the power went")],
        ),
        (
            "power_offs.csv",
            "from,to,reason\nP,2025-04-01T06:00:00Z,2025-04-01",
            "from,to,reason\nP,2025-04-01T06:00:00Z,2027-04-01",
            &[("power_offs.csv", 2, 3, "to", "2027-04-01T07:00:00+00:00", "planned: yes")],
        ),
        (
            "power_offs.csv",
            "\nP,",
            "\n+K9,",
            &[("power_offs.csv", 2, 1, "scope", "+K9", "a row of cabinets.csv")],
        ),
        (
            "history.csv",
            "failure,2,",
            "failure,22,",
            &[("history.csv", 2, 3, "serial", "22", "the nearest is 2")],
        ),
        (
            "history.csv",
            "2025-03-03",
            "2027-03-03",
            &[("history.csv", 2, 1, "on", "2027-03-03", "not after today")],
        ),
        (
            "history.csv",
            "drift,ageing",
            "drifts,ageing",
            &[("history.csv", 2, 8, "failure_mode", "drifts", "a code of site.json: drift")],
        ),
        (
            "history.csv",
            "drift,ageing",
            ",ageing",
            &[("history.csv", 2, 8, "failure_mode", "", "the failure mode")],
        ),
        (
            "history.csv",
            "detection,note\n2025-03-03,failure",
            "detection,found\n2025-03-03,failure",
            &[("history.csv", 2, 11, "found", "Two per cent", "one of good, weak, spent")],
        ),
        (
            "history.csv",
            "note\n2025-03-03,failure,2,,+K1.1.02,,,drift,ageing,test,Two per cent",
            "fitted_on\n2025-03-03,inspection,2,,+K1.1.02,,,,,,2025-03-01",
            &[("history.csv", 2, 11, "fitted_on", "2025-03-01", "only what came out")],
        ),
        (
            "history.csv",
            "note\n2025-03-03,failure,2,,+K1.1.02,,,drift,ageing,test,Two per cent",
            "fitted_on\n2025-03-03,battery_changed,1,,+K1.1.01,,,,,,2025-03-04",
            &[("history.csv", 2, 11, "fitted_on", "2025-03-04", "not after the day")],
        ),
        (
            "history.csv",
            "issued,,CELL,,L1",
            "issued,,CELL,,L2",
            &[("history.csv", 3, 6, "lot", "L2", "a lot of CELL in lots.csv")],
        ),
    ]);
}

#[test]
fn every_bad_row_of_every_file_is_reported_at_once() {
    let mut texts = base();
    for (_, text) in &mut texts {
        *text = text
            .replace("+K1.1,500", "+K1.1,x")
            .replace("A-01,4,", "A-01,none,")
            .replace("PT-1,+K1.1.02,1", "PT-1,+K1.1.02,zero");
    }
    let problems = parse(&site_files(texts), today()).unwrap_err();
    let places: Vec<_> = problems.iter().map(|p| (p.file.as_str(), p.line, p.column)).collect();
    assert_eq!(places, [("rails.csv", 2, 2), ("lots.csv", 2, 4), ("loops.csv", 2, 3)]);
}

#[test]
fn spreadsheets_may_write_the_same_table_in_their_own_way() {
    let plain = parse(&site_files(base()), today()).unwrap();
    let rewritten = |rewrite: &dyn Fn(&str) -> String| {
        let texts = base().into_iter().map(|(name, text)| {
            if name.ends_with(".csv") { (name, rewrite(&text)) } else { (name, text) }
        });
        parse(&site_files(texts), today()).unwrap()
    };
    assert_eq!(rewritten(&|text| format!("\u{feff}{text}")), plain, "byte order mark");
    assert_eq!(rewritten(&|text| text.replace('\n', "\r\n")), plain, "CRLF");
    assert_eq!(
        rewritten(&|text| text.replace(',', ";").replace("31.5", "31,5")),
        plain,
        "semicolon"
    );
    assert_eq!(rewritten(&|text| text.replace(',', "\t")), plain, "tab");
    assert_eq!(rewritten(&|text| text.replace(',', " , ")), plain, "blanks");
    assert_eq!(rewritten(&|text| text.replace("600,", "\"600.0\",")), plain, "quotes, zeros");
    assert_eq!(rewritten(&|text| text.replace("+K1.1.0", "+k1.01.")), plain, "addresses");
    assert_eq!(rewritten(&|text| format!("{text}\n,,\n \n")), plain, "empty rows");
    let spaced = rewritten(&|text| text.replace('\n', "\n\n"));
    let lines: Vec<_> = spaced.units.iter().map(|row| row.line).collect();
    assert_eq!(lines, [3, 5, 7], "lines are counted as an editor counts them");
    let latin =
        SiteFile { name: "areas.csv".to_owned(), bytes: b"code,title\nP,Pump\xe9\n".to_vec() };
    let problem = parse(&[latin], today()).unwrap_err().remove(1);
    assert_eq!(
        (problem.file.as_str(), problem.line, problem.value.as_str()),
        ("areas.csv", 2, "0xe9")
    );
}

#[test]
fn a_digest_changes_with_what_a_row_says_and_with_nothing_else() {
    let digests = |site: &Site| {
        let rails = site.rails.iter().map(|row| row.digest);
        rails.chain(site.models.iter().map(|row| row.digest)).collect::<Vec<_>>()
    };
    let plain = digests(&parse(&site_files(base()), today()).unwrap());
    let distinct: BTreeSet<_> = plain.iter().collect();
    assert_eq!(distinct.len(), plain.len());
    let same = digests(&changed("models.json", "\"width_mm\": 96", "\"width_mm\": 96.0").unwrap());
    assert_eq!(same, plain);
    let swapped = changed(
        "rails.csv",
        "length_mm,y_mm,title\n+K1.1,500,300,",
        "y_mm,length_mm,title\n+K1.1,300,500,",
    );
    assert!(swapped.is_err(), "the second rail is longer than its cabinet is wide");
    let longer = digests(&changed("rails.csv", "500,300", "501,300").unwrap());
    let item = digests(&changed("rail_items.csv", "154,10", "155,10").unwrap());
    for changed in [longer, item] {
        assert_ne!(changed[0], plain[0]);
        assert_eq!(changed[1..], plain[1..]);
    }
    // First 8 bytes of SHA-256 of "address\t+K1.2\nlength_mm\t500\ny_mm\t700\ntitle\tLower\n",
    // worked out with coreutils' sha256sum.
    assert_eq!(plain[1], RAIL_DIGEST);
}

const RAIL_DIGEST: u64 = 0xffbd_7877_fd2b_8f68;

#[test]
fn past_events_may_repeat_and_keep_apart() {
    let row = "2025-03-04,issued,,CELL,,L1,1,,,,\n";
    let site = changed("history.csv", row, &row.repeat(3)).unwrap();
    let keys: BTreeSet<_> = site.history.iter().map(|row| row.key.as_str()).collect();
    assert_eq!(keys.len(), 4);
    assert!(site.history[3].key.ends_with("\t#3"));
}

#[test]
fn only_the_settings_must_be_there() {
    let texts = base().into_iter().filter(|(name, _)| *name == "site.json");
    assert!(parse(&site_files(texts), today()).unwrap().units.is_empty());
    let problem = parse(&[], today()).unwrap_err().remove(0);
    assert_eq!(problem.file, "site.json");
}

/// The row schemas mean the same to us as to a JSON Schema validator that is not ours.
#[test]
fn cells_are_judged_as_a_validator_judges_them() {
    const VALUES: &[&str] = &[
        "",
        "abc",
        "-1",
        "0",
        "1",
        "1.5",
        "1e3",
        "1000000",
        "1000001",
        "20000.5",
        "yes",
        "no",
        "YES",
        "2026-02-28",
        "2026-02-30",
        "2026-2-3",
        "2025-04-12T06:00:00Z",
        "2025-04-12 06:00",
        "+K1",
        "+K1.1",
        "+K1.1.01",
        "ST1/A-01",
        "ST1/",
        "bench",
        "own",
        "end",
        "vital",
        "good",
        "base",
        "failure",
        "planner clerk",
        "planner  clerk",
        "+K1.1.1.1",
        "12345678901234567",
    ];
    let long = "x".repeat(201);
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../schemas/files");
    let mut judged = 0;
    for name in FILES.iter().filter_map(|name| name.strip_suffix(".csv")) {
        let text = fs::read_to_string(root.join(format!("{name}.row.json"))).unwrap();
        let schema: Value = serde_json::from_str(&text).unwrap();
        let columns = schema["properties"].as_object().unwrap();
        let heading: Vec<&str> = columns.keys().map(String::as_str).collect();
        let mut lines = vec![heading.join(",")];
        let mut cells = Vec::new();
        for (at, column) in heading.iter().enumerate() {
            for value in VALUES.iter().copied().chain([long.as_str()]) {
                // A last empty cell keeps rows of one column from being skipped as blank lines.
                let mut row = vec![""; heading.len()];
                row[(at + 1) % heading.len()] = "1";
                row[at] = value;
                lines.push(row.join(","));
                cells.push((*column, value));
            }
        }
        let file = format!("{name}.csv");
        let problems =
            parse(&site_files([(file.as_str(), lines.join("\n"))]), today()).unwrap_err();
        for (at, (column, value)) in cells.iter().enumerate() {
            let rule = &columns[*column];
            let meaning = rule["description"].as_str().unwrap().trim_end_matches('.');
            let ours = !problems.iter().any(|problem| {
                problem.line as usize == at + 2
                    && problem.field == *column
                    && problem.expected.ends_with(&format!("({meaning})"))
            });
            let required = schema["required"].as_array().unwrap().contains(&json!(column));
            let theirs = if value.is_empty() { !required } else { valid(rule, value) };
            assert_eq!(ours, theirs, "{file}, {column}: {value:?}");
            judged += 1;
        }
    }
    assert!(judged > 2000, "{judged} cells were judged");
}

fn valid(rule: &Value, value: &str) -> bool {
    let validator = jsonschema::options().should_validate_formats(true).build(rule).unwrap();
    let number = matches!(rule["type"].as_str(), Some("number" | "integer"));
    match value.parse::<f64>() {
        Ok(read) if number => validator.is_valid(&json!(read)),
        _ => validator.is_valid(&json!(value)),
    }
}

#[test]
fn the_sample_site_is_what_the_generator_makes() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../sample-site");
    let made = files(&Size::sample(), SAMPLE_SEED);
    let names: BTreeSet<_> = made.iter().map(|(name, _)| (*name).to_owned()).collect();
    let there: BTreeSet<_> = fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    assert_eq!(there, names);
    for (name, text) in &made {
        let committed = fs::read_to_string(folder.join(name)).unwrap();
        assert!(committed == *text, "{name} differs: cargo xtask make-site sample-site");
    }
    let site = parse(&site_files(made), today()).unwrap();
    let in_slots = site.units.iter().filter(|row| row.value.place.slot().is_some());
    let batteries = in_slots.filter(|row| row.value.battery.is_some()).count();
    let counts = [
        (site.cabinets.len(), 12),
        (site.rails.len(), 35),
        (site.slots.len(), 400),
        (site.models.len(), 40),
        (batteries, 15),
        (site.storerooms.len(), 2),
        (site.loops.len(), 2000),
        (site.history.len(), 300),
    ];
    for (count, least) in counts {
        assert!(count >= least, "{counts:?}");
    }
    assert!(site.lots.iter().any(|lot| lot.value.shelf_until.is_some_and(|day| day < today())));
    let terminated = |rail: &slotkeep_domain::place::Rail| {
        let of = |kind| rail.items.iter().filter(|item| item.kind == kind).count();
        (of(RailItemKind::Terminator), of(RailItemKind::EndSupport))
    };
    let closed = |rail: &slotkeep_domain::place::Rail| {
        2 - rail.bus_left.iter().count() - rail.bus_right.iter().count()
    };
    assert!(
        site.rails.iter().all(|rail| terminated(&rail.value) == (closed(&rail.value), 2)),
        "a terminator at each end of a bus, and none where it goes on"
    );
}

#[test]
fn a_made_site_of_any_size_is_right_and_the_same_each_time() {
    let size = Size::units(700, 2500);
    let made = files(&size, 11);
    assert_eq!(made, files(&size, 11));
    assert_ne!(made, files(&size, 12));
    let site = parse(&site_files(made), today()).unwrap();
    assert_eq!((site.units.len(), site.history.len()), (700, 2500));
}
