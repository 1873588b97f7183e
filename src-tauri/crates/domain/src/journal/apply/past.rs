//! What happened before the register: evidence that moves nothing.

use super::{Outcome, Refusal, known};
use crate::journal::{CellFound, Entry, PastEvent, PastKind};
use crate::model::PartNo;
use crate::register::{CellEvidence, Change, Failure, Issue, Stay, StayEnd, Table, View};
use chrono::{NaiveDate, NaiveTime};

pub(super) fn take_in(view: &impl View, entry: &Entry, past: &PastEvent) -> Outcome {
    let unit = match &past.unit {
        Some(label) => Some(known(view.unit(label), "unit", label.human())?),
        None => None,
    };
    let model = past.model.clone().or(unit.map(|unit| unit.model));
    let Some(model) = model else { return Ok(Vec::new()) };
    known(view.knows(Table::Model, model.as_str()).then_some(()), "model", &model)?;
    let cell = match past.what {
        PastKind::Failure | PastKind::NoFaultFound | PastKind::Removed => None,
        PastKind::Issued => return Ok(issue(entry, past, &model)),
        PastKind::BatteryChanged | PastKind::BatterySeen => cell(view, past, &model)?,
        _ => return Ok(Vec::new()),
    };
    let at = past.on.and_time(NaiveTime::MIN).and_utc();
    let mut changes: Vec<Change> = stay(entry, past, &model)?.into_iter().collect();
    if past.what == PastKind::Removed {
        return Ok(changes);
    }
    let found = past.found.filter(|found| *found != CellFound::NotJudged);
    let failure = past.failure.as_ref().map(|failure| failure.mode.clone());
    changes.push(Change::Failure(Failure {
        id: entry.id,
        what: past.what,
        at,
        model,
        unit: past.unit,
        slot: past.slot.clone(),
        mode: failure.or(found.map(|found| found.word().to_owned())),
        cell,
    }));
    Ok(changes)
}

/// The stay that an old record of a removal tells of, where it says when the unit was fitted.
fn stay(entry: &Entry, past: &PastEvent, model: &PartNo) -> Result<Option<Change>, Refusal> {
    let ended_by = match past.what {
        PastKind::Failure => StayEnd::Failure,
        PastKind::NoFaultFound => StayEnd::NoFaultFound,
        PastKind::Removed => StayEnd::Other,
        _ => return Ok(None),
    };
    let Some(fitted_on) = past.fitted_on else { return Ok(None) };
    if fitted_on > past.on {
        return Err(Refusal::new(
            format!("what came out on {} was fitted on {fitted_on}", past.on),
            "correct one of the two days",
        ));
    }
    let at = |day: NaiveDate| day.and_time(NaiveTime::MIN).and_utc();
    Ok(Some(Change::Stay(Stay {
        id: entry.id,
        unit: past.unit,
        model: model.clone(),
        slot: past.slot.clone(),
        from: at(fitted_on),
        to: at(past.on),
        ended_by,
    })))
}

/// Pieces that an old record says were handed out.
fn issue(entry: &Entry, past: &PastEvent, model: &PartNo) -> Vec<Change> {
    let pieces = past.quantity.filter(|pieces| *pieces > 0);
    let issue = pieces.map(|pieces| Issue {
        id: entry.id,
        at: past.on.and_time(NaiveTime::MIN).and_utc(),
        model: model.clone(),
        storeroom: None,
        pieces,
    });
    issue.map(Change::Issue).into_iter().collect()
}

/// What an old record says of a cell; the model named is the battery, or what takes it.
fn cell(
    view: &impl View,
    past: &PastEvent,
    model: &PartNo,
) -> Result<Option<CellEvidence>, Refusal> {
    super::battery::voltage(past.found_mv)?;
    if let Some(fitted_on) = past.fitted_on
        && fitted_on > past.on
    {
        return Err(Refusal::new(
            format!("the battery that was found on {} was fitted on {fitted_on}", past.on),
            "correct one of the two days",
        ));
    }
    let Some(model) = view.model(model) else { return Ok(None) };
    let battery = match model.battery {
        Some(need) => need.model,
        None if model.cell.is_some() => model.part_no,
        None => return Ok(None),
    };
    let found = past.found.unwrap_or(CellFound::NotJudged);
    Ok(Some(CellEvidence { battery, fitted_on: past.fitted_on, found, mv: past.found_mv }))
}
