use super::{Outcome, Refusal, known};
use crate::journal::{Entry, PowerOff, PowerOffPlanned, PowerOffSettled, PowerScope};
use crate::register::{Change, KnownOff, PlannedOff, Settled, Table, View};
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// Records a stretch without power. With `corrects` it takes the place of one recorded before.
pub(super) fn record(view: &impl View, entry: &Entry, off: &PowerOff) -> Outcome {
    sound(view, off)?;
    over(off, entry.at)?;
    let replaced = replaced(view, entry, Table::PowerOff)?;
    apart(view, off, replaced)?;
    let mut changes = gone(Table::PowerOff, replaced, entry.id);
    changes.push(Change::PowerOff(entry.id, off.clone()));
    Ok(changes)
}

/// Plans a power-off. With `corrects` it takes the place of one planned before.
pub(super) fn plan(view: &impl View, entry: &Entry, planned: &PowerOffPlanned) -> Outcome {
    let PowerOffPlanned { scope, from, to, reason } = planned.clone();
    let off = PowerOff { scope, from, to, reason };
    sound(view, &off)?;
    let replaced = replaced(view, entry, Table::PlannedOff)?;
    if let Some(before) = replaced.and_then(|id| view.planned_off(&id)) {
        still_open(&before)?;
    }
    apart(view, &off, replaced)?;
    let mut changes = gone(Table::PlannedOff, replaced, entry.id);
    changes.push(Change::PlannedOff(PlannedOff { id: entry.id, off, settled: None }));
    Ok(changes)
}

/// Books a planned power-off as it happened, or notes that it was called off.
pub(super) fn settle(view: &impl View, entry: &Entry, settled: &PowerOffSettled) -> Outcome {
    let mut planned = view.planned_off(&settled.planned).ok_or_else(|| {
        Refusal::new(
            format!("no power-off was planned by entry {}", settled.planned),
            "choose one from the list of power-offs",
        )
    })?;
    still_open(&planned)?;
    let Some((from, to)) = settled.happened else {
        if settled.reason.trim().is_empty() {
            return Err(Refusal::new(
                format!("{} is called off without a reason", described(&planned.off)),
                "say why, or give the times at which power went and came back",
            ));
        }
        planned.settled = Some(Settled::CalledOff(settled.reason.clone()));
        return Ok(vec![Change::PlannedOff(planned)]);
    };
    let said = Some(&settled.reason).filter(|reason| !reason.trim().is_empty());
    let reason = said.unwrap_or(&planned.off.reason).clone();
    let off = PowerOff { scope: planned.off.scope.clone(), from, to, reason };
    sound(view, &off)?;
    over(&off, entry.at)?;
    apart(view, &off, Some(planned.id))?;
    planned.settled = Some(Settled::Happened(entry.id));
    Ok(vec![Change::PowerOff(entry.id, off), Change::PlannedOff(planned)])
}

fn sound(view: &impl View, off: &PowerOff) -> Result<(), Refusal> {
    if off.to <= off.from {
        return Err(Refusal::new(
            format!("the power-off of {} ends before it starts", named(&off.scope)),
            "correct the two times: power goes first and comes back later",
        ));
    }
    match &off.scope {
        PowerScope::Site => Ok(()),
        PowerScope::Area(code) => known(view.area(code), "area", code).map(drop),
        PowerScope::Cabinet(address) => known(view.cabinet(address), "cabinet", address).map(drop),
    }
}

fn over(off: &PowerOff, at: DateTime<Utc>) -> Result<(), Refusal> {
    if off.to <= at {
        return Ok(());
    }
    Err(Refusal::new(
        format!("{} had not ended when this was recorded", described(off)),
        "plan it, and settle the plan when power is back",
    ))
}

fn still_open(planned: &PlannedOff) -> Result<(), Refusal> {
    let what = described(&planned.off);
    match &planned.settled {
        None => Ok(()),
        Some(Settled::Happened(_)) => Err(Refusal::new(
            format!("{what} is settled already: it happened"),
            "correct the power-off that was recorded for it",
        )),
        Some(Settled::CalledOff(reason)) => Err(Refusal::new(
            format!("{what} is settled already: it was called off ({reason})"),
            "plan or record a new power-off",
        )),
    }
}

/// The record that an entry corrects, where that is one of this table.
fn replaced(view: &impl View, entry: &Entry, table: Table) -> Result<Option<Uuid>, Refusal> {
    let Some(before) = entry.corrects else { return Ok(None) };
    if view.knows(table, &before.to_string()) {
        return Ok(Some(before));
    }
    Err(Refusal::new(
        format!("entry {before} is no power-off that could be corrected by this"),
        "choose one from the list of power-offs",
    ))
}

fn gone(table: Table, replaced: Option<Uuid>, by: Uuid) -> Vec<Change> {
    let before = replaced.filter(|before| *before != by);
    before.map(|before| Change::Gone(table, before.to_string())).into_iter().collect()
}

/// Refuses a power-off that overlaps another of the same scope: hours would be counted twice.
fn apart(view: &impl View, off: &PowerOff, but: Option<Uuid>) -> Result<(), Refusal> {
    let overlaps = |other: &KnownOff| other.off.from < off.to && off.from < other.off.to;
    let others = view.offs_of(&off.scope);
    let Some(other) = others.iter().find(|other| Some(other.id) != but && overlaps(other)) else {
        return Ok(());
    };
    let (word, to_do) = if other.planned {
        ("planned", "settle that plan, or correct the times")
    } else {
        ("recorded", "correct the times, or correct that record")
    };
    let what = format!("{} overlaps the one {word} {}", described(off), times(&other.off));
    Err(Refusal::new(what, to_do))
}

fn described(off: &PowerOff) -> String {
    format!("the power-off of {} {}", named(&off.scope), times(off))
}

fn times(off: &PowerOff) -> String {
    let written = |at: DateTime<Utc>| at.format("%Y-%m-%d %H:%M UTC");
    format!("from {} to {}", written(off.from), written(off.to))
}

/// A scope in a sentence.
fn named(scope: &PowerScope) -> String {
    match scope {
        PowerScope::Site => "the site".to_owned(),
        PowerScope::Area(code) => format!("area {code}"),
        PowerScope::Cabinet(address) => format!("cabinet {address}"),
    }
}
