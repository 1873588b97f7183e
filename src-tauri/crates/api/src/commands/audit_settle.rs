//! Settling what an audit found of a slot.

use super::{audit_shown, find, sentence};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::audit::{AuditSettleInput, AuditSettlement as Way};
use slotkeep_domain::audit::{Finding, Settlement};
use slotkeep_domain::journal::{AuditSettled, Body};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::place::SlotAddress;
use slotkeep_domain::register::View;
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![table::record(
        "audit.settle",
        "Settles what an audit found of a slot, by who looked at it.",
        table::HANDS,
        settle,
    )]
}

fn settle(ask: &Ask<'_>, stamp: &Stamp, input: AuditSettleInput) -> Result<Done, Failure> {
    let mut message = "it was settled already".to_owned();
    let recorded = ask.record_within(stamp, |r| {
        let body = Body::AuditSettled(settled(r, &input)?);
        message = sentence::of(&body);
        Ok(body)
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

fn settled(r: &Reader<'_>, input: &AuditSettleInput) -> Result<AuditSettled, Failure> {
    let slot = find::slot(r, &input.slot)?.address;
    let how = meant(input.how);
    let audit = r.audit(&slot.rail());
    let finding = audit.as_ref().and_then(|audit| audit.finding(&slot));
    let named = match input.unit.as_deref().map(str::trim).filter(|text| !text.is_empty()) {
        Some(text) => Some(find::unit(r, text)?.label),
        None => None,
    };
    let unit = named.or(finding.and_then(|finding| audit_shown::unit_of(finding, how)));
    if let Some(label) = unit {
        not_taken_elsewhere(r, &label)?;
    }
    let ring = audit.as_ref().filter(|_| how == Settlement::Exchanged);
    Ok(AuditSettled {
        audit: input.audit,
        how,
        registered: finding.and_then(|finding| finding.registered),
        unit,
        exchanged: ring.and_then(|audit| audit.ring(&slot)).map_or(Vec::new(), standing),
        reprint: input.reprint,
        photo: finding.and_then(|finding| finding.photo.clone()),
        note: input.note.trim().to_owned(),
        slot,
    })
}

/// The slots of an exchange, each with the unit that stands there.
fn standing(ring: Vec<&Finding>) -> Vec<(SlotAddress, LabelCode)> {
    ring.into_iter().filter_map(|finding| Some((finding.slot.clone(), finding.seen?))).collect()
}

/// A unit that a swap under way takes must not be booked elsewhere.
fn not_taken_elsewhere(r: &Reader<'_>, unit: &LabelCode) -> Result<(), Failure> {
    match r.open_swaps()?.into_iter().find(|swap| swap.into == *unit) {
        Some(swap) => Err(Failure::refused(format!(
            "a swap under way in slot {} takes unit {}: finish it or give it up first",
            swap.slot,
            unit.human()
        ))),
        None => Ok(()),
    }
}

fn meant(way: Way) -> Settlement {
    match way {
        Way::Stands => Settlement::Stands,
        Way::Exchanged => Settlement::Exchanged,
        Way::NotThere => Settlement::NotThere,
        Way::StandsHere => Settlement::StandsHere,
        Way::TakenOut => Settlement::TakenOut,
        Way::LeftOpen => Settlement::LeftOpen,
    }
}
