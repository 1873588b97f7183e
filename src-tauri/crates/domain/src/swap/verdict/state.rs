//! Where the spare is, how it is, and what else it or the slot is meant for.

use super::super::{Severity, Situation};
use super::{How, Said, fails, passes, said, unknown};
use crate::journal::Purpose;
use crate::model::{BaseKind, Lifecycle, ModelKind};
use crate::unit::{Condition, UnitPlace};

pub(super) fn place(s: &Situation<'_>) -> Said {
    match &s.spare.unit.place {
        UnitPlace::Bin(bin) => passes(format!("the spare lies in {bin}")),
        UnitPlace::Bench => said(
            How::AtMost(Severity::Caution),
            "the spare is on the bench",
            "make sure that whoever tests it, or has it in hand, has released it",
        ),
        UnitPlace::Slot(slot) if *slot == s.seat.slot.address => fails(
            format!("the unit already stands in {slot}"),
            "choose the unit that is to replace it",
        ),
        UnitPlace::Slot(slot) => fails(
            format!("the unit is installed in {slot}"),
            "remove it there first, or choose another spare",
        ),
        UnitPlace::Repair => fails(
            "the unit is away for repair",
            "receive it back into a bin first, if you hold it in your hand",
        ),
        UnitPlace::Lost => unknown(
            "the unit is lost by the register: nobody knows where it is",
            "record where it was found first, if you hold it in your hand",
        ),
        UnitPlace::Scrapped => fails(
            "the unit is scrapped",
            "put it back where scrapped units go and choose another spare",
        ),
    }
}

pub(super) fn condition(s: &Situation<'_>) -> Said {
    let word = s.spare.unit.condition.word();
    let compared = format!("the spare's condition is {word}");
    match s.spare.unit.condition {
        Condition::Good => passes(compared),
        Condition::Suspect => unknown(
            "the spare is suspect: whether it works is not known",
            "choose a good spare, or have this one tested and record the result",
        ),
        Condition::Failed => {
            fails(compared, "choose a good spare, or have this one tested and record the result")
        }
        Condition::Quarantined => {
            fails(compared, "choose another spare until the quarantine is lifted")
        }
    }
}

/// Whether anything keeps slot or spare from being swapped now.
pub(super) fn slot_busy(s: &Situation<'_>) -> Said {
    let slot = &s.seat.slot;
    if s.seat.swap_open {
        return fails(
            format!("a swap is already under way in slot {}", slot.address),
            "finish or abandon that one first",
        );
    }
    if let Some(other) = &s.spare.promised_to {
        return fails(
            format!("the spare is the one of a swap that is under way in {other}"),
            "finish or abandon that one first, or choose another spare",
        );
    }
    let wants_own = matches!(s.spare.model.kind, ModelKind::Controller | ModelKind::PowerSupply);
    if wants_own && slot.base != BaseKind::Own {
        return fails(
            format!("slot {} is not made for a controller or power supply", slot.address),
            "choose the right slot",
        );
    }
    if let (Some(label), None) = (&s.seat.standing, &s.seat.outgoing) {
        return unknown(
            format!(
                "unit {} stands in slot {}, and its model is not in the catalogue",
                label.human(),
                slot.address
            ),
            "add the model to the catalogue first, so that it is known what comes out",
        );
    }
    passes(format!("no other work is under way in slot {}", slot.address))
}

pub(super) fn reservation(s: &Situation<'_>) -> Said {
    let Some(kept) = &s.spare.kept_for else { return passes("nobody else has reserved the spare") };
    let compared = format!("the spare is kept for {}", kept.described());
    let to_do = "choose another spare, or release the reservation first";
    match kept.purpose {
        // Words may well mean this very work.
        Purpose::Words(_) => {
            unknown(format!("{compared}; whether that is this work is not recorded"), to_do)
        }
        _ => fails(compared, to_do),
    }
}

pub(super) fn lifecycle(s: &Situation<'_>) -> Said {
    let model = &s.spare.model;
    match model.lifecycle {
        Lifecycle::Active if model.last_order_on.is_some_and(|last| last < s.seat.today) => {
            unknown(
                format!(
                    "{} counts as active, but its maker's last order day has passed",
                    model.part_no
                ),
                "ask the maker and record the lifecycle; this spare may not be replaceable",
            )
        }
        Lifecycle::Active => passes(format!("{} is still made", model.part_no)),
        Lifecycle::Discontinued => said(
            How::AtMost(Severity::Note),
            format!("{} is discontinued", model.part_no),
            "this spare may not be replaceable: see the shelf",
        ),
        Lifecycle::Recalled => fails(
            format!("{} is recalled by its maker", model.part_no),
            "fetch a substitute and quarantine this unit",
        ),
    }
}
