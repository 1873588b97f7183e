use crate::key::KeyScheme;
use crate::loops::Loop;
use crate::model::Model;
use crate::place::{Slot, SlotAddress};
use crate::register::View;
use crate::unit::Unit;
use chrono::NaiveDate;

/// Everything that the verdict and the steps look at.
#[derive(Debug, Clone)]
pub struct Situation {
    pub slot: Slot,
    /// The model that the slot is engineered for.
    pub wanted: Option<Model>,
    pub candidate: Unit,
    pub candidate_model: Model,
    /// What stands in the slot now.
    pub outgoing: Option<(Unit, Model)>,
    /// The unit in the redundant partner slot.
    pub partner: Option<(SlotAddress, Option<Unit>)>,
    pub loops: Vec<Loop>,
    pub key_scheme: Option<KeyScheme>,
    pub swap_open: bool,
    /// What else the candidate is kept for, in words.
    pub kept_for: Option<String>,
    pub today: NaiveDate,
}

impl Situation {
    /// Gathers the facts about a slot and a candidate; none when either is not in the register.
    pub fn gather(
        view: &impl View,
        slot: &SlotAddress,
        candidate: &crate::label::LabelCode,
        today: NaiveDate,
    ) -> Option<Self> {
        let slot = view.slot(slot)?;
        let candidate = view.unit(candidate)?;
        let candidate_model = view.model(&candidate.model)?;
        let outgoing = view
            .unit_in(&slot.address)
            .and_then(|label| view.unit(&label))
            .and_then(|unit| view.model(&unit.model).map(|model| (unit, model)));
        let partner = slot.redundant_partner.clone().map(|address| {
            let unit = view.unit_in(&address).and_then(|label| view.unit(&label));
            (address, unit)
        });
        Some(Self {
            wanted: slot.model_wanted.as_ref().and_then(|part_no| view.model(part_no)),
            loops: view.loops_of(&slot.address),
            key_scheme: slot.key.as_ref().and_then(|key| view.key_scheme(&key.scheme)),
            swap_open: view.open_swap(&slot.address).is_some(),
            kept_for: kept_for(view, &candidate, &slot, today),
            slot,
            candidate,
            candidate_model,
            outgoing,
            partner,
            today,
        })
    }

    /// The same slot with another spare.
    pub fn with_candidate(
        &self,
        view: &impl View,
        candidate: Unit,
        candidate_model: Model,
    ) -> Self {
        let kept_for = kept_for(view, &candidate, &self.slot, self.today);
        Self { candidate, candidate_model, kept_for, ..self.clone() }
    }

    /// The model that the spare must equal or be allowed to replace.
    pub fn reference_model(&self) -> Option<&Model> {
        self.wanted.as_ref().or(self.outgoing.as_ref().map(|(_, model)| model))
    }
}

fn kept_for(view: &impl View, candidate: &Unit, slot: &Slot, today: NaiveDate) -> Option<String> {
    let kept = crate::journal::kept_for_other(view, candidate, &slot.address, today)?;
    Some(kept.described())
}
