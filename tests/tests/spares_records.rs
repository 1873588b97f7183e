//! What is recorded about spares: each rule, each refusal, and the same state after a replay.

use chrono::{Duration, NaiveDate};
use serde_json::{Value, json};
use slotkeep_domain::journal::{
    BinCounted, Body, ChosenLevel, LotIssued, LotMoved, OrderPlaced, PastEvent, PastKind,
    PopulationPlanned, PopulationSettled, Purpose, Removal, ReservationEnded, Reserved,
    ReservedWhat, SpareChosen, UnitMoved, UnitRemoved, UnitTested,
};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::model::PartNo;
use slotkeep_domain::place::BinPath;
use slotkeep_domain::register::{StayEnd, Table, View};
use slotkeep_domain::unit::{Condition, Unit, UnitPlace};
use slotkeep_store::{Reader, StoreFault};
use slotkeep_tests::{Plant, noon};
use uuid::Uuid;

fn refused(plant: &Plant, body: Body, says: &str) {
    match plant.record(None, body) {
        Err(StoreFault::Refused(refusal)) => {
            let text = refusal.to_string();
            assert!(text.contains(says), "{text}");
        }
        other => panic!("not refused: {other:?}"),
    }
}

fn read<T>(plant: &Plant, ask: impl FnOnce(&Reader<'_>) -> T) -> T {
    plant.api.store().read(|r| Ok::<_, StoreFault>(ask(r))).unwrap()
}

fn part(text: &str) -> PartNo {
    PartNo::parse(text).unwrap()
}

fn today() -> NaiveDate {
    noon().date_naive()
}

/// A good unit that lies in a bin of ST1.
fn spare(plant: &Plant) -> Unit {
    read(plant, |r| {
        let units = r.units_in_storeroom("ST1").unwrap();
        units.into_iter().find(|unit| unit.condition == Condition::Good).unwrap()
    })
}

/// A unit that stands in a slot since a known day.
fn standing(plant: &Plant) -> Unit {
    read(plant, |r| {
        let units = r.units().unwrap();
        units.into_iter().find(|unit| unit.place.slot().is_some() && !unit.since_unknown).unwrap()
    })
}

fn removal(to: UnitPlace, mode: Option<&str>) -> Removal {
    Removal {
        to,
        condition: Condition::Suspect,
        failure: mode.map(|mode| slotkeep_domain::journal::FailureNote {
            mode: mode.to_owned(),
            cause: None,
            detection: None,
        }),
        note: String::new(),
    }
}

fn take_out(plant: &Plant, unit: &Unit, mode: Option<&str>) -> Uuid {
    let slot = unit.place.slot().unwrap().clone();
    let removal = removal(UnitPlace::Bench, mode);
    plant.record(None, Body::UnitRemoved(UnitRemoved { unit: unit.label, slot, removal })).unwrap()
}

fn tested(unit: LabelCode, fault_found: bool) -> Body {
    Body::UnitTested(UnitTested { unit, fault_found, note: String::new() })
}

#[test]
fn a_removal_ends_a_stay_and_a_test_says_whether_it_was_a_failure() {
    let plant = Plant::sample();
    let unit = standing(&plant);
    refused(&plant, tested(unit.label, false), "take it out first");
    let entry = take_out(&plant, &unit, Some("erratic"));
    let stay = read(&plant, |r| r.stay(&entry)).unwrap();
    assert_eq!((stay.from, stay.to, stay.unit), (unit.since, plant.now, Some(unit.label)));
    assert_eq!(stay.ended_by, StayEnd::Failure);
    assert_eq!(read(&plant, |r| r.failure(&entry)).unwrap().what, PastKind::Failure);

    plant.record(None, tested(unit.label, false)).unwrap();
    assert_eq!(read(&plant, |r| r.stay(&entry)).unwrap().ended_by, StayEnd::NoFaultFound);
    assert_eq!(read(&plant, |r| r.failure(&entry)).unwrap().what, PastKind::NoFaultFound);
    assert_eq!(read(&plant, |r| r.unit(&unit.label)).unwrap().condition, Condition::Good);

    plant.record(None, tested(unit.label, true)).unwrap();
    assert_eq!(read(&plant, |r| r.stay(&entry)).unwrap().ended_by, StayEnd::Failure);
    assert_eq!(read(&plant, |r| r.unit(&unit.label)).unwrap().condition, Condition::Failed);
    plant.verify_clean();
}

#[test]
fn a_fault_found_after_a_removal_on_suspicion_becomes_a_failure() {
    let plant = Plant::sample();
    let unit = standing(&plant);
    let entry = take_out(&plant, &unit, None);
    assert_eq!(read(&plant, |r| r.stay(&entry)).unwrap().ended_by, StayEnd::Other);
    assert!(read(&plant, |r| r.failure(&entry)).is_none());
    plant.record(None, tested(unit.label, false)).unwrap();
    assert_eq!(read(&plant, |r| r.stay(&entry)).unwrap().ended_by, StayEnd::Other);
    plant.record(None, tested(unit.label, true)).unwrap();
    assert_eq!(read(&plant, |r| r.stay(&entry)).unwrap().ended_by, StayEnd::Failure);
    assert!(read(&plant, |r| r.failure(&entry)).is_some());
    plant.verify_clean();
}

#[test]
fn a_unit_of_unknown_installation_gives_no_stay() {
    let plant = Plant::sample();
    let spare = spare(&plant);
    let slot = plant.call("swap.open", json!({}));
    assert_eq!(slot, json!([]));
    let unit = read(&plant, |r| {
        let same = r.units_of(&spare.model).unwrap();
        same.into_iter().find(|unit| unit.place.slot().is_some())
    });
    let unit = unit.unwrap_or_else(|| standing(&plant));
    take_out(&plant, &unit, None);
    let address = unit.place.slot().unwrap().to_string();
    let input = json!({ "model": unit.model.to_string(), "serial": "no record", "place": address });
    let label = plant.call("unit.register", input)["label"].as_str().unwrap().to_owned();
    let label = LabelCode::parse(&label).unwrap();
    let registered = read(&plant, |r| r.unit(&label)).unwrap();
    assert!(registered.since_unknown);
    let entry = take_out(&plant, &registered, Some("erratic"));
    assert!(read(&plant, |r| r.stay(&entry)).is_none());
    plant.verify_clean();
}

fn past(what: PastKind, on: NaiveDate, fitted_on: Option<NaiveDate>) -> PastEvent {
    PastEvent {
        what,
        on,
        unit: None,
        model: Some(part("MP-AI08-C")),
        slot: None,
        lot: None,
        quantity: None,
        failure: None,
        found: None,
        found_mv: None,
        fitted_on,
        note: String::new(),
    }
}

#[test]
fn an_old_failure_counts_only_with_the_day_of_fitting() {
    let plant = Plant::sample();
    let model = part("MP-AI08-C");
    let before = read(&plant, |r| r.stays_of(&model).unwrap().len());
    let day = |y| NaiveDate::from_ymd_opt(y, 5, 1).unwrap();
    plant.record(None, Body::PastEvent(past(PastKind::Failure, day(2020), None))).unwrap();
    assert_eq!(read(&plant, |r| r.stays_of(&model).unwrap().len()), before);
    let known = past(PastKind::NoFaultFound, day(2020), Some(day(2015)));
    let entry = plant.record(None, Body::PastEvent(known)).unwrap();
    let stay = read(&plant, |r| r.stay(&entry)).unwrap();
    assert_eq!((stay.from.date_naive(), stay.to.date_naive()), (day(2015), day(2020)));
    assert_eq!(stay.ended_by, StayEnd::NoFaultFound);
    let backward = past(PastKind::Failure, day(2015), Some(day(2020)));
    refused(&plant, Body::PastEvent(backward), "was fitted on 2020-05-01: correct one");
    plant.verify_clean();
}

fn chosen(level: Option<(u32, u32)>, method: Option<&str>, reason: &str) -> Body {
    Body::SpareChosen(SpareChosen {
        model: part("MP-AI08-C"),
        storeroom: Some("ST1".to_owned()),
        method: method.map(str::to_owned),
        level: level.map(|(reorder_at, order_up_to)| ChosenLevel { reorder_at, order_up_to }),
        class: None,
        reason: reason.to_owned(),
    })
}

#[test]
fn a_choice_replaces_the_one_before_and_nothing_gives_back() {
    let plant = Plant::sample();
    let now = |plant: &Plant| read(plant, |r| r.spare_choice(&part("MP-AI08-C"), Some("ST1")));
    refused(&plant, chosen(None, None, "why"), "nothing was before");
    refused(&plant, chosen(Some((2, 4)), None, " "), "no reason");
    refused(&plant, chosen(Some((4, 4)), None, "why"), "order up to more than");
    refused(&plant, chosen(None, Some("Best of all"), "why"), "not the word of a method");
    plant.record(None, chosen(Some((2, 4)), Some("tsb"), "two trains share them")).unwrap();
    assert_eq!(now(&plant).unwrap().level, Some(ChosenLevel { reorder_at: 2, order_up_to: 4 }));
    plant.record(None, chosen(Some((0, 0)), None, "none is wanted")).unwrap();
    assert_eq!(now(&plant).unwrap().method, None);
    plant.record(None, chosen(None, None, "trust the figures")).unwrap();
    assert!(now(&plant).is_none());
    plant.verify_clean();
}

fn change(installed_change: i32, from_stock: u32, harvested: u32) -> PopulationPlanned {
    PopulationPlanned {
        model: part("MP-AI08-C"),
        on: today() + Duration::days(60),
        installed_change,
        from_stock,
        harvested,
        reason: "third train".to_owned(),
    }
}

#[test]
fn a_change_of_the_plant_is_planned_corrected_and_settled_once() {
    let plant = Plant::sample();
    let plan = |planned| Body::PopulationPlanned(planned);
    refused(&plant, plan(change(0, 0, 0)), "changes nothing");
    refused(&plant, plan(change(4, 0, 1)), "negative change for a removal");
    refused(&plant, plan(change(-4, 0, 5)), "at most as many");
    refused(&plant, plan(change(-4, 1, 0)), "would take 1 from the stock");
    let passed = PopulationPlanned { on: today() - Duration::days(1), ..change(4, 0, 0) };
    refused(&plant, plan(passed), "which has passed");
    let first = plant.record(None, plan(change(-4, 0, 3))).unwrap();
    let second = plant.record(Some(first), plan(change(-4, 0, 2))).unwrap();
    let left = read(&plant, |r| r.population_changes().unwrap());
    let left: Vec<_> = left.iter().filter(|c| [first, second].contains(&c.id)).collect();
    assert_eq!((left.len(), left[0].harvested), (1, 2));
    let settle = |happened, reason: &str| {
        let reason = reason.to_owned();
        Body::PopulationSettled(PopulationSettled { planned: second, happened, reason })
    };
    refused(&plant, settle(false, ""), "called off without a reason");
    plant.record(None, settle(true, "")).unwrap();
    refused(&plant, settle(true, ""), "settled already");
    plant.verify_clean();
}

fn lot(plant: &Plant) -> (LabelCode, BinPath, PartNo, u32) {
    read(plant, |r| {
        let lots = r.lots().unwrap();
        let usable = |lot: &&slotkeep_domain::stock::Lot| {
            r.reservations_on(&lot.model).is_empty()
                && lot.usable_in("ST1", today()) > 4
                && lot.shelf_until.is_none_or(|day| day > today() + Duration::days(40))
        };
        let lot = lots.iter().find(usable).unwrap();
        let mut bins = lot.pieces.iter().filter(|(bin, _)| bin.storeroom() == "ST1");
        let (bin, _) = bins.find(|(_, pieces)| **pieces > 4).unwrap();
        let usable = r.usable_in(&lot.model, "ST1", today());
        (lot.label, bin.clone(), lot.model.clone(), usable)
    })
}

fn words(text: &str) -> Purpose {
    Purpose::Words(text.to_owned())
}

#[test]
fn reserved_pieces_are_refused_to_others_and_used_by_theirs() {
    let plant = Plant::sample();
    let (lot, bin, model, usable) = lot(&plant);
    let reserve = |pieces, purpose: Purpose, days: i64| {
        let what =
            ReservedWhat::Pieces { model: model.clone(), storeroom: "ST1".to_owned(), pieces };
        let until = Some(today() + Duration::days(days));
        Body::Reserved(Reserved { what, purpose, until })
    };
    let issue = |quantity, reservation| {
        Body::LotIssued(LotIssued {
            lot,
            bin: bin.clone(),
            quantity,
            to: "workshop".to_owned(),
            scrapped: false,
            purpose: None,
            reservation,
        })
    };
    refused(&plant, reserve(0, words("night shift"), 5), "0 pieces");
    refused(&plant, reserve(1, words(" "), 5), "nothing is said about what it is for");
    refused(&plant, reserve(1, words("night shift"), -1), "before it begins");
    refused(&plant, reserve(usable + 1, words("night shift"), 5), "usable pieces");
    let visit = Purpose::Visit {
        on: today(),
        scope: slotkeep_domain::journal::PowerScope::Area("nowhere".to_owned()),
    };
    refused(&plant, reserve(1, visit, 5), "is agreed");
    let kept = plant.record(None, reserve(usable - 1, words("night shift"), 5)).unwrap();
    refused(&plant, reserve(2, words("day shift"), 5), "are kept for night shift");
    refused(&plant, issue(2, None), "are kept for night shift (by tester, until 2026-11-30)");
    plant.record(None, issue(1, None)).unwrap();
    let away = Body::LotMoved(LotMoved {
        lot,
        from: bin.clone(),
        to: BinPath::parse("ST2/C-01").unwrap(),
        quantity: 1,
    });
    refused(&plant, away, "are kept for night shift");
    plant.record(None, issue(1, Some(kept))).unwrap();
    let left = read(&plant, |r| r.reservation(&kept)).unwrap();
    assert_eq!((left.pieces, left.is_open()), (usable - 2, true));
    let end = |used, reason: &str| {
        let reason = reason.to_owned();
        Body::ReservationEnded(ReservationEnded { reservation: kept, used, reason })
    };
    refused(&plant, end(false, ""), "no reason is given");
    plant.record(None, end(false, "the job is off")).unwrap();
    refused(&plant, end(false, "again"), "was released on");
    plant.record(None, issue(1, None)).unwrap();
    plant.verify_clean();
}

#[test]
fn a_reservation_holds_until_its_day_is_over() {
    let mut plant = Plant::sample();
    let unit = spare(&plant);
    let what = ReservedWhat::Unit(unit.label);
    let until = Some(today() + Duration::days(3));
    let body = Reserved { what, purpose: words("night shift"), until };
    plant.record(None, Body::Reserved(body.clone())).unwrap();
    refused(&plant, Body::Reserved(body), "is kept for night shift");
    let out = |reservation| {
        Body::UnitMoved(UnitMoved {
            unit: unit.label,
            to: UnitPlace::Bench,
            condition: Condition::Good,
            reason: "to test".to_owned(),
            purpose: None,
            reservation,
        })
    };
    plant.now += Duration::days(3);
    refused(&plant, out(None), "is kept for night shift");
    plant.now += Duration::days(1);
    plant.record(None, out(None)).unwrap();
    plant.verify_clean();
}

#[test]
fn a_unit_kept_for_a_slot_goes_into_that_slot_only() {
    let plant = Plant::sample();
    let cabinets = plant.call("place.cabinets", json!({}));
    let mut found: Vec<(String, String)> = Vec::new();
    for cabinet in cabinets.as_array().unwrap() {
        let drawing = plant.call("place.cabinet", json!({ "cabinet": cabinet["address"] }));
        let rails = drawing["rails"].as_array().unwrap().clone();
        let items = rails.iter().flat_map(|rail| rail["items"].as_array().unwrap());
        for slot in items.map(|item| &item["slot"]).filter(|slot| !slot["unit"].is_null()) {
            let fits = plant.call("swap.candidates", json!({ "slot": slot["address"] }));
            let Some(label) = fits[0]["unit"]["label"].as_str() else { continue };
            found.push((slot["address"].as_str().unwrap().to_owned(), label.to_owned()));
        }
    }
    let same = |a: &(String, String)| found.iter().find(|b| b.1 == a.1 && b.0 != a.0).cloned();
    let (first, second) = found.iter().find_map(|a| Some((a.clone(), same(a)?))).unwrap();
    let label = LabelCode::parse(&first.1).unwrap();
    let slot = slotkeep_domain::place::SlotAddress::parse(&first.0).unwrap();
    let what = ReservedWhat::Unit(label);
    let body = Reserved { what, purpose: Purpose::Slot(slot), until: None };
    let kept = plant.record(None, Body::Reserved(body)).unwrap();
    let start = |slot: &str, overrides: Value| {
        let input = json!({ "slot": slot, "unit": first.1, "overrides": overrides });
        plant.try_call("swap.start", input)
    };
    let failure = start(&second.0, json!([])).unwrap_err();
    assert!(failure.message.contains(&format!("kept for a swap in {}", first.0)), "{failure}");
    start(&first.0, json!([])).unwrap();
    let ended = read(&plant, |r| r.reservation(&kept)).unwrap().ended.unwrap();
    assert!(ended.used);
    plant.verify_clean();
}

#[test]
fn a_stocktake_moves_what_is_found_and_loses_what_is_not() {
    let plant = Plant::sample();
    let (lot, bin, ..) = lot(&plant);
    let unit = spare(&plant);
    let home = unit.place.bin().unwrap().clone();
    let standing = standing(&plant);
    let count =
        |bin: &BinPath, lots: &[(LabelCode, u32)], found: &[LabelCode], missing: &[LabelCode]| {
            Body::BinCounted(BinCounted {
                bin: bin.clone(),
                lots: lots.to_vec(),
                units_found: found.to_vec(),
                units_missing: missing.to_vec(),
                note: String::new(),
            })
        };
    refused(&plant, count(&bin, &[(lot, 1), (lot, 2)], &[], &[]), "named twice");
    refused(&plant, count(&bin, &[], &[standing.label], &[]), "record how it came out");
    refused(&plant, count(&bin, &[], &[], &[unit.label]), "it is not expected there");
    plant.record(None, count(&home, &[], &[], &[unit.label])).unwrap();
    let place = || read(&plant, |r| r.unit(&unit.label)).unwrap().place;
    assert_eq!(place(), UnitPlace::Lost);
    plant.record(None, count(&bin, &[(lot, 3)], &[unit.label], &[])).unwrap();
    assert_eq!(place(), UnitPlace::Bin(bin.clone()));
    assert_eq!(read(&plant, |r| r.lot(&lot)).unwrap().pieces[&bin], 3);
    plant.record(None, count(&bin, &[(lot, 0)], &[unit.label], &[])).unwrap();
    assert!(!read(&plant, |r| r.lot(&lot)).unwrap().pieces.contains_key(&bin));
    plant.verify_clean();
}

#[test]
fn an_order_is_corrected_until_something_came_in() {
    let plant = Plant::sample();
    let (_, bin, model, _) = lot(&plant);
    let order = |quantity, price_cents| {
        Body::OrderPlaced(OrderPlaced {
            model: model.clone(),
            storeroom: "ST1".to_owned(),
            quantity,
            due_on: Some(today() - Duration::days(4)),
            reason: String::new(),
            number: Some("PO-1".to_owned()),
            price_cents,
        })
    };
    refused(&plant, order(5, Some(-1)), "price below 0");
    let first = plant.record(None, order(5, Some(990))).unwrap();
    let second = plant.record(Some(first), order(6, Some(980))).unwrap();
    assert!(read(&plant, |r| r.order(&first)).is_none());
    let placed = read(&plant, |r| r.order(&second)).unwrap();
    assert_eq!((placed.ordered, placed.late_d(today())), (6, Some(4)));
    let came = json!({ "model": model.to_string(), "code": "X1", "bin": bin.to_string(),
                       "quantity": 2, "order": second });
    plant.call("stock.receive", came);
    match plant.record(Some(second), order(9, None)) {
        Err(StoreFault::Refused(no)) => assert!(no.to_string().contains("close it"), "{no}"),
        other => panic!("{other:?}"),
    }
    plant.verify_clean();
}

#[test]
fn handed_out_pieces_are_kept_as_demand() {
    let plant = Plant::sample();
    let (lot, bin, model, _) = lot(&plant);
    let before: u32 = read(&plant, |r| r.issues_of(&model).unwrap().iter().map(|i| i.pieces).sum());
    let input =
        json!({ "lot": lot.to_string(), "bin": bin.to_string(), "quantity": 2, "to": "day shift" });
    plant.call("stock.issue", input);
    let issued = PastEvent {
        quantity: Some(3),
        model: Some(model.clone()),
        ..past(PastKind::Issued, today(), None)
    };
    plant.record(None, Body::PastEvent(issued)).unwrap();
    let after = read(&plant, |r| r.issues_of(&model).unwrap());
    assert_eq!(after.iter().map(|issue| issue.pieces).sum::<u32>(), before + 5);
    assert!(after.iter().any(|issue| issue.storeroom.as_deref() == Some("ST1")));
    assert!(read(&plant, |r| r.count(Table::Issue).unwrap()) >= 2);
    plant.verify_clean();
}
