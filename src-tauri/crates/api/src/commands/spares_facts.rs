//! What all figures of spares are reckoned from, gathered from the register once.

use super::battery_demand::{Demand, planned_changes};
use super::battery_figures::Surroundings;
use super::spares_serving::Serving;
use crate::Failure;
use crate::ask::Ask;
use chrono::{DateTime, NaiveDate, Utc};
use slotkeep_domain::journal::{PastKind, Purpose};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::model::{Model, ModelKind};
use slotkeep_domain::place::{CabinetAddress, Criticality, Slot, SparesRules};
use slotkeep_domain::register::{Issue, PopulationChange, SpareChoice, Stay};
use slotkeep_domain::stock::Order;
use slotkeep_domain::unit::{Condition, Unit, UnitPlace};
use slotkeep_store::Reader;
use std::collections::{BTreeMap, HashMap};

pub(super) struct Facts {
    pub now: DateTime<Utc>,
    pub today: NaiveDate,
    pub rules: SparesRules,
    pub models: BTreeMap<String, Model>,
    pub around: Surroundings,
    pub serving: Serving,
    /// What the register holds of each model.
    pub by_model: HashMap<String, Held>,
    nothing: Held,
    /// First month in which anything was handed out or failed; the histories begin there.
    pub record_from: Option<NaiveDate>,
}

/// What the register holds of one model.
#[derive(Default)]
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
    /// The most critical slot that one stands in or is wanted in.
    pub critical: Option<(Criticality, String)>,
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
}

impl Facts {
    pub fn of(&self, model: &str) -> &Held {
        self.by_model.get(model).unwrap_or(&self.nothing)
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

    pub fn gather(ask: &Ask<'_>, r: &Reader<'_>) -> Result<Self, Failure> {
        let around = Surroundings::of(r)?;
        let serving = Serving::new(r.storerooms()?, around.cabinets());
        let models = r.models()?.into_iter().map(|model| (model.part_no.to_string(), model));
        let mut facts = Self {
            now: ask.now,
            today: ask.today(),
            rules: around.site.rules_of_spares(),
            models: models.collect(),
            around,
            serving,
            by_model: HashMap::new(),
            nothing: Held::default(),
            record_from: None,
        };
        facts.units(r)?;
        facts.stock(r)?;
        facts.past(r)?;
        facts.decisions(r)?;
        for (model, changes) in planned_changes(r, ask.now)? {
            facts.held(&model).changes = changes;
        }
        Ok(facts)
    }

    fn held(&mut self, model: &str) -> &mut Held {
        if !self.by_model.contains_key(model) {
            self.by_model.insert(model.to_owned(), Held::default());
        }
        self.by_model.entry(model.to_owned()).or_default()
    }

    fn units(&mut self, r: &Reader<'_>) -> Result<(), Failure> {
        let slots = r.slots()?;
        let class_of: HashMap<&str, &Slot> =
            slots.iter().map(|slot| (slot.address.as_str(), slot)).collect();
        for unit in r.units()? {
            let takes = self.battery_of(&unit);
            if let Some(slot) = unit.place.slot().and_then(|at| class_of.get(at.as_str())) {
                self.stands(unit.model.as_str(), slot);
                if let Some(battery) = takes {
                    self.stands(&battery, slot);
                }
            }
            self.place(&unit);
        }
        for slot in &slots {
            if let Some(wanted) = &slot.model_wanted {
                self.stands(wanted.as_str(), slot);
            }
        }
        for rail in r.rails()? {
            let cabinet = rail.address.cabinet();
            for part_no in rail.items.iter().filter_map(|item| item.model.as_ref()) {
                let standing = &mut self.held(part_no.as_str()).standing;
                *standing.entry(cabinet.clone()).or_default() += 1;
            }
        }
        Ok(())
    }

    fn battery_of(&self, unit: &Unit) -> Option<String> {
        let need = self.models.get(unit.model.as_str())?.battery.as_ref()?;
        Some(need.model.to_string())
    }

    /// Keeps the slot where it is the most critical one of the model.
    fn stands(&mut self, model: &str, slot: &Slot) {
        let critical = &mut self.held(model).critical;
        if critical.as_ref().is_none_or(|(class, _)| slot.criticality < *class) {
            *critical = Some((slot.criticality, slot.address.to_string()));
        }
    }

    fn place(&mut self, unit: &Unit) {
        let held = self.held(unit.model.as_str());
        match &unit.place {
            UnitPlace::Slot(slot) => {
                let cabinet = slot.cabinet();
                *held.standing.entry(cabinet.clone()).or_default() += 1;
                let since = (!unit.since_unknown).then_some(unit.since);
                held.running.push(Running { unit: unit.label, cabinet, since });
            }
            UnitPlace::Bin(bin) => {
                let shelf = held.shelves.entry(bin.storeroom().to_owned()).or_default();
                match unit.condition {
                    Condition::Good => {
                        shelf.usable += 1;
                        shelf.lots.push((None, 1));
                    }
                    _ => shelf.not_usable += 1,
                }
            }
            UnitPlace::Repair => held.in_repair += 1,
            _ => {}
        }
    }

    fn stock(&mut self, r: &Reader<'_>) -> Result<(), Failure> {
        let today = self.today;
        for lot in r.lots()? {
            let usable = lot.usable_on(today) > 0;
            let held = self.held(lot.model.as_str());
            for (bin, pieces) in &lot.pieces {
                let shelf = held.shelves.entry(bin.storeroom().to_owned()).or_default();
                if usable {
                    shelf.usable += pieces;
                    shelf.lots.push((lot.shelf_until, *pieces));
                } else {
                    shelf.not_usable += pieces;
                }
            }
        }
        for order in r.orders()?.into_iter().filter(|order| order.outstanding() > 0) {
            self.held(order.model.as_str()).orders.push(order);
        }
        for reservation in r.reservations()?.into_iter().filter(|it| it.holds_on(today)) {
            // A visit takes what the planned changes count already.
            if matches!(reservation.purpose, Purpose::Visit { .. }) {
                continue;
            }
            let held = self.held(reservation.model.as_str());
            let shelf = held.shelves.entry(reservation.storeroom.clone()).or_default();
            shelf.reserved += reservation.pieces;
        }
        Ok(())
    }

    fn past(&mut self, r: &Reader<'_>) -> Result<(), Failure> {
        let mut first: Option<NaiveDate> = None;
        let mut seen = |at: DateTime<Utc>| {
            let on = at.date_naive();
            first = Some(first.map_or(on, |first| first.min(on)));
        };
        for stay in r.stays()? {
            self.held(&stay.model.to_string()).stays.push(stay);
        }
        for failure in r.failures()? {
            let held = self.held(failure.model.as_str());
            match failure.what {
                PastKind::Failure => held.failed_at.push(failure.at),
                PastKind::NoFaultFound => held.no_fault_at.push(failure.at),
                _ => continue,
            }
            seen(failure.at);
        }
        for issue in r.issues()? {
            seen(issue.at);
            self.held(&issue.model.to_string()).issues.push(issue);
        }
        self.record_from = first;
        Ok(())
    }

    fn decisions(&mut self, r: &Reader<'_>) -> Result<(), Failure> {
        for change in r.population_changes()?.into_iter().filter(|it| it.settled.is_none()) {
            self.held(&change.model.to_string()).population.push(change);
        }
        for choice in r.spare_choices()? {
            self.held(&choice.model.to_string()).choices.push(choice);
        }
        Ok(())
    }
}
