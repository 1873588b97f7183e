//! After any history, the tables are what the journal gives, stock is never negative, and what is
//! kept of the register for spares says the same as the register read anew.

use chrono::{Duration, NaiveDate};
use proptest::prelude::*;
use serde_json::{Value, json};
use slotkeep_api::Api;
use slotkeep_domain::journal::{Body, PastEvent, PastKind};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::model::PartNo;
use slotkeep_store::Store;
use slotkeep_tests::{Plant, only};

/// One thing that somebody tries; many of them are refused, which is part of the test.
#[derive(Debug, Clone)]
enum Try {
    Move { unit: usize, to: usize, condition: usize },
    Swap { slot: usize, unit: usize, finish: bool },
    Remove { unit: usize },
    Issue { lot: usize, quantity: u32 },
    Scrap { lot: usize, quantity: u32 },
    Count { lot: usize, quantity: u32 },
    Shift { lot: usize, to: usize, quantity: u32 },
    Quarantine { lot: usize, on: bool },
    Receive { bin: usize, quantity: u32 },
    Battery { unit: usize, lot: usize },
    Seen { unit: usize, low_lamp: bool, mv: u32 },
    Temperature { cabinet: usize, temperature_c: i32 },
    PowerOff { cabinet: usize, day: i64, hours: i64, planned: bool },
    Settle { plan: usize, day: Option<i64> },
    Agree { units: usize, day: i64 },
    Order { quantity: u32 },
    Test { unit: usize, fault_found: bool },
    Reserve { unit: Option<usize>, pieces: u32, days: i64 },
    Release { at: usize },
    Stocktake { bin: usize, skip: usize, extra: usize, pieces: u32 },
    Audit { from: usize, to: usize, strange: usize, how: usize },
    Choose { unit: usize, what: usize },
    Plan { unit: usize, days: i64, installed: i32, from_stock: u32 },
    Settled { at: usize },
    Register { bin: usize, unit: usize },
    Fill { lot: usize },
    Close { at: usize },
    Begin { slot: usize, unit: usize },
    Past { unit: usize, days: i64, what: usize },
    HandOut { unit: usize, slot: Option<usize> },
    BringBack { at: usize },
}

fn tries() -> impl Strategy<Value = Try> {
    let n = 0..40_usize;
    prop_oneof![
        (n.clone(), n.clone(), 0..4_usize).prop_map(|(unit, to, condition)| Try::Move {
            unit,
            to,
            condition
        }),
        (n.clone(), n.clone(), any::<bool>()).prop_map(|(slot, unit, finish)| Try::Swap {
            slot,
            unit,
            finish
        }),
        n.clone().prop_map(|unit| Try::Remove { unit }),
        (n.clone(), 0..9_u32).prop_map(|(lot, quantity)| Try::Issue { lot, quantity }),
        (n.clone(), 0..9_u32).prop_map(|(lot, quantity)| Try::Scrap { lot, quantity }),
        (n.clone(), 0..60_u32).prop_map(|(lot, quantity)| Try::Count { lot, quantity }),
        (n.clone(), n.clone(), 0..9_u32).prop_map(|(lot, to, quantity)| Try::Shift {
            lot,
            to,
            quantity
        }),
        (n.clone(), any::<bool>()).prop_map(|(lot, on)| Try::Quarantine { lot, on }),
        (n.clone(), 0..9_u32).prop_map(|(bin, quantity)| Try::Receive { bin, quantity }),
        (n.clone(), n.clone()).prop_map(|(unit, lot)| Try::Battery { unit, lot }),
        (n.clone(), any::<bool>(), 0..30_000_u32).prop_map(|(unit, low_lamp, mv)| Try::Seen {
            unit,
            low_lamp,
            mv
        }),
        (n.clone(), -90..200_i32)
            .prop_map(|(cabinet, temperature_c)| Try::Temperature { cabinet, temperature_c }),
        (n.clone(), -40..20_i64, -3..60_i64, any::<bool>()).prop_map(
            |(cabinet, day, hours, planned)| Try::PowerOff { cabinet, day, hours, planned }
        ),
        (n.clone(), prop::option::of(-40..20_i64))
            .prop_map(|(plan, day)| Try::Settle { plan, day }),
        (n, -5..400_i64).prop_map(|(units, day)| Try::Agree { units, day }),
        (0..5_u32).prop_map(|quantity| Try::Order { quantity }),
        (0..40_usize, any::<bool>())
            .prop_map(|(unit, fault_found)| Try::Test { unit, fault_found }),
        (prop::option::of(0..40_usize), 0..9_u32, -2..9_i64)
            .prop_map(|(unit, pieces, days)| Try::Reserve { unit, pieces, days }),
        (0..9_usize).prop_map(|at| Try::Release { at }),
        (0..40_usize, 0..9_usize, 0..40_usize, 0..60_u32)
            .prop_map(|(bin, skip, extra, pieces)| { Try::Stocktake { bin, skip, extra, pieces } }),
        (0..9_usize, 0..9_usize, 0..40_usize, 0..6_usize)
            .prop_map(|(from, to, strange, how)| { Try::Audit { from, to, strange, how } }),
        (0..40_usize, 0..4_usize).prop_map(|(unit, what)| Try::Choose { unit, what }),
        (0..40_usize, 0..500_i64, -2..5_i32, 0..3_u32).prop_map(
            |(unit, days, installed, from_stock)| Try::Plan { unit, days, installed, from_stock }
        ),
        (0..5_usize).prop_map(|at| Try::Settled { at }),
        (0..40_usize, 0..40_usize).prop_map(|(bin, unit)| Try::Register { bin, unit }),
        (0..40_usize).prop_map(|lot| Try::Fill { lot }),
        (0..5_usize).prop_map(|at| Try::Close { at }),
        (0..40_usize, 0..40_usize).prop_map(|(slot, unit)| Try::Begin { slot, unit }),
        (0..40_usize, 1..900_i64, 0..3_usize).prop_map(|(unit, days, what)| Try::Past {
            unit,
            days,
            what
        }),
        (0..40_usize, prop::option::of(0..40_usize))
            .prop_map(|(unit, slot)| Try::HandOut { unit, slot }),
        (0..3_usize).prop_map(|at| Try::BringBack { at }),
    ]
}

/// Names to choose from, as the plant has them at the beginning.
struct Names {
    units: Vec<Value>,
    slots: Vec<Value>,
    lots: Vec<Value>,
    bins: Vec<Value>,
    batteries: Vec<Value>,
    /// Three cabinets, few enough that their power-offs meet.
    cabinets: Vec<Value>,
}

impl Names {
    fn of(plant: &Plant) -> Self {
        let shelf = plant.call("stock.shelf", json!({}));
        let rooms = shelf["storerooms"].as_array().unwrap();
        let bins: Vec<&Value> =
            rooms.iter().flat_map(|room| room["bins"].as_array().unwrap()).collect();
        let within = |what: &str| -> Vec<Value> {
            bins.iter().flat_map(|bin| bin[what].as_array().unwrap().clone()).collect()
        };
        let drawing = plant.call("place.cabinet", json!({ "cabinet": "+K11" }));
        let slots: Vec<Value> = drawing["rails"]
            .as_array()
            .unwrap()
            .iter()
            .flat_map(|rail| only(&rail["items"], |item| !item["slot"].is_null()))
            .map(|item| item["slot"].clone())
            .collect();
        let standing = slots.iter().filter(|slot| !slot["unit"].is_null());
        let mut units: Vec<Value> = standing.map(|slot| slot["unit"]["label"].clone()).collect();
        units.truncate(20);
        units.extend(within("units").iter().map(|unit| unit["label"].clone()));
        let batteries = plant.call("battery.list", json!({}));
        let cabinets = plant.call("place.cabinets", json!({}));
        Self {
            units,
            slots: slots.iter().map(|slot| slot["address"].clone()).collect(),
            lots: within("lots").iter().map(|lot| lot["label"].clone()).collect(),
            bins: bins.iter().map(|bin| bin["path"].clone()).collect(),
            batteries: only(&batteries, |_| true)
                .iter()
                .map(|line| line["unit"]["label"].clone())
                .collect(),
            cabinets: only(&cabinets, |_| true)
                .iter()
                .take(3)
                .map(|line| line["address"].clone())
                .collect(),
        }
    }
}

fn pick(list: &[Value], at: usize) -> Value {
    list[at % list.len()].clone()
}

/// Tries one thing; a refusal must be a sentence, and never a broken program.
fn attempt(plant: &Plant, names: &Names, attempt: &Try) {
    let conditions = ["good", "suspect", "failed", "quarantined"];
    let (command, input) = match attempt {
        Try::Move { unit, to, condition } => (
            "unit.move",
            json!({ "unit": pick(&names.units, *unit), "to": pick(&names.bins, *to),
                    "condition": conditions[condition % 4], "reason": "a try" }),
        ),
        Try::Swap { slot, unit, finish } => {
            return swap(plant, &pick(&names.slots, *slot), &pick(&names.units, *unit), *finish);
        }
        Try::Remove { unit } => (
            "unit.remove",
            json!({ "unit": pick(&names.units, *unit),
                    "removal": { "to": "bench", "condition": "suspect" } }),
        ),
        Try::Issue { lot, quantity } => (
            "stock.issue",
            json!({ "lot": pick(&names.lots, *lot), "quantity": quantity, "to": "a try" }),
        ),
        Try::Scrap { lot, quantity } => (
            "stock.scrap",
            json!({ "lot": pick(&names.lots, *lot), "quantity": quantity, "reason": "a try" }),
        ),
        Try::Count { lot, quantity } => {
            ("stock.count", json!({ "lot": pick(&names.lots, *lot), "quantity": quantity }))
        }
        Try::Shift { lot, to, quantity } => (
            "stock.move",
            json!({ "lot": pick(&names.lots, *lot), "to": pick(&names.bins, *to),
                    "quantity": quantity }),
        ),
        Try::Quarantine { lot, on } => (
            "stock.quarantine",
            json!({ "lot": pick(&names.lots, *lot), "quarantined": on, "reason": "a try" }),
        ),
        Try::Receive { bin, quantity } => {
            let lot = plant.call("stock.lot", json!({ "lot": names.lots[0] }));
            (
                "stock.receive",
                json!({ "model": lot["model"], "code": lot["code"], "quantity": quantity,
                        "bin": pick(&names.bins, *bin) }),
            )
        }
        Try::Battery { unit, lot } => (
            "battery.change",
            json!({ "unit": pick(&names.batteries, *unit), "lot": pick(&names.lots, *lot),
                    "powered": true, "memory_saved": true }),
        ),
        Try::Seen { unit, low_lamp, mv } => (
            "battery.seen",
            json!({ "unit": pick(&names.batteries, *unit), "low_lamp": low_lamp, "mv": mv }),
        ),
        Try::Temperature { cabinet, temperature_c } => (
            "place.temperature",
            json!({ "cabinet": pick(&names.cabinets, *cabinet), "temperature_c": temperature_c }),
        ),
        Try::PowerOff { cabinet, day, hours, planned } => {
            let from = plant.now + Duration::days(*day);
            let command = if *planned { "battery.power_off_planned" } else { "battery.power_off" };
            let scope = pick(&names.cabinets, *cabinet);
            let to = from + Duration::hours(*hours);
            (command, json!({ "scope": scope, "from": from, "to": to, "reason": "a try" }))
        }
        Try::HandOut { unit, slot } => {
            let mut input = json!({ "unit": pick(&names.units, *unit) });
            match slot {
                Some(slot) => input["slot"] = pick(&names.slots, *slot),
                None => input["to"] = json!("a try"),
            }
            ("stock.issue", input)
        }
        Try::BringBack { at } => {
            let shelf = plant.call("stock.shelf", json!({}));
            let out = only(&shelf["elsewhere"], |unit| !unit["handed_out"].is_null());
            let Some(unit) = out.get(*at) else { return };
            ("stock.bring_back", json!({ "unit": unit["label"] }))
        }
        Try::Test { unit, fault_found } => {
            ("unit.test", json!({ "unit": pick(&names.units, *unit), "fault_found": fault_found }))
        }
        Try::Reserve { unit, pieces, days } => {
            let until = plant.now.date_naive() + Duration::days(*days);
            let lot = plant.call("stock.lot", json!({ "lot": names.lots[0] }));
            let mut input = json!({ "for_what": "a try", "until": until });
            match unit {
                Some(unit) => input["unit"] = pick(&names.units, *unit),
                None => {
                    input["model"] = lot["model"].clone();
                    input["storeroom"] = json!("ST1");
                    input["pieces"] = json!(pieces);
                }
            }
            ("stock.reserve", input)
        }
        Try::Release { at } => {
            let kept = plant.call("stock.reservations", json!({}));
            let Some(line) = kept.get(*at) else { return };
            ("stock.release", json!({ "reservation": line["reservation"], "reason": "a try" }))
        }
        Try::Stocktake { bin, skip, extra, pieces } => {
            return stocktake(plant, names, *bin, (*skip, *extra, *pieces));
        }
        Try::Audit { from, to, strange, how } => {
            return audit(plant, &pick(&names.units, *strange), *from, *to, *how);
        }
        Try::Settle { plan, day } => return settle(plant, *plan, *day),
        Try::Agree { units, day } => return agree(plant, *units, *day),
        Try::Choose { unit, what } => {
            let mut input = json!({ "model": model_of(plant, names, *unit), "reason": "a try" });
            match what {
                0 => input["class"] = json!("vital"),
                1 => input["class"] = json!("desirable"),
                2 => (input["reorder_at"], input["order_up_to"]) = (json!(1), json!(3)),
                _ => input["method"] = json!("croston"),
            }
            ("spares.choose", input)
        }
        Try::Plan { unit, days, installed, from_stock } => (
            "spares.plan_change",
            json!({ "model": model_of(plant, names, *unit), "installed_change": installed,
                    "on": plant.now.date_naive() + Duration::days(*days),
                    "from_stock": from_stock, "reason": "a try" }),
        ),
        Try::Settled { at } => {
            let planned = plant.call("spares.planned", json!({}));
            let Some(line) = planned.get(*at) else { return };
            let input = json!({ "planned": line["planned"], "happened": true, "reason": "a try" });
            ("spares.settle_change", input)
        }
        Try::Register { bin, unit } => (
            "unit.register",
            json!({ "model": model_of(plant, names, *unit), "place": pick(&names.bins, *bin),
                    "serial": format!("T-{bin}-{unit}") }),
        ),
        Try::Fill { lot } => {
            let lot = plant.call("stock.lot", json!({ "lot": pick(&names.lots, *lot) }));
            ("order.place", json!({ "model": lot["model"], "storeroom": "ST1", "quantity": 5 }))
        }
        Try::Close { at } => {
            let orders = plant.call("order.list", json!({}));
            let Some(line) = orders.get(*at) else { return };
            ("order.close", json!({ "order": line["order"], "reason": "a try" }))
        }
        Try::Begin { slot, unit } => (
            "swap.start",
            json!({ "slot": pick(&names.slots, *slot), "unit": pick(&names.units, *unit) }),
        ),
        Try::Past { unit, days, what } => {
            let on = plant.now.date_naive() - Duration::days(*days);
            return past(plant, &pick(&names.units, *unit), on, *what);
        }
        Try::Order { quantity } => {
            let lot = plant.call("stock.lot", json!({ "lot": names.lots[0] }));
            (
                "order.place",
                json!({ "model": lot["model"], "storeroom": "ST1", "quantity": quantity }),
            )
        }
    };
    if let Err(failure) = plant.try_call(command, input) {
        refused_with_a_sentence(&failure);
    }
}

fn model_of(plant: &Plant, names: &Names, unit: usize) -> Value {
    let card = plant.call("unit.card", json!({ "unit": pick(&names.units, unit) }));
    card["unit"]["model"].clone()
}

/// Records something of before the register, of a unit or of a counted model.
fn past(plant: &Plant, unit: &Value, on: NaiveDate, what: usize) {
    let unit = LabelCode::parse(unit.as_str().unwrap()).unwrap();
    let (what, unit, model) = match what {
        0 => (PastKind::Failure, Some(unit), None),
        1 => (PastKind::NoFaultFound, Some(unit), None),
        _ => (PastKind::Issued, None, Some(PartNo::parse("MP-FER075").unwrap())),
    };
    let event = PastEvent {
        what,
        on,
        unit,
        model,
        slot: None,
        lot: None,
        quantity: Some(3),
        failure: None,
        found: None,
        found_mv: None,
        fitted_on: Some(on - Duration::days(90)),
        note: String::new(),
    };
    // Some do not fit, as the others.
    let _ = plant.record(None, Body::PastEvent(event));
}

/// Counts a bin in which one unit is not seen, another lies, and each lot has so many pieces.
fn stocktake(plant: &Plant, names: &Names, bin: usize, (skip, extra, pieces): (usize, usize, u32)) {
    let bin = plant.call("stock.bin", json!({ "bin": pick(&names.bins, bin) }));
    let units = bin["units"].as_array().unwrap().iter().enumerate();
    let seen = units.filter(|(at, _)| *at != skip).map(|(_, unit)| unit["label"].clone());
    let mut seen: Vec<Value> = seen.collect();
    seen.push(pick(&names.units, extra));
    let lots = bin["lots"].as_array().unwrap().iter();
    let lots: Vec<Value> =
        lots.map(|lot| json!({ "lot": lot["label"], "pieces": pieces })).collect();
    let input = json!({ "bin": bin["path"], "units": seen, "lots": lots });
    for command in ["stock.stocktake_look", "stock.stocktake"] {
        if let Err(failure) = plant.try_call(command, input.clone()) {
            refused_with_a_sentence(&failure);
        }
    }
}

/// Audits a rail in which one label is seen in another's place, the next one is strange, and one
/// is not seen; then settles all slots in one way, as far as each goes.
fn audit(plant: &Plant, strange: &Value, from: usize, to: usize, how: usize) {
    let drawing = plant.call("place.cabinet", json!({ "cabinet": "+K11" }));
    let items = drawing["rails"][0]["items"].as_array().unwrap().iter();
    let slots: Vec<&Value> = items.filter(|item| !item["slot"].is_null()).collect();
    let mut labels: Vec<Value> =
        slots.iter().map(|item| item["slot"]["unit"]["label"].clone()).collect();
    labels.swap(from, to);
    labels[from + 1] = strange.clone();
    labels[to + 2] = Value::Null;
    let seen = slots.iter().zip(&labels).filter(|(_, label)| !label.is_null());
    let labels: Vec<Value> = seen
        .map(|(item, label)| {
            let x = item["x_mm"].as_f64().unwrap() + item["width_mm"].as_f64().unwrap() / 2.0;
            let at = |dx: f64, dy: f64| json!({ "x": 4.0 * (x + dx), "y": 200.0 + dy });
            json!({ "text": label, "corners": [at(-5.0, -20.0), at(5.0, -20.0), at(5.0, 20.0),
                                               at(-5.0, 20.0)] })
        })
        .collect();
    let photo = json!({ "width_px": 2400, "height_px": 400, "labels": labels });
    let recorded = plant.try_call("audit.record", json!({ "rail": "+K11.1", "photos": [photo] }));
    let recorded = match recorded {
        Ok(recorded) => recorded,
        Err(failure) => return refused_with_a_sentence(&failure),
    };
    let ways = ["stands", "exchanged", "not_there", "stands_here", "taken_out", "left_open"];
    for slot in recorded["slots"].as_array().unwrap() {
        let input = json!({ "slot": slot["slot"], "audit": recorded["audit"], "how": ways[how],
                            "note": "a try" });
        if let Err(failure) = plant.try_call("audit.settle", input) {
            refused_with_a_sentence(&failure);
        }
    }
}

/// Settles one of the planned power-offs, or one that was settled before.
fn settle(plant: &Plant, plan: usize, day: Option<i64>) {
    let plans = plant.call("battery.power_offs", json!({}));
    let plans = only(&plans, |line| line["state"] != "happened");
    let Some(plan) = plans.get(plan % plans.len().max(1)) else { return };
    let from = day.map(|day| plant.now + Duration::days(day));
    let to = from.map(|from| from + Duration::hours(9));
    let input = json!({ "planned": plan["entry"], "from": from, "to": to, "reason": "a try" });
    if let Err(failure) = plant.try_call("battery.power_off_settled", input) {
        refused_with_a_sentence(&failure);
    }
}

/// Agrees on one visit to the cabinet of a battery, and on one that changes it again.
fn agree(plant: &Plant, unit: usize, day: i64) {
    let lines = plant.call("battery.list", json!({}));
    let Some(line) = lines.get(unit % lines.as_array().unwrap().len().max(1)) else { return };
    let on = plant.now.date_naive() + Duration::days(day);
    let visit = |days: i64| {
        json!({ "on": on + Duration::days(days), "scope": line["cabinet"],
                "units": [line["unit"]["label"]] })
    };
    let until = plant.now.date_naive() + Duration::days(700);
    let input = json!({ "visits": [visit(500), visit(0)], "horizon_until": until });
    if let Err(failure) = plant.try_call("battery.agree", input) {
        refused_with_a_sentence(&failure);
    }
}

fn swap(plant: &Plant, slot: &Value, unit: &Value, finish: bool) {
    let started = plant.try_call("swap.start", json!({ "slot": slot, "unit": unit }));
    let mut swap = match started {
        Ok(swap) => swap,
        Err(failure) => return refused_with_a_sentence(&failure),
    };
    let id = swap["swap"].clone();
    while finish && !swap["next_step"].is_null() {
        swap = plant.tick(&swap);
    }
    if finish {
        let removal =
            (!swap["out"].is_null()).then(|| json!({ "to": "repair", "condition": "failed" }));
        plant.call("swap.finish", json!({ "swap": id, "removal": removal }));
    } else {
        plant.call("swap.abandon", json!({ "swap": id, "state_left": "as found" }));
    }
}

fn refused_with_a_sentence(failure: &slotkeep_api::Failure) {
    assert_ne!(failure.kind, slotkeep_api::FailureKind::Broken, "{failure}");
    assert!(failure.message.contains(':') && failure.message.len() > 20, "{failure}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    #[test]
    fn any_history_verifies_clean(history in prop::collection::vec(tries(), 1..60)) {
        let plant = Plant::sample();
        let names = Names::of(&plant);
        for one in &history {
            attempt(&plant, &names, one);
        }
        plant.verify_clean();
    }
}

/// The answers of an order list and of a budget round, and the card of a model.
fn answers(plant: &Plant) -> [Value; 4] {
    [
        plant.call("spares.table", json!({})),
        plant.call("spares.budget", json!({ "budget_cents": 500_000 })),
        plant.call("spares.model", json!({ "model": "MP-AI08-C" })),
        plant.call("spares.model", json!({ "model": "MP-FER075" })),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4, ..ProptestConfig::default() })]

    /// The day goes on meanwhile, and questions are asked between the records.
    #[test]
    fn kept_facts_of_spares_say_what_facts_made_anew_say(
        history in prop::collection::vec(tries(), 30..60),
    ) {
        let mut plant = Plant::sample();
        let names = Names::of(&plant);
        answers(&plant);
        plant.now -= Duration::hours(8);
        for (number, one) in history.iter().enumerate() {
            attempt(&plant, &names, one);
            plant.now += Duration::minutes(10);
            if number % 4 == 0 {
                plant.call("spares.table", json!({ "to_order": true }));
            }
            if number % 20 == 19 {
                same_as_anew(&mut plant);
            }
        }
        same_as_anew(&mut plant);
    }
}

fn same_as_anew(plant: &mut Plant) {
    let kept = answers(plant);
    let path = plant.folder.path().join("site.sqlite");
    let with_kept = std::mem::replace(&mut plant.api, Api::new(Store::open(&path).unwrap()));
    let anew = answers(plant);
    plant.api = with_kept;
    for (kept, anew) in kept.iter().zip(&anew) {
        assert_eq!(kept, anew);
    }
}
