//! What a picture of a rail shows, held against what the register has there.

use serde_json::{Value, json};
use slotkeep_tests::Plant;

/// Labels of the units of the first rail of +K11, in the order of its slots.
fn rail(plant: &Plant) -> Vec<String> {
    let drawing = plant.call("place.cabinet", json!({ "cabinet": "+K11" }));
    let items = drawing["rails"][0]["items"].as_array().unwrap();
    let labels = items.iter().filter_map(|item| item["slot"]["unit"]["label"].as_str());
    labels.map(str::to_owned).collect()
}

fn compare(plant: &Plant, labels: &[&str]) -> Value {
    plant.call("place.compare", json!({ "labels": labels }))
}

/// The verdicts of rows that are not empty slots.
fn verdicts(reply: &Value) -> Vec<&str> {
    let rows = reply["rows"].as_array().unwrap();
    let verdicts = rows.iter().map(|row| row["verdict"].as_str().unwrap());
    verdicts.filter(|verdict| *verdict != "empty").collect()
}

#[test]
fn a_rail_as_registered_agrees_and_names_itself() {
    let plant = Plant::sample();
    let labels = rail(&plant);
    let reply = compare(&plant, &labels.iter().map(String::as_str).collect::<Vec<_>>());
    assert_eq!(reply["rail"], "+K11.1");
    assert_eq!(reply["agree"], json!(labels.len()));
    assert_eq!(reply["differ"], json!(0));
}

#[test]
fn two_units_that_changed_places_and_one_that_is_covered_are_told() {
    let plant = Plant::sample();
    let l = rail(&plant);
    let reply = compare(&plant, &[&l[0], &l[2], &l[1], &l[3], &l[5]]);
    assert_eq!(verdicts(&reply), ["agrees", "other", "other", "agrees", "not_seen", "agrees"]);
    let message = reply["rows"][1]["message"].as_str().unwrap();
    let said = "slot +K11.1.02 should carry MP-CP2 19-004014, the photo shows MP-AI16-C 20-004021, \
                which the register has in +K11.1.03";
    assert_eq!(message, said);
    assert_eq!(reply["differ"], json!(2));
}

#[test]
fn a_unit_from_the_shelf_in_a_slot_is_told_with_its_bin() {
    let plant = Plant::sample();
    let l = rail(&plant);
    let shelf = plant.call("stock.shelf", json!({}));
    let unit = shelf["storerooms"][0]["bins"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|bin| bin["units"].as_array().unwrap())
        .next()
        .unwrap();
    let spare = unit["label"].as_str().unwrap();
    let reply = compare(&plant, &[&l[0], spare, &l[2]]);
    assert_eq!(verdicts(&reply), ["agrees", "other", "agrees"]);
    let message = reply["rows"][1]["message"].as_str().unwrap();
    assert!(message.contains(unit["place"].as_str().unwrap()), "{message}");
}

#[test]
fn labels_that_show_no_rail_are_answered_without_guessing() {
    let plant = Plant::sample();
    let l = rail(&plant);
    for labels in [vec![], vec![l[0].as_str()], vec!["nonsense", "https://example.org"]] {
        let reply = compare(&plant, &labels);
        assert_eq!(reply["rail"], Value::Null);
        assert!(reply["message"].as_str().unwrap().contains("two units"), "{reply}");
    }
    let refusal = plant.refused("place.compare", json!({ "labels": vec!["x"; 1001] }));
    assert!(refusal.message.contains("at most 1000"), "{}", refusal.message);
}

#[test]
fn a_picture_upside_down_is_read_from_right_to_left() {
    let plant = Plant::sample();
    let labels = rail(&plant);
    let turned: Vec<&str> = labels.iter().rev().map(String::as_str).collect();
    let reply = compare(&plant, &turned);
    assert_eq!(reply["turned"], json!(true));
    assert_eq!(reply["differ"], json!(0));
}

#[test]
fn the_label_of_a_scrapped_unit_says_that_it_must_not_be_fitted() {
    let plant = Plant::sample();
    let found = plant.call("search.find", json!({ "text": "MPU" }));
    let units = found.as_array().unwrap().iter();
    let spare = units
        .map(|line| plant.call("unit.card", json!({ "unit": line["key"] }))["unit"].clone())
        .find(|unit| unit["place"].as_str().unwrap().starts_with("ST"));
    let label = spare.expect("a unit on a shelf")["label"].clone();
    plant.call("unit.move", json!({ "unit": label, "to": "scrapped", "reason": "burnt" }));
    let thing = plant.call("label.resolve", json!({ "text": label }));
    assert_eq!(thing["scrapped"], json!(true));
    let message = thing["message"].as_str().unwrap();
    assert!(message.contains("scrapped") && message.contains("must not be fitted"), "{message}");
}
