use super::super::facts::Answer;
use crate::key::KeySetting;
use crate::lineup::{Cabinet, Item, Rail, Standing, What};
use crate::model::{BaseKind, Model, PartNo};
use crate::place::{BusPosition, SlotAddress};
use crate::swap::Situation;
use crate::unit::Unit;

/// What a rule looks at: a spare for a slot, or a thing on a rail.
#[derive(Debug, Clone, Copy)]
pub struct Looked<'a> {
    pub(in super::super) cabinet: Option<&'a Cabinet>,
    pub(in super::super) rail: Option<&'a Rail>,
    pub(in super::super) item: Option<&'a Item>,
    pub(in super::super) situation: Option<&'a Situation<'a>>,
    slot: Option<SlotSeen<'a>>,
    pub(super) model: Option<&'a Model>,
}

/// A slot, as the register has it or as it is planned.
#[derive(Debug, Clone, Copy)]
pub(in super::super) struct SlotSeen<'a> {
    pub address: &'a SlotAddress,
    pub base: BaseKind,
    pub key: Option<&'a KeySetting>,
    pub wanted: Option<&'a PartNo>,
    pub width_mm: f64,
    pub bus: BusPosition,
    pub bus_address: Option<u32>,
    pub filled: bool,
    pub known: Option<Standing>,
}

impl<'a> Looked<'a> {
    pub fn swap(s: &'a Situation<'a>) -> Self {
        let slot = &s.seat.slot;
        let cabinet = s.seat.cabinet.as_deref();
        Self {
            cabinet,
            rail: cabinet.and_then(|cabinet| cabinet.rail(&slot.address.rail())),
            item: None,
            situation: Some(s),
            slot: Some(SlotSeen {
                address: &slot.address,
                base: slot.base,
                key: slot.key.as_ref(),
                wanted: slot.model_wanted.as_ref(),
                width_mm: slot.width_mm,
                bus: slot.bus_position,
                bus_address: slot.bus_address,
                filled: s.seat.standing.is_some(),
                known: Some(Standing {
                    criticality: slot.criticality,
                    hot_swap: slot.hot_swap,
                    redundant: slot.redundant_partner.is_some(),
                }),
            }),
            model: Some(&s.spare.model),
        }
    }

    pub fn item(cabinet: &'a Cabinet, rail: &'a Rail, item: &'a Item) -> Self {
        Self {
            cabinet: Some(cabinet),
            rail: Some(rail),
            item: Some(item),
            situation: None,
            slot: item.place().map(|place| SlotSeen {
                address: &place.address,
                base: place.base,
                key: place.key.as_ref(),
                wanted: place.wanted.as_ref().map(|model| &model.part_no),
                width_mm: item.width_mm,
                bus: place.bus,
                bus_address: place.bus_address,
                filled: place.filled,
                known: place.known,
            }),
            model: item.meant().map(|model| &**model),
        }
    }

    /// What is said of the slot; nothing of things that are no slot.
    pub(in super::super) fn slot(
        &self,
        said: impl FnOnce(SlotSeen<'a>) -> Answer<'a>,
    ) -> Answer<'a> {
        self.slot.map_or(Answer::NotMeant, said)
    }

    /// What is said of the model. Blanks and slots that are kept for nothing have none.
    pub(in super::super) fn model(&self, said: impl FnOnce(&'a Model) -> Answer<'a>) -> Answer<'a> {
        match (self.model, self.item.map(|item| &item.what)) {
            (Some(model), _) => said(model),
            (None, Some(What::Blank)) => Answer::NotMeant,
            (None, Some(What::Slot(place))) if !place.filled => Answer::NotMeant,
            (None, _) => Answer::NotRecorded,
        }
    }

    pub(in super::super) fn unit(&self, said: impl FnOnce(&'a Unit) -> Answer<'a>) -> Answer<'a> {
        self.situation.map_or(Answer::NotMeant, |s| said(&s.spare.unit))
    }

    pub(in super::super) fn item_kind(&self) -> Option<&'static str> {
        self.item.map(|item| match item.what {
            What::Slot(_) => "slot",
            What::Terminator => "terminator",
            What::EndSupport => "end_support",
            What::Blank => "blank",
            What::Base => "base",
        })
    }
}
