//! An audit as it is shown: what was found of each slot, and how it may be settled.

use super::label;
use super::lines::Catalogue;
use super::swap::cautions;
use crate::Failure;
use crate::wire::audit::{
    self as wire, AuditCounts, AuditSettledLine, AuditSlot, AuditWay, LooseLabel, RailAudit,
};
use chrono::{DateTime, Utc};
use slotkeep_domain::audit::{Audit, Finding, Found, Settlement};
use slotkeep_domain::journal::{AuditSettled, Body, Entry, RailAudited, apply};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::register::View;
use slotkeep_store::Reader;
use uuid::Uuid;

/// What is shown: a recorded audit, or what would be recorded.
pub(super) struct Shown<'a> {
    pub audit: Option<&'a Audit>,
    pub body: &'a RailAudited,
}

pub(super) fn of(
    r: &Reader<'_>,
    shown: &Shown<'_>,
    now: DateTime<Utc>,
) -> Result<RailAudit, Failure> {
    let catalogue = Catalogue::new(r);
    let (audit, body) = (shown.audit, shown.body);
    let counts = counts(audit, &body.findings);
    let slots = body.findings.iter().map(|finding| slot(r, &catalogue, audit, finding, now));
    let loose = body.loose.iter().map(|label| loose(r, &catalogue, label));
    Ok(RailAudit {
        rail: body.rail.to_string(),
        rail_title: r.rail(&body.rail).map(|rail| rail.title).unwrap_or_default(),
        audit: audit.map(|audit| audit.id),
        at: audit.map(|audit| audit.at),
        person: audit.map(|audit| audit.person.clone()),
        pictures: body.pictures,
        photos: body.photos.iter().map(ToString::to_string).collect(),
        slots: slots.collect(),
        loose: loose.collect(),
        message: format!("rail {}: {}", body.rail, summary(&body.findings)),
        counts,
        cautions: cautions(),
    })
}

/// How many slots were found how, and how many wait for somebody.
pub(super) fn counts(audit: Option<&Audit>, findings: &[Finding]) -> AuditCounts {
    let of = |found: Found| findings.iter().filter(|f| f.found == found).count() as u32;
    let open = |finding: &&Finding| match audit {
        Some(audit) => audit.is_open(finding),
        None => finding.found.differs(),
    };
    AuditCounts {
        present: of(Found::Present),
        place_unsure: of(Found::PlaceUnsure),
        empty: of(Found::Empty),
        exchanged: of(Found::Exchanged),
        strange: of(Found::Strange),
        unreadable: of(Found::Unreadable),
        missing: of(Found::Missing),
        contradicted: of(Found::Contradicted),
        not_covered: of(Found::NotCovered),
        open: findings.iter().filter(open).count() as u32,
    }
}

/// The counts in words, without those that are nought.
pub(super) fn summary(findings: &[Finding]) -> String {
    let said = |(found, words): (Found, &str)| {
        let count = findings.iter().filter(|finding| finding.found == found).count();
        (count > 0).then(|| format!("{count} {words}"))
    };
    let parts: Vec<String> = [
        (Found::Present, "as registered"),
        (Found::Exchanged, "exchanged"),
        (Found::Strange, "strange"),
        (Found::PlaceUnsure, "seen, but not for certain in its slot"),
        (Found::Missing, "without a label"),
        (Found::Unreadable, "unreadable"),
        (Found::Contradicted, "contradicted"),
        (Found::Empty, "empty as registered"),
        (Found::NotCovered, "not looked at"),
    ]
    .into_iter()
    .filter_map(said)
    .collect();
    parts.join(", ")
}

fn slot(
    r: &Reader<'_>,
    catalogue: &Catalogue<'_, '_>,
    audit: Option<&Audit>,
    finding: &Finding,
    now: DateTime<Utc>,
) -> AuditSlot {
    let line = |label: &LabelCode| r.unit(label).map(|unit| catalogue.unit(&unit));
    let settled = audit.and_then(|audit| audit.settled.get(&finding.slot));
    let open = match audit {
        Some(audit) => audit.is_open(finding),
        None => finding.found.differs(),
    };
    let may = |settled: &slotkeep_domain::audit::Settled| settled.how == Settlement::LeftOpen;
    let waits = settled.is_none_or(may);
    AuditSlot {
        slot: finding.slot.to_string(),
        number: finding.slot.number().to_owned(),
        found: found(finding.found),
        registered: finding.registered.as_ref().and_then(line),
        seen_label: finding.seen.map(|label| label.human()),
        seen: finding.seen.as_ref().and_then(line),
        with: finding.with.as_ref().map(ToString::to_string),
        picture: None,
        photo: finding.photo.as_ref().map(ToString::to_string),
        message: message(r, finding),
        open,
        ways: match audit {
            Some(audit) if waits => ways(r, audit, finding, now),
            _ => Vec::new(),
        },
        settled: settled.map(|settled| AuditSettledLine {
            how: how(settled.how),
            at: settled.at,
            person: settled.person.clone(),
            reprint: settled.reprint,
            note: settled.note.clone(),
        }),
        open_swap: r.open_swap(&finding.slot),
    }
}

/// Model and serial number, or the label where the register does not know it.
fn named(r: &Reader<'_>, label: &LabelCode) -> String {
    match r.unit(label) {
        Some(unit) => format!("{} {}", unit.model, unit.serial),
        None => format!("label {}", label.human()),
    }
}

fn message(r: &Reader<'_>, finding: &Finding) -> String {
    let slot = &finding.slot;
    let wanted = finding.registered.map(|label| named(r, &label));
    let should = match &wanted {
        Some(wanted) => format!("slot {slot} should carry {wanted}"),
        None => format!("slot {slot} is empty in the register"),
    };
    let seen = finding.seen.map(|label| named(r, &label)).unwrap_or_default();
    let place = || match finding.seen.and_then(|label| r.unit(&label)) {
        Some(unit) => format!("which the register has in {}", unit.place),
        None => "which is not in the register".to_owned(),
    };
    match finding.found {
        Found::Present => format!("{seen} is in its slot"),
        Found::PlaceUnsure => format!(
            "{should}; its label is on the photo, but seen like this it could as well stand one \
             slot further on: look again from the front, with more labels in the photo"
        ),
        Found::Empty => "empty in the register, and no label is in its place".to_owned(),
        Found::Exchanged => {
            let with = finding.with.as_ref().map(ToString::to_string).unwrap_or_default();
            format!("{should}; the photo shows {seen} there, and its own unit in slot {with}")
        }
        Found::Strange => format!("{should}; the photo shows {seen} there, {}", place()),
        Found::Unreadable if finding.seen.is_some() => format!(
            "{should}; the label there is too poor to prove anything, and looks most like {seen}: \
             compare the line printed beside it"
        ),
        Found::Unreadable => {
            format!("{should}; a label is there and cannot be read: look at it, or go closer")
        }
        Found::Missing => format!(
            "{should}; its place is on the photo and shows no label: look whether the unit is \
             gone, or only its label"
        ),
        Found::Contradicted => {
            format!("{should}; the photos contradict each other: look at it, or take them again")
        }
        Found::NotCovered => format!("{should}; no photo shows its place: it was not looked at"),
    }
}

/// The ways to settle a finding, each tried on the register as it is now.
fn ways(r: &Reader<'_>, audit: &Audit, finding: &Finding, now: DateTime<Utc>) -> Vec<AuditWay> {
    let ways = finding.ways().into_iter();
    ways.map(|way| {
        let unit = unit_of(finding, way);
        let asks_unit = way == Settlement::StandsHere && unit.is_none();
        let body = AuditSettled {
            audit: audit.id,
            slot: finding.slot.clone(),
            how: way,
            registered: finding.registered,
            unit,
            exchanged: Vec::new(),
            reprint: false,
            photo: None,
            note: "tried".to_owned(),
        };
        let entry = Entry {
            id: Uuid::nil(),
            at: now,
            person: "tried".to_owned(),
            device: String::new(),
            corrects: None,
            source: None,
            body: Body::AuditSettled(body),
        };
        let tried = if asks_unit { Ok(Vec::new()) } else { apply(r, &entry) };
        AuditWay {
            how: how(way),
            does: does(r, finding, way),
            refused: tried.err().map(|refusal| refusal.to_string()),
            asks_unit,
        }
    })
    .collect()
}

/// The unit that a settlement is about by the photo. What was only recognised names none.
pub(super) fn unit_of(finding: &Finding, way: Settlement) -> Option<LabelCode> {
    match (way, finding.found) {
        (Settlement::StandsHere | Settlement::TakenOut, Found::Strange) => finding.seen,
        _ => None,
    }
}

fn does(r: &Reader<'_>, finding: &Finding, way: Settlement) -> String {
    let slot = &finding.slot;
    let name =
        |label: Option<LabelCode>| label.map_or("the unit".to_owned(), |label| named(r, &label));
    let (own, seen) = (name(finding.registered), name(unit_of(finding, way)));
    match way {
        Settlement::Stands => format!("{own} stands in {slot}: you looked at it"),
        Settlement::Exchanged => {
            "the register will have the exchanged units where the photos show them".to_owned()
        }
        Settlement::NotThere => {
            format!("{own} will be lost in the register until somebody finds it")
        }
        Settlement::StandsHere => {
            let lost = match finding.registered {
                Some(_) => format!("; {own} will be lost until somebody finds it"),
                None => String::new(),
            };
            format!("the register will have {seen} in {slot}{lost}")
        }
        Settlement::TakenOut
            if unit_of(finding, way).is_some_and(|label| r.unit(&label).is_some()) =>
        {
            format!("{seen} is out of {slot} already, and on the bench")
        }
        Settlement::TakenOut => format!("what did not belong in {slot} is out already"),
        Settlement::LeftOpen => "it stays open, with your note".to_owned(),
    }
}

fn loose(r: &Reader<'_>, catalogue: &Catalogue<'_, '_>, label: &LabelCode) -> LooseLabel {
    LooseLabel {
        label_human: label.human(),
        message: label::thing(r, label.as_str()).message,
        unit: r.unit(label).map(|unit| catalogue.unit(&unit)),
    }
}

fn found(found: Found) -> wire::AuditFound {
    match found {
        Found::Present => wire::AuditFound::Present,
        Found::PlaceUnsure => wire::AuditFound::PlaceUnsure,
        Found::Empty => wire::AuditFound::Empty,
        Found::Exchanged => wire::AuditFound::Exchanged,
        Found::Strange => wire::AuditFound::Strange,
        Found::Unreadable => wire::AuditFound::Unreadable,
        Found::Missing => wire::AuditFound::Missing,
        Found::Contradicted => wire::AuditFound::Contradicted,
        Found::NotCovered => wire::AuditFound::NotCovered,
    }
}

fn how(how: Settlement) -> wire::AuditSettlement {
    match how {
        Settlement::Stands => wire::AuditSettlement::Stands,
        Settlement::Exchanged => wire::AuditSettlement::Exchanged,
        Settlement::NotThere => wire::AuditSettlement::NotThere,
        Settlement::StandsHere => wire::AuditSettlement::StandsHere,
        Settlement::TakenOut => wire::AuditSettlement::TakenOut,
        Settlement::LeftOpen => wire::AuditSettlement::LeftOpen,
    }
}
