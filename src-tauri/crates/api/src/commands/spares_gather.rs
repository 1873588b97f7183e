//! Gathers the facts of spares from the register: of all models at once, or of those that something
//! happened to.

use super::battery_demand::Dues;
use super::battery_figures::Surroundings;
use super::lines::Catalogue;
use super::spares_facts::{Facts, HandedOut, Held, Running};
use super::spares_places::Places;
use super::spares_serving::Serving;
use super::spares_ties::Ties;
use super::spares_touched::Touched;
use super::stock_handed_out::Out;
use crate::Failure;
use crate::ask::Ask;
use chrono::{NaiveDate, NaiveTime};
use slotkeep_domain::journal::{PastKind, Purpose};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::place::BinPath;
use slotkeep_domain::register::{
    self, Issue, PopulationChange, Reservation, SpareChoice, Stay, View,
};
use slotkeep_domain::stock::{Lot, Order};
use slotkeep_domain::unit::{Condition, Unit, UnitPlace};
use slotkeep_store::Reader;
use std::collections::{BTreeSet, HashMap, HashSet};
use std::sync::Arc;

impl Facts {
    /// All that the register says.
    pub fn gather(ask: &Ask<'_>, r: &Reader<'_>) -> Result<Self, Failure> {
        let today = ask.today();
        let around = Surroundings::of(r)?;
        let serving = Serving::new(r.storerooms()?, around.cabinets());
        let models = r.models()?.into_iter().map(|model| (model.part_no.to_string(), model));
        let models = models.collect();
        let mut facts = Self {
            today,
            until: (today + chrono::Days::new(1)).and_time(NaiveTime::MIN).and_utc(),
            rules: around.site.rules_of_spares(),
            ties: Arc::new(Ties::of(&models, today)),
            models: Arc::new(models),
            dues: Arc::new(Dues::of(r, &around, today)?),
            around: Arc::new(around),
            serving: Arc::new(serving),
            places: Arc::new(Places::of(r)?),
            by_model: HashMap::new(),
            record_from: None,
            taken: taken(r)?,
            nothing: Held::default(),
        };
        let mut held = Gathering::of(&facts).everything(r)?;
        for (model, changes) in facts.dues.planned(r, today)? {
            held.entry(model).or_default().changes = changes;
        }
        facts.by_model = held.into_iter().map(|(model, held)| (model, Arc::new(held))).collect();
        facts.record_from = facts.first_asked();
        Ok(facts)
    }

    /// The same facts after something happened to some models, and the models of which the register
    /// says anything else now.
    pub fn renewed(
        &self,
        r: &Reader<'_>,
        touched: &Touched,
    ) -> Result<(Self, BTreeSet<String>), Failure> {
        let mut facts = Self {
            today: self.today,
            until: self.until,
            rules: self.rules.clone(),
            models: self.models.clone(),
            around: self.around.clone(),
            serving: self.serving.clone(),
            places: self.places.clone(),
            ties: self.ties.clone(),
            by_model: self.by_model.clone(),
            record_from: None,
            dues: self.dues.clone(),
            taken: taken(r)?,
            nothing: Held::default(),
        };
        let mut models = touched.models.clone();
        for part_no in &touched.models {
            let Some(model) = facts.models.get(part_no) else { continue };
            let before = facts.by_model.get(part_no).map(|held| held.changes.clone());
            let mut held = Gathering::of(&facts).of_model(r, model)?;
            held.changes = before.unwrap_or_default();
            facts.by_model.insert(part_no.clone(), Arc::new(held));
        }
        if touched.batteries {
            let changed = Arc::make_mut(&mut facts.dues);
            changed.renew(r, &self.around, &touched.units, self.today)?;
            models.extend(facts.plan_changes(r)?);
        }
        facts.record_from = facts.first_asked();
        Ok((facts, models))
    }

    /// Plans the battery changes anew, and names the cells of which others are planned now.
    fn plan_changes(&mut self, r: &Reader<'_>) -> Result<Vec<String>, Failure> {
        let mut planned = self.dues.planned(r, self.today)?;
        let had = self.by_model.iter().filter(|(_, held)| !held.changes.is_empty());
        for (model, _) in had {
            planned.entry(model.clone()).or_default();
        }
        let mut other = Vec::new();
        for (model, changes) in planned {
            if self.of(&model).changes != changes {
                Arc::make_mut(self.by_model.entry(model.clone()).or_default()).changes = changes;
                other.push(model);
            }
        }
        Ok(other)
    }
}

/// Units that a swap under way takes.
fn taken(r: &Reader<'_>) -> Result<HashSet<LabelCode>, Failure> {
    Ok(r.open_swaps()?.iter().map(|swap| swap.into).collect())
}

/// Facts on their way from the register. Whether they come of all models or of one, each record goes
/// through the same hands.
struct Gathering<'f> {
    facts: &'f Facts,
    today: NaiveDate,
    held: Vec<Held>,
    /// Where each model stands in that list.
    at: HashMap<String, usize>,
}

impl<'f> Gathering<'f> {
    fn of(facts: &'f Facts) -> Self {
        Self { facts, today: facts.today, held: Vec::new(), at: HashMap::new() }
    }

    fn everything(mut self, r: &Reader<'_>) -> Result<HashMap<String, Held>, Failure> {
        r.units()?.iter().for_each(|unit| self.unit(r, unit));
        r.lots()?.iter().for_each(|lot| self.lot(lot));
        r.orders()?.into_iter().for_each(|order| self.order(order));
        r.reservations()?.iter().for_each(|kept| self.reservation(kept));
        r.stays()?.into_iter().for_each(|stay| self.stay(stay));
        r.failures()?.iter().for_each(|failure| self.failure(failure));
        r.issues()?.into_iter().for_each(|issue| self.issue(issue));
        r.population_changes()?.into_iter().for_each(|change| self.population(change));
        r.spare_choices()?.into_iter().for_each(|choice| self.choice(choice));
        let places = self.facts.places.clone();
        let drawn: BTreeSet<&String> = places.models().collect();
        drawn.into_iter().for_each(|model| places.note(model, self.held(model)));
        let mut held: Vec<Option<Held>> = self.held.into_iter().map(Some).collect();
        let named = self.at.into_iter();
        Ok(named.filter_map(|(model, at)| Some((model, held[at].take()?))).collect())
    }

    /// What the register says of one model.
    fn of_model(
        mut self,
        r: &Reader<'_>,
        model: &slotkeep_domain::model::Model,
    ) -> Result<Held, Failure> {
        let part_no = &model.part_no;
        r.units_of(part_no)?.iter().for_each(|unit| self.unit(r, unit));
        r.lots_of(part_no)?.iter().for_each(|lot| self.lot(lot));
        r.orders_of(part_no)?.into_iter().for_each(|order| self.order(order));
        r.reservations_on(part_no).iter().for_each(|kept| self.reservation(kept));
        r.stays_of(part_no)?.into_iter().for_each(|stay| self.stay(stay));
        r.failures_of(part_no)?.iter().for_each(|failure| self.failure(failure));
        r.issues_of(part_no)?.into_iter().for_each(|issue| self.issue(issue));
        let changes = r.population_changes()?.into_iter().filter(|it| it.model == *part_no);
        changes.for_each(|change| self.population(change));
        let choices = r.spare_choices()?.into_iter().filter(|it| it.model == *part_no);
        choices.for_each(|choice| self.choice(choice));
        r.fault()?;
        let places = self.facts.places.clone();
        places.note(part_no.as_str(), self.held(part_no.as_str()));
        Ok(std::mem::take(self.held(part_no.as_str())))
    }

    fn held(&mut self, model: &str) -> &mut Held {
        let at = match self.at.get(model) {
            Some(at) => *at,
            None => {
                self.at.insert(model.to_owned(), self.held.len());
                self.held.push(Held::default());
                self.held.len() - 1
            }
        };
        &mut self.held[at]
    }

    fn unit(&mut self, r: &Reader<'_>, unit: &Unit) {
        let facts = self.facts;
        let held = self.held(unit.model.as_str());
        match &unit.place {
            UnitPlace::Slot(slot) => {
                let cabinet = slot.cabinet();
                *held.standing.entry(cabinet.clone()).or_default() += 1;
                let since = (!unit.since_unknown).then_some(unit.since);
                held.running.push(Running { unit: unit.label, cabinet, since });
                if let Some(class) = facts.places.class_of(slot) {
                    held.stands_in(class, slot.as_str());
                }
            }
            UnitPlace::Bin(bin) => {
                let shelf = held.shelves.entry(bin.storeroom().to_owned()).or_default();
                match unit.condition {
                    Condition::Good => {
                        shelf.usable += 1;
                        // It lies there still, but a swap under way takes it.
                        shelf.reserved += u32::from(facts.taken.contains(&unit.label));
                        shelf.lots.push((None, 1));
                    }
                    _ => shelf.not_usable += 1,
                }
            }
            UnitPlace::Repair => held.in_repair += 1,
            UnitPlace::Bench => {
                let Some(out) = Out::of(r, unit) else { return };
                let home = || facts.serving.central().map(|room| room.code.as_str());
                let from = out.from.as_ref().map(BinPath::storeroom);
                let Some(room) = from.or_else(home) else { return };
                let to = Catalogue::new(r).purpose(&out.purpose);
                let out = HandedOut { to, since: out.at.date_naive() };
                held.shelves.entry(room.to_owned()).or_default().handed_out.push(out);
            }
            UnitPlace::Scrapped | UnitPlace::Lost => {}
        }
    }

    fn lot(&mut self, lot: &Lot) {
        let usable = lot.usable_on(self.today) > 0;
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

    fn order(&mut self, order: Order) {
        if order.outstanding() > 0 {
            self.held(order.model.as_str()).orders.push(order);
        }
    }

    fn reservation(&mut self, kept: &Reservation) {
        // A visit takes what the planned changes count already.
        if !kept.holds_on(self.today) || matches!(kept.purpose, Purpose::Visit { .. }) {
            return;
        }
        let held = self.held(kept.model.as_str());
        held.shelves.entry(kept.storeroom.clone()).or_default().reserved += kept.pieces;
    }

    fn stay(&mut self, stay: Stay) {
        self.held(stay.model.as_str()).stays.push(stay);
    }

    fn failure(&mut self, failure: &register::Failure) {
        let held = self.held(failure.model.as_str());
        match failure.what {
            PastKind::Failure => held.failed_at.push(failure.at),
            PastKind::NoFaultFound => held.no_fault_at.push(failure.at),
            _ => {}
        }
    }

    fn issue(&mut self, issue: Issue) {
        self.held(issue.model.as_str()).issues.push(issue);
    }

    fn population(&mut self, change: PopulationChange) {
        if change.settled.is_none() {
            self.held(change.model.as_str()).population.push(change);
        }
    }

    fn choice(&mut self, choice: SpareChoice) {
        self.held(choice.model.as_str()).choices.push(choice);
    }
}
