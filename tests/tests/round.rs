//! One round of work on the sample plant: what technician, planner and clerk do, end to end.

use serde_json::{Value, json};
use slotkeep_api::{FailureKind, Role};
use slotkeep_tests::{Plant, files_of, only, root};

/// A slot whose unit can be swapped: there is a spare that fits, and one of another key.
fn swappable(plant: &Plant) -> (Value, Value, Value) {
    let shelf = plant.call("stock.shelf", json!({}));
    let spares: Vec<Value> = shelf["storerooms"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|room| room["bins"].as_array().unwrap().clone())
        .flat_map(|bin| bin["units"].as_array().unwrap().clone())
        .collect();
    for cabinet in plant.call("place.cabinets", json!({})).as_array().unwrap() {
        let drawing = plant.call("place.cabinet", json!({ "cabinet": cabinet["address"] }));
        for rail in drawing["rails"].as_array().unwrap() {
            for item in only(&rail["items"], |item| !item["slot"]["unit"].is_null()) {
                let slot = &item["slot"];
                if slot["key"].is_null() {
                    continue;
                }
                let fits = plant.call("swap.candidates", json!({ "slot": slot["address"] }));
                let wrong = spares
                    .iter()
                    .find(|spare| !spare["key"].is_null() && spare["key"] != slot["key"]);
                if let (Some(fit), Some(wrong)) = (fits.get(0), wrong) {
                    return (slot.clone(), fit["unit"].clone(), wrong.clone());
                }
            }
        }
    }
    panic!("the sample plant has no slot with a fitting and a wrong spare");
}

#[test]
fn importing_the_same_folder_again_changes_nothing() {
    let plant = Plant::empty();
    let files = json!({ "files": files_of(&root().join("sample-site")) });
    let first = plant.call("site.import", files.clone());
    assert!(first["entries"].as_u64().unwrap() > 2000, "{first}");
    let head = plant.api.head().unwrap();
    let again = plant.call("site.import", files);
    assert_eq!(again["entries"], json!(0), "{again}");
    assert_eq!(plant.api.head().unwrap(), head);
    plant.verify_clean();
}

#[test]
fn with_one_bad_row_nothing_is_imported_and_every_bad_row_is_named() {
    let plant = Plant::empty();
    let mut files = files_of(&root().join("sample-site"));
    for file in &mut files {
        if file["name"] == "units.csv" {
            let text = file["text"].as_str().unwrap();
            let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
            lines[3] = lines[3].replace(",good", ",splendid");
            lines[9] = lines[9].replacen(',', ",no-such-model-", 1);
            file["text"] = json!(lines.join("\n"));
        }
    }
    let failure = plant.refused("site.import", json!({ "files": files }));
    assert_eq!(failure.kind, FailureKind::BadInput);
    let places: Vec<&str> = failure.details.iter().map(|d| d.place.as_str()).collect();
    for line in ["units.csv, line 4, column", "units.csv, line 10, column"] {
        assert!(places.iter().any(|place| place.starts_with(line)), "{places:?}");
    }
    assert_eq!(plant.api.head().unwrap(), 0);
}

#[test]
fn an_edited_folder_becomes_entries_for_its_differences_only() {
    let plant = Plant::sample();
    let mut files = files_of(&root().join("sample-site"));
    let loops = files.iter_mut().find(|file| file["name"] == "loops.csv").unwrap();
    let mut lines: Vec<&str> = loops["text"].as_str().unwrap().lines().collect();
    let gone = lines.remove(5).split(',').next().unwrap().to_owned();
    loops["text"] = json!(lines.join("\n"));
    let report = plant.call("site.import", json!({ "files": files }));
    assert_eq!(report["entries"], json!(1), "{report}");
    assert_eq!(report["kinds"], json!([{ "kind": "place-removed", "count": 1 }]));
    let entries = plant.call("journal.list", json!({ "subject": gone }));
    assert!(entries[0]["message"].as_str().unwrap().contains("taken out"), "{entries}");
    // The row that vanished may come back.
    let report =
        plant.call("site.import", json!({ "files": files_of(&root().join("sample-site")) }));
    assert_eq!(report["kinds"], json!([{ "kind": "loop-set", "count": 1 }]));
    plant.verify_clean();
}

#[test]
fn importing_again_after_a_swap_does_not_undo_the_swap() {
    let plant = Plant::sample();
    let (slot, fit, _) = swappable(&plant);
    swap_through(&plant, &slot, &fit);
    let again =
        plant.call("site.import", json!({ "files": files_of(&root().join("sample-site")) }));
    assert_eq!(again["entries"], json!(0));
    let card = plant.call("unit.card", json!({ "unit": fit["label"] }));
    assert_eq!(card["unit"]["place"], slot["address"]);
}

/// Does a whole swap, scanning what each step demands.
fn swap_through(plant: &Plant, slot: &Value, spare: &Value) -> Value {
    let mut swap =
        plant.call("swap.start", json!({ "slot": slot["address"], "unit": spare["label"] }));
    let id = swap["swap"].clone();
    while !swap["next_step"].is_null() {
        swap = plant.tick(&swap);
    }
    let site = plant.call("site.summary", json!({}));
    let removal = json!({
        "to": "repair",
        "condition": "failed",
        "failure_mode": site["failure_modes"][0]["code"],
        "failure_cause": site["failure_causes"][0]["code"],
        "detection": site["detection_methods"][0]["code"],
        "note": "no output on channel 3",
    });
    plant.call("swap.finish", json!({ "swap": id, "removal": removal }))
}

#[test]
fn a_failed_module_is_swapped_and_stock_and_orders_follow() {
    let plant = Plant::sample();
    let (slot, fit, wrong) = swappable(&plant);
    let stopped =
        plant.call("swap.check", json!({ "slot": slot["address"], "unit": wrong["label"] }));
    assert_eq!((&stopped["passes"], &stopped["barred"]), (&json!(false), &json!(true)));
    let taken_on = json!([{ "rule": "key", "person": "the boss", "reason": "in a hurry" },
                          { "rule": "model", "person": "the boss", "reason": "in a hurry" }]);
    let failure = plant.refused(
        "swap.start",
        json!({ "slot": slot["address"], "unit": wrong["label"], "overrides": taken_on }),
    );
    assert!(failure.message.contains("is keyed"), "{failure}");

    let model = json!({ "model": fit["model"] });
    let before = plant.call("spares.table", model.clone());
    let old = slot["unit"]["label"].clone();
    swap_through(&plant, &slot, &fit);
    let after = plant.call("spares.table", model);
    let on_hand = |table: &Value| {
        let lines = table["lines"].as_array().unwrap().iter();
        lines.map(|line| line["on_hand"].as_u64().unwrap()).sum::<u64>()
    };
    assert_eq!(on_hand(&after) + 1, on_hand(&before));
    let ordered = |table: &Value| {
        let lines = table["lines"].as_array().unwrap().iter();
        lines.map(|line| line["order_now"].as_u64().unwrap()).sum::<u64>()
    };
    assert!(ordered(&after) >= ordered(&before), "a spare less is never a reason to order less");

    let card = plant.call("unit.card", json!({ "unit": fit["label"] }));
    assert_eq!(card["unit"]["place"], slot["address"]);
    let card = plant.call("unit.card", json!({ "unit": old }));
    assert_eq!(card["unit"]["place"], json!("repair"));
    assert!(!card["history"].as_array().unwrap().is_empty());
    plant.verify_clean();
}

#[test]
fn a_unit_that_a_begun_swap_takes_is_shown_as_handed_out_to_it() {
    let plant = Plant::sample();
    let (slot, fit, _) = swappable(&plant);
    let usable = |of: &str| {
        let lines = plant.call("spares.table", json!({ "model": fit["model"] }))["lines"].clone();
        lines.as_array().unwrap().iter().map(|line| line[of].as_u64().unwrap()).sum::<u64>()
    };
    let (on_hand, reserved) = (usable("on_hand"), usable("reserved"));
    let shown = || plant.call("unit.card", json!({ "unit": fit["label"] }))["unit"].clone();
    assert_eq!(shown()["handed_out"], Value::Null);
    let swap = plant.call("swap.start", json!({ "slot": slot["address"], "unit": fit["label"] }));
    let taken =
        |unit: &Value| (unit["handed_out"]["swap"].clone(), unit["handed_out"]["slot"].clone());
    let by_swap = (swap["swap"].clone(), slot["address"].clone());
    assert_eq!(taken(&shown()), by_swap);
    // It lies in its bin still, and is no spare for anything else.
    assert_eq!((usable("on_hand"), usable("reserved")), (on_hand, reserved + 1));
    let bench = json!({ "unit": fit["label"], "to": "bench", "condition": "good",
                        "reason": "taken to the cabinet" });
    plant.call("unit.move", bench);
    let shelf = plant.call("stock.shelf", json!({}));
    let there = only(&shelf["elsewhere"], |unit| unit["label"] == fit["label"]);
    assert_eq!((&there[0]["place"], taken(there[0])), (&json!("bench"), by_swap));
    let left = json!({ "swap": swap["swap"], "state_left": "as it was" });
    plant.call("swap.abandon", left);
    assert_eq!(shown()["handed_out"], Value::Null);
    plant.verify_clean();
}

#[test]
fn scanning_the_wrong_unit_at_a_step_stops_it() {
    let plant = Plant::sample();
    let (slot, fit, wrong) = swappable(&plant);
    let mut swap =
        plant.call("swap.start", json!({ "slot": slot["address"], "unit": fit["label"] }));
    let id = swap["swap"].clone();
    loop {
        let next = swap["next_step"].as_u64().expect("a step that demands a unit");
        let step = swap["steps"][next as usize - 1].clone();
        if step["scan"] == "unit" {
            let failure = plant.refused(
                "swap.tick",
                json!({ "swap": id, "step": next, "scanned": wrong["label"] }),
            );
            assert!(failure.message.starts_with("stop: you scanned"), "{failure}");
            let missing = plant.refused("swap.tick", json!({ "swap": id, "step": next }));
            assert!(missing.message.contains("scan it"), "{missing}");
            break;
        }
        swap = plant.tick(&swap);
    }
    let early = plant.refused("swap.finish", json!({ "swap": id }));
    assert!(early.message.contains("is not ticked"), "{early}");
    plant.call("swap.abandon", json!({ "swap": id, "state_left": "The wrong spare was fetched." }));
    let shown = plant.call("swap.show", json!({ "swap": id }));
    assert_eq!(shown["state"], json!("abandoned"));
    let left = shown["state_left"].as_str().unwrap();
    assert!(left.ends_with("The wrong spare was fetched."), "{left}");
    assert!(left.contains("still stands in slot"), "{left}");
    plant.verify_clean();
}

#[test]
fn a_due_battery_is_changed_from_a_fresh_lot_and_leaves_the_list() {
    let plant = Plant::sample();
    let due = plant.call("battery.list", json!({ "within_d": 90 }));
    let first = &due[0];
    assert!(first["days_left"].as_i64().unwrap() < 0, "the sample has an overdue battery: {first}");
    let charge = only(&first["sum"], |figure| figure["what"] == "Charge left")[0];
    let parts = charge["parts"].as_array().unwrap().iter();
    let sum: f64 = parts.map(|part| part["value"].as_f64().unwrap()).sum();
    let left = first["remaining_mah"].as_f64().unwrap();
    assert!((sum - left).abs() < 1e-6, "the sum shown gives {left}: {first}");

    let shelf = plant.call("stock.shelf", json!({}));
    let lots: Vec<&Value> = shelf["storerooms"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|room| room["bins"].as_array().unwrap())
        .flat_map(|bin| bin["lots"].as_array().unwrap())
        .filter(|lot| lot["model"] == first["battery_model"] && lot["quarantined"] == false)
        .collect();
    let change = |lot: &Value| {
        json!({ "unit": first["unit"]["label"], "lot": lot["label"], "bin": lot["bins"][0]["bin"],
                "powered": true, "memory_saved": true, "found": "weak" })
    };
    if let Some(old) = lots.iter().find(|lot| lot["expired"] == true) {
        let failure = plant.refused("battery.change", change(old));
        assert!(failure.message.contains("shelf date"), "{failure}");
    }
    let fresh = lots.iter().find(|lot| lot["expired"] == false).expect("a fresh lot");
    plant.call("battery.change", change(fresh));
    let after = plant.call("stock.lot", json!({ "lot": fresh["label"] }));
    let bins = |lot: &Value| {
        only(&lot["bins"], |_| true).iter().map(|b| b["pieces"].as_u64().unwrap()).sum::<u64>()
    };
    assert_eq!(bins(&after), bins(fresh) - first["cells"].as_u64().unwrap());
    let list = plant.call("battery.list", json!({}));
    let now = only(&list, |line| line["unit"]["label"] == first["unit"]["label"]);
    assert!(now[0]["days_left"].as_i64().unwrap() > 90, "{}", now[0]);
    plant.verify_clean();
}

/// Without an agreement the visits follow the planner: what is changed without power is walked to
/// in the planned power-off, and grouping by a window is there for who asks for it.
#[test]
fn visits_that_nobody_agreed_on_are_those_of_the_planner() {
    let plant = Plant::sample();
    let plan = plant.call("battery.plan", json!({}));
    let planned = only(&plan["visits"], |visit| visit["on"].as_str() < Some("2028-11-24"));
    let visits = plant.call("battery.visits", json!({ "horizon_d": 1825 }));
    for visit in planned {
        let same = |walk: &Value| walk["on"] == visit["on"] && walk["cabinet"] == visit["scope"];
        let walks = only(&visits, same);
        assert_eq!(walks.len(), 1, "{visit} is not among the visits");
        let changes = visit["changes"].as_array().unwrap().len();
        assert_eq!(walks[0]["batteries"].as_array().unwrap().len(), changes);
    }
    let without_power = |visit: &Value| {
        only(&visit["batteries"], |line| line["change_with"] == "unpowered").len() == 1
    };
    let in_the_stop = only(&visits, without_power);
    assert!(!in_the_stop.is_empty(), "{visits}");
    assert!(in_the_stop[0]["on"].as_str().unwrap().starts_with("2027-04"), "{}", in_the_stop[0]);
    let grouped = plant.call("battery.visits", json!({ "horizon_d": 1825, "window_d": 90 }));
    assert_ne!(grouped, visits);
}

#[test]
fn visits_never_come_after_a_due_date_and_the_calendar_holds_them() {
    let plant = Plant::sample();
    let visits = plant.call("battery.visits", json!({ "horizon_d": 1825 }));
    assert!(!visits.as_array().unwrap().is_empty());
    let today = "2026-11-25";
    for visit in visits.as_array().unwrap() {
        for battery in visit["batteries"].as_array().unwrap() {
            let on = visit["on"].as_str().unwrap();
            // The battery after the one in it now is due by the plan only.
            let Some(due) = battery["due_on"].as_str() else {
                assert_eq!(battery["reason"], "later_change");
                continue;
            };
            assert!(on <= due || on == today, "{on} is after {due}");
        }
    }
    let calendar = plant.file("battery.calendar", json!({ "horizon_d": 1825 }));
    let calendar = String::from_utf8(calendar).unwrap();
    let events = calendar.matches("BEGIN:VEVENT\r\n").count();
    assert_eq!(events, visits.as_array().unwrap().len());
    // RFC 5545, 3.6.1: the end of a whole day is the day after.
    let first = visits[0]["on"].as_str().unwrap().parse::<chrono::NaiveDate>().unwrap();
    let ends = (first + chrono::Days::new(1)).format("DTEND;VALUE=DATE:%Y%m%d\r\n").to_string();
    assert!(calendar.contains(&ends), "{calendar}");
    assert!(calendar.starts_with("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Slotkeep//EN\r\n"));
    // RFC 5545, 3.1: lines end with CRLF and have at most 75 octets.
    for line in calendar.split("\r\n") {
        assert!(line.len() <= 75 && !line.contains('\n'), "{line:?}");
    }
}

#[test]
fn sending_a_record_twice_changes_nothing() {
    let plant = Plant::sample();
    let lot = plant.call("search.find", json!({ "text": "" }));
    assert_eq!(lot, json!([]));
    let note = json!({ "id": "01936a3e-0000-7000-8000-000000000001", "subject": "+K11",
                       "text": "door seal is torn" });
    let first = plant.call("journal.note", note.clone());
    let again = plant.call("journal.note", note);
    assert_eq!((&first["repeated"], &again["repeated"]), (&json!(false), &json!(true)));
    let entries = plant.call("journal.list", json!({ "subject": "+K11" }));
    assert_eq!(only(&entries, |entry| entry["kind"] == "noted").len(), 1);
}

#[test]
fn a_queued_record_that_no_longer_fits_is_kept_for_a_person() {
    let plant = Plant::sample();
    let (slot, ..) = swappable(&plant);
    let id = "01936a3e-0000-7000-8000-000000000002";
    let failure = plant.refused(
        "unit.move",
        json!({ "unit": slot["unit"]["label"], "to": "bench", "id": id, "queued": true }),
    );
    assert_eq!(failure.kind, FailureKind::SetAside);
    let kept = plant.call("journal.set_aside", json!({}));
    assert_eq!(kept[0]["id"], json!(id));
    plant.call("journal.settle", json!({ "record": id, "settled": "moved by a swap instead" }));
    assert_eq!(plant.call("journal.set_aside", json!({})), json!([]));
    plant.verify_clean();
}

#[test]
fn roles_are_checked_before_anything_else() {
    let clerk = Plant::sample().as_role(Role::Clerk);
    let failure = clerk.refused("swap.start", json!({ "nonsense": 1 }));
    assert_eq!(failure.kind, FailureKind::NotAllowed, "{failure}");
    let technician = Plant::sample().as_role(Role::Technician);
    let failure = technician.refused("people.set", json!({ "name": "x", "roles": ["owner"] }));
    assert_eq!(failure.kind, FailureKind::NotAllowed);
}
