//! Which model stands in for which, and what that does to the orders of all.

use super::spares_demand::Known;
use super::spares_facts::Facts;
use super::spares_stock::{ModelStock, RoomStock};
use crate::Failure;
use chrono::NaiveDate;
use slotkeep_domain::model::{Model, PartNo};
use slotkeep_domain::place::Criticality;
use slotkeep_domain::spares::{
    BuyingLimits, Helped, Lacking, NoStandIn, PlaceService, advise, free_pieces, may_stand_in,
};
use std::collections::{BTreeMap, HashMap};

/// The models that the catalogue names for the places of another, with what forbids it.
pub(super) fn named<'k>(
    models: &'k BTreeMap<String, Model>,
    model: &'k Model,
) -> impl Iterator<Item = (&'k Model, Result<(), NoStandIn>)> + 'k {
    let named = model.substitutes.iter().filter_map(|it| models.get(it.as_str()));
    named.map(|it| (it, may_stand_in(it, model)))
}

/// The models that may stand in for another, in the order of the catalogue.
pub(super) fn allowed<'k>(
    models: &'k BTreeMap<String, Model>,
    model: &'k Model,
) -> impl Iterator<Item = &'k Model> + 'k {
    named(models, model).filter_map(|(it, allowed)| allowed.is_ok().then_some(it))
}

/// What is bought today where a model is wanted: itself, or where its maker takes no orders the
/// first that may stand in and is sold; none where there is no such.
pub(super) fn bought_for<'k>(
    models: &'k BTreeMap<String, Model>,
    model: &'k Model,
    today: NaiveDate,
) -> Option<&'k Model> {
    let sold = |it: &&Model| it.can_be_ordered_on(today);
    Some(model).filter(sold).or_else(|| allowed(models, model).find(sold))
}

/// What stand-ins do for the order of one model where a storeroom orders it.
#[derive(Default, PartialEq)]
pub(super) struct Part {
    /// Models that may stand in, with the pieces of each that are free.
    pub free: Vec<(PartNo, u64)>,
    /// Free pieces that are counted for it.
    pub counted: u64,
    /// The same by the model that they are of.
    pub borrowed: Vec<(PartNo, u64)>,
    /// Its own free pieces that are counted for other models, by these.
    pub lent: Vec<(PartNo, u64)>,
    /// Its places are served so with what is there, stand-ins counted.
    pub now: Option<PlaceService>,
    /// Too much is asked of the same stand-ins at once, so none are counted.
    pub too_many: bool,
    /// What is ordered in its place, with how many pieces for it.
    pub bought: Option<(PartNo, u64)>,
    /// Models that are no longer sold for which pieces of this one are ordered.
    pub ordered_for: Vec<InPlaceOf>,
    /// Pieces to be held for such models, those there are among them.
    pub instead: u64,
}

/// A model that is no longer sold, and what is ordered of its stand-in.
#[derive(PartialEq)]
pub(super) struct InPlaceOf {
    pub model: PartNo,
    pub class: Criticality,
    pub pieces: u64,
}

/// A model where a storeroom orders it: the home one, which all models share, or another.
type At<'k> = (&'k str, Option<&'k str>);

/// What stand-ins do for each model and storeroom that orders.
pub(super) struct StandIns {
    /// By model and then by storeroom.
    parts: HashMap<String, BTreeMap<String, Part>>,
}

impl StandIns {
    pub fn of(known: &Known<'_>, stocks: &[(&Model, &ModelStock)]) -> Result<Self, Failure> {
        let sides = Sides::of(known.facts, stocks);
        let (free, lacking) = (sides.free(), sides.lacking(known)?);
        let asked: Vec<Lacking> = lacking.iter().map(|it| it.asked.clone()).collect();
        let helped = free_pieces(&free, &asked)
            .map_err(|no| Failure::refused(format!("stand-ins cannot be reckoned with: {no}")))?;
        let mut parts = sides.parts(&free);
        let mut shelves = free;
        for (it, helped) in lacking.iter().zip(&helped) {
            it.note(&sides, helped, &mut parts, &mut shelves);
        }
        for (shelf, at) in sides.shelves.iter().enumerate() {
            let part = parts.entry(sides.key(*at)).or_default();
            part.instead = if part.ordered_for.is_empty() { 0 } else { shelves[shelf] };
        }
        let mut by_model: HashMap<String, BTreeMap<String, Part>> = HashMap::new();
        for ((model, storeroom), part) in parts {
            by_model.entry(model).or_default().insert(storeroom, part);
        }
        Ok(Self { parts: by_model })
    }

    pub fn part(&self, model: &str, storeroom: &str) -> Option<&Part> {
        self.parts.get(model)?.get(storeroom)
    }

    /// What stand-ins do for a model where it is ordered, by storeroom.
    pub fn of_model(&self, model: &str) -> Option<&BTreeMap<String, Part>> {
        self.parts.get(model)
    }
}

/// Who may lend and who may borrow.
struct Sides<'k> {
    facts: &'k Facts,
    /// Each model where it is ordered.
    all: HashMap<At<'k>, (&'k Model, &'k ModelStock, &'k RoomStock)>,
    /// Those that may stand in for something.
    shelves: Vec<At<'k>>,
}

impl<'k> Sides<'k> {
    fn of(facts: &'k Facts, stocks: &[(&'k Model, &'k ModelStock)]) -> Self {
        let mut all = HashMap::new();
        for (model, stock) in stocks {
            for room in stock.rooms.iter().filter(|room| room.supplied_by.is_none()) {
                let other = (room.storeroom != stock.home).then_some(room.storeroom.as_str());
                all.insert((model.part_no.as_str(), other), (*model, *stock, room));
            }
        }
        let mut shelves: Vec<At<'k>> = Vec::new();
        for (model, other) in all.keys() {
            let Some(model) = facts.models.get(*model) else { continue };
            for stand_in in allowed(&facts.models, model) {
                let at = (stand_in.part_no.as_str(), *other);
                if all.contains_key(&at) {
                    shelves.push(at);
                }
            }
        }
        shelves.sort_unstable();
        shelves.dedup();
        Self { facts, all, shelves }
    }

    fn shelf(&self, at: At<'_>) -> Option<usize> {
        self.shelves.binary_search(&at).ok()
    }

    fn key(&self, at: At<'k>) -> (String, String) {
        (at.0.to_owned(), self.all[&at].2.storeroom.clone())
    }

    /// Pieces of each shelf above what its own model needs.
    fn free(&self) -> Vec<u64> {
        let free = |at: &At<'_>| {
            let (_, stock, room) = self.all[at];
            let (standing, level) = stock.ordering(room);
            let needed = i128::from(level.reorder_at) + 1;
            u64::try_from(standing.position() - needed.max(0)).unwrap_or(0)
        };
        self.shelves.iter().map(free).collect()
    }

    fn parts(&self, free: &[u64]) -> HashMap<(String, String), Part> {
        let mut parts: HashMap<(String, String), Part> = HashMap::new();
        for (at, (model, ..)) in &self.all {
            for stand_in in allowed(&self.facts.models, model) {
                let Some(shelf) = self.shelf((stand_in.part_no.as_str(), at.1)) else { continue };
                if free[shelf] > 0 {
                    let part = parts.entry(self.key(*at)).or_default();
                    part.free.push((stand_in.part_no.clone(), free[shelf]));
                }
            }
        }
        parts
    }

    /// What is to order without stand-ins, the most critical first.
    fn lacking(&self, known: &Known<'_>) -> Result<Vec<LackingAt<'k>>, Failure> {
        let mut lacking = Vec::new();
        let mut order: Vec<_> = self.all.iter().collect();
        order.sort_by_key(|(at, (.., room))| (room.leveled.classed.class, **at));
        for (at, (model, stock, room)) in order {
            let (standing, level) = stock.ordering(room);
            let alone = advise(standing, level.rule(), &BuyingLimits::none());
            if alone.order_now == 0 {
                continue;
            }
            let sold = model.can_be_ordered_on(self.facts.today);
            // A level that a person chose is held of the model itself while it is sold.
            let choice = self.facts.of(at.0).choice(&room.storeroom);
            let chosen = sold && choice.is_some_and(|choice| choice.level.is_some());
            let borrows = allowed(&self.facts.models, model).filter(|_| !chosen);
            let shelves = borrows.filter_map(|it| self.shelf((it.part_no.as_str(), at.1)));
            let shelves: Vec<usize> = shelves.collect();
            let bought = bought_for(&self.facts.models, model, self.facts.today).filter(|_| !sold);
            let shelf = |it: &Model, other| self.shelf((it.part_no.as_str(), other));
            let filled = bought.and_then(|it| shelf(it, at.1).or_else(|| shelf(it, None)));
            if shelves.is_empty() && filled.is_none() {
                continue;
            }
            let asked = Lacking {
                stock: u64::try_from(standing.position()).unwrap_or(0),
                needed: u64::try_from(level.reorder_at + 1).unwrap_or(0),
                demand: stock.asked_for(known, model, room)?,
                target: room.leveled.target,
                shelves,
                filled_instead: filled,
            };
            // What is planned beyond all that is there has to be brought in any case.
            let owed = u64::try_from(-standing.position()).unwrap_or(0);
            lacking.push(LackingAt { at: *at, asked, owed });
        }
        Ok(lacking)
    }
}

struct LackingAt<'k> {
    at: At<'k>,
    asked: Lacking,
    /// Planned beyond what is there.
    owed: u64,
}

impl LackingAt<'_> {
    fn note(
        &self,
        sides: &Sides<'_>,
        helped: &Helped,
        parts: &mut HashMap<(String, String), Part>,
        shelves: &mut [u64],
    ) {
        let added = helped.added + if self.asked.filled_instead.is_some() { self.owed } else { 0 };
        let key = sides.key(self.at);
        let part = parts.entry(key).or_default();
        part.counted = helped.fewer;
        part.now = helped.now;
        part.too_many = helped.too_many && !part.free.is_empty();
        let of_shelf = |shelf: usize| &sides.all[&sides.shelves[shelf]].0.part_no;
        part.borrowed =
            helped.taken.iter().map(|(shelf, taken)| (of_shelf(*shelf).clone(), *taken)).collect();
        for (shelf, taken) in &helped.taken {
            let lender = parts.entry(sides.key(sides.shelves[*shelf])).or_default();
            lender.lent.push((sides.all[&self.at].0.part_no.clone(), *taken));
        }
        let Some(shelf) = self.asked.filled_instead.filter(|_| added > 0) else { return };
        let stand_in = sides.all[&sides.shelves[shelf]].0;
        let (model, _, room) = sides.all[&self.at];
        let key = sides.key(self.at);
        parts.entry(key).or_default().bought = Some((stand_in.part_no.clone(), added));
        shelves[shelf] += added;
        let of_stand_in = parts.entry(sides.key(sides.shelves[shelf])).or_default();
        of_stand_in.ordered_for.push(InPlaceOf {
            model: model.part_no.clone(),
            class: room.leveled.classed.class,
            pieces: added,
        });
    }
}
