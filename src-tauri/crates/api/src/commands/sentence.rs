//! What an entry says, in a sentence for people.

use super::battery_power::hours;
use super::sentence_audit;
use super::sentence_spares::of_spares;
use crate::wire::journal::EntryLine;
use slotkeep_domain::journal::{
    BatteryChanged, Body, CellFound, FailureNote, PastEvent, PastKind, PowerScope, Removable,
    Removal,
};
use slotkeep_domain::{counted, counted_as};
use slotkeep_store::Kept;

pub(crate) fn line(kept: &Kept) -> EntryLine {
    let entry = &kept.entry;
    EntryLine {
        seq: kept.seq,
        id: entry.id,
        at: entry.at,
        person: entry.person.clone(),
        device: entry.device.clone(),
        kind: slotkeep_store::kind_of(&entry.body).to_owned(),
        message: of(&entry.body),
        photos: entry.body.photos().into_iter().map(ToString::to_string).collect(),
        corrects: entry.corrects,
        hash: hex(&kept.hash),
    }
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

pub(crate) fn of(body: &Body) -> String {
    match body {
        Body::SiteSet(site) => format!("Settings of {} recorded", site.name),
        Body::KeySchemeSet(scheme) => format!("Key scheme {} recorded", scheme.name),
        Body::AreaSet(area) => format!("Area {} {} recorded", area.code, area.title),
        Body::CabinetSet(cabinet) => format!("Cabinet {} recorded", cabinet.address),
        Body::RailSet(rail) => format!("Rail {} recorded", rail.address),
        Body::SlotSet(slot) => match &slot.key {
            Some(key) => format!("Slot {} recorded, keyed {key}", slot.address),
            None => format!("Slot {} recorded, without a key", slot.address),
        },
        Body::ModelSet(model) => format!("Model {} recorded", model.part_no),
        Body::StoreroomSet(storeroom) => format!("Storeroom {} recorded", storeroom.code),
        Body::BinSet(bin) => format!("Bin {} recorded", bin.path),
        Body::LoopSet(wired) => {
            format!("Loop {} on {} channel {} recorded", wired.tag, wired.slot, wired.channel)
        }
        Body::ProcedureSet(procedure) => {
            format!("Procedure of swaps recorded, {} templates", procedure.templates.len())
        }
        Body::PersonSet(person) => format!("Roles of {} recorded", person.name),
        Body::PlaceRemoved(removed) => {
            let name = match &removed.what {
                Removable::Cabinet(address) => address.to_string(),
                Removable::Rail(address) => address.to_string(),
                Removable::Slot(address) => address.to_string(),
                Removable::Bin(path) => path.to_string(),
                Removable::Loop(tag) => tag.clone(),
            };
            format!("{name} taken out of the register{}", because(&removed.reason))
        }
        Body::DeviceAdmitted(device) => {
            format!("Device {:?} of {} let in", device.title, device.person)
        }
        Body::DeviceWithdrawn(withdrawn) => {
            format!("A device is no longer let in{}", because(&withdrawn.reason))
        }
        Body::Noted(noted) => format!("Note on {}: {}", noted.subject, noted.text),
        Body::RailAudited(audited) => sentence_audit::of_audit(audited),
        Body::AuditSettled(settled) => sentence_audit::of_settlement(settled),
        Body::PastEvent(past) => of_past(past),
        other => of_spares(other).unwrap_or_else(|| of_units(other)),
    }
}

fn of_units(body: &Body) -> String {
    match body {
        Body::UnitRegistered(unit) => format!(
            "{} serial {} registered in {}, {}",
            unit.model,
            unit.serial,
            unit.place,
            unit.condition.word()
        ),
        Body::UnitDescribed(unit) => format!("Plate of unit {} read again", unit.unit.human()),
        Body::UnitInstalled(installed) => {
            format!("Unit {} installed in {}", installed.unit.human(), installed.slot)
        }
        Body::UnitRemoved(removed) => format!(
            "Unit {} removed from {}{}",
            removed.unit.human(),
            removed.slot,
            of_removal(&removed.removal)
        ),
        Body::UnitMoved(moved) => format!(
            "Unit {} to {}, {}{}",
            moved.unit.human(),
            moved.to,
            moved.condition.word(),
            because(&moved.reason)
        ),
        Body::BatteryChanged(changed) => of_battery(changed),
        Body::SwapStarted(swap) => {
            let taken: Vec<_> = swap
                .overrides
                .iter()
                .map(|o| format!("; {} took on the stop {:?}: {}", o.person, o.rule, o.reason))
                .collect();
            format!(
                "Swap begun in {}: unit {} is to go in{}",
                swap.slot,
                swap.into.human(),
                taken.concat()
            )
        }
        Body::SwapTicked(ticked) => {
            let mut said = format!("Step {} done", ticked.step);
            if let Some(label) = &ticked.scanned {
                said.push_str(&format!(", {} scanned", label.human()));
            }
            if let Some(reading) = ticked.reading {
                said.push_str(&format!(", {reading} read"));
            }
            if ticked.photo.is_some() {
                said.push_str(", photo taken");
            }
            if let Some(second) = &ticked.second {
                said.push_str(&format!(", together with {second}"));
            }
            said
        }
        Body::SwapFinished(finished) => format!(
            "Swap finished{}",
            finished
                .removal
                .as_ref()
                .map(|r| format!(": old unit{}", of_removal(r)))
                .unwrap_or_default()
        ),
        Body::SwapAbandoned(abandoned) => {
            let removal =
                abandoned.removal.as_ref().map(|r| format!(" Old unit{}.", of_removal(r)));
            let removal = removal.unwrap_or_default();
            format!("Swap abandoned; the plant was left so: {}{removal}", abandoned.state_left)
        }
        other => of_power(other),
    }
}

/// Power-offs, looks at batteries, temperatures and plans of visits.
fn of_power(body: &Body) -> String {
    match body {
        Body::BatterySeen(seen) => format!(
            "Battery of unit {} seen, lamp for a low battery {}{}",
            seen.unit.human(),
            if seen.low_lamp { "lit" } else { "not lit" },
            seen.mv.map(|mv| format!(", {mv} mV")).unwrap_or_default()
        ),
        Body::PowerOff(off) => format!(
            "Power-off of {} for {:.1} h{}",
            of_scope(&off.scope),
            hours(off.from, off.to),
            because(&off.reason)
        ),
        Body::PowerOffPlanned(off) => format!(
            "Power-off of {} planned from {} for {:.1} h{}",
            of_scope(&off.scope),
            off.from.format("%Y-%m-%d %H:%M UTC"),
            hours(off.from, off.to),
            because(&off.reason)
        ),
        Body::PowerOffSettled(settled) => match settled.happened {
            Some((from, to)) => format!(
                "Planned power-off happened from {} for {:.1} h{}",
                from.format("%Y-%m-%d %H:%M UTC"),
                hours(from, to),
                because(&settled.reason)
            ),
            None => format!("Planned power-off called off{}", because(&settled.reason)),
        },
        Body::TemperatureLogged(logged) => {
            format!("{} °C read in cabinet {}", logged.temperature_c, logged.cabinet)
        }
        Body::VisitsAgreed(agreed) => {
            let batteries: usize = agreed.visits.iter().map(|visit| visit.units.len()).sum();
            format!(
                "{} agreed until {}, with {} to change",
                counted(agreed.visits.len() as u64, "visit"),
                agreed.horizon_until,
                counted_as(batteries as u64, "battery", "batteries")
            )
        }
        other => of_stock(other),
    }
}

fn of_scope(scope: &PowerScope) -> String {
    match scope {
        PowerScope::Site => "the site".to_owned(),
        PowerScope::Area(code) => format!("area {code}"),
        PowerScope::Cabinet(address) => address.to_string(),
    }
}

fn of_stock(body: &Body) -> String {
    match body {
        Body::LotReceived(lot) => format!(
            "{} of {} (lot {}) received into {}",
            pieces(lot.quantity),
            lot.model,
            lot.code,
            lot.bin
        ),
        Body::LotIssued(issued) if issued.scrapped => {
            format!(
                "{} scrapped from {}{}",
                pieces(issued.quantity),
                issued.bin,
                because(&issued.to)
            )
        }
        Body::LotIssued(issued) => {
            let purpose = issued.purpose.as_ref().map(|p| format!(" for {p}")).unwrap_or_default();
            let (pieces, bin, to) = (pieces(issued.quantity), &issued.bin, &issued.to);
            format!("{pieces} issued from {bin} to {to}{purpose}")
        }
        Body::LotCounted(counted) => {
            format!(
                "{} counted in {}{}",
                pieces(counted.quantity),
                counted.bin,
                because(&counted.note)
            )
        }
        Body::LotMoved(moved) => {
            format!("{} moved from {} to {}", pieces(moved.quantity), moved.from, moved.to)
        }
        Body::LotQuarantined(lot) if lot.quarantined => {
            format!("Lot put in quarantine{}", because(&lot.reason))
        }
        Body::LotQuarantined(lot) => format!("Quarantine lifted{}", because(&lot.reason)),
        Body::OrderPlaced(order) => format!(
            "{} of {} ordered for {}{}",
            pieces(order.quantity),
            order.model,
            order.storeroom,
            because(&order.reason)
        ),
        Body::OrderClosed(closed) => format!("Order closed{}", because(&closed.reason)),
        _ => String::new(),
    }
}

fn of_battery(changed: &BatteryChanged) -> String {
    format!(
        "Battery of unit {} changed from lot {}, {}, program {}{}",
        changed.unit.human(),
        changed.lot.human(),
        if changed.powered { "powered" } else { "without power" },
        if changed.memory_saved { "saved before" } else { "not saved before" },
        found_word(changed.found, changed.found_mv),
    )
}

fn found_word(found: CellFound, mv: Option<u32>) -> String {
    let voltage = mv.map(|mv| format!(" at {mv} mV")).unwrap_or_default();
    match found {
        CellFound::NotJudged if mv.is_none() => String::new(),
        CellFound::NotJudged => format!(", old battery{voltage}"),
        judged => format!(", old battery {}{voltage}", judged.word()),
    }
}

fn of_removal(removal: &Removal) -> String {
    let failure = removal.failure.as_ref().map(of_failure).unwrap_or_default();
    format!(" to {}, {}{failure}{}", removal.to, removal.condition.word(), because(&removal.note))
}

fn of_failure(failure: &FailureNote) -> String {
    let mut text = format!(", failure mode {}", failure.mode);
    if let Some(cause) = &failure.cause {
        text.push_str(&format!(", cause {cause}"));
    }
    if let Some(detection) = &failure.detection {
        text.push_str(&format!(", found by {detection}"));
    }
    text
}

fn of_past(past: &PastEvent) -> String {
    let what = match past.what {
        PastKind::Failure => "failed",
        PastKind::NoFaultFound => "came out and had no fault",
        PastKind::Repair => "was repaired",
        PastKind::Removed => "was removed",
        PastKind::Installed => "was installed",
        PastKind::BatteryChanged => "had its battery changed",
        PastKind::BatterySeen => "had its battery looked at",
        PastKind::Inspection => "was inspected",
        PastKind::Received => "was received",
        PastKind::Issued => "was issued",
    };
    let who = match (&past.unit, &past.model) {
        (Some(unit), _) => format!("Unit {}", unit.human()),
        (None, Some(model)) => {
            past.quantity.map_or(format!("{model}"), |n| format!("{} of {model}", pieces(n)))
        }
        (None, None) => "The plant".to_owned(),
    };
    let place = past.slot.as_ref().map(|slot| format!(" in {slot}")).unwrap_or_default();
    let failure = past.failure.as_ref().map(of_failure).unwrap_or_default();
    let found = past.found.map(|found| found_word(found, past.found_mv)).unwrap_or_default();
    let on = past.on;
    format!("{who} {what}{place} on {on}{failure}{found}{} (old record)", because(&past.note))
}

pub(super) fn pieces(number: u32) -> String {
    counted(number, "piece")
}

pub(super) fn because(reason: &str) -> String {
    if reason.trim().is_empty() { String::new() } else { format!(": {}", reason.trim()) }
}
