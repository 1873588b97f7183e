//! Whether the rows of a site fit each other.

mod catalogue;
mod evidence;
mod places;
mod stock;
mod to_come;

use super::csv_file::Loaded;
use super::history::Past;
use super::problem::{Problems, nearest};
use super::{
    BinRow, CabinetRow, LotRow, OrderRow, PowerOffRow, ReservationRow, Row, SlotRow, UnitRow,
};
use chrono::NaiveDate;
use slotkeep_domain::journal::PopulationPlanned;
use slotkeep_domain::key::{KeyScheme, KeySetting};
use slotkeep_domain::loops::Loop;
use slotkeep_domain::model::Model;
use slotkeep_domain::place::{Area, Rail, RailAddress, RailItem, Site as Settings, Storeroom};
use std::collections::HashMap;

/// Everything that was read, before it is known to fit together.
pub(super) struct Read {
    pub today: NaiveDate,
    pub settings: Option<Row<Settings>>,
    pub key_schemes: Vec<Row<KeyScheme>>,
    pub models: Vec<Row<Model>>,
    pub areas: Loaded<Area>,
    pub cabinets: Loaded<CabinetRow>,
    pub rails: Loaded<Rail>,
    pub items: Loaded<(RailAddress, RailItem)>,
    pub slots: Loaded<SlotRow>,
    pub storerooms: Loaded<Storeroom>,
    pub bins: Loaded<BinRow>,
    pub units: Loaded<UnitRow>,
    pub lots: Loaded<LotRow>,
    pub loops: Loaded<Loop>,
    pub power_offs: Loaded<PowerOffRow>,
    pub history: Loaded<Past>,
    pub orders: Loaded<OrderRow>,
    pub reservations: Loaded<ReservationRow>,
    pub planned_changes: Loaded<PopulationPlanned>,
}

/// The catalogue by part number.
type Models<'a> = HashMap<&'a str, &'a Model>;

/// Notes every row that does not fit another, and finds the unit of each past event.
pub(super) fn check(read: &mut Read, problems: &mut Problems) {
    let found = {
        let models = catalogue::check(read, problems);
        places::check(read, &models, problems);
        stock::check(read, &models, problems);
        to_come::check(read, &models, problems);
        evidence::check(read, &models, problems)
    };
    for (row, unit) in read.history.rows.iter_mut().zip(found) {
        row.value.0.unit = unit;
    }
}

/// Notes a reference to a key that a file does not have.
fn known<T>(
    loaded: &Loaded<T>,
    of: &str,
    key: &str,
    at: (&'static str, u32, &str),
    problems: &mut Problems,
) {
    let there = loaded.knows(key) || problems.unread.contains(of);
    if !there {
        let hint = nearest(key, loaded.keys());
        let hint = hint.map_or(String::new(), |hint| format!("; the nearest is {hint}"));
        problems.cell(at.0, at.1, at.2, key, format!("a row of {of}{hint}"));
    }
}

/// Finds a model or notes that the catalogue lacks it.
fn model<'a>(
    models: &Models<'a>,
    part_no: &str,
    at: (&'static str, u32, &str),
    problems: &mut Problems,
) -> Option<&'a Model> {
    let found = models.get(part_no).copied();
    let unjudged = problems.unread.contains("models.json") || problems.bad_models.contains(part_no);
    if found.is_none() && !unjudged {
        let hint = nearest(part_no, models.keys().copied());
        let hint = hint.map_or(String::new(), |hint| format!("; the nearest is {hint}"));
        problems.cell(at.0, at.1, at.2, part_no, format!("a part number of models.json{hint}"));
    }
    found
}

/// What is wrong with a key setting: the field and what was expected.
fn key_misfit(
    schemes: &[Row<KeyScheme>],
    key: &KeySetting,
    problems: &Problems,
) -> Option<(&'static str, String)> {
    if problems.unread.contains("site.json") {
        return None;
    }
    match schemes.iter().find(|row| row.key == key.scheme) {
        None => {
            let names: Vec<_> = schemes.iter().map(|row| row.key.as_str()).collect();
            Some(("key_scheme", format!("a key scheme of site.json: {}", names.join(", "))))
        }
        Some(scheme) => scheme.value.setting(&key.code).err().map(|why| {
            let scheme = &scheme.value;
            let wanted = format!("{} of the letters {}", scheme.keys, scheme.letters);
            ("key_code", format!("{wanted} ({why})"))
        }),
    }
}

/// Notes a date that lies after today.
fn not_later(
    today: NaiveDate,
    date: Option<NaiveDate>,
    at: (&'static str, u32, &str),
    problems: &mut Problems,
) {
    if let Some(date) = date
        && date > today
    {
        problems.cell(at.0, at.1, at.2, date, format!("a date not after today, {today}"));
    }
}
