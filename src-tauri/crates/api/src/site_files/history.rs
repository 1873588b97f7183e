//! The CSV file of what happened before the register.

use super::HistoryRow;
use super::catalogue::word;
use super::csv_file::{Cells, Loaded, Misfit};
use super::schema::RowSchema;
use super::tables::{Source, maybe, means, part, schema, slot_address};
use chrono::NaiveDate;
use slotkeep_domain::journal::{CellFound, FailureNote, PastKind};

/// A past event, and the serial number that is still to be found among the units.
pub(super) type Past = (HistoryRow, Option<String>);

pub(super) fn history(source: &mut Source<'_>) -> Loaded<Past> {
    let schema = schema!("history");
    let [on, what, serial, model, slot, lot, quantity] =
        schema.at(["on", "what", "serial", "model", "slot", "lot", "quantity"]);
    let [mode, cause, detection, note] =
        schema.at(["failure_mode", "failure_cause", "detection", "note"]);
    let cell = schema.at(["found", "found_mv", "fitted_on"]);
    source.load(&schema, |c| {
        if !c.filled(serial) && !c.filled(model) && !c.filled(slot) {
            return Err((serial, "a serial number, a model or a slot that it tells of".to_owned()));
        }
        if c.filled(lot) && !c.filled(model) {
            return Err((model, "the model of the lot".to_owned()));
        }
        if !c.filled(mode) && (c.filled(cause) || c.filled(detection)) {
            return Err((mode, "the failure mode that cause and detection belong to".to_owned()));
        }
        let what_kind = means(what, word(PAST_KINDS, c.text(what)))?;
        let (found, fitted_on) = past_cell(c, what_kind, cell, on)?;
        let row = HistoryRow {
            on: c.date(on).unwrap_or_default(),
            what: what_kind,
            unit: None,
            model: maybe(c, model, part)?,
            slot: maybe(c, slot, slot_address)?,
            lot: c.optional(lot),
            quantity: c.count(quantity),
            failure: c.optional(mode).map(|mode| FailureNote {
                mode,
                cause: c.optional(cause),
                detection: c.optional(detection),
            }),
            found,
            found_mv: c.count(cell[1]),
            fitted_on,
            note: c.owned(note),
        };
        Ok((row, c.optional(serial)))
    })
}

/// How a battery was found, and when it had been fitted; only where the row is about a battery.
fn past_cell(
    cells: &Cells<'_>,
    what: PastKind,
    [found, mv, fitted]: [usize; 3],
    on: usize,
) -> Result<(Option<CellFound>, Option<NaiveDate>), Misfit> {
    let about_one = matches!(what, PastKind::BatteryChanged | PastKind::BatterySeen);
    if let Some(at) = [found, mv].into_iter().find(|at| cells.filled(*at))
        && !about_one
    {
        return Err((at, "nothing: only battery_changed and battery_seen tell of a cell".into()));
    }
    let came_out = matches!(what, PastKind::Failure | PastKind::NoFaultFound | PastKind::Removed);
    if cells.filled(fitted) && !about_one && !came_out {
        let expected = "nothing: only what came out, and batteries, had been fitted";
        return Err((fitted, expected.to_owned()));
    }
    let fitted_on = cells.date(fitted);
    if fitted_on.is_some() && fitted_on > cells.date(on) {
        return Err((fitted, "a date not after the day on which it was found".to_owned()));
    }
    let read = |c: &Cells<'_>, at| means(at, word(CELLS_FOUND, c.text(at)));
    Ok((maybe(cells, found, read)?, fitted_on))
}

const PAST_KINDS: &[(&str, PastKind)] = &[
    ("failure", PastKind::Failure),
    ("no_fault_found", PastKind::NoFaultFound),
    ("repair", PastKind::Repair),
    ("removed", PastKind::Removed),
    ("installed", PastKind::Installed),
    ("battery_changed", PastKind::BatteryChanged),
    ("battery_seen", PastKind::BatterySeen),
    ("inspection", PastKind::Inspection),
    ("received", PastKind::Received),
    ("issued", PastKind::Issued),
];

const CELLS_FOUND: &[(&str, CellFound)] = &[
    ("good", CellFound::Good),
    ("weak", CellFound::Weak),
    ("spent", CellFound::Spent),
    ("not_judged", CellFound::NotJudged),
];
