//! Whether a unit may be handed out for what it is wanted for.

use super::swap_check::Gathered;
use crate::Failure;
use chrono::NaiveDate;
use slotkeep_domain::journal::Purpose;
use slotkeep_domain::place::SlotAddress;
use slotkeep_domain::register::View;
use slotkeep_domain::swap::{Rule, Severity, Situation, verdict};
use slotkeep_domain::unit::Unit;
use slotkeep_store::Reader;

/// Refuses a unit that does not fit the slot, or is not the one that the swap takes.
pub(super) fn fits(
    r: &Reader<'_>,
    unit: &Unit,
    purpose: Option<&Purpose>,
    today: NaiveDate,
) -> Result<(), Failure> {
    match purpose {
        Some(Purpose::Slot(slot)) => fits_slot(r, unit, slot, today),
        Some(Purpose::Swap(id)) => match r.swap(id) {
            Some(swap) if swap.into != unit.label => Err(Failure::refused(format!(
                "the swap in {} takes unit {}, not {}: hand that one out",
                swap.slot,
                swap.into.human(),
                unit.label.human()
            ))),
            _ => Ok(()),
        },
        _ => Ok(()),
    }
}

fn fits_slot(
    r: &Reader<'_>,
    unit: &Unit,
    slot: &SlotAddress,
    today: NaiveDate,
) -> Result<(), Failure> {
    let (Some(slot), Some(model)) = (r.slot(slot), r.model(&unit.model)) else { return Ok(()) };
    let gathered = Gathered::new(r, today)?;
    let seat = gathered.seat(slot)?;
    let spare = gathered.spare(unit.clone(), model, &seat)?;
    // Whether the slot is free, and whom it is kept for, is asked where those are decided.
    let asked_elsewhere = [Rule::SlotBusy, Rule::Reservation];
    let stop = verdict(&Situation { seat: &seat, spare: &spare }).into_iter().find(|finding| {
        let elsewhere = asked_elsewhere.iter().any(|rule| finding.rule == *rule);
        finding.severity == Severity::Stop && !elsewhere
    });
    match stop {
        Some(stop) => Err(Failure::refused(format!("stop: {}: {}", stop.compared, stop.to_do))),
        None => Ok(()),
    }
}
