use super::super::problem::Problems;
use super::super::{BatteryRow, Row, UnitRow};
use super::{Models, Read, known, model, not_later};
use slotkeep_domain::loops::Loop;
use slotkeep_domain::model::ModelKind;
use slotkeep_domain::place::SlotAddress;
use slotkeep_domain::unit::UnitPlace;
use std::collections::HashMap;

/// Checks units, lots and loops.
pub(super) fn check(read: &Read, models: &Models<'_>, problems: &mut Problems) {
    let mut standing: HashMap<&SlotAddress, u32> = HashMap::new();
    for row in &read.units.rows {
        unit(read, models, row, problems);
        if let UnitPlace::Slot(slot) = &row.value.place
            && let Some(first) = standing.insert(slot, row.line)
        {
            let expected = format!("another place: the unit of line {first} stands in that slot");
            problems.cell(row.file, row.line, "place", slot, expected);
        }
    }
    lots(read, models, problems);
    let mut wired: HashMap<(&SlotAddress, u32), &str> = HashMap::new();
    for row in &read.loops.rows {
        channel(read, models, row, problems);
        let wire = &row.value;
        if let Some(other) = wired.insert((&wire.slot, wire.channel), &wire.tag) {
            let expected = format!("another channel: {other} is wired to this one");
            problems.cell(row.file, row.line, "channel", wire.channel, expected);
        }
    }
}

fn unit(read: &Read, models: &Models<'_>, row: &Row<UnitRow>, problems: &mut Problems) {
    let unit = &row.value;
    let at = |field| (row.file, row.line, field);
    for (field, date) in [("installed_on", unit.installed_on), ("received_on", unit.received_on)] {
        not_later(read.today, date, at(field), problems);
    }
    if let (Some(received), Some(installed)) = (unit.received_on, unit.installed_on)
        && installed < received
    {
        let expected = format!("a date not before it was received, {received}");
        problems.cell(row.file, row.line, "installed_on", installed, expected);
    }
    match &unit.place {
        UnitPlace::Slot(slot) => {
            known(&read.slots, "slots.csv", slot.as_str(), at("place"), problems);
        }
        UnitPlace::Bin(bin) => {
            known(&read.bins, "bins.csv", bin.as_str(), at("place"), problems);
        }
        UnitPlace::Bench | UnitPlace::Repair | UnitPlace::Scrapped | UnitPlace::Lost => {}
    }
    if let Some(fitted) = &unit.battery {
        battery(read, models, row, fitted, problems);
    }
    let Some(model) = model(models, unit.model.as_str(), at("model"), problems) else { return };
    if model.counted {
        let expected = "a model kept by serial number; counted stock belongs in lots.csv";
        problems.cell(row.file, row.line, "model", &unit.model, expected);
    }
    if let Some(revision) = &unit.revision
        && !model.revisions.is_empty()
        && model.revision_rank(revision).is_none()
    {
        let expected = format!("a revision of {}: {}", unit.model, model.revisions.join(", "));
        problems.cell(row.file, row.line, "revision", revision, expected);
    }
    if let UnitPlace::Slot(address) = &unit.place
        && let Some(slot) = read.slots.get(address.as_str())
        && (slot.key != model.key || !model.is_slot_unit())
    {
        let shown = slot.key.as_ref().map_or("no key".to_owned(), ToString::to_string);
        let expected =
            format!("a slot that {} can be plugged into; this one has {shown}", unit.model);
        problems.cell(row.file, row.line, "place", address, expected);
    }
}

fn battery(
    read: &Read,
    models: &Models<'_>,
    row: &Row<UnitRow>,
    fitted: &BatteryRow,
    problems: &mut Problems,
) {
    let at = |field| (row.file, row.line, field);
    not_later(read.today, Some(fitted.fitted_on), at("battery_fitted_on"), problems);
    if let Some(made) = fitted.made_on
        && made > fitted.fitted_on
    {
        let expected = format!("a date not after the battery was fitted, {}", fitted.fitted_on);
        problems.cell(row.file, row.line, "battery_made_on", made, expected);
    }
    if let Some(cell) = model(models, fitted.model.as_str(), at("battery_model"), problems)
        && cell.kind != ModelKind::Battery
    {
        problems.cell(row.file, row.line, "battery_model", &fitted.model, "a battery");
    }
}

fn lots(read: &Read, models: &Models<'_>, problems: &mut Problems) {
    for row in &read.lots.rows {
        let lot = &row.value;
        let at = |field| (row.file, row.line, field);
        known(&read.bins, "bins.csv", lot.bin.as_str(), at("bin"), problems);
        not_later(read.today, lot.made_on, at("made_on"), problems);
        if let (Some(made), Some(until)) = (lot.made_on, lot.shelf_until)
            && until < made
        {
            let expected = format!("a date not before it was made, {made}");
            problems.cell(row.file, row.line, "shelf_until", until, expected);
        }
        if let Some(model) = model(models, lot.model.as_str(), at("model"), problems)
            && !model.counted
        {
            let expected = "counted stock; what has a serial number belongs in units.csv";
            problems.cell(row.file, row.line, "model", &lot.model, expected);
        }
    }
}

fn channel(read: &Read, models: &Models<'_>, row: &Row<Loop>, problems: &mut Problems) {
    let wire = &row.value;
    let at = (row.file, row.line, "slot");
    known(&read.slots, "slots.csv", wire.slot.as_str(), at, problems);
    let Some(slot) = read.slots.get(wire.slot.as_str()) else { return };
    let wanted = slot.model_wanted.as_ref().and_then(|part_no| models.get(part_no.as_str()));
    if let Some(model) = wanted
        && wire.channel > model.channels
    {
        let expected = format!("a channel of {}, which has {}", model.part_no, model.channels);
        problems.cell(row.file, row.line, "channel", wire.channel, expected);
    }
}
