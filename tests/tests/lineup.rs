//! Line-ups of the sample site: what the rules find there, plans with their bill of material, and
//! what a site may set about the rules.

use serde_json::{Value, json};
use slotkeep_api::FailureKind;
use slotkeep_tests::{Plant, files_of, only, root};

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

fn of<'v>(reply: &'v Value, rule: &str) -> Vec<&'v Value> {
    only(&reply["findings"], |finding| finding["rule"] == rule)
}

#[test]
fn the_sample_plant_shows_findings_of_each_severity() {
    let plant = Plant::sample();
    let cabinets = plant.call("place.cabinets", json!({}));
    let mut seen = std::collections::BTreeMap::<String, u32>::new();
    for cabinet in cabinets.as_array().unwrap() {
        let reply = plant.call("lineup.check", json!({ "address": cabinet["address"] }));
        let findings = reply["findings"].as_array().unwrap();
        let mut worst = 4;
        for finding in findings {
            let severity = text(&finding["severity"]);
            let rank =
                ["pass", "note", "caution", "stop"].iter().position(|word| *word == severity);
            assert!(rank.unwrap() <= worst, "graver ones come first");
            worst = rank.unwrap();
            assert_eq!(text(&finding["to_do"]).is_empty(), severity == "pass", "{finding}");
            *seen.entry(severity.to_owned()).or_default() += 1;
            if finding["unknown"] == true {
                *seen.entry("unknown".to_owned()).or_default() += 1;
            }
        }
        let stops = only(&reply["findings"], |finding| finding["severity"] == "stop").len();
        assert_eq!(reply["stops"], stops);
    }
    for severity in ["pass", "note", "caution", "stop", "unknown"] {
        assert!(seen.contains_key(severity), "{seen:?}");
    }
}

#[test]
fn two_units_with_one_bus_address_are_named() {
    let plant = Plant::sample();
    let reply = plant.call("lineup.check", json!({ "address": "+K13.2" }));
    let twice = of(&reply, "bus-addresses");
    let said = twice.iter().find(|finding| finding["severity"] == "stop").unwrap();
    assert!(text(&said["compared"]).contains("both have address 5"), "{said}");
    let whole = plant.call("lineup.check", json!({ "address": "+K13" }));
    assert!(
        whole["findings"].as_array().unwrap().len() > reply["findings"].as_array().unwrap().len()
    );
}

#[test]
fn what_is_not_there_is_refused_with_what_is() {
    let plant = Plant::sample();
    let refusal = plant.refused("lineup.check", json!({ "address": "+K13.9" }));
    assert_eq!(refusal.kind, FailureKind::NotFound);
    assert!(refusal.message.contains("+K13 has +K13.1, +K13.2"), "{}", refusal.message);
    let refusal = plant.refused("lineup.check", json!({ "address": "K13" }));
    assert!(refusal.message.contains("such as +K12"), "{}", refusal.message);
    let refusal = plant.refused("lineup.plan", json!({ "rail": "+K13" }));
    assert!(refusal.message.contains("plan one of its rails"), "{}", refusal.message);
}

/// The items of a plan as they would be sent back.
fn sent(plan: &Value) -> Vec<Value> {
    let fields = ["kind", "model", "slot", "empty", "key", "bus_address", "gap_mm"];
    let item = |item: &Value| {
        let mut sent: Value = fields.iter().map(|field| (*field, item[*field].clone())).collect();
        if item["new"] == true {
            sent["slot"] = Value::Null;
        }
        sent
    };
    plan["items"].as_array().unwrap().iter().map(item).collect()
}

#[test]
fn a_rail_that_is_sent_back_unchanged_takes_nothing() {
    let plant = Plant::sample();
    let rails = ["+K11.1", "+K12.3", "+K14.2"];
    for rail in rails {
        let now = plant.call("lineup.plan", json!({ "rail": rail }));
        let again = plant.call("lineup.plan", json!({ "rail": rail, "items": sent(&now) }));
        assert_eq!(again, now);
        assert_eq!(now["materials"], json!([]));
        assert!(text(&now["message"]).ends_with("nothing changes"), "{}", now["message"]);
    }
}

#[test]
fn an_extended_rail_says_what_it_takes_and_what_of_it_there_is() {
    let plant = Plant::sample();
    let now = plant.call("lineup.plan", json!({ "rail": "+K11.1" }));
    let mut items = sent(&now);
    let end = items.iter().rposition(|item| item["kind"] == "terminator").unwrap();
    let new = json!({ "kind": "slot", "model": "MP-AI08-C", "bus_address": 40 });
    items.splice(end..end, vec![new; 3]);
    let plan = plant.call("lineup.plan", json!({ "rail": "+K11.1", "items": items }));
    let added = only(&plan["items"], |item| item["new"] == true);
    assert_eq!(added.len(), 3);
    assert_eq!(added[0]["slot"], "+K11.1.17");
    let line = |model: &str| {
        let lines = only(&plan["materials"], |line| line["model"] == model);
        (*lines.first().unwrap_or_else(|| panic!("{model} is in no line: {plan:#}"))).clone()
    };
    for model in ["MP-AI08-C", "MP-BSC"] {
        let line = line(model);
        assert_eq!(line["pieces"], 3);
        let missing = 3 - line["free"].as_i64().unwrap().min(3);
        assert!(line["order"].as_i64().unwrap() >= missing, "{line}");
        assert_eq!(line["order"] == 0, missing == 0, "{line}");
    }
    let twice = of(&plan, "bus-addresses");
    assert!(twice.iter().any(|finding| finding["severity"] == "stop"), "address 40 stands thrice");
    // The bus ends behind the last of them, with its terminator pushed on.
    let ends = of(&plan, "bus-ends");
    assert!(ends.iter().all(|finding| finding["severity"] == "pass"), "{ends:?}");
    // Nothing was recorded.
    assert_eq!(plant.call("lineup.plan", json!({ "rail": "+K11.1" })), now);
    plant.verify_clean();
}

#[test]
fn a_plan_with_too_much_on_the_rail_or_without_a_terminator_stops() {
    let plant = Plant::sample();
    let now = plant.call("lineup.plan", json!({ "rail": "+K11.2" }));
    let mut items = sent(&now);
    items.retain(|item| item["kind"] != "terminator");
    items.push(json!({ "kind": "slot", "model": "MP-AI08-E" }));
    items.push(json!({ "kind": "slot", "model": "MP-AI08-E" }));
    let plan = plant.call("lineup.plan", json!({ "rail": "+K11.2", "items": items }));
    for (rule, said) in [("rail-length", "700 mm long"), ("bus-ends", "no terminator closes")] {
        let found = of(&plan, rule);
        assert!(
            found.iter().any(|f| f["severity"] == "stop" && text(&f["compared"]).contains(said)),
            "{rule}: {found:?}"
        );
    }
    let ends = of(&plan, "end-supports");
    assert!(ends.iter().any(|f| f["severity"] == "caution"), "{ends:?}");
    let back = only(&plan["materials"], |line| line["pieces"] == -2);
    assert_eq!(back[0]["model"], "MP-TRM1");
    let refusal = plant.refused(
        "lineup.plan",
        json!({ "rail": "+K11.2", "items": [{ "kind": "slot", "model": "MP-AI08" }] }),
    );
    assert!(refusal.message.contains("item 1: there is no model MP-AI08; the nearest is"));
}

/// Imports the sample site with another text in `site.json`.
fn with_rules(rules: &str) -> Result<Plant, String> {
    let plant = Plant::empty();
    let mut files = files_of(&root().join("sample-site"));
    for file in files.iter_mut().filter(|file| file["name"] == "site.json") {
        let mut site: Value = serde_json::from_str(text(&file["text"])).unwrap();
        site["rules"] = serde_json::from_str(rules).unwrap();
        file["text"] = json!(site.to_string());
    }
    match plant.try_call("site.import", json!({ "files": files })) {
        Ok(_) => Ok(plant),
        Err(failure) => Err(format!("{failure:?}")),
    }
}

#[test]
fn a_site_switches_rules_and_sets_their_limits() {
    let plant = with_rules(
        r#"[{"name": "touching", "on": false},
            {"name": "empty-bases", "severity": "caution"},
            {"name": "voltage", "limits": {"least_v": 23.9}}]"#,
    )
    .unwrap();
    let rules = plant.call("lineup.rules", json!({}));
    let rule = |name: &str| only(&rules, |rule| rule["name"] == name)[0].clone();
    assert_eq!((&rule("touching")["on"], &rule("keys")["on"]), (&json!(false), &json!(true)));
    assert_eq!(rule("voltage")["limits"][1]["value"], 23.9);
    let reply = plant.call("lineup.check", json!({ "address": "+K11.1" }));
    assert!(of(&reply, "touching").is_empty());
    assert!(of(&reply, "voltage").iter().any(|finding| finding["severity"] == "stop"));
    plant.verify_clean();
}

#[test]
fn rules_that_are_not_there_or_protect_people_are_refused_on_load() {
    for (rules, said) in [
        (r#"[{"name": "touchy"}]"#, "write one of touching, rail-length"),
        (r#"[{"name": "keys", "on": false}]"#, "nobody may switch this rule off"),
        (r#"[{"name": "safe-distance", "severity": "note"}]"#, "leave it at stop"),
        (r#"[{"name": "safe-distance", "limits": {"distance_mm": 1}}]"#, "from 6 to 500"),
        (r#"[{"name": "touching", "limits": {"gap": 1}}]"#, "its limits are gap_mm"),
        (r#"[{"name": "touching", "colour": 1}]"#, "colour"),
    ] {
        let refusal = with_rules(rules).err().unwrap_or_else(|| panic!("{rules} was taken"));
        assert!(refusal.contains(said), "{rules}: {refusal}");
    }
}

/// The text of a PDF, page by page, as `pdftotext` (poppler) reads it.
fn pages(pdf: &[u8]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sheet.pdf");
    std::fs::write(&file, pdf).unwrap();
    let read = std::process::Command::new("pdftotext").arg("-layout").arg(&file).arg("-").output();
    let text = String::from_utf8(read.expect("pdftotext is there").stdout).unwrap();
    text.split('\u{c}').filter(|page| !page.trim().is_empty()).map(str::to_owned).collect()
}

#[test]
fn a_line_up_is_drawn_to_scale_with_its_revision_on_each_page() {
    let plant = Plant::sample();
    let pdf = plant.file("lineup.sheet", json!({ "cabinet": "+K13" }));
    assert_eq!(pdf, plant.file("lineup.sheet", json!({ "cabinet": "+K13", "page": "a4" })));
    let pages = pages(&pdf);
    let entries = plant.call("site.summary", json!({}))["entries"].clone();
    for (at, page) in pages.iter().enumerate() {
        assert!(page.contains(&format!("Page {} of {}", at + 1, pages.len())), "{page}");
        assert!(page.contains(&format!("Register: {entries} entries, ")), "{page}");
    }
    let text = pages.join(" ");
    for said in ["Scale 1 : 5", "+K13.2 Compact bases", "MP-CP2R", "both have address 5", "STOP"] {
        assert!(text.contains(said), "{said}: {text}");
    }
    let letter = plant.file("lineup.sheet", json!({ "cabinet": "+K13", "page": "letter" }));
    assert_ne!(letter, pdf);
    let refusal = plant.refused("lineup.sheet", json!({ "cabinet": "+K13", "page": "a3" }));
    assert!(refusal.message.contains("a4 or letter"), "{}", refusal.message);
    let door = self::pages(&plant.file("label.door_sheet", json!({ "cabinet": "+K13" })));
    assert!(door[0].contains(&format!("register: {entries} entries, ")), "{}", door[0]);
}

/// Imports the sample site with one text of one file replaced, which must be refused.
fn refused_file(name: &str, from: &str, to: &str) -> String {
    let mut files = files_of(&root().join("sample-site"));
    let file = files.iter_mut().find(|file| file["name"] == name).unwrap();
    let before = text(&file["text"]).to_owned();
    assert!(before.contains(from), "{from:?} must stand in {name}");
    file["text"] = json!(before.replacen(from, to, 1));
    let refusal = Plant::empty().refused("site.import", json!({ "files": files }));
    format!("{refusal:?}")
}

/// The sample plant has one rail that hangs on the bus and on the power supplies of another, of
/// which the second was fitted too small.
#[test]
fn two_rails_of_the_sample_plant_hang_together() {
    let plant = Plant::sample();
    let first = plant.call("lineup.check", json!({ "address": "+K18.1" }));
    let second = plant.call("lineup.check", json!({ "address": "+K18.2" }));
    for reply in [&first, &second] {
        let budget = of(reply, "supply-budget");
        let grave = budget.iter().find(|finding| finding["severity"] == "stop").unwrap();
        assert_eq!(grave["at"], "+K18.1");
        let compared = text(&grave["compared"]);
        assert!(compared.contains("mA of it on +K18.2"), "{compared}");
        assert!(compared.contains("without +K18.1.01 the supply that stays"), "{compared}");
    }
    let units = text(&of(&first, "bus-units")[0]["compared"]);
    assert!(units.starts_with("bus \"io\" on +K18.1 and +K18.2 has 24 units"), "{units}");
    assert_eq!(of(&second, "bus-units")[0]["severity"], "pass");
    for rail in [&first, &second] {
        for rule in ["touching", "end-supports", "bus-ends", "bus-passes", "bus-positions"] {
            let graver = of(rail, rule).iter().any(|finding| finding["severity"] != "pass");
            assert!(!graver, "{rule}: {:#?}", of(rail, rule));
        }
    }

    // A plan that puts more on the second rail is held against what the first can bear.
    let plan = plant.call("lineup.plan", json!({ "rail": "+K18.2" }));
    let items = plan["items"].as_array().unwrap();
    let grave = only(&plan["findings"], |finding| finding["severity"] == "stop");
    assert_eq!(grave.iter().map(|one| text(&one["at"])).collect::<Vec<_>>(), ["+K18.1"]);
    let more: Vec<Value> = items
        .iter()
        .filter(|item| item["kind"] == "slot")
        .map(|item| json!({ "kind": "slot", "slot": item["slot"], "model": item["model"] }))
        .chain((0..12).map(|_| json!({ "kind": "slot", "model": "MP-DI16-P" })))
        .collect();
    let plan = plant.call("lineup.plan", json!({ "rail": "+K18.2", "items": more }));
    assert_eq!(of(&plan, "bus-units").iter().filter(|one| one["severity"] == "stop").count(), 1);
}

/// The larger of the two supplies must not be pulled as if the other carried everything.
#[test]
fn a_supply_whose_partner_is_too_small_is_swapped_with_its_rails_isolated() {
    let plant = Plant::sample();
    let slot = "+K18.1.01";
    let effects = plant.call("swap.effects", json!({ "slot": slot }));
    assert_eq!(effects["redundancy"], "lost");
    let message = text(&effects["redundancy_message"]);
    assert!(message.contains("+K18.1.17") && message.contains("mA are drawn"), "{message}");
    assert_eq!(effects["isolates_rail"], true);
    let small = only(&effects["disturbed"], |one| one["why"] == "supply_too_small");
    let on = |rail: &str| small.iter().filter(|one| text(&one["slot"]).starts_with(rail)).count();
    assert!(on("+K18.1.") >= 14 && on("+K18.2.") >= 9, "{effects:#}");

    // The small one may come out: the large one carries everything.
    let effects = plant.call("swap.effects", json!({ "slot": "+K18.1.17" }));
    assert_eq!(
        (&effects["redundancy"], &effects["isolates_rail"]),
        (&json!("carried"), &json!(false))
    );
    assert_eq!(effects["disturbed"], json!([]));

    // Work on the second rail that needs it dead takes the first along, which feeds it.
    let effects = plant.call("swap.effects", json!({ "slot": "+K18.2.05" }));
    let shared = only(&effects["disturbed"], |one| one["why"] == "shared_supply");
    assert!(shared.iter().any(|one| one["slot"] == "+K18.1.02"), "{effects:#}");
}

/// Papers that are carried along say the same as the screens.
#[test]
fn papers_say_how_rails_hang_together_and_what_goes_down() {
    let plant = Plant::sample();
    let flat = |pdf: &[u8]| pages(pdf).concat().split_whitespace().collect::<Vec<_>>().join(" ");
    let sheet = flat(&plant.file("lineup.sheet", json!({ "cabinet": "+K18" })));
    let door = flat(&plant.file("label.door_sheet", json!({ "cabinet": "+K18" })));
    for text in [&sheet, &door] {
        let first = "Its power supplies are recorded as redundant and feed +K18.2 too; the bus goes \
                     on from its right end to +K18.2.";
        assert!(text.contains(first), "{text}");
        assert!(text.contains("24 V comes from the power supplies on +K18.1; the bus"), "{text}");
    }
    assert!(sheet.contains("What the rules find on +K18.1"), "{sheet}");

    let slot = "+K18.1.01";
    let effects = flat(&plant.file("swap.effects_sheet", json!({ "slot": slot })));
    let isolated = "rail +K18.1 (and with it +K18.2, on the same power supplies) is isolated";
    assert!(effects.contains(isolated), "{effects}");
    let spares = plant.call("swap.candidates", json!({ "slot": slot }));
    let unit = &spares[0]["unit"]["label"];
    let method = flat(&plant.file("swap.sheet", json!({ "slot": slot, "unit": unit })));
    let others = method.find("26 other units are disturbed, with 142 loops").expect("others");
    assert!(others < method.find("Steps").unwrap(), "before the steps");
    assert!(method.contains("every unit of +K18.1 and +K18.2 goes down with them"), "{method}");
}

#[test]
fn what_a_rail_or_cabinet_says_of_its_line_up_is_checked_on_load() {
    let more = |field: &str, value: &str| {
        // Only the first rail has another value in the column.
        let mut files = files_of(&root().join("sample-site"));
        let file = files.iter_mut().find(|file| file["name"] == "rails.csv").unwrap();
        let mut lines: Vec<String> = text(&file["text"]).lines().map(str::to_owned).collect();
        let column = lines[0].split(',').position(|head| head == field).expect("a column");
        // The third column from the left holds a title in quotes with a comma in it.
        let mut cells: Vec<String> = lines[1].split(',').map(str::to_owned).collect();
        let quoted = cells.iter().filter(|cell| cell.contains('"')).count() / 2;
        cells[column + quoted] = value.to_owned();
        lines[1] = cells.join(",");
        file["text"] = json!(lines.join("\n"));
        let plant = Plant::empty();
        match plant.try_call("site.import", json!({ "files": files })) {
            Ok(_) => "taken".to_owned(),
            Err(failure) => format!("{failure:?}"),
        }
    };
    assert_eq!(more("fed_by", "+K11.2"), "taken");
    assert!(more("fed_by", "+K12.2").contains("a rail of cabinet +K11"));
    assert!(more("fed_by", "+K11.1").contains("another rail"));
    assert!(more("bus_right", "+K99.1").contains("a row of rails.csv"));
    assert_eq!(more("bus_right", "+K12.1"), "taken");
    let stand = refused_file("cabinets.csv", "400,yes,", "400,,");
    assert!(stand.contains("together, or none of them"), "{stand}");
    let feeds = refused_file("models.json", "\"feeds\":\"standard\"", "\"feeds\":\"all\"");
    assert!(feeds.contains("standard, intrinsically_safe"), "{feeds}");
}
