//! Swaps on the sample plant: the verdict, what fits, and what work does to running loops.

use serde_json::{Value, json};
use slotkeep_tests::{Plant, only};

/// Every slot of the plant, with the card of each.
fn slots(plant: &Plant) -> Vec<Value> {
    let cabinets = plant.call("place.cabinets", json!({}));
    let addresses = cabinets.as_array().unwrap().iter().flat_map(|cabinet| {
        let drawing = plant.call("place.cabinet", json!({ "cabinet": cabinet["address"] }));
        let rails = drawing["rails"].as_array().unwrap().clone();
        rails.into_iter().flat_map(|rail| {
            let slots = only(&rail["items"], |item| !item["slot"].is_null());
            slots.iter().map(|item| item["slot"].clone()).collect::<Vec<_>>()
        })
    });
    addresses.collect()
}

fn card(plant: &Plant, slot: &Value) -> Value {
    plant.call("place.slot", json!({ "slot": slot["address"] }))
}

fn check(plant: &Plant, slot: &Value, unit: &Value) -> Value {
    plant.call("swap.check", json!({ "slot": slot, "unit": unit }))
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_else(|| panic!("{value} is no text"))
}

const NEARNESS: [&str; 5] = ["serving", "central", "other_storeroom", "bench", "elsewhere"];

fn rank(list: &[&str], word: &Value) -> usize {
    list.iter().position(|known| *known == text(word)).unwrap_or_else(|| panic!("{word}"))
}

#[test]
fn spares_come_in_order_before_with_care_and_the_nearest_first() {
    let plant = Plant::sample();
    let mut several = 0;
    for slot in slots(&plant).iter().step_by(7) {
        let found = plant.call("swap.candidates", json!({ "slot": slot["address"] }));
        let found = found.as_array().unwrap();
        several += usize::from(found.len() > 1);
        let order = |one: &Value| (one["severity"] == "caution", rank(&NEARNESS, &one["nearness"]));
        for pair in found.windows(2) {
            assert!(order(&pair[0]) <= order(&pair[1]), "{}: {pair:#?}", slot["address"]);
        }
        for one in found {
            assert_ne!(one["severity"], "stop");
            let verdict = check(&plant, &slot["address"], &one["unit"]["label"]);
            assert_eq!(verdict["passes"], true, "{verdict:#}");
            let reasons = only(&verdict["findings"], |finding| finding["severity"] != "pass");
            assert_eq!(one["reasons"].as_array().unwrap().len(), reasons.len());
        }
        let all = plant.call("swap.candidates", json!({ "slot": slot["address"], "all": true }));
        assert!(all.as_array().unwrap().len() >= found.len());
    }
    assert!(several > 5, "the sample plant has slots with several spares");
}

/// A slot that a less important one could help, with what could be lent.
fn in_need(plant: &Plant) -> (Value, Vec<Value>) {
    for slot in slots(plant).iter().filter(|slot| slot["base"] == "intrinsically_safe") {
        let lenders = plant.call("swap.lenders", json!({ "slot": slot["address"] }));
        if lenders.as_array().unwrap().len() > 1 && !slot["unit"].is_null() {
            return (slot.clone(), lenders.as_array().unwrap().clone());
        }
    }
    panic!("no intrinsically safe slot of the sample plant could be helped");
}

#[test]
fn a_less_important_slot_lends_a_unit_of_the_same_model_and_the_cost_is_said() {
    let plant = Plant::sample();
    let (slot, lenders) = in_need(&plant);
    let classes = ["vital", "essential", "desirable"];
    let here = rank(&classes, &card(&plant, &slot)["criticality"]);
    let mut last = usize::MAX;
    for lender in &lenders {
        assert_eq!(lender["unit"]["model"], slot["model_wanted"]);
        let class = rank(&classes, &lender["cost"]["criticality"]);
        assert!(here < class && class <= last, "the least important come first");
        last = class;
        let there = plant.call("place.slot", json!({ "slot": lender["slot"] }));
        assert_eq!(there["criticality"], lender["cost"]["criticality"]);
        let lost = lender["cost"]["loops"].as_array().unwrap().len();
        assert_eq!(there["loops"].as_array().unwrap().len(), lost);
        let barred = check(&plant, &slot["address"], &lender["unit"]["label"]);
        let installed = only(&barred["findings"], |finding| finding["severity"] == "stop");
        assert_eq!(installed.len(), 1, "{barred:#}");
        assert_eq!(installed[0]["rule"], "place", "as long as it stands there it is no spare");
    }
    let lent = &lenders[0]["unit"]["label"];
    let bin = "ST1/A-01";
    let removal = json!({ "to": bin, "condition": "good" });
    plant.call("unit.remove", json!({ "unit": lent, "removal": removal }));
    assert_eq!(check(&plant, &slot["address"], lent)["passes"], true);
    plant.verify_clean();
}

#[test]
fn a_spare_finds_every_slot_it_may_go_into_and_no_other() {
    let plant = Plant::sample();
    let shelf = plant.call("stock.shelf", json!({}));
    let rooms = shelf["storerooms"].as_array().unwrap();
    let bins = rooms.iter().flat_map(|room| room["bins"].as_array().unwrap());
    let spare = bins
        .flat_map(|bin| bin["units"].as_array().unwrap())
        .find(|unit| unit["model"] == "MP-AI08X-C" && unit["condition"] == "good")
        .expect("a spare of the second series lies on a shelf");
    let input = json!({ "unit": spare["label"], "limit": 1000 });
    let found = plant.call("swap.fits", input);
    let fits: Vec<_> =
        found["slots"].as_array().unwrap().iter().map(|fit| text(&fit["slot"])).collect();
    assert!(fits.len() > 5, "{found:#}");
    assert_eq!(found["left_off"], 0);
    for slot in slots(&plant) {
        let verdict = check(&plant, &slot["address"], &spare["label"]);
        let fit = fits.contains(&text(&slot["address"]));
        assert_eq!(verdict["passes"], fit, "{verdict:#}");
    }
    let few = plant.call("swap.fits", json!({ "unit": spare["label"], "limit": 2 }));
    assert_eq!(few["judged"], 2);
    assert!(few["left_off"].as_u64().unwrap() > 0);
    assert!(text(&few["message"]).contains("were not looked at"));
}

#[test]
fn a_spare_of_a_swap_under_way_is_promised_and_nobody_overrides_that() {
    let plant = Plant::sample();
    let two: Vec<Value> = slots(&plant)
        .into_iter()
        .filter(|slot| slot["model_wanted"] == "MP-AI08-C" && !slot["unit"].is_null())
        .filter(|slot| {
            let found = plant.call("swap.candidates", json!({ "slot": slot["address"] }));
            !found.as_array().unwrap().is_empty()
        })
        .take(2)
        .collect();
    let found = plant.call("swap.candidates", json!({ "slot": two[0]["address"] }));
    let spare = &found[0]["unit"]["label"];
    plant.call("swap.start", json!({ "slot": two[0]["address"], "unit": spare }));
    let verdict = check(&plant, &two[1]["address"], spare);
    assert_eq!(verdict["barred"], true, "{verdict:#}");
    let second = json!({ "slot": two[1]["address"], "unit": spare, "overrides": [
        { "rule": "slot-busy", "person": "Planner", "reason": "Both at once" }] });
    let refusal = plant.refused("swap.start", second);
    assert!(refusal.message.contains("under way in"), "{refusal}");
}

#[test]
fn a_stop_that_may_be_taken_on_is_recorded_with_name_and_reason() {
    let plant = Plant::sample();
    let slot = slots(&plant)
        .into_iter()
        .find(|slot| {
            let found = plant.call("swap.candidates", json!({ "slot": slot["address"] }));
            !slot["key"].is_null() && !found.as_array().unwrap().is_empty()
        })
        .unwrap();
    let found = plant.call("swap.candidates", json!({ "slot": slot["address"] }));
    let spare = &found[0]["unit"];
    let moved = json!({ "unit": spare["label"], "to": spare["place"], "condition": "suspect",
        "reason": "Dropped" });
    plant.call("unit.move", moved);
    let verdict = check(&plant, &slot["address"], &spare["label"]);
    let suspect = only(&verdict["findings"], |finding| finding["rule"] == "condition");
    assert_eq!((&suspect[0]["severity"], &suspect[0]["unknown"]), (&json!("stop"), &json!(true)));
    let start = |overrides: Value| json!({ "slot": slot["address"], "unit": spare["label"], "overrides": overrides });
    let refusal = plant.refused("swap.start", start(json!([])));
    assert!(refusal.message.contains("(rule condition)"), "{refusal}");
    let nameless = json!([{ "rule": "condition", "person": " ", "reason": "It works" }]);
    plant.refused("swap.start", start(nameless));
    let named = json!([{ "rule": "condition", "person": "Planner", "reason": "It works" }]);
    let begun = plant.call("swap.start", start(named));
    assert_eq!(begun["overrides"][0]["person"], "Planner");
    let kept = only(&begun["findings"], |finding| finding["rule"] == "condition");
    assert_eq!(kept[0]["unknown"], true, "what was not known stays readable");
    plant.verify_clean();
}

#[test]
fn the_rules_can_be_read_and_four_of_them_are_nobodys_to_change() {
    let plant = Plant::sample();
    let rules = plant.call("swap.rules", json!({}));
    let fixed: Vec<_> =
        only(&rules, |rule| rule["fixed"] == true).iter().map(|rule| text(&rule["name"])).collect();
    assert_eq!(fixed, ["key", "intrinsic-safety", "place", "slot-busy"]);
    for rule in rules.as_array().unwrap() {
        assert_eq!(rule["on"], true);
        assert!(text(&rule["asks"]).ends_with('.'), "{rule}");
    }
}

#[test]
fn effects_name_every_loop_and_every_unit_that_the_work_disturbs() {
    let plant = Plant::sample();
    let (mut quiet, mut loud) = (0, 0);
    for slot in slots(&plant).iter().filter(|slot| !slot["unit"].is_null()).step_by(5) {
        let known = card(&plant, slot);
        let found = plant.call("swap.effects", json!({ "slot": slot["address"] }));
        let tags = |list: &Value| -> Vec<String> {
            only(list, |_| true).iter().map(|one| text(&one["tag"]).to_owned()).collect()
        };
        assert_eq!(tags(&found["loops"]), tags(&known["loops"]));
        let counts = &found["counts"];
        let each = ["manual", "bypass", "announce", "nothing", "not_recorded"];
        let sum: u64 = each.iter().map(|name| counts[name].as_u64().unwrap()).sum();
        assert_eq!(counts["loops"], sum);
        let disturbed = only(&found["disturbed"], |_| true);
        if known["hot_swap"] == true && known["slot"]["base"] != "own" {
            assert!(disturbed.is_empty(), "{found:#}");
            quiet += 1;
            continue;
        }
        if known["bus_position"] == "off" && found["redundancy"] == "carried" {
            assert!(disturbed.is_empty(), "the other supply carries everything: {found:#}");
            continue;
        }
        loud += 1;
        let rail = text(&slot["address"]).rsplit_once('.').unwrap().0;
        let others = slots(&plant).into_iter().filter(|other| {
            let address = text(&other["address"]);
            address.starts_with(&format!("{rail}.")) && other["address"] != slot["address"]
        });
        for other in others.filter(|other| !other["unit"].is_null()) {
            // Under power only what is on the bus feels a unit that the bus runs through.
            if known["hot_swap"] == true && card(&plant, &other)["bus_position"] == "off" {
                continue;
            }
            let named = disturbed.iter().any(|one| one["slot"] == other["address"]);
            assert!(named, "{} is disturbed by work at {}", other["address"], slot["address"]);
        }
    }
    assert!(quiet > 5 && loud > 1, "{quiet} quiet, {loud} loud");
}

#[test]
fn the_list_to_sign_is_a_pdf_of_the_register_as_it_stands() {
    let plant = Plant::sample();
    let before = plant.file("swap.effects_sheet", json!({ "slot": "+K11.1.02" }));
    assert!(before.starts_with(b"%PDF"));
    assert_eq!(before, plant.file("swap.effects_sheet", json!({ "slot": "+K11.1.02" })));
    plant.call("journal.note", json!({ "subject": "+K11", "text": "Door seal worn" }));
    let after = plant.file("swap.effects_sheet", json!({ "slot": "+K11.1.02" }));
    assert_ne!(before, after, "the revision of the register is on the page");
    let refusal = plant.refused("swap.effects_sheet", json!({ "slot": "+K11.1.02", "page": "a3" }));
    assert!(refusal.message.contains("a4 or letter"), "{refusal}");
}
