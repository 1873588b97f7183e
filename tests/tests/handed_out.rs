//! A unit that is handed out says to whom and what comes next, wherever it is shown. Brought back
//! unused, it leaves every figure as it was.

use serde_json::{Value, json};
use slotkeep_domain::journal::{Body, UnitMoved};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::unit::{Condition, UnitPlace};
use slotkeep_store::StoreFault;
use slotkeep_tests::{Plant, only};

/// A good spare of a model of which others stand in slots, and its bin.
fn spare(plant: &Plant) -> Value {
    let bin = plant.call("stock.bin", json!({ "bin": "ST1/A-01" }));
    let good =
        only(&bin["units"], |unit| unit["model"] == "MP-AI08-C" && unit["condition"] == "good");
    good[0].clone()
}

fn card(plant: &Plant, unit: &Value) -> Value {
    plant.call("unit.card", json!({ "unit": unit["label"] }))["unit"].clone()
}

fn hand_out(plant: &Plant, unit: &Value, to: Value) {
    let mut input = to;
    input["unit"] = unit["label"].clone();
    plant.call("stock.issue", input);
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

/// Everything that is reckoned of spares.
fn figures(plant: &Plant, model: &Value) -> Vec<Value> {
    [
        ("spares.table", json!({})),
        ("spares.model", json!({ "model": model })),
        ("spares.projection", json!({ "model": model })),
        ("spares.budget", json!({})),
    ]
    .into_iter()
    .map(|(command, input)| plant.call(command, input))
    .collect()
}

#[test]
fn whom_it_was_handed_out_to_and_what_comes_next_is_said_everywhere() {
    let plant = Plant::sample();
    let unit = spare(&plant);
    assert_eq!(card(&plant, &unit)["handed_out"], Value::Null);
    hand_out(&plant, &unit, json!({ "to": "Technician 1" }));
    let shown = card(&plant, &unit);
    let out = &shown["handed_out"];
    assert_eq!((&shown["place"], &out["to"]), (&json!("bench"), &json!("Technician 1")));
    assert_eq!(out["from"], unit["place"]);
    assert_eq!(out["at"], json!(plant.now));
    let next = format!("put it in by a swap, or bring it back to {}", text(&unit["place"]));
    assert_eq!(out["next"], json!(next));
    let elsewhere = plant.call("stock.shelf", json!({}))["elsewhere"].clone();
    let there = only(&elsewhere, |it| it["label"] == unit["label"]);
    assert_eq!(there[0]["handed_out"], *out);
    let scanned = plant.call("label.resolve", json!({ "text": unit["label"] }));
    assert!(text(&scanned["message"]).contains("handed out to Technician 1"), "{scanned}");
    let counted = json!({ "bin": "ST1/A-02", "units": [unit["label"]], "lots": [] });
    let look = plant.call("stock.stocktake_look", counted);
    let found = only(&look["differences"], |it| it["label"] == unit["label"]);
    let why = text(&found[0]["explained"][0]);
    assert!(why.contains("handed out to Technician 1") && why.contains("came back"), "{why}");
    let again = plant.refused("stock.issue", json!({ "unit": unit["label"], "to": "another" }));
    assert!(again.message.contains("is handed out to Technician 1 since"), "{again}");
    plant.verify_clean();
}

#[test]
fn a_unit_that_is_brought_back_unused_leaves_every_figure_as_it_was() {
    let plant = Plant::sample();
    let unit = spare(&plant);
    let before = figures(&plant, &unit["model"]);
    hand_out(&plant, &unit, json!({ "to": "Technician 1" }));

    let line = |table: &Value| {
        let lines = only(&table["lines"], |line| {
            line["model"] == unit["model"]
                && text(&unit["place"]).starts_with(text(&line["storeroom"]))
        });
        lines[0].clone()
    };
    let (was, is) = (line(&before[0]), line(&plant.call("spares.table", json!({}))));
    let count = |line: &Value, field: &str| line[field].as_i64().unwrap();
    assert_eq!((count(&was, "handed_out"), count(&is, "handed_out")), (0, 1));
    assert_eq!(count(&is, "on_hand"), count(&was, "on_hand") - 1);
    assert!(is["notes"].to_string().contains("handed out to Technician 1"), "{is:#}");
    // It is out of the stock, and asks for nothing by itself.
    for field in ["failure_rate_fit", "lead_demand", "reorder_at", "order_up_to", "installed"] {
        assert_eq!(is[field], was[field], "{field}");
    }

    let back = plant.call("stock.bring_back", json!({ "unit": unit["label"] }));
    assert!(text(&back["message"]).contains("unused"), "{back}");
    let shown = card(&plant, &unit);
    assert_eq!((&shown["place"], &shown["condition"]), (&unit["place"], &unit["condition"]));
    assert_eq!(shown["handed_out"], Value::Null);
    assert_eq!(figures(&plant, &unit["model"]), before);
    let (failures, stays) = plant
        .api
        .store()
        .read(|r| Ok::<_, StoreFault>((r.failures()?.len(), r.stays()?.len())))
        .unwrap();
    let untouched = Plant::sample()
        .api
        .store()
        .read(|r| Ok::<_, StoreFault>((r.failures()?.len(), r.stays()?.len())));
    assert_eq!((failures, stays), untouched.unwrap());
    let twice = plant.refused("stock.bring_back", json!({ "unit": unit["label"] })).message;
    assert!(twice.contains("is not handed out") && twice.contains("move it instead"), "{twice}");
    plant.verify_clean();
}

#[test]
fn a_unit_goes_back_to_whatever_shelf_is_scanned() {
    let plant = Plant::sample();
    let unit = spare(&plant);
    hand_out(&plant, &unit, json!({ "to": "Technician 1" }));
    let lost = json!({ "unit": unit["label"], "bin": "ST1/Z-99" });
    assert!(plant.refused("stock.bring_back", lost).message.contains("ST1/Z-99"));
    plant.call("stock.bring_back", json!({ "unit": unit["label"], "bin": "ST1/A-02" }));
    assert_eq!(card(&plant, &unit)["place"], "ST1/A-02");
    plant.verify_clean();
}

#[test]
fn a_swap_that_takes_it_comes_before_bringing_it_back() {
    let plant = Plant::sample();
    let unit = spare(&plant);
    let cabinet = plant.call("place.cabinet", json!({ "cabinet": "+K11" }));
    let slot = cabinet["rails"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|rail| rail["items"].as_array().unwrap())
        .find(|item| {
            item["slot"]["model_wanted"] == unit["model"] && !item["slot"]["unit"].is_null()
        })
        .map(|item| item["slot"]["address"].clone())
        .expect("a slot of the model");
    hand_out(&plant, &unit, json!({ "slot": slot }));
    let out = card(&plant, &unit)["handed_out"].clone();
    assert_eq!((&out["slot"], &out["swap"]), (&slot, &Value::Null));
    let swap = plant.call("swap.start", json!({ "slot": slot, "unit": unit["label"] }));
    let out = card(&plant, &unit)["handed_out"].clone();
    assert_eq!((&out["swap"], &out["next"]), (&swap["swap"], &json!("go on with the swap")));
    let taken = plant.refused("stock.bring_back", json!({ "unit": unit["label"] })).message;
    assert!(taken.contains("give that swap up first"), "{taken}");
    let left = json!({ "swap": swap["swap"], "state_left": "as it was" });
    plant.call("swap.abandon", left);
    // It is in the same hands as before the swap.
    assert_eq!(card(&plant, &unit)["handed_out"]["slot"], slot);
    plant.call("stock.bring_back", json!({ "unit": unit["label"] }));
    assert_eq!(card(&plant, &unit)["place"], unit["place"]);
    plant.verify_clean();
}

#[test]
fn entries_from_before_purposes_in_words_still_say_whom() {
    let plant = Plant::sample();
    let unit = spare(&plant);
    let moved = |reason: &str| {
        let body = UnitMoved {
            unit: LabelCode::parse(text(&unit["label"])).unwrap(),
            to: UnitPlace::Bench,
            condition: Condition::Good,
            reason: reason.to_owned(),
            purpose: None,
            reservation: None,
        };
        plant.record(None, Body::UnitMoved(body)).unwrap();
        card(&plant, &unit)["handed_out"]["to"].clone()
    };
    assert_eq!(moved("handed out to Technician 2"), "Technician 2");
    assert_eq!(moved("its latch is to be looked at"), Value::Null);
    plant.verify_clean();
}

#[test]
fn a_test_of_a_unit_that_lay_ready_since_says_nothing_of_its_last_stay() {
    let plant = Plant::sample();
    let model = json!("MP-AI08-C");
    let cabinet = plant.call("place.cabinet", json!({ "cabinet": "+K11" }));
    let unit = cabinet["rails"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|rail| rail["items"].as_array().unwrap())
        .map(|item| &item["slot"]["unit"])
        .find(|unit| unit["model"] == model && unit["condition"] == "good")
        .expect("a good unit of the model")
        .clone();
    let removal = json!({ "to": "bench", "condition": "failed", "failure_mode": "erratic" });
    plant.call("unit.remove", json!({ "unit": unit["label"], "removal": removal }));
    plant.call("unit.test", json!({ "unit": unit["label"], "fault_found": true }));
    for (to, condition) in [("repair", "failed"), ("ST1/A-01", "good")] {
        let input = json!({ "unit": unit["label"], "to": to, "condition": condition });
        plant.call("unit.move", input);
    }
    let learned = |of: &Plant| of.call("spares.model", json!({ "model": model }));
    let before = learned(&plant);
    hand_out(&plant, &unit, json!({ "to": "Technician 1" }));
    let good = plant.call("unit.test", json!({ "unit": unit["label"], "fault_found": false }));
    assert!(!text(&good["message"]).contains("removal"), "{good}");
    let input = json!({ "unit": unit["label"], "to": "ST1/A-01" });
    plant.call("unit.move", input);
    assert_eq!(learned(&plant), before, "the failure of long ago stays one");
    plant.verify_clean();
}
