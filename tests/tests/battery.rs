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
fn a_recorded_power_off_costs_charge_and_a_planned_one_only_later() {
    let plant = Plant::sample();
    let before = fitted(&plant);
    let cabinet = before["cabinet"].as_str().unwrap();
    let now = || {
        let lines = plant.call("battery.list", json!({ "cabinet": cabinet }));
        only(&lines, |line| line["unit"]["label"] == before["unit"]["label"])[0].clone()
    };
    plant.call(
        "battery.power_off_planned",
        off(cabinet, "2027-06-01T06:00:00Z", "2027-07-09T06:00:00Z"),
    );
    let planned = now();
    assert_eq!(planned["remaining_mah"], before["remaining_mah"]);
    assert!(date(&planned["range"]["middle_on"]) < date(&before["range"]["middle_on"]));
    let drawn = off(cabinet, "2026-11-20T06:00:00Z", "2026-11-22T06:00:00Z");
    plant.call("battery.power_off", drawn);
    assert!(now()["remaining_mah"].as_f64() < before["remaining_mah"].as_f64());
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

/// The plan as people agree to it.
fn agreement(plan: &Value) -> Value {
    let visits = only(&plan["visits"], |_| true).into_iter().map(|visit| {
        let units: Vec<&Value> =
            only(&visit["changes"], |_| true).iter().map(|change| &change["unit"]).collect();
        json!({ "on": visit["on"], "scope": visit["scope"], "units": units,
                "power_off": visit["power_off"] })
    });
    json!({ "visits": visits.collect::<Vec<_>>(), "horizon_until": plan["horizon_until"] })
}

fn date(value: &Value) -> chrono::NaiveDate {
    value.as_str().unwrap().parse().unwrap()
}

#[test]
fn a_plan_is_never_late_and_no_better_than_its_bound() {
    let plant = Plant::sample();
    for group_by in ["cabinet", "area"] {
        let plan = plant.call("battery.plan", json!({ "group_by": group_by }));
        let cost = &plan["cost"];
        let parts = ["visits_cents", "changes_cents", "life_cents", "loss_cents"];
        let sum: i64 = parts.iter().map(|part| cost[*part].as_i64().unwrap()).sum();
        assert!((sum - cost["total_cents"].as_i64().unwrap()).abs() <= 2, "{cost}");
        assert!(plan["lower_bound_cents"].as_i64() <= cost["total_cents"].as_i64(), "{cost}");
        assert!(plan["gap_pct"].as_f64().unwrap() < 1.0, "{}", plan["gap_pct"]);
        assert_eq!(plan["conflicts"], json!([]));
        let overdue = &plan["overdue"];
        let mut changed = std::collections::BTreeSet::new();
        for visit in only(&plan["visits"], |_| true) {
            let on = date(&visit["on"]);
            for change in only(&visit["changes"], |_| true) {
                let late =
                    change["round"] == 1 && !only(overdue, |u| *u == change["unit"]).is_empty();
                assert!(late || on <= date(&change["due_on"]), "{visit}");
                assert_eq!(change["change_with"] == "unpowered", !visit["power_off"].is_null());
                changed.insert(change["unit"].as_str().unwrap().to_owned());
            }
        }
        // Whatever is due before the horizon ends is changed.
        let until = date(&plan["horizon_until"]);
        let due = plant.call("battery.list", json!({}));
        for line in only(&due, |line| !line["due_on"].is_null() && date(&line["due_on"]) < until) {
            assert!(changed.contains(line["unit"]["label"].as_str().unwrap()), "{}", line["unit"]);
        }
    }
    let failure = plant.refused("battery.plan", json!({ "horizon_y": 0 }));
    assert!(failure.message.contains("1 to 30 years"), "{failure}");
    plant.refused("battery.plan", json!({ "group_by": "street" }));
}

#[test]
fn each_visit_of_a_plan_has_a_work_sheet() {
    let plant = Plant::sample();
    for group_by in ["cabinet", "area"] {
        let plan = plant.call("battery.plan", json!({ "group_by": group_by }));
        let visit = &plan["visits"][0];
        let ask = json!({ "on": visit["on"], "scope": visit["scope"], "group_by": group_by });
        assert!(plant.file("battery.work_sheet", ask).starts_with(b"%PDF"));
    }
    let none = json!({ "on": "2026-11-26", "scope": "+K99" });
    let failure = plant.refused("battery.work_sheet", none);
    assert_eq!(failure.kind, FailureKind::NotFound, "{failure}");
}

#[test]
fn the_days_without_visits_stand_in_the_plan() {
    let plant = Plant::sample();
    let plan = plant.call("battery.plan", json!({}));
    let closed = only(&plan["closed"], |_| true);
    assert!(!closed.is_empty());
    for days in closed {
        let on = |visit: &Value| date(&visit["on"]);
        let during = |visit: &Value| (date(&days["from"])..=date(&days["to"])).contains(&on(visit));
        assert!(only(&plan["visits"], during).is_empty(), "{days}");
    }
}

#[test]
fn an_agreed_plan_leads_the_work_and_is_kept_by_the_next_one() {
    let mut plant = Plant::sample();
    let plan = plant.call("battery.plan", json!({}));
    plant.call("battery.agree", agreement(&plan));
    let visits = plant.call("battery.visits", json!({ "horizon_d": 1826 }));
    assert!(only(&visits, |visit| visit["agreed"] != true).is_empty(), "{visits}");
    let days = |visits: &Value| -> Vec<(Value, Value)> {
        only(visits, |_| true).iter().map(|v| (v["on"].clone(), v["cabinet"].clone())).collect()
    };
    let planned: Vec<(Value, Value)> = only(&plan["visits"], |_| true)
        .iter()
        .map(|v| (v["on"].clone(), v["scope"].clone()))
        .collect();
    assert_eq!(days(&visits), planned);
    let calendar = plant.file("battery.calendar", json!({ "horizon_d": 1826 }));
    let calendar = String::from_utf8(calendar).unwrap();
    assert_eq!(calendar.matches("BEGIN:VEVENT\r\n").count(), planned.len());
    assert!(calendar.contains("REFRESH-INTERVAL;VALUE=DURATION:PT43200S\r\n"), "{calendar}");
    let mut names: Vec<&str> = calendar.lines().filter(|line| line.starts_with("UID:")).collect();
    let count = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), count, "every event has a name of its own");

    let again = plant.call("battery.plan", json!({}));
    assert_eq!(again["moved"], json!([]));
    assert!(only(&again["visits"], |visit| visit["agreed"] != true).is_empty(), "{again}");

    // A change that was done leaves the work; the others stay where they were.
    let first = &visits[0];
    let line = &first["batteries"][0];
    let take = &first["take"][0];
    let change = json!({ "unit": line["unit"]["label"], "lot": take["lot"], "bin": take["bin"],
                         "powered": true, "memory_saved": true, "found": "spent",
                         "found_mv": 1900 });
    plant.now += chrono::Duration::hours(2);
    plant.call("battery.change", change);
    let left = plant.call("battery.visits", json!({ "horizon_d": 1826 }));
    let still = only(&left, |visit| visit["on"] == first["on"]);
    let open = only(&json!(still), |_| true)
        .iter()
        .flat_map(|visit| visit["batteries"].as_array().unwrap().clone())
        .any(|battery| battery["unit"]["label"] == line["unit"]["label"]);
    assert!(!open, "the change is done");
    assert!(left.as_array().unwrap().len() + 1 >= visits.as_array().unwrap().len());
    plant.verify_clean();
}

#[test]
fn a_low_lamp_comes_before_what_was_agreed() {
    let plant = Plant::sample();
    let plan = plant.call("battery.plan", json!({}));
    plant.call("battery.agree", agreement(&plan));
    let line = fitted(&plant);
    let unit = &line["unit"]["label"];
    plant.call("battery.seen", json!({ "unit": unit, "low_lamp": true }));
    let lines = plant.call("battery.list", json!({}));
    let now = only(&lines, |line| line["unit"]["label"] == *unit)[0];
    assert_eq!(
        (&now["reason"], &now["due_on"], &now["seen"]["low_lamp"]),
        (&json!("low_lamp"), &json!("2026-11-25"), &json!(true))
    );
    let visits = plant.call("battery.visits", json!({}));
    let first = only(&visits, |visit| visit["agreed"] == false);
    assert_eq!((first.len(), &first[0]["on"]), (1, &json!("2026-11-25")), "{visits}");
    assert_eq!(first[0]["batteries"][0]["unit"]["label"], *unit);
    let wanted = plant.call("spares.table", json!({ "model": line["battery_model"] }));
    let today = only(&wanted["lines"][0]["changes"], |change| change["on"] == "2026-11-25");
    assert!(only(&json!(today), |change| change["agreed"] == false).len() == 1, "{wanted}");
}

#[test]
fn who_outlasts_a_power_off_and_what_to_change_first() {
    let plant = Plant::sample();
    let planned = plant.call("battery.power_offs", json!({ "open": true }))[0].clone();
    let ask = json!({ "planned": planned["entry"] });
    let ready = plant.call("battery.readiness", ask.clone());
    let memories = only(&ready["memories"], |_| true);
    assert_eq!(
        memories.len() as u64,
        ready["survive"].as_u64().unwrap() + ready["lost"].as_u64().unwrap()
    );
    let lost = only(&ready["memories"], |line| line["survives"] == false);
    assert!(!lost.is_empty() && lost.len() < memories.len(), "{}", ready["message"]);
    assert_eq!(ready["first"].as_array().unwrap().len(), lost.len());
    let chance = |unit: &Value| {
        only(&ready["memories"], |line| line["unit"] == *unit)[0]["loss_chance"].as_f64().unwrap()
    };
    let order: Vec<f64> = ready["first"].as_array().unwrap().iter().map(chance).collect();
    assert!(order.is_sorted_by(|a, b| a >= b), "{order:?}");
    for line in &memories {
        let margin = line["margin_h"].as_f64().unwrap();
        let lasts = line["lasts_h"].as_f64().unwrap();
        assert!((lasts - ready["hours"].as_f64().unwrap() - margin).abs() < 1e-9, "{line}");
        assert!(lasts <= line["lasts_middle_h"].as_f64().unwrap(), "{line}");
    }
    // The same question without a plan has the same answer; a longer one loses no fewer.
    let free = |to: &str| {
        plant.call(
            "battery.readiness",
            json!({ "scope": "site", "from": planned["from"], "to": to }),
        )
    };
    assert_eq!(free("2027-04-14T04:00:00Z")["memories"], ready["memories"]);
    assert!(free("2029-04-14T04:00:00Z")["lost"].as_u64() >= ready["lost"].as_u64());
    let area = plant.call(
        "battery.readiness",
        json!({ "scope": "EL", "from": planned["from"], "to": planned["to"] }),
    );
    assert!(
        only(&area["memories"], |line| !line["slot"].as_str().unwrap().starts_with("+K18"))
            .is_empty()
    );

    let pdf = plant.file("battery.readiness_sheet", ask);
    assert!(pdf.starts_with(b"%PDF"));
    let now = "2026-11-25T12:00:00Z";
    for (input, words) in [
        (json!({}), "which planned power-off"),
        (
            json!({ "scope": "site", "from": planned["to"], "to": planned["from"] }),
            "before it starts",
        ),
        (json!({ "scope": "site", "from": "2026-11-20T00:00:00Z", "to": now }), "is over"),
        (json!({ "scope": "XY", "from": now, "to": planned["to"] }), "not in the register"),
    ] {
        let failure = plant.refused("battery.readiness", input);
        assert!(failure.message.contains(words), "{failure}");
    }
}

#[test]
fn lives_are_told_by_the_model_by_what_was_found_and_by_both() {
    let plant = Plant::sample();
    let all = plant.call("battery.life", json!({}));
    let types = only(&all["types"], |_| true);
    assert_eq!(types.len(), 2, "{all}");
    for line in &types {
        for source in ["model", "learned", "blended"] {
            let life = &line[source];
            let years: Vec<f64> = ["early_y", "tenth_y", "middle_y", "late_y"]
                .iter()
                .map(|name| life[*name].as_f64().unwrap())
                .collect();
            assert!(years.is_sorted(), "{source}: {life}");
        }
        let middle = |source: &str| line[source]["middle_y"].as_f64().unwrap();
        let (least, most) =
            (middle("model").min(middle("learned")), middle("model").max(middle("learned")));
        assert!((least - 0.05..=most + 0.05).contains(&middle("blended")), "{line}");
        let found = &line["found"];
        let judged: u64 = ["good", "weak", "spent", "not_judged"]
            .iter()
            .map(|w| found[*w].as_u64().unwrap())
            .sum();
        assert_eq!(judged, found["cells"].as_u64().unwrap());
        assert!(line["advice"]["message"].as_str().unwrap().contains("against your 5"), "{line}");
    }
    // One more cell that was found spent early shortens what was learned.
    let model = &types[0]["battery_model"];
    let lines = plant.call("battery.list", json!({}));
    let young = only(&lines, |line| line["battery_model"] == *model).pop().unwrap();
    plant.call("battery.seen", json!({ "unit": young["unit"]["label"], "low_lamp": true }));
    let after = plant.call("battery.life", json!({ "battery_model": model }));
    assert!(
        after["types"][0]["learned"]["early_y"].as_f64() < types[0]["learned"]["early_y"].as_f64(),
        "{after}"
    );
    let failure = plant.refused("battery.life", json!({ "battery_model": "MP-CP2" }));
    assert_eq!(failure.kind, FailureKind::NotFound, "{failure}");
}

/// What was found stands beside the due date of every battery of the type: the age of the blended
/// life, counted from its fitting. Where nothing was found nothing is said.
#[test]
fn what_was_found_here_is_said_beside_each_battery() {
    let plant = Plant::sample();
    let lives = plant.call("battery.life", json!({}));
    let lines = plant.call("battery.list", json!({}));
    for line in only(&lines, |_| true) {
        let of_type = |life: &Value| life["battery_model"] == line["battery_model"];
        let life = only(&lives["types"], of_type).pop().unwrap();
        let told = &line["found_here"];
        assert_eq!(told["at_y"], life["blended"]["early_y"], "{line}");
        assert_eq!(told["found_share_pct"], life["found_share_pct"]);
        let fitted_on = date(&line["unit"]["battery"]["fitted_on"]);
        let days = (date(&told["on"]) - fitted_on).num_days() as f64;
        assert!((days / 365.25 - told["at_y"].as_f64().unwrap()).abs() < 0.01, "{told}");
        let before_due = date(&told["on"]) < date(&line["due_on"]);
        assert_eq!(told["before_due"], json!(before_due));
    }
}

#[test]
fn every_figure_of_a_line_opens_down_to_what_was_put_in() {
    fn walk(line: &Value, leaves: &mut u32) {
        let parts = line["parts"].as_array().unwrap();
        assert!(!line["what"].as_str().unwrap().is_empty(), "{line}");
        assert_eq!(parts.is_empty(), line["rule"] == "", "{line}");
        *leaves += u32::from(parts.is_empty());
        parts.iter().for_each(|part| walk(part, leaves));
    }
    let plant = Plant::sample();
    let lines = plant.call("battery.list", json!({}));
    for line in only(&lines, |line| !line["due_on"].is_null()) {
        let mut leaves = 0;
        line["sum"].as_array().unwrap().iter().for_each(|figure| walk(figure, &mut leaves));
        assert!(leaves > 15, "{leaves} figures were put in");
        let range = &line["range"];
        assert!(date(&range["early_on"]) <= date(&range["middle_on"]));
        assert!(date(&range["middle_on"]) <= date(&range["late_on"]));
    }
    let climates: std::collections::BTreeSet<&str> =
        only(&lines, |_| true).iter().map(|line| line["climate"].as_str().unwrap()).collect();
    assert_eq!(climates.into_iter().collect::<Vec<_>>(), ["monthly", "site", "yearly"]);
}

#[test]
fn lots_that_are_too_old_on_the_planned_day_are_no_stock() {
    let mut plant = Plant::sample();
    let more = json!({ "model": "MP-CEL1", "code": "L2601-4", "bin": "ST1/C-01", "quantity": 4 });
    plant.call("stock.receive", more);
    // Days before the only lots reach their shelf dates, with no change planned before these.
    plant.now = chrono::DateTime::parse_from_rfc3339("2029-01-05T12:00:00Z").unwrap().to_utc();
    let table = plant.call("spares.table", json!({ "model": "MP-CEL1" }));
    let line = &table["lines"][0];
    let of = |name: &str| line[name].as_u64().unwrap();
    // The other storeroom has a level of its own and fetches from this one.
    assert_eq!((&line["storeroom"], &line["supplied_by"]), (&json!("ST1"), &json!(null)));
    let usable = of("on_hand");
    assert!(usable > 0 && of("too_old") > 0, "{line}");
    let counted = usable - of("too_old");
    let short = (of("order_up_to") + of("planned")).saturating_sub(counted);
    assert_eq!(of("order_now"), short, "{line}");
    assert!(line["notes"].to_string().contains("past their shelf date"), "{line}");
}
