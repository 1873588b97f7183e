//! What the site files say of spares: each field that cannot be right is named where it stands.

use serde_json::{Value, json};
use slotkeep_tests::{Plant, files_of, root};

/// File, a text that stands once in it, what takes its place, and words of the place and of what
/// was expected.
type Case<'a> = (&'a str, &'a str, &'a str, &'a str, &'a str);

fn with(file: &str, from: &str, to: &str) -> Vec<Value> {
    let mut files = files_of(&root().join("sample-site"));
    let one = files.iter_mut().find(|one| one["name"] == file).unwrap();
    let text = one["text"].as_str().unwrap();
    assert_eq!(text.matches(from).count(), 1, "{from:?} must stand once in {file}");
    one["text"] = json!(text.replacen(from, to, 1));
    files
}

fn check(cases: &[Case<'_>]) {
    let plant = Plant::empty();
    for (file, from, to, place, expected) in cases {
        let input = json!({ "files": with(file, from, to), "try_only": true });
        let failure = plant.refused("site.import", input);
        let said = failure
            .details
            .iter()
            .any(|detail| detail.place.contains(place) && detail.message.contains(expected));
        assert!(said, "{file}: {from:?} to {to:?}: {:#?}", failure.details);
    }
}

#[test]
fn a_model_states_one_rate_and_sound_figures() {
    let rate = "\"mtbf_h\":870000";
    check(&[
        ("models.json", rate, "\"mtbf_h\":870000,\"failure_rate_fit\":1150", "mtbf_h", "once"),
        ("models.json", rate, "\"mtbf_h\":0", "mtbf_h", "the schema"),
        ("models.json", rate, "\"mtbf_h\":-5", "mtbf_h", "the schema"),
        ("models.json", rate, "\"mtbf_h\":1e400", "models.json", "JSON"),
        ("models.json", "\"count\":4,\"fit\":95", "\"count\":0,\"fit\":95", "count", "the schema"),
        ("models.json", "\"failure_rate_worth\":2", "\"failure_rate_worth\":0", "worth", "schema"),
        ("models.json", "{\"from\":10,\"", "{\"from\":4,\"", "price_breaks.1.from", "rising"),
        (
            "models.json",
            "\"last_order_on\":\"2027-06-30\"",
            "\"last_order_on\":\"2027-02-30\"",
            "last_order_on",
            "a date such as",
        ),
        (
            "models.json",
            "\"mtbf_h\":870000",
            "\"mtbf_h\":870000,\"pack_size\":0",
            "pack_size",
            "schema",
        ),
        (
            "models.json",
            "\"part_no\":\"MP-FU2A\"",
            "\"part_no\":\"MP-FU2A\",\"repair_yield_pct\":80",
            "repair_yield_pct",
            "repairable",
        ),
    ]);
}

#[test]
fn targets_that_no_stock_reaches_are_refused() {
    check(&[
        (
            "site.json",
            "\"no_stock_out\", \"value\": 0.99",
            "\"no_stock_out\", \"value\": 1",
            "spares_rules",
            "below 1",
        ),
        (
            "site.json",
            "\"fill_rate\", \"value\": 0.95",
            "\"fill_rate\", \"value\": -0.1",
            "spares_rules",
            "the schema",
        ),
        (
            "site.json",
            "\"fill_rate\", \"value\": 0.95",
            "\"backorders\", \"value\": 0",
            "spares_rules",
            "above 0",
        ),
        ("site.json", "\"fill_rate\"", "\"luck\"", "measure", "one of no_stock_out"),
        ("site.json", "\"abc_pct\": [80, 95]", "\"abc_pct\": [95, 80]", "abc_pct", "rising"),
        ("site.json", "\"xyz_cv\": [0.5, 1]", "\"xyz_cv\": [1, 1]", "xyz_cv", "rising"),
        ("site.json", "\"dead_after_y\": 3", "\"dead_after_y\": 0", "dead_after_y", "the schema"),
        ("site.json", "\"holding_pct_a\": 14", "\"holding_pct_a\": -1", "holding_pct_a", "schema"),
    ]);
}

#[test]
fn storerooms_have_two_echelons_and_an_area_has_one_storeroom() {
    check(&[
        ("stores.csv", "ST1,2,EL PW", "ST3,2,EL PW", "supplied_by", "a row of stores.csv"),
        ("stores.csv", "ST1,2,EL PW", "ST2,2,EL PW", "supplied_by", "central"),
        ("stores.csv", "ST1,2,EL PW", "ST1,,EL PW", "resupply_d", "together"),
        ("stores.csv", "ST1,2,EL PW", "ST1,2,EL XX", "areas", "a row of areas.csv"),
        ("stores.csv", "Main store,,,", "Main store,,,EL", "areas", "serves it already"),
        ("stores.csv", "Main store,,,", "Main store,ST2,2,", "supplied_by", "central"),
    ]);
}

#[test]
fn orders_reservations_and_changes_name_what_is_there() {
    check(&[
        ("orders.csv", "26-118,MP-AO08-C", "26-118,MP-XX", "model", "part number of models.json"),
        ("orders.csv", "26-118,MP-AO08-C,ST1", "26-118,MP-AO08-C,ST7", "storeroom", "stores.csv"),
        ("orders.csv", "2026-06-23", "2027-06-23", "due_on", "not before it was placed"),
        ("orders.csv", "2026-11-16,2026-12-22", "2026-12-16,2026-12-22", "placed_on", "today"),
        ("orders.csv", "26-124,", "26-118,", "number", "line 2 says it already"),
        ("orders.csv", "26-118,MP-AO08-C,ST1,2", "26-118,MP-AO08-C,ST1,0", "quantity", "whole"),
        ("reservations.csv", "22-008781", "22-000000", "serial", "MP-AO04-C in units.csv"),
        ("reservations.csv", "22-008781,", "22-008781,2", "pieces", "one unit is named"),
        ("reservations.csv", ",4,Third", ",400,Third", "line 2", "has 14 usable pieces"),
        ("planned_changes.csv", "2028-03-15,,5,,4", "2028-03-15,,5,,6", "harvested", "at most"),
        (
            "planned_changes.csv",
            "MP-AI08-C,2027-05-10,6",
            "MP-AI08-C,2027-05-10,",
            "added",
            "come or go",
        ),
    ]);
}

#[test]
fn a_change_whose_day_has_passed_and_a_reservation_that_ended_are_passed_over() {
    let plant = Plant::empty();
    let past = with("planned_changes.csv", "MP-AI08-C,2027-05-10", "MP-AI08-C,2026-05-10");
    let report = plant.call("site.import", json!({ "files": past, "try_only": true }));
    assert!(report["notes"].to_string().contains("2026-05-10 has passed"), "{report}");
    let ended = with("reservations.csv", "2026-12-25", "2026-10-25");
    let report = plant.call("site.import", json!({ "files": ended, "try_only": true }));
    assert!(report["notes"].to_string().contains("ended on 2026-10-25"), "{report}");
}

#[test]
fn an_area_goes_to_the_storeroom_that_names_it_last() {
    let plant = Plant::sample();
    let moved = with("stores.csv", "Main store,,,", "Main store,,,EL");
    let mut files = moved;
    let stores = files.iter_mut().find(|file| file["name"] == "stores.csv").unwrap();
    stores["text"] = json!(stores["text"].as_str().unwrap().replace("ST1,2,EL PW", "ST1,2,PW"));
    plant.call("site.import", json!({ "files": files }));
    plant.verify_clean();
}
