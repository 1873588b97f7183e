use super::place::label;
use super::reserved::Take;
use super::{Outcome, Refusal, known};
use crate::journal::{
    Entry, FailureNote, PastKind, Removal, UnitDescribed, UnitInstalled, UnitMoved, UnitRegistered,
    UnitRemoved,
};
use crate::label::{LabelCode, LabelKind};
use crate::model::{BaseKind, Model};
use crate::place::{Slot, SlotAddress};
use crate::register::{Change, Failure, Stay, StayEnd, View};
use crate::unit::{Condition, FittedBattery, Unit, UnitPlace};
use chrono::{DateTime, Utc};
use uuid::Uuid;

pub(super) fn register(view: &impl View, entry: &Entry, new: &UnitRegistered) -> Outcome {
    label(view, new.label, LabelKind::Unit, false)?;
    let model = known(view.model(&new.model), "model", &new.model)?;
    if model.counted || new.serial.trim().is_empty() {
        return Err(Refusal::new(
            format!("{} is counted stock, or the serial number is empty", model.part_no),
            "receive counted stock as a lot; give a unit its serial number",
        ));
    }
    if let Some(twin) = view.unit_with(&new.model, &new.serial) {
        return Err(Refusal::new(
            format!("serial {} of {} is already unit {}", new.serial, new.model, twin.human()),
            "read the plate again, or use the unit that is there",
        ));
    }
    super::battery::sound_dates(&new.serial, new.battery.as_ref(), entry.at.date_naive())?;
    let since = new.since.unwrap_or(entry.at);
    if since > entry.at {
        return Err(Refusal::new(
            format!("unit {} came to {} after this was recorded", new.serial, new.place),
            "correct the date",
        ));
    }
    let unit = Unit {
        label: new.label,
        model: new.model.clone(),
        serial: new.serial.clone(),
        revision: new.revision.clone(),
        firmware: new.firmware.clone(),
        place: new.place.clone(),
        since,
        since_unknown: new.since.is_none() && new.place.slot().is_some(),
        last_stay: None,
        condition: new.condition,
        received_on: new.received_on,
        battery: new.battery.clone(),
        battery_seen: None,
    };
    arrives(view, &unit, &model, None)?;
    let mut changes = vec![Change::Unit(unit)];
    if let Some(order) = &new.order {
        changes.push(super::order::received(view, order, &new.model, 1)?);
    }
    Ok(changes)
}

/// Checks that a unit may come to the place that it names.
fn arrives(
    view: &impl View,
    unit: &Unit,
    model: &Model,
    leaving: Option<LabelCode>,
) -> Result<(), Refusal> {
    match &unit.place {
        UnitPlace::Slot(address) => {
            let slot = known(view.slot(address), "slot", address)?;
            if let Some(other) = view.unit_in(address)
                && other != unit.label
                && Some(other) != leaving
            {
                return Err(Refusal::new(
                    format!("slot {address} already holds unit {}", other.human()),
                    "remove that one first",
                ));
            }
            plugs(&slot, unit, model)
        }
        UnitPlace::Bin(path) => known(view.bin(path), "bin", path).map(drop),
        UnitPlace::Bench | UnitPlace::Repair | UnitPlace::Scrapped | UnitPlace::Lost => Ok(()),
    }
}

/// Refuses what cannot be plugged: a key that differs, or a unit that is no slot unit.
pub(super) fn plugs(slot: &Slot, unit: &Unit, model: &Model) -> Result<(), Refusal> {
    if !model.is_slot_unit() {
        return Err(Refusal::new(
            format!("{} does not stand in a slot", model.part_no),
            "record it as a rail item or as stock",
        ));
    }
    let keyless = matches!(slot.base, BaseKind::OnePiece | BaseKind::Own);
    if slot.key == model.key && (slot.key.is_some() || keyless) {
        return Ok(());
    }
    let shown = |key: &Option<crate::key::KeySetting>| {
        key.as_ref().map_or("without a key".to_owned(), |key| format!("keyed {key}"))
    };
    Err(Refusal::new(
        format!(
            "slot {} is {}, unit {} is {}",
            slot.address,
            shown(&slot.key),
            unit.label.human(),
            shown(&model.key)
        ),
        "fetch a unit of the right key, or correct the register if the base was re-keyed",
    ))
}

pub(super) fn describe(view: &impl View, entry: &Entry, new: &UnitDescribed) -> Outcome {
    let mut unit = known(view.unit(&new.unit), "unit", new.unit.human())?;
    let today = entry.at.date_naive();
    super::battery::sound_dates(&new.unit.human(), new.battery.as_ref(), today)?;
    let fitted_on = |battery: &Option<FittedBattery>| battery.as_ref().map(|b| b.fitted_on);
    if new.battery.is_some() && fitted_on(&new.battery) != fitted_on(&unit.battery) {
        unit.battery_seen = None;
    }
    unit.revision = new.revision.clone().or(unit.revision);
    unit.firmware = new.firmware.clone().or(unit.firmware);
    unit.battery = new.battery.clone().or(unit.battery);
    Ok(vec![Change::Unit(unit)])
}

/// Installs a unit; `leaving` is the unit that goes out of the slot by the same entry.
pub(super) fn install(
    view: &impl View,
    at: DateTime<Utc>,
    installed: &UnitInstalled,
    leaving: Option<LabelCode>,
) -> Outcome {
    let mut unit = known(view.unit(&installed.unit), "unit", installed.unit.human())?;
    let model = known(view.model(&unit.model), "model", &unit.model)?;
    if let Some(slot) = unit.place.slot() {
        return Err(Refusal::new(
            format!("unit {} already stands in {slot}", unit.label.human()),
            "remove it there first",
        ));
    }
    if unit.place == UnitPlace::Scrapped {
        return Err(Refusal::new(
            format!("unit {} is scrapped", unit.label.human()),
            "choose another unit",
        ));
    }
    if unit.place == UnitPlace::Lost {
        return Err(Refusal::new(
            format!("unit {} is lost by the register", unit.label.human()),
            "record where it was found first",
        ));
    }
    unit.place = UnitPlace::Slot(installed.slot.clone());
    unit.since = at;
    unit.since_unknown = false;
    arrives(view, &unit, &model, leaving)?;
    Ok(vec![Change::Unit(unit)])
}

pub(super) fn remove(view: &impl View, entry: &Entry, removed: &UnitRemoved) -> Outcome {
    take_out(view, entry, &removed.unit, &removed.slot, &removed.removal)
}

/// Takes a unit out of its slot, with the evidence that its failure leaves.
pub(super) fn take_out(
    view: &impl View,
    entry: &Entry,
    label: &LabelCode,
    slot: &SlotAddress,
    removal: &Removal,
) -> Outcome {
    let mut unit = known(view.unit(label), "unit", label.human())?;
    if unit.place.slot() != Some(slot) {
        return Err(Refusal::new(
            format!("unit {} stands in {}, not in {slot}", label.human(), unit.place),
            "scan slot and unit again",
        ));
    }
    if removal.to.slot().is_some() {
        return Err(Refusal::new(
            format!("unit {} cannot go from slot to slot in one step", label.human()),
            "put it on the bench or into a bin, then install it",
        ));
    }
    check_failure(view, removal.failure.as_ref())?;
    let model = known(view.model(&unit.model), "model", &unit.model)?;
    let ended_by = if removal.failure.is_some() { StayEnd::Failure } else { StayEnd::Other };
    let stay = ended(entry, &unit, slot, ended_by);
    unit.place = removal.to.clone();
    unit.condition = removal.condition;
    unit.since = entry.at;
    unit.since_unknown = false;
    unit.last_stay = stay.as_ref().map(|stay| stay.id);
    arrives(view, &unit, &model, None)?;
    let mut changes: Vec<Change> = stay.map(Change::Stay).into_iter().collect();
    if let Some(failure) = &removal.failure {
        changes.push(Change::Failure(Failure {
            id: entry.id,
            what: PastKind::Failure,
            at: entry.at,
            model: unit.model.clone(),
            unit: Some(*label),
            slot: Some(slot.clone()),
            mode: Some(failure.mode.clone()),
            cell: None,
        }));
    }
    changes.push(Change::Unit(unit));
    Ok(changes)
}

/// The stay that ends when a unit comes out; none where nobody knows when it began.
fn ended(entry: &Entry, unit: &Unit, slot: &SlotAddress, ended_by: StayEnd) -> Option<Stay> {
    (!unit.since_unknown).then(|| Stay {
        id: entry.id,
        unit: Some(unit.label),
        model: unit.model.clone(),
        slot: Some(slot.clone()),
        from: unit.since,
        to: entry.at.max(unit.since),
        ended_by,
    })
}

/// The stay of a unit that is found in another slot: it was in service all the time, so its hours
/// go on in the new place. `nth`: how many stays the entry ended before this one.
pub(super) fn moved_on(entry: &Entry, unit: &Unit, slot: &SlotAddress, nth: u8) -> Option<Stay> {
    let stay = ended(entry, unit, slot, StayEnd::Other)?;
    Some(Stay { id: Uuid::from_u128(stay.id.as_u128() ^ u128::from(nth)), ..stay })
}

fn check_failure(view: &impl View, failure: Option<&FailureNote>) -> Result<(), Refusal> {
    let Some(failure) = failure else { return Ok(()) };
    let Some(site) = view.site() else { return Ok(()) };
    let lists = [
        ("failure mode", Some(&failure.mode), &site.failure_modes),
        ("failure cause", failure.cause.as_ref(), &site.failure_causes),
        ("detection method", failure.detection.as_ref(), &site.detection_methods),
    ];
    for (what, code, list) in lists {
        let Some(code) = code else { continue };
        if !list.is_empty() && !list.iter().any(|choice| choice.code == *code) {
            let codes: Vec<_> = list.iter().map(|choice| choice.code.as_str()).collect();
            return Err(Refusal::new(
                format!("{what} {code:?} is not in the site's list"),
                format!("choose one of {}", codes.join(", ")),
            ));
        }
    }
    Ok(())
}

pub(super) fn relocate(view: &impl View, entry: &Entry, moved: &UnitMoved) -> Outcome {
    let mut unit = known(view.unit(&moved.unit), "unit", moved.unit.human())?;
    if unit.place.slot().is_some() && unit.place != moved.to {
        return Err(Refusal::new(
            format!("unit {} is installed in {}", unit.label.human(), unit.place),
            "take it out by a swap or a removal, so that the reason is kept",
        ));
    }
    if moved.to.slot().is_some() && unit.place != moved.to {
        return Err(Refusal::new(
            format!("unit {} is to go into slot {}", unit.label.human(), moved.to),
            "install it by a swap, so that key and model are checked",
        ));
    }
    if unit.place == UnitPlace::Scrapped {
        return Err(Refusal::new(
            format!("unit {} is scrapped", unit.label.human()),
            "register a unit that came back under a new label",
        ));
    }
    if moved.condition == Condition::Quarantined && moved.reason.trim().is_empty() {
        return Err(Refusal::new(
            format!("unit {} goes to quarantine without a reason", unit.label.human()),
            "say why, so that somebody can lift it",
        ));
    }
    if moved.to == UnitPlace::Lost && moved.reason.trim().is_empty() {
        return Err(Refusal::new(
            format!("unit {} is lost without a word", unit.label.human()),
            "say where it was looked for",
        ));
    }
    let mut changes = leaves_storeroom(view, entry, &unit, moved)?;
    let model = known(view.model(&unit.model), "model", &unit.model)?;
    if unit.place != moved.to {
        unit.since = entry.at;
    }
    unit.place = moved.to.clone();
    unit.condition = moved.condition;
    arrives(view, &unit, &model, None)?;
    changes.push(Change::Unit(unit));
    Ok(changes)
}

/// What a unit that goes out of its storeroom does to reservations.
fn leaves_storeroom(view: &impl View, entry: &Entry, unit: &Unit, moved: &UnitMoved) -> Outcome {
    if let Some(purpose) = &moved.purpose {
        super::reserved::purpose(view, purpose)?;
    }
    let from = unit.place.bin().map(|bin| bin.storeroom());
    let to = moved.to.bin().map(|bin| bin.storeroom());
    let Some(from) = from.filter(|from| Some(*from) != to && moved.to != UnitPlace::Lost) else {
        return match moved.reservation {
            Some(_) => Err(Refusal::new(
                format!("unit {} does not leave a storeroom", unit.label.human()),
                "leave the reservation out",
            )),
            None => Ok(Vec::new()),
        };
    };
    let take = Take { model: &unit.model, storeroom: from, unit: Some(unit), pieces: 1 };
    let kept = super::reserved::take(view, entry, &take, moved.reservation)?;
    Ok(kept.into_iter().collect())
}
