use super::super::history::Past;
use super::super::problem::{Problems, nearest};
use super::super::{HistoryRow, Row};
use super::{Models, Read, known, model, not_later};
use slotkeep_domain::journal::PowerScope;
use slotkeep_domain::place::Choice;
use std::collections::{HashMap, HashSet};

/// Checks power-offs and past events; returns the index of the unit of each past event.
pub(super) fn check(
    read: &Read,
    models: &Models<'_>,
    problems: &mut Problems,
) -> Vec<Option<usize>> {
    for row in &read.power_offs.rows {
        let at = (row.file, row.line, "scope");
        if !row.value.planned && row.value.off.to.date_naive() > read.today {
            let expected = "a time that has passed; write planned: yes for one that is to come";
            problems.cell(row.file, row.line, "to", row.value.off.to.to_rfc3339(), expected);
        }
        match &row.value.off.scope {
            PowerScope::Site => {}
            PowerScope::Area(code) => {
                known(&read.areas, "areas.csv", code, at, problems);
            }
            PowerScope::Cabinet(address) => {
                known(&read.cabinets, "cabinets.csv", address.as_str(), at, problems);
            }
        }
    }
    let mut by_serial: HashMap<&str, Vec<usize>> = HashMap::new();
    for (at, row) in read.units.rows.iter().enumerate() {
        by_serial.entry(&row.value.serial).or_default().push(at);
    }
    let lots: HashSet<(&str, &str)> = read.lots.keys().filter_map(model_and_code).collect();
    let serials = Serials { read, by_serial };
    read.history
        .rows
        .iter()
        .map(|row| {
            past(read, models, &lots, row, problems);
            serials.find(row, problems)
        })
        .collect()
}

fn past(
    read: &Read,
    models: &Models<'_>,
    lots: &HashSet<(&str, &str)>,
    row: &Row<Past>,
    problems: &mut Problems,
) {
    let past = &row.value.0;
    let at = |field| (row.file, row.line, field);
    not_later(read.today, Some(past.on), at("on"), problems);
    if let Some(slot) = &past.slot {
        known(&read.slots, "slots.csv", slot.as_str(), at("slot"), problems);
    }
    if let Some(part_no) = &past.model {
        model(models, part_no.as_str(), at("model"), problems);
        if let Some(lot) = &past.lot
            && !problems.unread.contains("lots.csv")
            && !lots.contains(&(part_no.as_str(), lot.as_str()))
        {
            let expected = format!("a lot of {part_no} in lots.csv, or nothing if it is used up");
            problems.cell(row.file, row.line, "lot", lot, expected);
        }
    }
    failure(read, row, past, problems);
}

/// Model and lot code out of the key of a lot, which ends with the bin.
fn model_and_code(key: &str) -> Option<(&str, &str)> {
    key.rsplit_once('\t')?.0.split_once('\t')
}

fn failure(read: &Read, row: &Row<Past>, past: &HistoryRow, problems: &mut Problems) {
    let (Some(failure), Some(settings)) = (&past.failure, &read.settings) else { return };
    let settings = &settings.value;
    let lists: [(&str, Option<&String>, &[Choice]); 3] = [
        ("failure_mode", Some(&failure.mode), &settings.failure_modes),
        ("failure_cause", failure.cause.as_ref(), &settings.failure_causes),
        ("detection", failure.detection.as_ref(), &settings.detection_methods),
    ];
    for (field, code, list) in lists {
        let Some(code) = code else { continue };
        if !list.is_empty() && !list.iter().any(|choice| choice.code == *code) {
            let codes: Vec<_> = list.iter().map(|choice| choice.code.as_str()).collect();
            let expected = format!("a code of site.json: {}", codes.join(", "));
            problems.cell(row.file, row.line, field, code, expected);
        }
    }
}

struct Serials<'a> {
    read: &'a Read,
    by_serial: HashMap<&'a str, Vec<usize>>,
}

impl Serials<'_> {
    /// The unit of a past event, by its serial number and, where given, its model.
    fn find(&self, row: &Row<Past>, problems: &mut Problems) -> Option<usize> {
        let (past, serial) = &row.value;
        let serial = serial.as_deref()?;
        let units = &self.read.units.rows;
        let named = self.by_serial.get(serial).map(Vec::as_slice).unwrap_or_default();
        let fits = |at: &&usize| {
            let model = units.get(**at).map(|unit| &unit.value.model);
            past.model.as_ref().is_none_or(|wanted| Some(wanted) == model)
        };
        let mut found = named.iter().filter(fits);
        match (found.next(), found.next()) {
            (Some(at), None) => Some(*at),
            (Some(_), Some(_)) => {
                let expected = "the model too: two units of units.csv have this serial number";
                problems.cell(row.file, row.line, "serial", serial, expected);
                None
            }
            _ if problems.unread.contains("units.csv") || self.is_on_a_bad_row(serial) => None,
            _ => {
                let hint = nearest(serial, self.by_serial.keys().copied());
                let hint = hint.map_or(String::new(), |hint| format!("; the nearest is {hint}"));
                let expected = format!(
                    "a serial number of units.csv, where a scrapped unit is kept too{hint}"
                );
                problems.cell(row.file, row.line, "serial", serial, expected);
                None
            }
        }
    }

    /// Whether a unit row that is itself reported names the serial number.
    fn is_on_a_bad_row(&self, serial: &str) -> bool {
        self.read.units.keys().any(|key| key.rsplit('\t').next() == Some(serial))
    }
}
