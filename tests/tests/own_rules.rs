//! Rules that a site adds to ours: read from `site.json`, judged, taken on by name, and gone again.

use serde_json::{Value, json};
use slotkeep_domain::rules::facts::FACTS;
use slotkeep_tests::{Plant, files_of, only, root};

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

/// The sample site with other rules of its own.
fn files(own_rules: &Value) -> Vec<Value> {
    let mut files = files_of(&root().join("sample-site"));
    for file in files.iter_mut().filter(|file| file["name"] == "site.json") {
        let mut site: Value = serde_json::from_str(text(&file["text"])).unwrap();
        site["own_rules"] = own_rules.clone();
        file["text"] = json!(serde_json::to_string_pretty(&site).unwrap());
    }
    files
}

fn with(own_rules: &Value) -> Plant {
    let plant = Plant::empty();
    plant.call("site.import", json!({ "files": files(own_rules) }));
    plant
}

fn rule(judges: &str, applies: Value, must: Value) -> Value {
    json!({
        "name": "marrow-point", "asks": "Asks.", "severity": "stop", "to_do": "do it",
        "judges": judges, "where": applies, "must": must
    })
}

/// A slot with a spare that may go into it.
fn slot_with_spare(plant: &Plant) -> (Value, Value) {
    let cabinets = plant.call("place.cabinets", json!({}));
    for cabinet in cabinets.as_array().unwrap() {
        let drawing = plant.call("place.cabinet", json!({ "cabinet": cabinet["address"] }));
        for rail in drawing["rails"].as_array().unwrap() {
            for item in only(&rail["items"], |item| !item["slot"].is_null()) {
                let slot = item["slot"]["address"].clone();
                let found = plant.call("swap.candidates", json!({ "slot": slot }));
                if let Some(first) = found.as_array().unwrap().first() {
                    return (slot, first["unit"]["label"].clone());
                }
            }
        }
    }
    panic!("no slot of the sample plant has a spare");
}

#[test]
fn a_stop_by_a_rule_of_the_site_is_taken_on_by_name_and_outlives_the_rule() {
    let strict = json!([rule(
        "swap",
        json!([{ "fact": "spare_place", "is": "bin" }]),
        json!([{ "fact": "spare_serial", "starts_with": "no such serial" }]),
    )]);
    let plant = with(&json!([]));
    let (slot, unit) = slot_with_spare(&plant);
    plant.call("site.import", json!({ "files": files(&strict) }));

    let candidates = plant.call("swap.candidates", json!({ "slot": slot }));
    assert!(only(&candidates, |one| one["unit"]["label"] == unit).is_empty());
    let check = plant.call("swap.check", json!({ "slot": slot, "unit": unit }));
    assert_eq!((&check["passes"], &check["barred"]), (&json!(false), &json!(false)));
    let own = only(&check["findings"], |finding| finding["own"] == true);
    assert_eq!(own.len(), 1);
    assert_eq!((text(&own[0]["rule"]), text(&own[0]["severity"])), ("marrow-point", "stop"));
    assert_eq!(own[0]["can_be_overridden"], true);

    let refusal = plant.refused("swap.start", json!({ "slot": slot, "unit": unit }));
    assert!(refusal.message.contains("rule marrow-point"), "{}", refusal.message);
    let taken = json!([{ "rule": "marrow-point", "person": "Planner", "reason": "only spare" }]);
    let begun = plant.call("swap.start", json!({ "slot": slot, "unit": unit, "overrides": taken }));
    plant.verify_clean();

    plant.call("site.import", json!({ "files": files(&json!([])) }));
    let rules = plant.call("swap.rules", json!({}));
    assert!(only(&rules, |rule| rule["own"] == true).is_empty());
    let shown = plant.call("swap.show", json!({ "swap": begun["swap"] }));
    assert_eq!(shown["overrides"], taken);
    let kept = only(&shown["findings"], |finding| finding["rule"] == "marrow-point");
    assert_eq!((&kept[0]["own"], text(&kept[0]["severity"])), (&json!(true), "stop"));
    plant.verify_clean();
}

#[test]
fn a_rule_of_the_site_judges_what_stands_and_what_is_planned() {
    let plant = with(&json!([rule(
        "item",
        json!([{ "fact": "model_kind", "one_of": ["module", "module_one_piece"] }]),
        json!([{ "fact": "model_part_no", "starts_with": "MP-D" }]),
    )]));
    let of = |reply: &Value| {
        let found = only(&reply["findings"], |finding| finding["own"] == true);
        found.iter().filter(|finding| finding["severity"] == "stop").count()
    };
    let stands = plant.call("lineup.check", json!({ "address": "+K11.1" }));
    let all = only(&stands["findings"], |finding| finding["rule"] == "marrow-point");
    assert!(of(&stands) > 0 && all.len() > of(&stands), "some pass and some do not");
    let planned = plant.call("lineup.plan", json!({ "rail": "+K11.1" }));
    assert_eq!(of(&planned), of(&stands));
}

#[test]
fn rules_are_listed_with_their_conditions_in_words() {
    let plant = with(&json!([
        rule("item", json!([]), json!([{ "fact": "model_heat_w", "at_most": 4 }])),
        {
            "name": "off-here", "asks": "Asks.", "severity": "note", "to_do": "do it",
            "judges": "swap", "on": false,
            "where": [{ "fact": "slot_hot_swap", "is": true }],
            "must": [{ "fact": "spare_firmware", "at_least": "2.1" }]
        }
    ]));
    let own = |command: &str| {
        let rules = plant.call(command, json!({}));
        let own = only(&rules, |rule| rule["own"] == true);
        assert_eq!(own.len(), 1);
        own[0].clone()
    };
    let item = own("lineup.rules");
    assert_eq!(item["must"], json!(["heat of the model is at most 4 W"]));
    assert_eq!((&item["unknown"], &item["ours"]), (&json!("caution"), &Value::Null));
    let swap = own("swap.rules");
    assert_eq!(swap["applies"], json!(["the slot allows hot swap: yes"]));
    assert_eq!((&swap["on"], &swap["unknown"]), (&json!(false), &json!("note")));
    let facts = plant.call("rule.facts", json!({}));
    assert_eq!(facts.as_array().unwrap().len(), FACTS.len());
}

#[test]
fn what_the_site_set_about_our_rules_is_marked() {
    let rules = Plant::sample().call("lineup.rules", json!({}));
    let marked = only(&rules, |rule| rule["set"] == true && rule["own"] == false);
    let names: Vec<_> = marked.iter().map(|rule| text(&rule["name"])).collect();
    assert_eq!(names, ["item-width", "supply-budget"]);
    assert_eq!((text(&marked[0]["severity"]), marked[0]["ours"] == "note"), ("note", false));
}

#[test]
fn the_sample_plant_has_rules_of_its_own_that_find_something_and_hold_for_most() {
    let plant = Plant::sample();
    let cabinets = plant.call("place.cabinets", json!({}));
    let (mut kept, mut broken) = (0, 0);
    for cabinet in cabinets.as_array().unwrap() {
        let reply = plant.call("lineup.check", json!({ "address": cabinet["address"] }));
        for finding in only(&reply["findings"], |finding| finding["own"] == true) {
            assert_eq!(finding["rule"], "vital-still-made");
            *(if finding["severity"] == "pass" { &mut kept } else { &mut broken }) += 1;
        }
    }
    assert!(broken > 0 && kept > 5 * broken, "{broken} broken, {kept} kept");
}

#[test]
fn rules_that_cannot_be_kept_are_refused_with_line_and_column() {
    let firmware = || json!([{ "fact": "spare_firmware", "at_least": "1.1" }]);
    let swap = |must: Value| rule("swap", json!([]), must);
    let named = |name: &str| {
        let mut rule = swap(firmware());
        rule["name"] = json!(name);
        rule
    };
    for (rule, field, expected) in [
        (named("key"), "name", "built-in"),
        (named("Not Kebab"), "name", "schema"),
        (swap(json!([])), "must", "at least one condition"),
        (swap(json!([{ "fact": "spare_firmware" }])), "must.0", "exactly one comparison"),
        (
            swap(json!([{ "fact": "spare_firmware", "is": "1", "at_least": "1" }])),
            "must.0",
            "exactly one comparison",
        ),
        (
            swap(json!([{ "fact": "spare_firmwear", "at_least": "1" }])),
            "must.0.fact",
            "the nearest is spare_firmware",
        ),
        (
            swap(json!([{ "fact": "slot_criticality", "is": "vitl" }])),
            "must.0.is",
            "the nearest is vital",
        ),
        (
            swap(json!([{ "fact": "model_heat_w", "at_most": "4" }])),
            "must.0.at_most",
            "a number, W",
        ),
        (swap(json!([{ "fact": "item_kind", "is": "slot" }])), "must.0.fact", "not theirs"),
        (
            swap(json!([{ "fact": "spare_serial", "start_with": "A" }])),
            "must.0.start_with",
            "the nearest is starts_with",
        ),
    ] {
        let plant = Plant::empty();
        let refusal =
            plant.refused("site.import", json!({ "files": files(&json!([rule.clone()])) }));
        let said = format!("{refusal:?}");
        assert!(said.contains(&format!("own_rules.0.{field}")), "{rule}: {said}");
        assert!(said.contains(expected), "{expected}: {said}");
    }
    // A rule of its own is not set in the list of ours.
    let mut files = files(&json!([named("marrow-point")]));
    for file in files.iter_mut().filter(|file| file["name"] == "site.json") {
        let mut site: Value = serde_json::from_str(text(&file["text"])).unwrap();
        site["rules"] = json!([{ "name": "marrow-point", "on": false }]);
        file["text"] = json!(site.to_string());
    }
    let refusal = Plant::empty().refused("site.import", json!({ "files": files }));
    assert!(format!("{refusal:?}").contains("own_rules, set it there"), "{refusal:?}");
}

#[test]
fn the_schema_names_every_fact() {
    let schema = std::fs::read_to_string(root().join("schemas/files/site.json")).unwrap();
    let schema: Value = serde_json::from_str(&schema).unwrap();
    let named = &schema["$defs"]["condition"]["properties"]["fact"]["enum"];
    let named: Vec<_> = named.as_array().unwrap().iter().map(text).collect();
    assert_eq!(named, FACTS.iter().map(|fact| fact.name).collect::<Vec<_>>());
}
