//! What the register says of spares, model by model.

use super::battery_demand::{Demand, Dues};
use super::battery_figures::Surroundings;
use super::spares_places::Places;
use super::spares_serving::Serving;
use super::spares_ties::Ties;
use crate::Failure;
use chrono::{DateTime, NaiveDate, Utc};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::model::{Model, ModelKind};
use slotkeep_domain::place::{CabinetAddress, Criticality, SparesRules};
use slotkeep_domain::register::{Issue, PopulationChange, SpareChoice, Stay};
use slotkeep_domain::stock::Order;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::Arc;

/// The register of one day as spares look at it. What is of one model can be refreshed alone.
pub(super) struct Facts {
    pub today: NaiveDate,
    /// The end of the day: hours of running units count up to it, so that every question of a day
    /// gets the same figures, whatever was recorded in between.
    pub until: DateTime<Utc>,
    pub rules: SparesRules,
    pub models: Arc<BTreeMap<String, Model>>,
    pub around: Arc<Surroundings>,
    pub serving: Arc<Serving>,
    /// First day on which anything was handed out or failed; the histories begin in its month.
    pub record_from: Option<NaiveDate>,
    pub(super) places: Arc<Places>,
    pub(super) ties: Arc<Ties>,
    pub(super) by_model: HashMap<String, Arc<Held>>,
    /// When the battery of each unit is due.
    pub(super) dues: Arc<Dues>,
    /// Units that a swap under way takes.
    pub(super) taken: HashSet<LabelCode>,
    pub(super) nothing: Held,
}

/// What the register holds of one model.
#[derive(Default, Clone)]
pub(super) struct Held {
    /// Units in slots, and pieces on rails, by cabinet.
    pub standing: BTreeMap<CabinetAddress, u32>,
    /// Units in slots.
    pub running: Vec<Running>,
    /// Stays that are over.
    pub stays: Vec<Stay>,
    /// Failures on record, those whose time in service is not known among them.
    pub failed_at: Vec<DateTime<Utc>>,
    /// Removals that turned out to be no failure.
    pub no_fault_at: Vec<DateTime<Utc>>,
    pub issues: Vec<Issue>,
    /// The most critical slot that one stands in or is wanted in, of equal ones the first by
    /// address. Cells stand where the units do that take them: see [`Facts::critical`].
    pub stands: Option<(Criticality, String)>,
    pub shelves: BTreeMap<String, Shelf>,
    pub in_repair: u32,
    /// Orders with pieces still to come.
    pub orders: Vec<Order>,
    /// Planned battery changes by day.
    pub changes: Vec<Demand>,
    /// Changes of the plant that are not settled.
    pub population: Vec<PopulationChange>,
    pub choices: Vec<SpareChoice>,
}

/// A unit in a slot.
#[derive(Clone)]
pub(super) struct Running {
    pub unit: LabelCode,
    pub cabinet: CabinetAddress,
    /// None where nobody knows the day.
    pub since: Option<DateTime<Utc>>,
}

/// Pieces of one model in one storeroom.
#[derive(Default, Clone)]
pub(super) struct Shelf {
    pub usable: u32,
    pub not_usable: u32,
    /// Of the usable ones, kept for something besides the planned battery changes.
    pub reserved: u32,
    /// Usable pieces by shelf date.
    pub lots: Vec<(Option<NaiveDate>, u32)>,
    /// Units that were taken from here for something, and are neither put in nor back: no stock, and
    /// no demand either, which is counted where a unit comes out of a slot.
    pub handed_out: Vec<HandedOut>,
}

/// A unit that somebody has in hand.
#[derive(Clone)]
pub(super) struct HandedOut {
    pub to: String,
    pub since: NaiveDate,
}

/// Whether pieces of a model fail, as against cells, which wear by their own rules, and what work
/// uses up.
pub(super) fn fails(model: &Model) -> bool {
    !matches!(model.kind, ModelKind::Battery | ModelKind::Consumable | ModelKind::Blank)
}

impl Held {
    pub fn usable(&self) -> u32 {
        self.shelves.values().map(|shelf| shelf.usable).sum()
    }

    pub fn shelf(&self, storeroom: &str) -> Shelf {
        self.shelves.get(storeroom).cloned().unwrap_or_default()
    }

    pub fn on_order(&self, storeroom: &str) -> u32 {
        let here = self.orders.iter().filter(|order| order.storeroom == storeroom);
        here.map(Order::outstanding).sum()
    }

    /// The choice for a storeroom, else that for all.
    pub fn choice(&self, storeroom: &str) -> Option<&SpareChoice> {
        let of = |room: Option<&str>| self.choices.iter().find(|c| c.storeroom.as_deref() == room);
        of(Some(storeroom)).or_else(|| of(None))
    }

    /// Keeps a slot where it is the most critical one.
    pub(super) fn stands_in(&mut self, class: Criticality, slot: &str) {
        let most = self.stands.as_ref().map(|(class, slot)| (*class, slot.as_str()));
        if most.is_none_or(|most| (class, slot) < most) {
            self.stands = Some((class, slot.to_owned()));
        }
    }

    /// Nothing of it is installed, held, ordered, planned or was ever asked for.
    pub fn is_idle(&self) -> bool {
        self.shelves.is_empty()
            && self.orders.is_empty()
            && self.changes.is_empty()
            && self.standing.is_empty()
            && self.issues.is_empty()
            && self.population.is_empty()
    }

    /// The first day on which anything was handed out or failed.
    fn first_asked(&self) -> Option<NaiveDate> {
        let removed = self.failed_at.iter().chain(&self.no_fault_at).copied();
        removed.chain(self.issues.iter().map(|issue| issue.at)).min().map(|at| at.date_naive())
    }
}

impl Facts {
    pub fn of(&self, model: &str) -> &Held {
        self.by_model.get(model).map_or(&self.nothing, Arc::as_ref)
    }

    pub(super) fn first_asked(&self) -> Option<NaiveDate> {
        self.by_model.values().filter_map(|held| held.first_asked()).min()
    }

    /// The most critical slot in which a model stands or is wanted, or in which a unit stands that
    /// takes it as its cell.
    pub fn critical(&self, model: &str) -> Option<&(Criticality, String)> {
        let takers = self.ties.takers(model).iter().map(|taker| self.of(taker));
        takers.chain([self.of(model)]).filter_map(|held| held.stands.as_ref()).min()
    }

    /// Models that are no longer sold and in whose place this one is bought.
    pub fn taken_over(&self, model: &str) -> impl Iterator<Item = &Model> {
        self.ties.taken_over(model).iter().filter_map(|gone| self.models.get(gone))
    }

    /// A model of the catalogue by its part number.
    pub fn model(&self, part_no: &str) -> Result<&Model, Failure> {
        let part_no = part_no.trim();
        self.models.get(part_no).ok_or_else(|| {
            Failure::not_found(format!(
                "the catalogue has no model {part_no:?}: write the part number as the list of \
                 models shows it"
            ))
        })
    }

    /// The code of a storeroom that is there.
    pub fn storeroom(&self, code: &str) -> Result<&str, Failure> {
        let known = self.serving.get(code.trim());
        known.map(|storeroom| storeroom.code.as_str()).ok_or_else(|| {
            let codes: Vec<&str> =
                self.serving.storerooms.iter().map(|room| room.code.as_str()).collect();
            Failure::not_found(format!(
                "there is no storeroom {code:?}: write one of {}",
                codes.join(", ")
            ))
        })
    }
}
