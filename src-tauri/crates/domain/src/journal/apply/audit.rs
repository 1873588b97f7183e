//! What an audit of a rail records, and what its settlements change.

use super::{Outcome, Refusal, known, unit};
use crate::audit::{Audit, Finding, Settled, Settlement};
use crate::journal::{AuditSettled, Entry, RailAudited, Removal};
use crate::label::LabelCode;
use crate::place::{RailAddress, SlotAddress};
use crate::register::{Change, View};
use crate::unit::{Unit, UnitPlace};
use std::collections::{BTreeMap, BTreeSet};

/// Takes an audit in. It takes the place of the one before, whose open findings are void.
pub(super) fn record(view: &impl View, entry: &Entry, audited: &RailAudited) -> Outcome {
    let rail = known(view.rail(&audited.rail), "rail", &audited.rail)?.address;
    if audited.pictures == 0 {
        return Err(Refusal::new(
            format!("the audit of {rail} has no photo"),
            "take a photo of the rail first",
        ));
    }
    let mut met = BTreeSet::new();
    for finding in &audited.findings {
        known(view.slot(&finding.slot), "slot", &finding.slot)?;
        if finding.slot.rail() != rail || !met.insert(&finding.slot) {
            return Err(Refusal::new(
                format!("slot {} is not of rail {rail}, or is named twice", finding.slot),
                "judge the photos again",
            ));
        }
        current(view, &finding.slot, finding.registered)?;
    }
    Ok(vec![Change::Audit(Audit {
        rail,
        id: entry.id,
        at: entry.at,
        person: entry.person.clone(),
        pictures: audited.pictures,
        photos: audited.photos.clone(),
        findings: audited.findings.clone(),
        loose: audited.loose.clone(),
        settled: BTreeMap::new(),
    })])
}

/// Settles one finding, or those of all units that were exchanged with each other.
pub(super) fn settle(view: &impl View, entry: &Entry, settled: &AuditSettled) -> Outcome {
    let rail = settled.slot.rail();
    let mut audit = named(view, &rail, settled)?;
    let finding = audit.finding(&settled.slot).cloned().ok_or_else(|| {
        Refusal::new(
            format!("the audit of {rail} says nothing of slot {}", settled.slot),
            "take new photos of the rail",
        )
    })?;
    if !finding.ways().contains(&settled.how) {
        return Err(Refusal::new(
            format!(
                "slot {} was found {}, which is not settled as {}",
                settled.slot,
                finding.found.word(),
                settled.how.word()
            ),
            "settle it in one of the ways that are offered",
        ));
    }
    waits(&audit, &settled.slot)?;
    let mut slots = vec![settled.slot.clone()];
    let mut changes = match settled.how {
        Settlement::Stands => {
            current(view, &settled.slot, finding.registered)?;
            Vec::new()
        }
        Settlement::Exchanged => {
            let ring = audit.ring(&settled.slot).ok_or_else(|| {
                Refusal::new(
                    format!("the audit does not say with what {} was exchanged", settled.slot),
                    "take new photos of the rail",
                )
            })?;
            for finding in &ring {
                waits(&audit, &finding.slot)?;
            }
            slots = ring.iter().map(|finding| finding.slot.clone()).collect();
            exchange(view, entry, &ring)?
        }
        Settlement::NotThere => {
            first(&audit, &finding)?;
            not_there(view, entry, &finding)?
        }
        Settlement::StandsHere => {
            first(&audit, &finding)?;
            stands_here(view, entry, &finding, settled)?
        }
        Settlement::TakenOut => taken_out(view, entry, &finding, settled)?,
        Settlement::LeftOpen if settled.note.trim().is_empty() => {
            return Err(Refusal::new(
                format!("slot {} is left open without a word", settled.slot),
                "say why, so that the next one knows",
            ));
        }
        Settlement::LeftOpen => Vec::new(),
    };
    // Whoever was brought elsewhere by this audit is missed nowhere else in it.
    if let (Settlement::StandsHere | Settlement::TakenOut, Some(unit)) = (settled.how, settled.unit)
    {
        audit.left(unit);
    }
    for slot in slots {
        audit.settled.insert(
            slot,
            Settled {
                entry: entry.id,
                at: entry.at,
                person: entry.person.clone(),
                how: settled.how,
                reprint: settled.reprint,
                note: settled.note.clone(),
            },
        );
    }
    changes.push(Change::Audit(audit));
    Ok(changes)
}

/// The audit that a settlement names; only the newest of a rail can be settled.
fn named(view: &impl View, rail: &RailAddress, settled: &AuditSettled) -> Result<Audit, Refusal> {
    match view.audit(rail) {
        Some(audit) if audit.id == settled.audit => Ok(audit),
        Some(newer) => Err(Refusal::new(
            format!(
                "rail {rail} was audited again by {} on {}",
                newer.person,
                newer.at.date_naive()
            ),
            "settle it in that audit",
        )),
        None => Err(Refusal::new(
            format!("rail {rail} has no audit"),
            "take photos of the rail and record the audit first",
        )),
    }
}

fn waits(audit: &Audit, slot: &SlotAddress) -> Result<(), Refusal> {
    match audit.settled.get(slot) {
        Some(done) if done.how != Settlement::LeftOpen => Err(Refusal::new(
            format!("slot {slot} was settled by {} on {}", done.person, done.at.date_naive()),
            "take new photos if it is not so any more",
        )),
        _ => Ok(()),
    }
}

/// Refuses where the register has changed since the photos were judged.
fn current(
    view: &impl View,
    slot: &SlotAddress,
    registered: Option<LabelCode>,
) -> Result<(), Refusal> {
    let now = view.unit_in(slot);
    if now == registered {
        return Ok(());
    }
    let said = |unit: Option<LabelCode>| {
        unit.map_or("nothing".to_owned(), |unit| format!("unit {}", unit.human()))
    };
    Err(Refusal::new(
        format!(
            "the register has {} in slot {slot} now, and had {} when the photos were judged",
            said(now),
            said(registered)
        ),
        "take new photos: what these show no longer settles anything",
    ))
}

/// Refuses where work in a slot has begun and not ended.
fn no_swap(view: &impl View, slot: &SlotAddress) -> Result<(), Refusal> {
    match view.open_swap(slot) {
        Some(_) => Err(Refusal::new(
            format!("a swap is under way in slot {slot}"),
            "finish it or give it up first, so that its steps say what stands where",
        )),
        None => Ok(()),
    }
}

/// Refuses to lose a unit that the same photos show in another slot.
fn first(audit: &Audit, finding: &Finding) -> Result<(), Refusal> {
    let Some(unit) = finding.registered else { return Ok(()) };
    match audit.seen_elsewhere(unit) {
        Some(slot) => Err(Refusal::new(
            format!("unit {} of slot {} was seen in slot {slot}", unit.human(), finding.slot),
            format!("settle slot {slot} first, so that the unit is not lost on the way"),
        )),
        None => Ok(()),
    }
}

/// Lets units change places in the register. They were in service all the time, so their hours
/// go on: each stay ends now, and the next begins now.
fn exchange(view: &impl View, entry: &Entry, ring: &[&Finding]) -> Outcome {
    for finding in ring {
        current(view, &finding.slot, finding.registered)?;
        no_swap(view, &finding.slot)?;
    }
    let mut changes = Vec::new();
    for (nth, finding) in (0..).zip(ring) {
        let label = known(finding.registered, "unit in slot", &finding.slot)?;
        let standing = known(view.unit(&label), "unit", label.human())?;
        let to = known(finding.with.as_ref(), "slot of unit", label.human())?;
        changes.extend(follows(view, entry, standing, to, nth)?);
    }
    Ok(changes)
}

/// Books a unit into the slot in which it was found. `nth`: how many the entry moved before.
fn follows(
    view: &impl View,
    entry: &Entry,
    mut standing: Unit,
    to: &SlotAddress,
    nth: u8,
) -> Outcome {
    let slot = known(view.slot(to), "slot", to)?;
    let model = known(view.model(&standing.model), "model", &standing.model)?;
    unit::plugs(&slot, &standing, &model).map_err(|refusal| {
        Refusal::new(
            format!("{}: it cannot stand there", refusal.what),
            "read the labels again, they may hang on the wrong units; correct the register if \
             the base was re-keyed",
        )
    })?;
    let mut changes = Vec::new();
    match standing.place.slot().cloned() {
        Some(from) => {
            let stay = unit::moved_on(entry, &standing, &from, nth);
            standing.last_stay = stay.as_ref().map(|stay| stay.id).or(standing.last_stay);
            changes.extend(stay.map(Change::Stay));
        }
        // Nobody knows when it was put in.
        None => standing.since_unknown = true,
    }
    standing.place = UnitPlace::Slot(to.clone());
    standing.since = entry.at;
    changes.push(Change::Unit(standing));
    Ok(changes)
}

/// Loses the registered unit. Until when it stood there nobody knows, so the stay gives neither
/// hours nor a failure.
fn not_there(view: &impl View, entry: &Entry, finding: &Finding) -> Outcome {
    current(view, &finding.slot, finding.registered)?;
    no_swap(view, &finding.slot)?;
    let Some(label) = finding.registered else { return Ok(Vec::new()) };
    let mut lost = known(view.unit(&label), "unit", label.human())?;
    lost.place = UnitPlace::Lost;
    lost.since = entry.at;
    lost.since_unknown = false;
    lost.last_stay = None;
    Ok(vec![Change::Unit(lost)])
}

/// Puts another unit into the slot, as it was found; the registered one is then not there.
fn stands_here(
    view: &impl View,
    entry: &Entry,
    finding: &Finding,
    settled: &AuditSettled,
) -> Outcome {
    let Some(label) = settled.unit else {
        return Err(Refusal::new(
            format!("it is not said which unit stands in slot {}", finding.slot),
            "scan its label, or register the unit first",
        ));
    };
    let found = known(view.unit(&label), "unit", label.human())?;
    if finding.registered == Some(label) {
        return Err(Refusal::new(
            format!("unit {} is the one that the register has there", label.human()),
            "settle it as standing there as registered",
        ));
    }
    if found.place == UnitPlace::Scrapped {
        return Err(Refusal::new(
            format!("unit {} stands in slot {}, but it is scrapped", label.human(), finding.slot),
            "swap it out by the swap's steps: it must not be in service",
        ));
    }
    if let Some(from) = found.place.slot() {
        no_swap(view, from)?;
    }
    let mut changes = not_there(view, entry, finding)?;
    changes.extend(follows(view, entry, found, &finding.slot, 0)?);
    Ok(changes)
}

/// Brings what did not belong in the slot to the bench; a label that is not in the register
/// brings nothing.
fn taken_out(
    view: &impl View,
    entry: &Entry,
    finding: &Finding,
    settled: &AuditSettled,
) -> Outcome {
    current(view, &finding.slot, finding.registered)?;
    no_swap(view, &finding.slot)?;
    let Some(mut out) = settled.unit.and_then(|label| view.unit(&label)) else {
        return Ok(Vec::new());
    };
    if let Some(from) = out.place.slot().cloned() {
        if from == finding.slot {
            return Err(Refusal::new(
                format!("unit {} belongs in slot {from}", out.label.human()),
                "settle it as standing there as registered, or swap it",
            ));
        }
        no_swap(view, &from)?;
        let removal = Removal {
            to: UnitPlace::Bench,
            condition: out.condition,
            failure: None,
            note: settled.note.clone(),
        };
        return unit::take_out(view, entry, &out.label.clone(), &from, &removal);
    }
    if out.place == UnitPlace::Scrapped {
        return Ok(Vec::new());
    }
    out.place = UnitPlace::Bench;
    out.since = entry.at;
    out.since_unknown = false;
    Ok(vec![Change::Unit(out)])
}
