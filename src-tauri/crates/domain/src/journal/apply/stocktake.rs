//! What a stocktake of one bin, or a test of a unit, changes.

use super::{Outcome, Refusal, known};
use crate::journal::{BinCounted, Entry, PastKind, UnitTested};
use crate::register::{Change, Failure, Stay, StayEnd, View};
use crate::unit::{Condition, UnitPlace};
use std::collections::HashSet;

/// Takes what lies in a bin as counted. A unit that does not lie there is lost until it is found.
pub(super) fn count(view: &impl View, entry: &Entry, counted: &BinCounted) -> Outcome {
    let bin = known(view.bin(&counted.bin), "bin", &counted.bin)?.path;
    let mut met = HashSet::new();
    let named = counted.lots.iter().map(|(lot, _)| lot);
    for label in named.chain(&counted.units_found).chain(&counted.units_missing) {
        if !met.insert(*label) {
            return Err(Refusal::new(
                format!("{} is named twice in the stocktake of {bin}", label.human()),
                "name each thing once",
            ));
        }
    }
    let mut changes = Vec::new();
    for (label, pieces) in &counted.lots {
        let mut lot = known(view.lot(label), "lot", label.human())?;
        super::stock::put(&mut lot, &bin, *pieces);
        changes.push(Change::Lot(lot));
    }
    for label in &counted.units_found {
        let mut unit = known(view.unit(label), "unit", label.human())?;
        match &unit.place {
            UnitPlace::Slot(slot) => {
                return Err(Refusal::new(
                    format!("unit {} lies in {bin}, the register has it in {slot}", label.human()),
                    "record how it came out of the slot first, so that the reason is kept",
                ));
            }
            UnitPlace::Scrapped => {
                return Err(Refusal::new(
                    format!("unit {} lies in {bin}, but it is scrapped", label.human()),
                    "put it where scrapped units go, and count the bin again",
                ));
            }
            UnitPlace::Bin(there) if *there == bin => continue,
            _ => {}
        }
        unit.place = UnitPlace::Bin(bin.clone());
        unit.since = entry.at;
        unit.since_unknown = false;
        changes.push(Change::Unit(unit));
    }
    for label in &counted.units_missing {
        let mut unit = known(view.unit(label), "unit", label.human())?;
        if unit.place.bin() != Some(&bin) {
            return Err(Refusal::new(
                format!(
                    "unit {} is missed in {bin}, the register has it in {}",
                    label.human(),
                    unit.place
                ),
                "leave it out: it is not expected there",
            ));
        }
        unit.place = UnitPlace::Lost;
        unit.since = entry.at;
        unit.since_unknown = false;
        changes.push(Change::Unit(unit));
    }
    Ok(changes)
}

/// Judges a unit that came out of a slot, and with it why its last stay ended.
pub(super) fn test(view: &impl View, tested: &UnitTested) -> Outcome {
    let mut unit = known(view.unit(&tested.unit), "unit", tested.unit.human())?;
    let to_do = match &unit.place {
        UnitPlace::Slot(_) => Some("take it out first, so that the reason is kept"),
        UnitPlace::Scrapped => Some("test another one: this one is out of use"),
        UnitPlace::Lost => Some("record where it was found first"),
        UnitPlace::Bin(_) | UnitPlace::Bench | UnitPlace::Repair => None,
    };
    if let Some(to_do) = to_do {
        return Err(Refusal::new(
            format!("unit {} is in {} and cannot be tested", unit.label.human(), unit.place),
            to_do,
        ));
    }
    unit.condition = if tested.fault_found { Condition::Failed } else { Condition::Good };
    let mut changes = Vec::new();
    if let Some(stay) = unit.last_stay.and_then(|id| view.stay(&id)) {
        changes.extend(judged(view, stay, tested.fault_found));
    }
    changes.push(Change::Unit(unit));
    Ok(changes)
}

/// A stay and its evidence after the unit was tested.
///
/// No fault found takes a failure back; a fault makes one of a removal on suspicion.
fn judged(view: &impl View, mut stay: Stay, fault_found: bool) -> Vec<Change> {
    let known = view.failure(&stay.id);
    let what = if fault_found { PastKind::Failure } else { PastKind::NoFaultFound };
    stay.ended_by = match (fault_found, stay.ended_by) {
        (true, _) => StayEnd::Failure,
        (false, StayEnd::Other) => StayEnd::Other,
        (false, _) => StayEnd::NoFaultFound,
    };
    let evidence = match known {
        Some(failure) => Some(Failure { what, ..failure }),
        None if fault_found => Some(Failure {
            id: stay.id,
            what,
            at: stay.to,
            model: stay.model.clone(),
            unit: stay.unit,
            slot: stay.slot.clone(),
            mode: None,
            cell: None,
        }),
        None => None,
    };
    evidence.map(Change::Failure).into_iter().chain([Change::Stay(stay)]).collect()
}
