//! The words that replies use for states and kinds.

use slotkeep_domain::loops::{Clearance, LossEffect};
use slotkeep_domain::model::{BaseKind, Lifecycle, ModelKind};
use slotkeep_domain::place::{AbcBy, BusPosition, Criticality, RailItemKind};
use slotkeep_domain::unit::Condition;

pub(crate) fn base(base: BaseKind) -> &'static str {
    base.word()
}

pub(crate) fn model_kind(kind: ModelKind) -> &'static str {
    kind.word()
}

pub(crate) fn lifecycle(lifecycle: Lifecycle) -> &'static str {
    lifecycle.word()
}

pub(crate) fn bus_position(position: BusPosition) -> &'static str {
    position.word()
}

pub(crate) fn criticality(criticality: Criticality) -> &'static str {
    criticality.word()
}

pub(crate) fn abc_by(by: AbcBy) -> &'static str {
    match by {
        AbcBy::ShareBefore => "share_before",
        AbcBy::ShareAfter => "share_after",
    }
}

pub(crate) fn rail_item(kind: RailItemKind) -> &'static str {
    match kind {
        RailItemKind::Terminator => "terminator",
        RailItemKind::EndSupport => "end_support",
        RailItemKind::Blank => "blank",
        RailItemKind::Base => "base",
    }
}

/// Reads a condition as a person or a file writes it.
pub(crate) fn condition(word: &str) -> Result<Condition, crate::Failure> {
    [Condition::Good, Condition::Suspect, Condition::Failed, Condition::Quarantined]
        .into_iter()
        .find(|condition| condition.word() == word)
        .ok_or_else(|| {
            crate::Failure::bad_input(format!(
                "{word:?} is not a condition; write good, suspect, failed or quarantined"
            ))
        })
}

pub(crate) fn loss_effect(effect: LossEffect) -> &'static str {
    match effect {
        LossEffect::Trip => "trip",
        LossEffect::ValveOpens => "valve_opens",
        LossEffect::ValveCloses => "valve_closes",
        LossEffect::ValveStays => "valve_stays",
        LossEffect::ValueHeld => "value_held",
        LossEffect::AlarmOnly => "alarm_only",
    }
}

pub(crate) fn read_loss_effect(word: &str) -> Option<LossEffect> {
    use LossEffect::{AlarmOnly, Trip, ValueHeld, ValveCloses, ValveOpens, ValveStays};
    [Trip, ValveOpens, ValveCloses, ValveStays, ValueHeld, AlarmOnly]
        .into_iter()
        .find(|effect| loss_effect(*effect) == word)
}

pub(crate) fn clearance(clearance: Clearance) -> &'static str {
    match clearance {
        Clearance::Manual => "manual",
        Clearance::Bypass => "bypass",
        Clearance::Announce => "announce",
        Clearance::Nothing => "nothing",
    }
}

pub(crate) fn read_clearance(word: &str) -> Option<Clearance> {
    [Clearance::Manual, Clearance::Bypass, Clearance::Announce, Clearance::Nothing]
        .into_iter()
        .find(|one| clearance(*one) == word)
}
