use super::super::problem::Problems;
use super::{Models, Read, known, model, not_later};
use slotkeep_domain::journal::Purpose;

/// Checks orders, reservations and planned changes.
pub(super) fn check(read: &Read, models: &Models<'_>, problems: &mut Problems) {
    for row in &read.orders.rows {
        let at = |field| (row.file, row.line, field);
        model(models, row.value.model.as_str(), at("model"), problems);
        known(&read.storerooms, "stores.csv", &row.value.storeroom, at("storeroom"), problems);
        not_later(read.today, Some(row.value.placed_on), at("placed_on"), problems);
    }
    for row in &read.reservations.rows {
        let kept = &row.value;
        let at = |field| (row.file, row.line, field);
        model(models, kept.model.as_str(), at("model"), problems);
        known(&read.storerooms, "stores.csv", &kept.storeroom, at("storeroom"), problems);
        if let Purpose::Slot(slot) = &kept.purpose {
            known(&read.slots, "slots.csv", slot.as_str(), at("for_what"), problems);
        }
        if let Some(serial) = &kept.serial {
            let key = format!("{}\t{serial}", kept.model);
            let there = read.units.knows(&key) || problems.unread.contains("units.csv");
            if !there {
                let expected = format!("a serial number of {} in units.csv", kept.model);
                problems.cell(row.file, row.line, "serial", serial, expected);
            }
        }
    }
    for row in &read.planned_changes.rows {
        model(models, row.value.model.as_str(), (row.file, row.line, "model"), problems);
    }
}
