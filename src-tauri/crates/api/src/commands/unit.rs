use super::lines::Catalogue;
use super::stock_handed_out::released_since_stay;
use super::stock_reserve::{Stated, purpose};
use super::{battery, find, lines, place, swap_candidates};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::unit::{
    DescribeInput, FittedBattery, MoveInput, RegisterInput, Registered, Removal, RemoveInput,
    TestInput, UnitCard, UnitInput,
};
use crate::wire::{Done, words};
use slotkeep_domain::journal::{
    self, Body, FailureNote, UnitDescribed, UnitMoved, UnitRegistered, UnitRemoved, UnitTested,
};
use slotkeep_domain::label::{LabelCode, LabelKind};
use slotkeep_domain::model::PartNo;
use slotkeep_domain::register::View;
use slotkeep_domain::unit::{self, Condition, UnitPlace};
use slotkeep_store::Reader;

/// How many spares a card names; `swap.candidates` names them all.
const SPARES_SHOWN: usize = 10;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask(
            "unit.card",
            "Shows one unit: what it is, where it sits, its loops, battery, history and spares.",
            card,
        ),
        table::record(
            "unit.register",
            "Takes a serialised unit into the register, e.g. a spare that came in.",
            table::RECORDERS,
            register,
        ),
        table::record(
            "unit.describe",
            "Records revision, firmware or battery of a unit as read again.",
            table::RECORDERS,
            describe,
        ),
        table::record(
            "unit.move",
            "Moves a unit that is in no slot, or judges its condition anew.",
            table::RECORDERS,
            relocate,
        ),
        table::record(
            "unit.test",
            "Records what a test of a unit that came out of a slot found.",
            table::RECORDERS,
            tested,
        ),
        table::record(
            "unit.remove",
            "Takes a unit out of its slot without another going in.",
            table::HANDS,
            remove,
        ),
    ]
}

fn card(ask: &Ask<'_>, input: UnitInput) -> Result<UnitCard, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let unit = find::unit(r, &input.unit)?;
        let model = find::model(r, unit.model.as_str())?;
        let slot = unit.place.slot().and_then(|address| r.slot(address));
        let spares = match &slot {
            Some(slot) => swap_candidates::candidates_for(r, slot, today, false)?,
            None => Vec::new(),
        };
        let spares = spares.into_iter().take(SPARES_SHOWN).collect();
        let slot = slot.map(|slot| place::card(r, &slot)).transpose()?;
        Ok(UnitCard {
            unit: Catalogue::new(r).unit(&unit),
            loops: slot.as_ref().map(|slot| slot.loops.clone()).unwrap_or_default(),
            battery: battery::of_unit(r, &unit, &model, ask.now)?,
            history: lines::history(r, unit.label.as_str(), 50)?,
            model: lines::model(&model),
            slot,
            spares,
        })
    })
}

fn register(ask: &Ask<'_>, stamp: &Stamp, input: RegisterInput) -> Result<Registered, Failure> {
    let mut label = None;
    let recorded = ask.record_within(stamp, |r| {
        let new = find::new_label(r, LabelKind::Unit, &stamp.id, input.label.as_deref())?;
        label = Some(new);
        Ok(Body::UnitRegistered(UnitRegistered {
            label: new,
            model: PartNo::parse(&input.model).map_err(Failure::bad_input)?,
            serial: input.serial.trim().to_owned(),
            revision: input.revision.clone(),
            firmware: input.firmware.clone(),
            place: find::unit_place(r, &input.place)?,
            since: None,
            condition: match &input.condition {
                Some(word) => words::condition(word)?,
                None => Condition::Good,
            },
            received_on: Some(stamp.at.date_naive()),
            battery: input.battery.as_ref().map(|battery| fitted(r, battery)).transpose()?,
            order: input.order,
        }))
    })?;
    let label = match label {
        Some(label) => label,
        None => ask.read(|r| label_of_entry(r, stamp))?,
    };
    let message = format!("{} {} is registered as {}", input.model, input.serial, label.human());
    Ok(Registered {
        label: label.to_string(),
        label_human: label.human(),
        done: Done { entry: stamp.id, repeated: recorded.repeated, message },
    })
}

pub(super) fn label_of_entry(r: &Reader<'_>, stamp: &Stamp) -> Result<LabelCode, Failure> {
    match r.entry(&stamp.id)?.map(|kept| kept.entry.body) {
        Some(Body::UnitRegistered(unit)) => Ok(unit.label),
        Some(Body::LotReceived(lot)) => Ok(lot.label),
        _ => Err(Failure::refused("this id is used for another entry: make a new id")),
    }
}

fn fitted(r: &Reader<'_>, battery: &FittedBattery) -> Result<unit::FittedBattery, Failure> {
    Ok(unit::FittedBattery {
        model: PartNo::parse(&battery.model).map_err(Failure::bad_input)?,
        made_on: battery.made_on,
        fitted_on: battery.fitted_on,
        lot: match &battery.lot {
            Some(text) => Some(find::lot(r, text)?.label),
            None => None,
        },
    })
}

fn describe(ask: &Ask<'_>, stamp: &Stamp, input: DescribeInput) -> Result<Done, Failure> {
    let mut message = String::new();
    let recorded = ask.record_within(stamp, |r| {
        let unit = find::unit(r, &input.unit)?;
        message = format!("the plate of unit {} is recorded", unit.label.human());
        Ok(Body::UnitDescribed(UnitDescribed {
            unit: unit.label,
            revision: input.revision.clone(),
            firmware: input.firmware.clone(),
            battery: input.battery.as_ref().map(|battery| fitted(r, battery)).transpose()?,
        }))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

fn relocate(ask: &Ask<'_>, stamp: &Stamp, input: MoveInput) -> Result<Done, Failure> {
    let mut message = String::new();
    let recorded = ask.record_within(stamp, |r| {
        let unit = find::unit(r, &input.unit)?;
        let to = match &input.to {
            Some(text) => find::unit_place(r, text)?,
            None => unit.place.clone(),
        };
        let condition = match &input.condition {
            Some(word) => words::condition(word)?,
            None => unit.condition,
        };
        let stated = Stated {
            words: "",
            swap: input.swap,
            slot: input.slot.as_deref(),
            visit: input.visit.as_ref(),
        };
        message = format!("unit {} is in {to}, {}", unit.label.human(), condition.word());
        Ok(Body::UnitMoved(UnitMoved {
            unit: unit.label,
            to,
            condition,
            reason: input.reason.clone(),
            purpose: purpose(r, &stated)?,
            reservation: input.reservation,
        }))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

fn tested(ask: &Ask<'_>, stamp: &Stamp, input: TestInput) -> Result<Done, Failure> {
    let mut message = String::new();
    let recorded = ask.record_within(stamp, |r| {
        let unit = find::unit(r, &input.unit)?;
        let (name, fault_found) = (unit.label.human(), input.fault_found);
        // Where it lay ready on a shelf since, the test says nothing of why it once came out.
        let there = matches!(unit.place, UnitPlace::Bench | UnitPlace::Bin(_) | UnitPlace::Repair);
        let released = there && released_since_stay(r, &unit);
        message = match (fault_found, unit.last_stay.is_some() && !released) {
            (true, _) => format!("unit {name} is failed: send it for repair, or scrap it"),
            (false, true) => {
                format!("unit {name} is good; its removal counts as demand, not as a failure")
            }
            (false, false) => format!("unit {name} is good"),
        };
        let note = input.note.trim().to_owned();
        if !released {
            return Ok(Body::UnitTested(UnitTested { unit: unit.label, fault_found, note }));
        }
        let (condition, found) = match fault_found {
            true => (Condition::Failed, "tested, a fault was found"),
            false => (Condition::Good, "tested, no fault was found"),
        };
        Ok(Body::UnitMoved(UnitMoved {
            unit: unit.label,
            to: unit.place,
            condition,
            reason: if note.is_empty() { found.to_owned() } else { format!("{found}: {note}") },
            purpose: None,
            reservation: None,
        }))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

fn remove(ask: &Ask<'_>, stamp: &Stamp, input: RemoveInput) -> Result<Done, Failure> {
    let mut message = String::new();
    let recorded = ask.record_within(stamp, |r| {
        let unit = find::unit(r, &input.unit)?;
        let slot = unit.place.slot().cloned().ok_or_else(|| {
            Failure::refused(format!(
                "unit {} stands in no slot, it is in {}: move it instead",
                unit.label.human(),
                unit.place
            ))
        })?;
        message = format!("unit {} is removed from {slot}", unit.label.human());
        let removal = removal(r, &input.removal)?;
        Ok(Body::UnitRemoved(UnitRemoved { unit: unit.label, slot, removal }))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

pub(super) fn removal(r: &Reader<'_>, input: &Removal) -> Result<journal::Removal, Failure> {
    let failure = input.failure_mode.clone().filter(|mode| !mode.is_empty()).map(|mode| {
        let given = |text: &Option<String>| text.clone().filter(|text| !text.is_empty());
        FailureNote { mode, cause: given(&input.failure_cause), detection: given(&input.detection) }
    });
    Ok(journal::Removal {
        to: find::unit_place(r, &input.to)?,
        condition: words::condition(&input.condition)?,
        failure,
        note: input.note.clone(),
    })
}
