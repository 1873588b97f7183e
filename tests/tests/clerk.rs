//! A clerk's month on the sample site: counting a shelf, receiving against orders, keeping and
//! handing out, testing, repairing, scrapping; and what is refused on the way.

use serde_json::{Value, json};
use slotkeep_api::{FailureKind, Role};
use slotkeep_tests::{Plant, only};

fn clerk() -> Plant {
    Plant::sample().as_role(Role::Clerk)
}

fn labels(bin: &Value, what: &str) -> Vec<Value> {
    only(&bin[what], |_| true).into_iter().map(|thing| thing["label"].clone()).collect()
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

fn orders_of(plant: &Plant, model: &str) -> Vec<Value> {
    let orders = plant.call("order.list", json!({}));
    only(&orders, |order| order["model"] == model).into_iter().cloned().collect()
}

#[test]
fn a_shelf_that_was_received_twice_is_counted_and_explained() {
    let plant = clerk();
    let bin = plant.call("stock.bin", json!({ "bin": "ST1/D-02" }));
    assert_eq!(bin["counted_at"], Value::Null);
    let seen = json!({ "bin": bin["label"], "units": [],
                       "lots": [{ "lot": "S-2-0931", "pieces": 20 },
                                { "lot": "S-063-118", "pieces": 6 }] });
    let look = plant.call("stock.stocktake_look", seen.clone());
    assert_eq!((&look["agreeing"], &look["counted_at"]), (&json!(1), &Value::Null));
    let [difference] = look["differences"].as_array().unwrap().as_slice() else { panic!("{look}") };
    assert_eq!((&difference["register"], &difference["counted"]), (&json!(70), &json!(20)));
    let why = text(&difference["explained"][0]);
    assert!(why.contains("50 pieces were received on 2026-10-05"), "{why}");
    assert!(why.contains("again on 2026-10-07") && why.contains("too few"), "{why}");
    assert!(text(&difference["settles"]).contains("20 pieces in ST1/D-02 in place of 70"));

    let done = plant.call("stock.stocktake", seen);
    assert!(text(&done["message"]).contains("1 lot put right, 0 units found"), "{done}");
    let bin = plant.call("stock.bin", json!({ "bin": "ST1/D-02" }));
    assert_eq!(bin["counted_at"], json!(plant.now));
    assert_eq!(plant.call("stock.lot", json!({ "lot": "S-2-0931" }))["pieces"], 20);
    plant.verify_clean();
}

#[test]
fn a_lot_that_was_not_seen_is_counted_as_none() {
    let plant = clerk();
    let seen = json!({ "bin": "ST1/D-02", "lots": [{ "lot": "S-2-0931", "pieces": 70 }] });
    let look = plant.call("stock.stocktake_look", seen);
    assert_eq!(look["differences"][0]["code"], "S-063-118");
    assert_eq!(look["differences"][0]["counted"], 0);
}

#[test]
fn units_that_lie_elsewhere_or_nowhere_are_explained_and_settled() {
    let plant = clerk();
    let home = plant.call("stock.bin", json!({ "bin": "ST1/A-02" }));
    let other = plant.call("stock.bin", json!({ "bin": "ST1/A-01" }));
    let kept = plant.call("stock.reservations", json!({ "model": "MP-AO04-C" }));
    let lost = kept[0]["unit"].clone();
    let extra = labels(&other, "units")[0].clone();
    let mut units = labels(&home, "units");
    assert!(units.contains(&lost));
    units.retain(|unit| *unit != lost);
    units.push(extra.clone());
    let seen = json!({ "bin": "ST1/A-02", "units": units, "note": "second count" });
    let look = plant.call("stock.stocktake_look", seen.clone());
    let of = |label: &Value| -> Value {
        (*only(&look["differences"], |d| d["label"] == *label)[0]).clone()
    };
    let why = |label: &Value| of(label)["explained"].to_string();
    assert!(why(&extra).contains("it belongs in ST1/A-01 by the register"), "{look:#}");
    assert!(why(&lost).contains("kept for Limestone dosing"), "{look:#}");
    // Something explains it, so only the latest record is told, and not the reservation again.
    assert!(why(&lost).contains("last recorded: Unit MPU-3AP-A0E-A was received on"), "{look:#}");
    assert!(!why(&lost).contains("before that") && !why(&lost).contains("reserved"), "{look:#}");
    assert!(text(&of(&lost)["settles"]).contains("lost"));
    plant.call("stock.stocktake", seen);
    let place =
        |label: &Value| plant.call("unit.card", json!({ "unit": label }))["unit"]["place"].clone();
    assert_eq!((place(&extra), place(&lost)), (json!("ST1/A-02"), json!("lost")));
    let elsewhere = plant.call("stock.shelf", json!({}))["elsewhere"].clone();
    assert_eq!(only(&elsewhere, |unit| unit["label"] == lost).len(), 1);

    // It turns up on another shelf.
    let mut units = labels(&plant.call("stock.bin", json!({ "bin": "ST1/A-01" })), "units");
    units.push(lost.clone());
    let seen = json!({ "bin": "ST1/A-01", "units": units });
    let look = plant.call("stock.stocktake_look", seen.clone());
    assert!(look["differences"][0]["explained"][0].to_string().contains("not found on"));
    plant.call("stock.stocktake", seen);
    assert_eq!(place(&lost), json!("ST1/A-01"));
    plant.verify_clean();
}

#[test]
fn what_stands_in_a_slot_by_the_register_is_left_open() {
    let plant = clerk();
    let cabinet = plant.call("place.cabinet", json!({ "cabinet": "+K11" }));
    let items = cabinet["rails"][0]["items"].as_array().unwrap();
    let slots: Vec<&Value> = items.iter().map(|item| &item["slot"]).collect();
    let standing = slots.iter().find(|slot| !slot["unit"].is_null()).unwrap();
    let unit = standing["unit"]["label"].clone();
    let mut units = labels(&plant.call("stock.bin", json!({ "bin": "ST1/A-02" })), "units");
    units.push(unit.clone());
    let seen = json!({ "bin": "ST1/A-02", "units": units });
    let look = plant.call("stock.stocktake_look", seen.clone());
    assert_eq!(look["differences"][0]["left_open"], true);
    let done = plant.call("stock.stocktake", seen);
    assert!(text(&done["message"]).contains("left open"), "{done}");
    let card = plant.call("unit.card", json!({ "unit": unit }));
    assert_eq!(card["unit"]["place"], standing["address"]);
    plant.verify_clean();
}

#[test]
fn a_stocktake_refuses_what_is_named_twice_or_not_known() {
    let plant = clerk();
    let twice = json!({ "bin": "ST1/D-02", "lots": [{ "lot": "S-2-0931", "pieces": 1 },
                                                    { "lot": "S-2-0931", "pieces": 2 }] });
    assert!(plant.refused("stock.stocktake_look", twice).message.contains("named twice"));
    let unknown = json!({ "bin": "ST1/D-02", "units": ["no such serial"] });
    assert_eq!(plant.refused("stock.stocktake", unknown).kind, FailureKind::NotFound);
    let nowhere = json!({ "bin": "ST9/Z-99" });
    assert_eq!(plant.refused("stock.stocktake", nowhere).kind, FailureKind::NotFound);
    let technician = clerk().as_role(Role::Technician);
    let seen = json!({ "bin": "ST1/D-02" });
    assert_eq!(technician.refused("stock.stocktake", seen).kind, FailureKind::NotAllowed);
}

#[test]
fn what_comes_is_matched_to_its_order_and_received_unit_by_unit() {
    let plant = clerk();
    let came = plant.call("order.match", json!({ "text": "MP-AO08-C" }));
    let order = &came["orders"][0];
    assert_eq!((&came["counted"], &came["bin"]), (&json!(false), &json!("ST1/A-02")));
    assert_eq!((&order["number"], &order["late_d"]), (&json!("26-118"), &json!(9)));
    assert_eq!((&order["outstanding"], &order["price_cents"]), (&json!(2), &json!(86500)));
    let unit = |serial: &str| {
        json!({ "model": "MP-AO08-C", "serial": serial, "place": "ST1/A-02",
                "order": order["order"] })
    };
    plant.call("unit.register", unit("26-900001"));
    assert_eq!(orders_of(&plant, "MP-AO08-C")[0]["outstanding"], 1);
    let second = plant.call("unit.register", unit("26-900002"));
    let closed = &orders_of(&plant, "MP-AO08-C")[0];
    assert_eq!((&closed["closed"], &closed["late_d"]), (&json!(true), &Value::Null));
    let refused = plant.refused("unit.register", unit("26-900003")).message;
    assert!(refused.contains("is closed: receive it without the order"), "{refused}");
    let again = plant.call("order.match", json!({ "text": second["label"] }));
    assert_eq!(again["already"]["serial"], "26-900002");
    assert!(text(&again["message"]).contains("already"), "{again}");
    plant.verify_clean();
}

#[test]
fn a_plate_says_model_serial_and_order() {
    let plant = clerk();
    let came = plant.call("order.match", json!({ "text": "MP-AO08-C/B/26-900009" }));
    assert_eq!((&came["model"], &came["serial"]), (&json!("MP-AO08-C"), &json!("26-900009")));
    assert_eq!((&came["revision"], &came["already"]), (&json!("B"), &Value::Null));
    assert_eq!(came["orders"][0]["number"], "26-118");
    let cell = plant.call("order.match", json!({ "text": "CEL1L2601-4D260110" }));
    if !cell["model"].is_null() {
        assert_eq!(cell["counted"], true);
    }
    let unknown = plant.call("order.match", json!({ "text": "?? 0815" }));
    assert_eq!((&unknown["model"], &unknown["orders"]), (&Value::Null, &json!([])));
    assert!(text(&unknown["message"]).contains("choose the model"));
    let nothing = plant.refused("order.match", json!({ "text": "  " }));
    assert!(nothing.message.contains("nothing to read"));
    let bin = plant.call("stock.bin", json!({ "bin": "ST1/A-02" }));
    let shelf = plant.refused("order.match", json!({ "text": bin["label"] }));
    assert!(shelf.message.contains("scan the plate of what came"), "{shelf}");
}

#[test]
fn pieces_beyond_an_order_are_taken_only_where_somebody_says_so() {
    let plant = clerk();
    let order = orders_of(&plant, "MP-FU2A")[0]["order"].clone();
    let place = json!({ "model": "MP-FU063", "storeroom": "ST1", "quantity": 1, "reason": "x" });
    let placed = plant.call("order.place", place);
    assert!(text(&placed["message"]).contains("1 piece of MP-FU063 is on order"), "{placed}");
    let came = |quantity: u32, over: bool| {
        json!({ "model": "MP-FU2A", "code": "S-2-1101", "bin": "ST1/D-02", "quantity": quantity,
                "order": order, "accept_over": over })
    };
    let over = plant.refused("stock.receive", came(130, false)).message;
    assert!(over.contains("130 pieces of MP-FU2A came, 100 are still to come"), "{over}");
    let some = plant.call("stock.receive", came(60, false));
    assert!(text(&some["done"]["message"]).contains("40 more are to come"), "{some}");
    let rest = plant.call("stock.receive", came(45, true));
    assert!(text(&rest["done"]["message"]).contains("5 more than ordered"), "{rest}");
    assert_eq!(orders_of(&plant, "MP-FU2A")[0]["closed"], true);
    let wrong = json!({ "model": "MP-FU063", "code": "S-9", "bin": "ST1/D-02", "quantity": 1,
                        "order": orders_of(&plant, "MP-GSK16")[0]["order"] });
    let wrong = plant.refused("stock.receive", wrong).message;
    assert!(wrong.contains("the order is for MP-GSK16"), "{wrong}");
    plant.verify_clean();
}

#[test]
fn reserved_pieces_are_left_out_of_what_to_take() {
    let plant = clerk();
    let pick = plant.call("stock.pick", json!({ "model": "MP-FER075", "pieces": 25 }));
    assert_eq!(pick["takes"][0]["pieces"], 19);
    assert_eq!(pick["kept"][0]["for_what"], "Pump works, cabinet +K13");
    assert!(text(&pick["message"]).contains("only 19 of 25"), "{pick}");
    let issue = |quantity: u32, reservation: &Value| {
        json!({ "lot": "F-075-26", "quantity": quantity, "to": "Technician 1",
                "reservation": reservation })
    };
    let refused = plant.refused("stock.issue", issue(20, &Value::Null)).message;
    assert!(refused.contains("kept for Pump works") && refused.contains("at most 19"), "{refused}");
    plant.call("stock.issue", issue(19, &Value::Null));
    let kept = pick["kept"][0]["reservation"].clone();
    let own = json!({ "model": "MP-FER075", "pieces": 12, "reservation": kept });
    assert_eq!(plant.call("stock.pick", own)["takes"][0]["pieces"], 12);
    plant.call("stock.issue", issue(12, &kept));
    assert_eq!(plant.call("stock.reservations", json!({ "model": "MP-FER075" })), json!([]));
    let late = plant.refused("stock.release", json!({ "reservation": kept, "reason": "x" }));
    assert!(late.message.contains("was used on"), "{late}");
    plant.verify_clean();
}

#[test]
fn the_lot_that_expires_first_goes_first_unless_a_reason_is_given() {
    let plant = clerk();
    let pick =
        plant.call("stock.pick", json!({ "model": "MP-CEL1", "pieces": 5, "storeroom": "ST1" }));
    let codes: Vec<&str> =
        only(&pick["takes"], |_| true).iter().map(|t| text(&t["code"])).collect();
    assert_eq!(codes, ["L2402-1", "L2601-4"]);
    let all = plant.call("stock.pick", json!({ "model": "MP-CEL1", "pieces": 1 }));
    let expired = only(&all["left_out"], |line| line["code"] == "L2305-2");
    assert!(text(&expired[0]["reason"]).contains("has passed"), "{all}");
    let later = json!({ "lot": "L2601-4", "bin": "ST1/C-01", "quantity": 1, "to": "Technician 1" });
    let refused = plant.refused("stock.issue", later.clone()).message;
    assert!(refused.contains("L2402-1") && refused.contains("expires first"), "{refused}");
    let mut reasoned = later;
    reasoned["later_reason"] = json!("the early ones go to the visit on Monday");
    plant.call("stock.issue", reasoned);
    let history = plant.call("journal.list", json!({ "limit": 1 })).to_string();
    assert!(history.contains("a later lot: the early ones"), "{history}");
    plant.verify_clean();
}

#[test]
fn a_unit_is_handed_out_to_a_slot_only_where_it_fits() {
    let plant = clerk();
    let bin = plant.call("stock.bin", json!({ "bin": "ST1/A-01" }));
    let of = |model: &str| -> Value {
        only(&bin["units"], |unit| unit["model"] == model)[0]["label"].clone()
    };
    let cabinets = plant.call("place.cabinets", json!({}));
    let wanting = |model: &str| -> Value {
        for cabinet in cabinets.as_array().unwrap() {
            let drawing = plant.call("place.cabinet", json!({ "cabinet": cabinet["address"] }));
            for rail in drawing["rails"].as_array().unwrap() {
                let found = only(&rail["items"], |item| item["slot"]["model_wanted"] == model);
                if let Some(item) = found.first() {
                    return item["slot"]["address"].clone();
                }
            }
        }
        panic!("no slot for {model}")
    };
    let slot = wanting("MP-AI08-C");
    let issue = |unit: &Value| json!({ "unit": unit, "slot": slot });
    let refused = plant.refused("stock.issue", issue(&of("MP-AI16-C"))).message;
    assert!(refused.starts_with("stop: ") && refused.contains("keyed"), "{refused}");
    let unit = of("MP-AI08-C");
    plant.call("stock.issue", issue(&unit));
    assert_eq!(plant.call("unit.card", json!({ "unit": unit }))["unit"]["place"], "bench");
    let again = plant.refused("stock.issue", issue(&unit)).message;
    assert!(again.contains("is handed out to a swap in"), "{again}");
    plant.call("unit.move", json!({ "unit": unit, "to": "repair", "condition": "suspect" }));
    let away = plant.refused("stock.issue", issue(&unit)).message;
    assert!(away.contains("lies in no bin"), "{away}");
    let quarantine = plant.call("stock.bin", json!({ "bin": "ST1/Q-01" }));
    let bad = &quarantine["units"][0]["label"];
    let bad = plant.refused("stock.issue", json!({ "unit": bad, "to": "anybody" })).message;
    assert!(bad.contains("is quarantined: hand out a good one"), "{bad}");
    plant.verify_clean();
}

#[test]
fn handing_out_says_to_whom_and_what() {
    let plant = clerk();
    let nobody = plant.refused("stock.issue", json!({ "lot": "F-075-26", "quantity": 1 })).message;
    assert!(nobody.contains("who takes it"), "{nobody}");
    let nothing = plant.refused("stock.issue", json!({ "to": "Technician 1" })).message;
    assert!(nothing.contains("scan the label of one lot"), "{nothing}");
    let both = json!({ "lot": "F-075-26", "quantity": 1, "slot": "+K11.1.03",
                       "visit": { "on": "2026-12-01", "scope": "site" } });
    assert!(plant.refused("stock.issue", both).message.contains("named together"));
    let visit = json!({ "lot": "F-075-26", "quantity": 1,
                        "visit": { "on": "2026-12-01", "scope": "site" } });
    assert!(plant.refused("stock.issue", visit).message.contains("is agreed"));
    let none = json!({ "model": "MP-FER075", "storeroom": "ST1", "pieces": 3 });
    assert!(plant.refused("stock.reserve", none).message.contains("what it is kept for"));
    let what = plant.refused("stock.reserve", json!({ "for_what": "Technician 1" })).message;
    assert!(what.contains("nothing says what is kept"), "{what}");
}

#[test]
fn a_removed_unit_is_tested_repaired_and_comes_back_or_is_scrapped() {
    let plant = Plant::sample();
    let cabinet = plant.call("place.cabinet", json!({ "cabinet": "+K11" }));
    let items = cabinet["rails"][0]["items"].as_array().unwrap();
    let modules: Vec<&Value> = items
        .iter()
        .map(|item| &item["slot"]["unit"])
        .filter(|unit| !unit.is_null() && unit["condition"] == "good")
        .collect();
    let (one, two) = (&modules[2]["label"], &modules[3]["label"]);
    for unit in [one, two] {
        let removal = json!({ "to": "bench", "condition": "failed", "failure_mode": "erratic" });
        plant.call("unit.remove", json!({ "unit": unit, "removal": removal }));
    }
    let good = plant.call("unit.test", json!({ "unit": one, "fault_found": false }));
    assert!(text(&good["message"]).contains("demand, not as a failure"), "{good}");
    plant.call("unit.test", json!({ "unit": two, "fault_found": true, "note": "input burnt" }));
    let place = |unit: &Value, to: &str, condition: &str| {
        let input = json!({ "unit": unit, "to": to, "condition": condition, "reason": "as said" });
        plant.call("unit.move", input);
        plant.call("unit.card", json!({ "unit": unit }))["unit"].clone()
    };
    assert_eq!(place(one, "ST1/A-03", "good")["condition"], "good");
    assert_eq!(place(two, "repair", "failed")["place"], "repair");
    let away = plant.call("stock.shelf", json!({}))["elsewhere"].clone();
    assert_eq!(only(&away, |unit| unit["label"] == *two).len(), 1);
    assert_eq!(place(two, "ST1/A-03", "good")["place"], "ST1/A-03");
    assert_eq!(place(two, "ST1/Q-01", "quarantined")["condition"], "quarantined");
    assert_eq!(place(two, "scrapped", "failed")["place"], "scrapped");
    let gone = plant.refused("unit.test", json!({ "unit": two, "fault_found": true })).message;
    assert!(gone.contains("out of use"), "{gone}");
    plant.verify_clean();
}

#[test]
fn what_is_to_come_is_corrected_by_its_row() {
    let plant = Plant::empty();
    let folder = slotkeep_tests::root().join("sample-site");
    let mut files = slotkeep_tests::files_of(&folder);
    plant.call("site.import", json!({ "files": files }));
    let edit = |files: &mut Vec<Value>, name: &str, from: &str, to: &str| {
        let file = files.iter_mut().find(|file| file["name"] == name).unwrap();
        let text = file["text"].as_str().unwrap();
        assert!(text.contains(from), "{name}: {from}");
        file["text"] = json!(text.replace(from, to));
    };
    edit(&mut files, "orders.csv", "26-118,MP-AO08-C,ST1,2", "26-118,MP-AO08-C,ST1,3");
    edit(&mut files, "reservations.csv", ",12,\"Pump", ",10,\"Pump");
    edit(&mut files, "planned_changes.csv", "2028-03-15,,5,,4", "2028-03-15,,5,,2");
    let report = plant.call("site.import", json!({ "files": files }));
    assert_eq!(report["entries"], 3, "{report}");
    assert_eq!(orders_of(&plant, "MP-AO08-C").len(), 1);
    assert_eq!(orders_of(&plant, "MP-AO08-C")[0]["ordered"], 3);
    let kept = plant.call("stock.reservations", json!({ "model": "MP-FER075" }));
    assert_eq!((kept.as_array().unwrap().len(), &kept[0]["pieces"]), (1, &json!(10)));
    let order = orders_of(&plant, "MP-AO08-C")[0]["order"].clone();
    let unit = json!({ "model": "MP-AO08-C", "serial": "26-900001", "place": "ST1/A-02",
                       "order": order });
    plant.call("unit.register", unit);
    edit(&mut files, "orders.csv", "26-118,MP-AO08-C,ST1,3", "26-118,MP-AO08-C,ST1,4");
    let report = plant.call("site.import", json!({ "files": files }));
    assert!(report["notes"].to_string().contains("left as it is"), "{report}");
    plant.verify_clean();
}
