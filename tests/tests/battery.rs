//! What people record about batteries and power, and what is refused.

use serde_json::{Value, json};
use slotkeep_api::{FailureKind, Role};
use slotkeep_tests::{Plant, files_of, only, root};

/// The battery in a slot that is due last, with its cabinet.
fn fitted(plant: &Plant) -> Value {
    let lines = plant.call("battery.list", json!({}));
    only(&lines, |line| !line["due_on"].is_null()).pop().unwrap().clone()
}

fn off(scope: &str, from: &str, to: &str) -> Value {
    json!({ "scope": scope, "from": from, "to": to, "reason": "Works" })
}

/// Records each input, which must be refused with these words.
fn refusals(plant: &Plant, cases: &[(&str, Value, &str)]) {
    for (command, input, words) in cases {
        let failure = plant.refused(command, input.clone());
        assert_eq!(failure.kind, FailureKind::Refused, "{command} {input}: {failure}");
        assert!(failure.message.contains(words), "{words:?} is not said by: {failure}");
    }
}

#[test]
fn power_offs_that_cannot_be_are_refused_and_say_why() {
    let plant = Plant::sample();
    let planned = "battery.power_off_planned";
    let recorded = "battery.power_off";
    let day = |d: u32| (format!("2026-11-{d:02}T06:00:00Z"), format!("2026-11-{d:02}T18:00:00Z"));
    let (from, to) = day(10);
    plant.call(recorded, off("+K12", &from, &to));
    let (next_from, next_to) = ("2027-02-01T06:00:00Z", "2027-02-01T18:00:00Z");
    plant.call(planned, off("HP", next_from, next_to));
    refusals(
        &plant,
        &[
            (recorded, off("+K12", &to, &from), "ends before it starts"),
            (recorded, off("+K12", &from, &from), "ends before it starts"),
            (planned, off("HP", next_to, next_from), "area HP ends before it starts"),
            (recorded, off("+K12", "2026-11-10T17:00:00Z", "2026-11-11T06:00:00Z"), "recorded"),
            (planned, off("HP", "2027-01-31T06:00:00Z", "2027-02-02T06:00:00Z"), "planned"),
            (recorded, off("+K12", next_from, next_to), "had not ended"),
            (recorded, off("+K99", &from, &to), "cabinet +K99 is not in the register"),
            (planned, off("XY", next_from, next_to), "area XY is not in the register"),
        ],
    );
    // Another scope may overlap: the hours of a cabinet count once.
    plant.call(recorded, off("PF", &from, &to));
    // One that begins as the other ends does not overlap.
    plant.call(recorded, off("+K12", &to, "2026-11-10T19:00:00Z"));
    plant.verify_clean();
}

#[test]
fn a_planned_power_off_is_settled_once() {
    let mut plant = Plant::sample();
    let stop = off("+K13", "2026-12-01T06:00:00Z", "2026-12-02T06:00:00Z");
    let happens = plant.call("battery.power_off_planned", stop)["entry"].clone();
    let stop = off("+K13", "2026-12-05T06:00:00Z", "2026-12-06T06:00:00Z");
    let dropped = plant.call("battery.power_off_planned", stop)["entry"].clone();
    let settled = "battery.power_off_settled";
    let times = json!({ "planned": happens, "from": "2026-12-01T07:00:00Z",
                        "to": "2026-12-02T09:00:00Z" });
    refusals(
        &plant,
        &[
            (settled, times.clone(), "had not ended"),
            (settled, json!({ "planned": dropped }), "called off without a reason"),
        ],
    );
    let half = plant.refused(settled, json!({ "planned": happens, "from": times["from"] }));
    assert_eq!(half.kind, FailureKind::BadInput, "{half}");

    plant.now += chrono::Duration::days(20);
    let waiting = plant.call("battery.power_offs", json!({ "open": true }));
    let state = |entry: &Value| only(&waiting, |l| l["entry"] == *entry)[0]["state"].clone();
    assert_eq!((state(&happens), state(&dropped)), (json!("waiting"), json!("waiting")));
    let booked = plant.call(settled, times.clone());
    plant.call(settled, json!({ "planned": dropped, "reason": "No crane" }));
    refusals(
        &plant,
        &[
            (settled, times, "settled already: it happened"),
            (settled, json!({ "planned": dropped, "reason": "x" }), "called off (No crane)"),
            (settled, json!({ "planned": booked["entry"], "reason": "x" }), "no power-off was"),
        ],
    );
    let lines = plant.call("battery.power_offs", json!({}));
    let happened = only(&lines, |line| line["entry"] == booked["entry"]);
    assert_eq!(
        (&happened[0]["state"], &happened[0]["hours"], &happened[0]["reason"]),
        (&json!("happened"), &json!(26.0), &json!("Works"))
    );
    assert!(only(&lines, |line| line["entry"] == happens).is_empty(), "it is listed once");
    plant.verify_clean();
}

#[test]
fn a_recorded_power_off_costs_charge_and_a_planned_one_does_not_yet() {
    let plant = Plant::sample();
    let before = fitted(&plant);
    let cabinet = before["cabinet"].as_str().unwrap();
    let charge = |plant: &Plant| {
        let lines = plant.call("battery.list", json!({ "cabinet": cabinet }));
        only(&lines, |line| line["unit"]["label"] == before["unit"]["label"])[0]["sum"].clone()
    };
    let sums = charge(&plant);
    plant.call(
        "battery.power_off_planned",
        off(cabinet, "2027-06-01T06:00:00Z", "2027-06-09T06:00:00Z"),
    );
    assert_eq!(charge(&plant), sums);
    let reading = json!({ "scope": cabinet, "from": "2026-11-20T06:00:00Z",
                          "to": "2026-11-22T06:00:00Z" });
    plant.call("battery.power_off", reading);
    assert_ne!(charge(&plant), sums);
}

#[test]
fn a_look_at_a_battery_is_kept_and_one_at_nothing_is_refused() {
    let plant = Plant::sample();
    let line = fitted(&plant);
    let unit = &line["unit"]["label"];
    plant.call("battery.seen", json!({ "unit": unit, "low_lamp": true, "mv": 3310 }));
    let entries = plant.call("journal.list", json!({ "subject": unit }));
    assert_eq!(
        entries[0]["message"],
        format!(
            "Battery of unit {} seen, lamp for a low battery lit, 3310 mV",
            line["unit"]["label_human"].as_str().unwrap()
        )
    );
    let lines = plant.call("battery.list", json!({}));
    let bare = only(&lines, |line| line["unit"]["battery"].is_null());
    let fitted_on = line["unit"]["battery"]["fitted_on"].as_str().unwrap();
    let early = format!("{}T00:00:00Z", day_before(fitted_on));
    let mut cases = vec![
        (
            "battery.seen",
            json!({ "unit": unit, "low_lamp": false, "happened_at": early }),
            "was changed on",
        ),
        ("battery.seen", json!({ "unit": unit, "low_lamp": false, "mv": 3_600_000 }), "mV"),
    ];
    for bare in bare.iter().take(1) {
        let input = json!({ "unit": bare["unit"]["label"], "low_lamp": true });
        cases.push(("battery.seen", input, "has no battery in the register"));
    }
    let supply = plant.call("place.slot", json!({ "slot": "+K11.1.01" }));
    let input = json!({ "unit": supply["slot"]["unit"]["label"], "low_lamp": true });
    cases.push(("battery.seen", input, "has no battery in the register"));
    refusals(&plant, &cases);
    plant.verify_clean();
}

fn day_before(day: &str) -> chrono::NaiveDate {
    day.parse::<chrono::NaiveDate>().unwrap().pred_opt().unwrap()
}

#[test]
fn temperatures_and_dates_that_cannot_be_are_refused() {
    let plant = Plant::sample();
    plant.call("place.temperature", json!({ "cabinet": "+K12", "temperature_c": 41.5 }));
    let entries = plant.call("journal.list", json!({ "subject": "+K12" }));
    assert_eq!(entries[0]["message"], "41.5 °C read in cabinet +K12");
    let line = fitted(&plant);
    let describe = |made: &str, fitted: &str| {
        json!({ "unit": line["unit"]["label"],
                "battery": { "model": line["battery_model"], "made_on": made,
                             "fitted_on": fitted } })
    };
    let read = |c: f64| json!({ "cabinet": "+K12", "temperature_c": c });
    refusals(
        &plant,
        &[
            ("place.temperature", read(-60.5), "a temperature of -60.5 °C for cabinet +K12"),
            ("place.temperature", read(150.5), "-60 to 150"),
            ("unit.describe", describe("2026-01-01", "2026-11-26"), "in the future"),
            ("unit.describe", describe("2026-11-02", "2026-11-01"), "after it was fitted"),
        ],
    );
}

#[test]
fn an_agreed_plan_must_fit_the_plant() {
    let plant = Plant::sample();
    let line = fitted(&plant);
    let unit = line["unit"]["label"].clone();
    let stop =
        off(line["cabinet"].as_str().unwrap(), "2027-03-01T06:00:00Z", "2027-03-02T06:00:00Z");
    let stop = plant.call("battery.power_off_planned", stop)["entry"].clone();
    let other = if line["cabinet"] == "+K24" { "+K23" } else { "+K24" };
    let agree = |on: &str, scope: &Value, power_off: &Value, units: Value| {
        let visit = json!({ "on": on, "scope": scope, "units": units, "power_off": power_off });
        ("battery.agree", json!({ "visits": [visit], "horizon_until": "2031-11-25" }))
    };
    let (none, here) = (Value::Null, line["cabinet"].clone());
    let supply =
        plant.call("place.slot", json!({ "slot": "+K11.1.01" }))["slot"]["unit"]["label"].clone();
    let cases = [
        (agree("2026-11-24", &here, &none, json!([unit])), "is not between 2026-11-25 and"),
        (agree("2031-11-26", &here, &none, json!([unit])), "is not between"),
        (agree("2027-03-02", &here, &none, json!([])), "changes no battery"),
        (agree("2027-03-02", &here, &none, json!([unit, unit])), "is planned twice"),
        (agree("2027-03-02", &json!(other), &none, json!([unit])), "stands in"),
        (agree("2027-03-03", &here, &stop, json!([unit])), "settled or on other days"),
        (agree("2027-03-02", &here, &none, json!([supply])), "takes no back-up battery"),
    ];
    let cases: Vec<_> = cases.into_iter().map(|((c, input), words)| (c, input, words)).collect();
    refusals(&plant, &cases);
    let (command, input) = agree("2027-03-02", &here, &stop, json!([unit]));
    plant.call(command, input);
    plant.verify_clean();
    let technician = plant.as_role(Role::Technician);
    let failure = technician.refused(command, json!({}));
    assert_eq!(failure.kind, FailureKind::NotAllowed, "{failure}");
}

#[test]
fn an_edited_row_of_power_offs_corrects_what_it_said() {
    let plant = Plant::sample();
    let import = |plant: &Plant, from: &str, to: &str| {
        let mut files = files_of(&root().join("sample-site"));
        let file = files.iter_mut().find(|file| file["name"] == "power_offs.csv").unwrap();
        let text = file["text"].as_str().unwrap();
        assert_eq!(text.matches(from).count(), 1, "{from}");
        file["text"] = json!(text.replace(from, to));
        plant.call("site.import", json!({ "files": files }))["kinds"].clone()
    };
    let count =
        |plant: &Plant| plant.call("battery.power_offs", json!({})).as_array().unwrap().len();
    let before = count(&plant);
    let kinds = import(&plant, "2025-01-20T05:30:00Z", "2025-01-20T08:30:00Z");
    assert_eq!(kinds, json!([{ "kind": "power-off", "count": 1 }]));
    assert_eq!(count(&plant), before);
    let kinds = import(&plant, "2027-04-14T04:00:00Z", "2027-04-15T04:00:00Z");
    // The row edited before goes back to what the folder says.
    assert_eq!(
        kinds,
        json!([{ "kind": "power-off", "count": 1 }, { "kind": "power-off-planned", "count": 1 }])
    );
    assert_eq!(count(&plant), before);
    plant.verify_clean();
}
