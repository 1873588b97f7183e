use super::plan::Planner;
use crate::site_files::{Row, Site};
use slotkeep_domain::journal::{Body, PlaceRemoved, Removable, Source};
use slotkeep_domain::place::{BinPath, CabinetAddress, RailAddress, SlotAddress};
use std::collections::HashSet;

/// Files whose rows are taken out of the register when they vanish, innermost places first.
const REMOVABLE: [&str; 5] = ["loops.csv", "slots.csv", "rails.csv", "cabinets.csv", "bins.csv"];

/// Plans what follows from rows that were there at the last import and are gone now.
///
/// Places and loops leave the register; units, lots and models stay, since a missing row does
/// not say where they went.
pub(super) fn plan(planner: &mut Planner<'_>, site: &Site, files: &[&str]) {
    for file in REMOVABLE {
        if files.contains(&file) {
            let present = keys(site, file);
            for source in vanished(planner, file, &present) {
                if let Some(what) = removable(file, &source.key) {
                    let removed = PlaceRemoved { what, reason: format!("no longer in {file}") };
                    let gone = Source { digest: 0, ..source };
                    planner.add_from(gone, 0, None, Body::PlaceRemoved(removed));
                }
            }
        }
    }
    for file in ["units.csv", "lots.csv", "orders.csv", "reservations.csv", "planned_changes.csv"] {
        if files.contains(&file) {
            let present = keys(site, file);
            let gone = vanished(planner, file, &present).len();
            if gone > 0 {
                planner.plan.notes.push(format!(
                    "{gone} rows are no longer in {file}: what they named stays in the register \
                     until somebody says what became of it"
                ));
            }
        }
    }
}

fn keys<'a>(site: &'a Site, file: &str) -> HashSet<&'a str> {
    fn of<T>(rows: &[Row<T>]) -> HashSet<&str> {
        rows.iter().map(|row| row.key.as_str()).collect()
    }
    match file {
        "loops.csv" => of(&site.loops),
        "slots.csv" => of(&site.slots),
        "rails.csv" => of(&site.rails),
        "cabinets.csv" => of(&site.cabinets),
        "bins.csv" => of(&site.bins),
        "units.csv" => of(&site.units),
        "orders.csv" => of(&site.orders),
        "reservations.csv" => of(&site.reservations),
        "planned_changes.csv" => of(&site.planned_changes),
        _ => of(&site.lots),
    }
}

fn vanished(planner: &Planner<'_>, file: &str, present: &HashSet<&str>) -> Vec<Source> {
    // A digest of 0 marks a row whose vanishing was recorded before.
    let mut gone: Vec<Source> = planner
        .ledger()
        .imported_from(file)
        .filter(|(row, digest)| *digest != 0 && !present.contains(row))
        .map(|(row, digest)| Source { file: file.to_owned(), key: row.to_owned(), digest })
        .collect();
    gone.sort_by(|a, b| a.key.cmp(&b.key));
    gone
}

fn removable(file: &str, key: &str) -> Option<Removable> {
    match file {
        "loops.csv" => Some(Removable::Loop(key.to_owned())),
        "slots.csv" => SlotAddress::parse(key).ok().map(Removable::Slot),
        "rails.csv" => RailAddress::parse(key).ok().map(Removable::Rail),
        "cabinets.csv" => CabinetAddress::parse(key).ok().map(Removable::Cabinet),
        _ => BinPath::parse(key).ok().map(Removable::Bin),
    }
}
