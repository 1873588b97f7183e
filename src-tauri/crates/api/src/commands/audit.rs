//! The audit of a rail: what photos show of it, the record, and when each rail was audited last.

use super::audit_shown::{self, Shown};
use super::{find, photo, place_seen};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::audit::{
    AuditInput, AuditLabel, AuditLine, AuditListInput, AuditLookInput, AuditPhoto,
    AuditRecordInput, RailAudit,
};
use slotkeep_domain::audit::{Audit, AuditSlot, Finding, Judged, Picture, Sight, Spot, judge};
use slotkeep_domain::journal::{Body, RailAudited};
use slotkeep_domain::label::{LabelCode, LabelKind, LabelRefusal};
use slotkeep_domain::photo::PhotoHash;
use slotkeep_domain::place::{Rail, RailAddress};
use slotkeep_domain::register::View;
use slotkeep_domain::unit::Unit;
use slotkeep_optics::{SeenLabel, merged};
use slotkeep_store::Reader;
use std::collections::{BTreeMap, BTreeSet};

/// More photos than any rail needs.
const MOST_PHOTOS: usize = 20;

/// More symbols than any rail holds.
const MOST_LABELS: usize = 2000;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask(
            "audit.look",
            "Holds the labels that photos show of a rail against the register, slot by slot.",
            look,
        ),
        table::record(
            "audit.record",
            "Records the audit of a rail with what its photos show of each slot.",
            table::HANDS,
            record,
        ),
        table::ask("audit.show", "Shows the newest audit of a rail and what is open in it.", show),
        table::ask("audit.list", "Lists rails with their newest audits.", list),
    ]
}

/// What photos show of a rail.
pub(super) struct Seen {
    pub rail: Rail,
    pub slots: Vec<AuditSlot>,
    pub judged: Judged,
    /// How many different photos were looked at.
    pub pictures: u32,
    /// Names of those that are kept, by their place among the photos that were sent.
    pub photos: BTreeMap<usize, PhotoHash>,
}

impl Seen {
    fn read(r: &Reader<'_>, rail: Option<&str>, photos: &[AuditPhoto]) -> Result<Self, Failure> {
        limited(photos)?;
        let rail = match rail.map(str::trim).filter(|text| !text.is_empty()) {
            Some(text) => find::rail(r, text)?,
            None => shown_rail(r, photos)?,
        };
        let slots = slots(r, &rail.address)?;
        let sure = sure(photos);
        let mut met: Vec<&AuditPhoto> = Vec::new();
        let mut pictures = Vec::new();
        for photo in photos {
            // The same photo sent twice is no second witness.
            let again = met.iter().any(|other| other.labels == photo.labels);
            let picture = picture(photo, &sure)?;
            pictures.push(if again { Picture::default() } else { picture });
            if !again {
                met.push(photo);
            }
        }
        let mut kept = BTreeMap::new();
        for (at, photo) in photos.iter().enumerate() {
            if let Some(name) = &photo.photo {
                kept.insert(at, photo::named(r, name)?);
            }
        }
        let judged = judge(&slots, &pictures);
        Ok(Self { rail, judged, slots, pictures: met.len() as u32, photos: kept })
    }

    /// What was found of each slot, as it is recorded.
    fn findings(&self) -> Vec<Finding> {
        self.slots
            .iter()
            .zip(&self.judged.slots)
            .map(|(slot, judged)| Finding {
                slot: slot.address.clone(),
                found: judged.found,
                registered: slot.unit,
                seen: judged.seen,
                with: judged.with.map(|with| self.slots[with].address.clone()),
                photo: judged.picture.and_then(|at| self.photos.get(&at).cloned()),
            })
            .collect()
    }

    fn body(&self, note: &str) -> RailAudited {
        let photos: BTreeSet<PhotoHash> = self.photos.values().cloned().collect();
        RailAudited {
            rail: self.rail.address.clone(),
            pictures: self.pictures,
            photos: photos.into_iter().collect(),
            findings: self.findings(),
            loose: self.judged.loose.iter().map(|loose| loose.label).collect(),
            note: note.trim().to_owned(),
        }
    }
}

fn limited(photos: &[AuditPhoto]) -> Result<(), Failure> {
    if photos.is_empty() {
        return Err(Failure::bad_input("no photo was sent: take one of the rail first"));
    }
    let labels: usize = photos.iter().map(|photo| photo.labels.len()).sum();
    if photos.len() > MOST_PHOTOS || labels > MOST_LABELS {
        return Err(Failure::bad_input(format!(
            "{} photos with {labels} labels were sent, at most {MOST_PHOTOS} with {MOST_LABELS} \
             are compared: send those of one rail",
            photos.len()
        )));
    }
    Ok(())
}

/// The rail that has most of the units in the photos.
fn shown_rail(r: &Reader<'_>, photos: &[AuditPhoto]) -> Result<Rail, Failure> {
    let texts: BTreeSet<&str> = photos
        .iter()
        .flat_map(|photo| &photo.labels)
        .filter(|label| !label.confirm)
        .map(|label| label.text.as_str())
        .collect();
    let labels = texts.into_iter().filter_map(|text| LabelCode::parse_scan(text).ok());
    let units: Vec<Unit> = labels.filter_map(|label| r.unit(&label)).collect();
    let rail = place_seen::rail_of(&units).and_then(|address| r.rail(&address));
    rail.ok_or_else(|| {
        Failure::refused(
            "these photos do not show which rail this is: it takes two units that the register \
             has on it; choose the rail, or take closer photos",
        )
    })
}

/// The slots of a rail from left to right, with what stands in them.
fn slots(r: &Reader<'_>, rail: &RailAddress) -> Result<Vec<AuditSlot>, Failure> {
    let standing: BTreeMap<_, _> = r
        .units_in_cabinet(&rail.cabinet())?
        .into_iter()
        .filter_map(|unit| Some((unit.place.slot()?.clone(), unit.label)))
        .collect();
    let of_rail =
        r.slots_of(&rail.cabinet())?.into_iter().filter(|slot| slot.address.rail() == *rail);
    let mut slots: Vec<AuditSlot> = of_rail
        .map(|slot| AuditSlot {
            unit: standing.get(&slot.address).copied(),
            x_mm: slot.x_mm,
            width_mm: slot.width_mm,
            address: slot.address,
        })
        .collect();
    if slots.is_empty() {
        return Err(Failure::refused(format!(
            "rail {rail} has no slots in the register: add them first"
        )));
    }
    slots.sort_by(|a, b| a.x_mm.total_cmp(&b.x_mm));
    Ok(slots)
}

/// Texts that need no confirming: proved by their own symbol, or recognised in two photos.
fn sure(photos: &[AuditPhoto]) -> BTreeSet<String> {
    let mut different: Vec<&AuditPhoto> = Vec::new();
    for photo in photos {
        if !different.iter().any(|other| other.labels == photo.labels) {
            different.push(photo);
        }
    }
    let seen = |label: &AuditLabel| SeenLabel { text: label.text.clone(), confirm: label.confirm };
    let rails: Vec<Vec<Vec<SeenLabel>>> =
        different.iter().map(|photo| vec![photo.labels.iter().map(seen).collect()]).collect();
    merged(&rails)
        .into_iter()
        .flat_map(|rail| rail.labels)
        .filter(|label| !label.confirm)
        .map(|label| label.text)
        .collect()
}

fn picture(photo: &AuditPhoto, sure: &BTreeSet<String>) -> Result<Picture, Failure> {
    let size = photo.width_px.zip(photo.height_px);
    let all: Vec<u32> = (0..photo.labels.len() as u32).collect();
    let rows = if photo.rails.is_empty() { std::slice::from_ref(&all) } else { &photo.rails };
    let mut picture = Picture {
        size: size.map(|(width, height)| (f64::from(width), f64::from(height))),
        rows: Vec::new(),
    };
    for row in rows {
        let mut sights = Vec::new();
        for at in row {
            let label = photo.labels.get(*at as usize).ok_or_else(|| {
                Failure::bad_input(format!(
                    "a row names label {at} of a photo that has {}: count from 0",
                    photo.labels.len()
                ))
            })?;
            sights.extend(sight(label, sure));
        }
        picture.rows.push(sights);
    }
    Ok(picture)
}

/// A symbol that says something about a slot; labels of other things and codes of others do not.
fn sight(label: &AuditLabel, sure: &BTreeSet<String>) -> Option<Sight> {
    let code = match LabelCode::parse_scan(&label.text) {
        Ok(code) if code.kind() == LabelKind::Unit => Some(code),
        Err(LabelRefusal::Check(_) | LabelRefusal::Length { .. }) => None,
        Err(_) if label.text.trim().is_empty() => None,
        Ok(_) | Err(_) => return None,
    };
    Some(Sight { label: code, sure: sure.contains(&label.text), at: spot(label) })
}

fn spot(label: &AuditLabel) -> Option<Spot> {
    let [a, b, c, d] = label.corners.as_slice() else { return None };
    let mean = |p: f32, q: f32, r: f32, s: f32| f64::from(p + q + r + s) / 4.0;
    let edge = |p: &crate::wire::label::Corner, q: &crate::wire::label::Corner| {
        f64::from((q.x - p.x).hypot(q.y - p.y))
    };
    let side = (edge(a, b) + edge(b, c) + edge(c, d) + edge(d, a)) / 4.0;
    let spot = Spot { x: mean(a.x, b.x, c.x, d.x), y: mean(a.y, b.y, c.y, d.y), side };
    (side > 0.0 && spot.x.is_finite() && spot.y.is_finite()).then_some(spot)
}

fn look(ask: &Ask<'_>, input: AuditLookInput) -> Result<RailAudit, Failure> {
    ask.read(|r| {
        let seen = Seen::read(r, input.rail.as_deref(), &input.photos)?;
        let body = seen.body("");
        let mut shown = audit_shown::of(r, &Shown { audit: None, body: &body }, ask.now)?;
        for (slot, judged) in shown.slots.iter_mut().zip(&seen.judged.slots) {
            slot.picture = judged.picture.map(|at| at as u32);
        }
        Ok(shown)
    })
}

fn record(ask: &Ask<'_>, stamp: &Stamp, input: AuditRecordInput) -> Result<RailAudit, Failure> {
    let mut rail = None;
    ask.record_within(stamp, |r| {
        let seen = Seen::read(r, Some(&input.rail), &input.photos)?;
        rail = Some(seen.rail.address.clone());
        Ok(Body::RailAudited(seen.body(&input.note)))
    })?;
    ask.read(|r| {
        let rail = match rail {
            Some(rail) => rail,
            None => find::rail(r, &input.rail)?.address,
        };
        newest(r, &rail, ask)
    })
}

fn show(ask: &Ask<'_>, input: AuditInput) -> Result<RailAudit, Failure> {
    ask.read(|r| newest(r, &find::rail(r, &input.rail)?.address, ask))
}

/// The newest audit of a rail, as it stands now.
pub(super) fn newest(
    r: &Reader<'_>,
    rail: &RailAddress,
    ask: &Ask<'_>,
) -> Result<RailAudit, Failure> {
    let audit = r.audit(rail).ok_or_else(|| {
        Failure::not_found(format!("rail {rail} was never audited: take photos of it first"))
    })?;
    let body = RailAudited {
        rail: audit.rail.clone(),
        pictures: audit.pictures,
        photos: audit.photos.clone(),
        findings: audit.findings.clone(),
        loose: audit.loose.clone(),
        note: String::new(),
    };
    audit_shown::of(r, &Shown { audit: Some(&audit), body: &body }, ask.now)
}

fn list(ask: &Ask<'_>, input: AuditListInput) -> Result<Vec<AuditLine>, Failure> {
    ask.read(|r| {
        let cabinet = input.cabinet.filter(|text| !text.trim().is_empty());
        let rails = match cabinet {
            Some(text) => r.rails_of(&find::cabinet(r, &text)?.address)?,
            None => r.rails()?,
        };
        Ok(rails.into_iter().map(|rail| line(r.audit(&rail.address), rail)).collect())
    })
}

fn line(audit: Option<Audit>, rail: Rail) -> AuditLine {
    AuditLine {
        rail: rail.address.to_string(),
        rail_title: rail.title,
        audit: audit.as_ref().map(|audit| audit.id),
        at: audit.as_ref().map(|audit| audit.at),
        person: audit.as_ref().map(|audit| audit.person.clone()),
        counts: audit.as_ref().map(|audit| audit_shown::counts(Some(audit), &audit.findings)),
    }
}
