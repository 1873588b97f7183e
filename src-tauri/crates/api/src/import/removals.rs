use super::plan::Planner;
use crate::site_files::{Row, Site};
use slotkeep_domain::journal::{Body, Entry, PlaceRemoved, Removable, Source};
use slotkeep_domain::place::{BinPath, CabinetAddress, RailAddress, SlotAddress};
use slotkeep_domain::register::{Change, Table};
use std::collections::HashSet;

/// Files whose rows are taken out of the register when they vanish, innermost places first.
const REMOVABLE: [&str; 5] = ["loops.csv", "slots.csv", "rails.csv", "cabinets.csv", "bins.csv"];

/// Plans what follows from rows that were there at the last import and are gone now.
///
/// Places and loops leave the register; units, lots and models stay, since a missing row does
/// not say where they went.
pub(super) fn plan<F: Fn(Body, Source) -> Entry>(
    planner: &mut Planner<F>,
    site: &Site,
    files: &[&str],
) {
    for file in REMOVABLE {
        if files.contains(&file) {
            let present = keys(site, file);
            for source in vanished(planner, file, &present) {
                if let Some(what) = removable(file, &source.key) {
                    let removed = PlaceRemoved { what, reason: format!("no longer in {file}") };
                    let gone = Source { digest: 0, ..source };
                    planner.add_from(gone, 0, Body::PlaceRemoved(removed));
                }
            }
        }
    }
    for file in ["units.csv", "lots.csv"] {
        if files.contains(&file) {
            let present = keys(site, file);
            let gone = vanished(planner, file, &present).len();
            if gone > 0 {
                planner.plan.notes.push(format!(
                    "{gone} rows are no longer in {file}: what they named stays in the register \
                     until somebody moves, issues or scraps it"
                ));
            }
        }
    }
}

fn keys(site: &Site, file: &str) -> HashSet<String> {
    fn of<T>(rows: &[Row<T>]) -> HashSet<String> {
        rows.iter().map(|row| row.key.clone()).collect()
    }
    match file {
        "loops.csv" => of(&site.loops),
        "slots.csv" => of(&site.slots),
        "rails.csv" => of(&site.rails),
        "cabinets.csv" => of(&site.cabinets),
        "bins.csv" => of(&site.bins),
        "units.csv" => of(&site.units),
        _ => of(&site.lots),
    }
}

fn vanished<F: Fn(Body, Source) -> Entry>(
    planner: &Planner<F>,
    file: &str,
    present: &HashSet<String>,
) -> Vec<Source> {
    let imported = planner.ledger().records(Table::Imported).filter_map(|change| match change {
        Change::Imported(imported) => Some(&imported.source),
        _ => None,
    });
    // A digest of 0 marks a row whose vanishing was recorded before.
    let mut gone: Vec<Source> = imported
        .filter(|source| source.file == file && source.digest != 0)
        .filter(|source| !present.contains(&source.key))
        .cloned()
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
