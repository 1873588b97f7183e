//! How critical a model is: by the slots that it stands in, by what it has taken over, or by choice.

use super::spares_facts::Facts;
use slotkeep_domain::model::{Model, PartNo};
use slotkeep_domain::place::Criticality;

/// The class of a model in a storeroom, and where it comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Classed {
    pub class: Criticality,
    pub from: ClassFrom,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum ClassFrom {
    /// A person chose it.
    Choice,
    /// The most critical slot, by its address.
    Slot(String),
    /// A model that can no longer be bought, in whose place this one is bought; its most critical
    /// slot, where its class was not chosen.
    TakenOver(PartNo, Option<String>),
    /// It stands in no slot.
    Nowhere,
}

impl Classed {
    /// The class that a person chose; else the graver one of its own slots and of the models that it
    /// has taken over. A choice stands as it is, since whoever made it knew the model.
    pub fn of(facts: &Facts, model: &Model, storeroom: &str) -> Self {
        let own = Self::by_itself(facts, model, storeroom);
        if own.from == ClassFrom::Choice {
            return own;
        }
        let taken_over = facts.taken_over(model.part_no.as_str());
        let idle = |it: &&Model| facts.of(it.part_no.as_str()).standing.is_empty();
        let gravest = taken_over
            .filter(|it| !idle(it))
            .map(|gone| (gone, Self::by_itself(facts, gone, storeroom)))
            .min_by_key(|(_, classed)| classed.class);
        match gravest {
            Some((gone, graver)) if graver.class < own.class => {
                let slot = match graver.from {
                    ClassFrom::Slot(slot) => Some(slot),
                    _ => None,
                };
                let from = ClassFrom::TakenOver(gone.part_no.clone(), slot);
                Self { class: graver.class, from }
            }
            _ => own,
        }
    }

    fn by_itself(facts: &Facts, model: &Model, storeroom: &str) -> Self {
        let part_no = model.part_no.as_str();
        let chosen = facts.of(part_no).choice(storeroom).and_then(|choice| choice.class);
        match (chosen, facts.critical(part_no)) {
            (Some(class), _) => Self { class, from: ClassFrom::Choice },
            (None, Some((class, slot))) => {
                Self { class: *class, from: ClassFrom::Slot(slot.clone()) }
            }
            (None, None) => Self { class: Criticality::Desirable, from: ClassFrom::Nowhere },
        }
    }

    /// The slot that gives the class, its own or one of the model that it has taken over.
    pub fn slot(&self) -> Option<&str> {
        match &self.from {
            ClassFrom::Slot(slot) | ClassFrom::TakenOver(_, Some(slot)) => Some(slot),
            _ => None,
        }
    }

    /// Where the class comes from, as it goes on after the word for it.
    pub fn said(&self) -> String {
        match &self.from {
            ClassFrom::Choice => " by choice".to_owned(),
            ClassFrom::Slot(slot) => format!(" in {slot}"),
            ClassFrom::TakenOver(gone, Some(slot)) => {
                format!(" in place of {gone} in {slot}, which is no longer sold")
            }
            ClassFrom::TakenOver(gone, None) => {
                format!(" in place of {gone}, which is no longer sold")
            }
            ClassFrom::Nowhere => String::new(),
        }
    }
}
