use super::plan::Planner;
use crate::site_files::{Row, Site, UnitRow};
use chrono::{NaiveDate, NaiveTime};
use slotkeep_domain::journal::{
    Body, LotCounted, LotQuarantined, LotReceived, Removal, UnitDescribed, UnitInstalled,
    UnitMoved, UnitRegistered, UnitRemoved,
};
use slotkeep_domain::label::{LabelCode, LabelKind};
use slotkeep_domain::register::View;
use slotkeep_domain::unit::{FittedBattery, Unit, UnitPlace};

const BY_IMPORT: &str = "as the site files say";

/// Plans units: new ones are registered, for known ones the differences become entries.
pub(super) fn units(planner: &mut Planner<'_>, site: &Site) {
    for row in &site.units {
        if !planner.is_new(row) {
            continue;
        }
        let known = planner.ledger().unit_with(&row.value.model, &row.value.serial);
        match known.and_then(|label| planner.ledger().unit(&label)) {
            None => register(planner, row),
            Some(unit) => differences(planner, row, &unit),
        }
    }
}

fn register(planner: &mut Planner<'_>, row: &Row<UnitRow>) {
    let unit = &row.value;
    let name = format!("{} {}", unit.model, unit.serial);
    let body = UnitRegistered {
        label: planner.label(None, LabelKind::Unit, &name),
        model: unit.model.clone(),
        serial: unit.serial.clone(),
        revision: unit.revision.clone(),
        firmware: unit.firmware.clone(),
        place: unit.place.clone(),
        since: since(unit),
        condition: unit.condition,
        received_on: unit.received_on,
        battery: battery(unit),
        order: None,
    };
    planner.add(row, Body::UnitRegistered(body));
}

/// When a unit came to its place; for one in a slot only a record of its installation tells.
fn since(unit: &UnitRow) -> Option<chrono::DateTime<chrono::Utc>> {
    let arrived = unit.received_on.filter(|_| unit.place.slot().is_none());
    unit.installed_on.or(arrived).map(beginning)
}

fn beginning(day: NaiveDate) -> chrono::DateTime<chrono::Utc> {
    day.and_time(NaiveTime::MIN).and_utc()
}

fn battery(unit: &UnitRow) -> Option<FittedBattery> {
    unit.battery.as_ref().map(|battery| FittedBattery {
        model: battery.model.clone(),
        made_on: battery.made_on,
        fitted_on: battery.fitted_on,
        lot: None,
    })
}

fn differences(planner: &mut Planner<'_>, row: &Row<UnitRow>, unit: &Unit) {
    let new = &row.value;
    let fitted = battery(new);
    let battery_differs = match (&fitted, &unit.battery) {
        (Some(new), Some(old)) => (&new.model, new.fitted_on) != (&old.model, old.fitted_on),
        (new, old) => new.is_some() && old.is_none(),
    };
    let plate_differs = (new.revision.is_some() && new.revision != unit.revision)
        || (new.firmware.is_some() && new.firmware != unit.firmware);
    if plate_differs || battery_differs {
        let described = UnitDescribed {
            unit: unit.label,
            revision: new.revision.clone(),
            firmware: new.firmware.clone(),
            battery: fitted.filter(|_| battery_differs),
        };
        planner.add(row, Body::UnitDescribed(described));
    }
    moves(planner, row, unit);
}

/// Entries that bring a unit from where the register has it to where the file has it.
fn moves(planner: &mut Planner<'_>, row: &Row<UnitRow>, unit: &Unit) {
    let new = &row.value;
    if new.place == unit.place {
        if new.condition != unit.condition {
            moved(planner, row, unit.label, &new.place);
        }
        return;
    }
    let leaves = unit.place.slot().cloned();
    let enters = new.place.slot().cloned();
    match (leaves, enters) {
        (None, None) => moved(planner, row, unit.label, &new.place),
        (leaves, enters) => {
            if let Some(slot) = leaves {
                let to = if enters.is_some() { UnitPlace::Bench } else { new.place.clone() };
                let removal = Removal {
                    to,
                    condition: new.condition,
                    failure: None,
                    note: BY_IMPORT.to_owned(),
                };
                let removed = UnitRemoved { unit: unit.label, slot, removal };
                planner.add(row, Body::UnitRemoved(removed));
            } else if new.condition != unit.condition {
                moved(planner, row, unit.label, &unit.place);
            }
            if let Some(slot) = enters {
                let installed = UnitInstalled { unit: unit.label, slot };
                planner.add(row, Body::UnitInstalled(installed));
            }
        }
    }
}

fn moved(planner: &mut Planner<'_>, row: &Row<UnitRow>, unit: LabelCode, to: &UnitPlace) {
    let moved = UnitMoved {
        unit,
        to: to.clone(),
        condition: row.value.condition,
        reason: BY_IMPORT.to_owned(),
        purpose: None,
        reservation: None,
    };
    planner.add(row, Body::UnitMoved(moved));
}

/// Plans lots: new ones are received, for known ones the differences are counted.
pub(super) fn lots(planner: &mut Planner<'_>, site: &Site) {
    for row in &site.lots {
        if !planner.is_new(row) {
            continue;
        }
        let new = &row.value;
        let ledger = planner.ledger();
        let known = ledger.lot_with(&new.model, &new.code).and_then(|label| ledger.lot(&label));
        let there = known.as_ref().and_then(|lot| lot.pieces.get(&new.bin)).copied();
        let name = format!("{} {}", new.model, new.code);
        let label = planner.label(known.as_ref().map(|lot| lot.label), LabelKind::Lot, &name);
        match there {
            Some(pieces) if pieces == new.quantity => {}
            Some(_) => {
                let counted = LotCounted {
                    lot: label,
                    bin: new.bin.clone(),
                    quantity: new.quantity,
                    note: BY_IMPORT.to_owned(),
                };
                planner.add(row, Body::LotCounted(counted));
            }
            None => {
                let received = LotReceived {
                    label,
                    code: new.code.clone(),
                    model: new.model.clone(),
                    bin: new.bin.clone(),
                    quantity: new.quantity,
                    made_on: new.made_on,
                    shelf_until: new.shelf_until,
                    order: None,
                };
                planner.add(row, Body::LotReceived(received));
            }
        }
        if known.is_some_and(|lot| lot.quarantined) != new.quarantined {
            let quarantined = LotQuarantined {
                lot: label,
                quarantined: new.quarantined,
                reason: BY_IMPORT.to_owned(),
            };
            planner.add(row, Body::LotQuarantined(quarantined));
        }
    }
}
