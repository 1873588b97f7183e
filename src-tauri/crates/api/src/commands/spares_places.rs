//! Where models stand or are wanted by the drawings: what changes only when the plant is rebuilt.

use super::spares_facts::Held;
use crate::Failure;
use slotkeep_domain::place::{CabinetAddress, Criticality, SlotAddress};
use slotkeep_store::Reader;
use std::collections::{BTreeMap, HashMap};

pub(super) struct Places {
    class_of: HashMap<SlotAddress, Criticality>,
    /// By model that slots are engineered for, the most critical of them.
    wanted: HashMap<String, (Criticality, String)>,
    /// Pieces on the rails themselves, by model and cabinet.
    on_rails: HashMap<String, BTreeMap<CabinetAddress, u32>>,
}

impl Places {
    pub fn of(r: &Reader<'_>) -> Result<Self, Failure> {
        let mut places =
            Self { class_of: HashMap::new(), wanted: HashMap::new(), on_rails: HashMap::new() };
        for slot in r.slots()? {
            if let Some(wanted) = &slot.model_wanted {
                let most = places.wanted.get(wanted.as_str());
                let most = most.map(|(class, slot)| (*class, slot.as_str()));
                if most.is_none_or(|most| (slot.criticality, slot.address.as_str()) < most) {
                    let here = (slot.criticality, slot.address.to_string());
                    places.wanted.insert(wanted.to_string(), here);
                }
            }
            places.class_of.insert(slot.address, slot.criticality);
        }
        for rail in r.rails()? {
            let cabinet = rail.address.cabinet();
            for part_no in rail.items.iter().filter_map(|item| item.model.as_ref()) {
                let by_cabinet = places.on_rails.entry(part_no.to_string()).or_default();
                *by_cabinet.entry(cabinet.clone()).or_default() += 1;
            }
        }
        Ok(places)
    }

    pub fn class_of(&self, slot: &SlotAddress) -> Option<Criticality> {
        self.class_of.get(slot).copied()
    }

    /// Models that stand or are wanted somewhere by the drawings alone.
    pub fn models(&self) -> impl Iterator<Item = &String> {
        self.wanted.keys().chain(self.on_rails.keys())
    }

    /// Notes what the drawings say of a model.
    pub fn note(&self, model: &str, held: &mut Held) {
        if let Some((class, slot)) = self.wanted.get(model) {
            held.stands_in(*class, slot);
        }
        for (cabinet, pieces) in self.on_rails.get(model).into_iter().flatten() {
            *held.standing.entry(cabinet.clone()).or_default() += pieces;
        }
    }
}
