//! Reads the files that people and other programs write about a site.
//!
//! What a cell may hold is said once, in `schemas/files/`; this module reads those schemas.
//! `site.json` must be there; any other file may be absent and then has no rows.

mod catalogue;
mod csv_file;
mod history;
mod json;
mod named_rules;
mod on_rail;
mod own_rules;
mod places;
mod problem;
mod procedure;
mod references;
mod rows;
mod rules;
mod schema;
mod settings;
mod spares_rules;
mod supply;
mod tables;
mod to_come;

pub use problem::Problem;
pub use procedure::built_in as built_in_procedure;
pub use rows::{
    BatteryRow, BinRow, CabinetRow, HistoryRow, LotRow, OrderRow, PowerOffRow, ReservationRow, Row,
    Site, SlotRow, UnitRow,
};

use chrono::NaiveDate;
use csv_file::Loaded;
use problem::{Problems, nearest};
use references::Read;
use slotkeep_domain::place::Rail;
use std::collections::HashMap;

/// Names of the files of a site, in the order in which they build on each other.
pub const FILES: [&str; 19] = [
    "site.json",
    "models.json",
    "areas.csv",
    "cabinets.csv",
    "rails.csv",
    "rail_items.csv",
    "slots.csv",
    "stores.csv",
    "bins.csv",
    "units.csv",
    "lots.csv",
    "loops.csv",
    "power_offs.csv",
    "history.csv",
    "orders.csv",
    "reservations.csv",
    "planned_changes.csv",
    "people.csv",
    "procedure.json",
];

/// A file of a site as it was read from the disk or sent.
#[derive(Debug, Clone)]
pub struct SiteFile {
    /// Name without folder, e.g. `units.csv`.
    pub name: String,
    pub bytes: Vec<u8>,
}

/// Reads the files of a site.
///
/// CSV files are UTF-8 with or without a byte order mark; comma, semicolon and tab separate;
/// beside semicolon and tab a comma may mark decimals. Dates after `today` are refused where
/// they tell of something that was done.
///
/// Fails with every problem of every file, in the order of files and lines.
pub fn parse(files: &[SiteFile], today: NaiveDate) -> Result<Site, Vec<Problem>> {
    let mut problems = Problems::default();
    names(files, &mut problems);
    let find = |name: &str| files.iter().find(|file| file.name == name);
    let (settings, key_schemes) = settings::settings(find("site.json"), &mut problems);
    let models = catalogue::models(find("models.json"), &mut problems);
    let procedure = procedure::procedure(find("procedure.json"), &mut problems);
    let mut source = tables::Source { files, problems: &mut problems };
    let people = tables::people(&mut source);
    let mut read = Read {
        today,
        settings,
        key_schemes,
        models,
        areas: places::areas(&mut source),
        cabinets: places::cabinets(&mut source),
        rails: places::rails(&mut source),
        items: places::rail_items(&mut source),
        slots: places::slots(&mut source),
        storerooms: places::storerooms(&mut source),
        bins: places::bins(&mut source),
        units: tables::units(&mut source),
        lots: tables::lots(&mut source),
        loops: tables::loops(&mut source),
        power_offs: tables::power_offs(&mut source),
        history: history::history(&mut source),
        orders: to_come::orders(&mut source),
        reservations: to_come::reservations(&mut source),
        planned_changes: to_come::planned_changes(&mut source),
    };
    references::check(&mut read, &mut problems);
    match (problems.list.is_empty(), read.settings) {
        (true, Some(settings)) => Ok(Site {
            settings,
            key_schemes: read.key_schemes,
            models: read.models,
            areas: read.areas.rows,
            cabinets: read.cabinets.rows,
            rails: furnished(read.rails, read.items),
            slots: read.slots.rows,
            storerooms: read.storerooms.rows,
            bins: read.bins.rows,
            units: read.units.rows,
            lots: read.lots.rows,
            loops: read.loops.rows,
            power_offs: read.power_offs.rows,
            history: read.history.rows.into_iter().map(without_serial).collect(),
            orders: read.orders.rows,
            reservations: read.reservations.rows,
            planned_changes: read.planned_changes.rows,
            people: people.rows,
            procedure,
        }),
        _ => Err(in_order(problems.list)),
    }
}

/// Notes files whose names mean nothing here, and files that are given twice.
fn names(files: &[SiteFile], problems: &mut Problems) {
    for (at, file) in files.iter().enumerate() {
        if files[..at].iter().any(|other| other.name == file.name) {
            problems.file(&file.name, 0, &file.name, "each file once");
        } else if !FILES.contains(&file.name.as_str()) {
            let hint = nearest(&file.name, FILES.into_iter()).unwrap_or_default();
            let expected = format!("a file of a site; the nearest name is {hint}");
            problems.file(&file.name, 0, &file.name, expected);
        }
    }
}

/// Puts the rail items onto their rails, left to right.
fn furnished(
    rails: Loaded<Rail>,
    items: Loaded<(slotkeep_domain::place::RailAddress, slotkeep_domain::place::RailItem)>,
) -> Vec<Row<Rail>> {
    let mut rails = rails.rows;
    let at: HashMap<String, usize> =
        rails.iter().enumerate().map(|(at, row)| (row.key.clone(), at)).collect();
    for row in items.rows {
        let (address, item) = row.value;
        if let Some(rail) = at.get(address.as_str()).and_then(|at| rails.get_mut(*at)) {
            // A sum of digests does not depend on the order of the lines.
            rail.digest = rail.digest.wrapping_add(row.digest);
            rail.value.items.push(item);
        }
    }
    for rail in &mut rails {
        rail.value.items.sort_by(|a, b| a.x_mm.total_cmp(&b.x_mm));
    }
    rails
}

fn without_serial(row: Row<history::Past>) -> Row<HistoryRow> {
    let Row { file, line, key, digest, value: (value, _) } = row;
    Row { file, line, key, digest, value }
}

fn in_order(mut problems: Vec<Problem>) -> Vec<Problem> {
    let rank = |file: &str| FILES.iter().position(|name| *name == file).unwrap_or(FILES.len());
    problems.sort_by_key(|problem| (rank(&problem.file), problem.line, problem.column));
    problems
}
