//! How often units of a model fail: what is stated, what the family and the record say, and heat.

use super::spares_facts::{Facts, Held, fails};
use super::spares_known::each_of;
use super::spares_warmth::{Place, Warmth};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::model::Model;
use slotkeep_domain::place::CabinetAddress;
use slotkeep_domain::register;
use slotkeep_domain::spares::{
    LearnedRate, Lives, NoWear, PartsLine, Pooled, Population, PopulationChange, RateHeat, Record,
    StatedRate, Stay, StayEnd, USUAL_ACTIVATION_EV, USUAL_STATED_C, USUAL_WORTH, Wear,
    learned_rate, pool, wear,
};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

/// Rates of every model, learned together since families are pooled.
pub(super) struct Rates {
    by_model: HashMap<String, Arc<Rate>>,
    /// What the models of each family have in common.
    families: HashMap<String, Pooled>,
}

/// What is known of one model's failing.
pub(super) struct Rate {
    seen: Arc<Seen>,
    /// Models of its family, itself among them; empty where it was not pooled.
    pub pooled_with: Vec<String>,
    pub learned: Result<LearnedRate, String>,
}

/// What is known of one model by itself, before its family is looked at.
pub(super) struct Seen {
    pub heat: Option<RateHeat>,
    /// Where it stands, and how warm it is there.
    pub places: BTreeMap<CabinetAddress, Place>,
    pub stated: Option<StatedRate>,
    pub wear: Result<Wear, NoWear>,
    /// Stays with the factor of their places, the running ones first.
    pub stays: Vec<Stay>,
    record: Record,
}

impl std::ops::Deref for Rate {
    type Target = Seen;

    fn deref(&self) -> &Seen {
        &self.seen
    }
}

impl Rate {
    /// Mean factor of heat over the units that stand; 1 where none does.
    pub fn mean_factor(&self) -> f64 {
        let units: u32 = self.places.values().map(|place| place.units).sum();
        let weighted: f64 =
            self.places.values().map(|place| f64::from(place.units) * place.factor).sum();
        if units == 0 { 1.0 } else { weighted / f64::from(units) }
    }

    /// The units of some cabinets, with the changes that are planned for them.
    pub fn population(
        &self,
        serves: impl Fn(&CabinetAddress) -> bool,
        changes: &[(f64, i32)],
    ) -> Population {
        let here = self.places.iter().filter(|(cabinet, _)| serves(cabinet));
        let (mut units, mut weighted) = (0.0, 0.0);
        for (_, place) in here {
            units += f64::from(place.units);
            weighted += f64::from(place.units) * place.factor;
        }
        let factor = if units > 0.0 { weighted / units } else { self.mean_factor() };
        let change = |(day, more): &(f64, i32)| PopulationChange {
            day: *day,
            units: f64::from(*more),
            weighted: f64::from(*more) * factor,
        };
        Population { units, weighted, changes: changes.iter().map(change).collect() }
    }
}

impl Rates {
    pub fn of(&self, model: &str) -> Option<&Rate> {
        self.by_model.get(model).map(Arc::as_ref)
    }

    /// Learns the rates of all models that can fail, each family together.
    pub fn learn(facts: &Facts) -> Self {
        let seen = each_of(facts, Warmth::default, |warmth, model| {
            fails(model).then(|| Arc::new(Seen::of(facts, model, warmth)))
        });
        let seen = facts.models.values().zip(&seen);
        let seen = seen.filter_map(|(model, seen)| Some((model, seen.as_ref()?)));
        let seen: HashMap<&str, (&Model, &Arc<Seen>)> =
            seen.map(|(model, seen)| (model.part_no.as_str(), (model, seen))).collect();
        let in_order = facts.models.keys().filter_map(|part_no| seen.get(part_no.as_str()));
        let families = families(in_order.copied());
        let by_model = each_of(
            facts,
            || (),
            |(), model| {
                let (model, seen) = seen.get(model.part_no.as_str())?;
                let family = model.family.as_ref().and_then(|family| families.get(family.as_str()));
                let rate = Rate::of(model, Arc::clone(seen), family);
                Some((model.part_no.to_string(), Arc::new(rate)))
            },
        );
        Self { by_model: by_model.into_iter().flatten().collect(), families: kept(families) }
    }

    /// The same rates after something happened to some models, and the models of which other rates
    /// may be known now: these, and their families where those have anything else in common.
    pub fn renewed(&self, facts: &Facts, models: &BTreeSet<String>) -> (Self, BTreeSet<String>) {
        let mut warmth = Warmth::default();
        let (mut by_model, mut pooled) = (self.by_model.clone(), self.families.clone());
        let mut seen: BTreeMap<&str, Arc<Seen>> = BTreeMap::new();
        let named = models.iter().filter_map(|part_no| facts.models.get(part_no));
        for model in named.filter(|model| fails(model)) {
            let own = Arc::new(Seen::of(facts, model, &mut warmth));
            seen.insert(model.part_no.as_str(), own);
        }
        let of_family: BTreeSet<&String> =
            seen.keys().filter_map(|part_no| facts.models[*part_no].family.as_ref()).collect();
        let members = facts.models.values().filter(|model| {
            fails(model) && model.family.as_ref().is_some_and(|it| of_family.contains(it))
        });
        let seen_of = |model: &Model| {
            let part_no = model.part_no.as_str();
            seen.get(part_no).or_else(|| self.by_model.get(part_no).map(|rate| &rate.seen)).cloned()
        };
        let members: Vec<(&Model, Arc<Seen>)> =
            members.filter_map(|model| Some((model, seen_of(model)?))).collect();
        let families = families(members.iter().map(|(model, seen)| (*model, seen)));
        let mut other = models.clone();
        let alone = seen.keys().map(|part_no| &facts.models[*part_no]);
        let alone = alone.filter(|model| model.family.is_none());
        let alone = alone.map(|model| (model, seen[model.part_no.as_str()].clone()));
        for (model, own) in alone.chain(members) {
            let part_no = model.part_no.as_str();
            let family = model.family.as_ref().and_then(|family| families.get(family.as_str()));
            let before = model.family.as_ref().and_then(|family| self.families.get(family));
            if seen.contains_key(part_no) || before != family.map(|family| &family.pooled) {
                let rate = Rate::of(model, own, family);
                by_model.insert(part_no.to_owned(), Arc::new(rate));
                other.insert(part_no.to_owned());
            }
        }
        pooled.retain(|family, _| !of_family.contains(family));
        pooled.extend(kept(families));
        (Self { by_model, families: pooled }, other)
    }
}

/// A family that was pooled, with its models.
struct Family {
    pooled: Pooled,
    models: Vec<String>,
}

fn kept(families: HashMap<&str, Family>) -> HashMap<String, Pooled> {
    families.into_iter().map(|(family, it)| (family.to_owned(), it.pooled)).collect()
}

fn families<'m, 's>(
    seen: impl Iterator<Item = (&'m Model, &'s Arc<Seen>)>,
) -> HashMap<&'m str, Family> {
    let mut members: BTreeMap<&str, Vec<(&Model, &Arc<Seen>)>> = BTreeMap::new();
    for (model, seen) in seen {
        if let Some(family) = &model.family {
            members.entry(family).or_default().push((model, seen));
        }
    }
    let mut families = HashMap::new();
    for (family, members) in members {
        let figures: Vec<(Option<f64>, &Record)> = members
            .iter()
            .map(|(_, seen)| (seen.stated.as_ref().and_then(|it| it.fit().ok()), &seen.record))
            .collect();
        if let Ok(pooled) = pool(&figures) {
            let models = members.iter().map(|(model, _)| model.part_no.to_string()).collect();
            families.insert(family, Family { pooled, models });
        }
    }
    families
}

impl Rate {
    fn of(model: &Model, seen: Arc<Seen>, family: Option<&Family>) -> Self {
        let worth = model.failure_rate_worth.unwrap_or(USUAL_WORTH);
        let pooled = family.map(|family| family.pooled);
        let learned = learned_rate(seen.stated.as_ref(), worth, pooled, seen.record.clone());
        let by_family = learned.as_ref().is_ok_and(|learned| learned.pooled.is_some());
        Self {
            seen,
            pooled_with: family
                .filter(|_| by_family)
                .map(|family| family.models.clone())
                .unwrap_or_default(),
            learned: learned.map_err(|no| no.to_string()),
        }
    }
}

impl Seen {
    fn of(facts: &Facts, model: &Model, warmth: &mut Warmth) -> Self {
        let held = facts.of(model.part_no.as_str());
        let heat = RateHeat::new(
            model.failure_rate_at_c.unwrap_or(USUAL_STATED_C),
            model.failure_activation_ev.unwrap_or(USUAL_ACTIVATION_EV),
        )
        .ok();
        let mut places = BTreeMap::new();
        for (cabinet, units) in &held.standing {
            let warm = warmth.of(facts, heat, cabinet);
            places.insert(cabinet.clone(), Place { units: *units, ..warm });
        }
        let stays = stays(facts, held, |cabinet| warmth.of(facts, heat, cabinet).factor);
        let record = Record::of(&stays);
        let wear = wear(&Lives::of(&stays).seen);
        Self { heat, places, stated: stated(model), wear, stays, record }
    }
}

/// Stays of a model's units, the running ones first, in which units are numbered by their labels.
fn stays(facts: &Facts, held: &Held, mut factor: impl FnMut(&CabinetAddress) -> f64) -> Vec<Stay> {
    let mut numbers: HashMap<LabelCode, usize> = HashMap::new();
    let mut stays = Vec::with_capacity(held.running.len() + held.stays.len());
    for (unit, running) in held.running.iter().enumerate() {
        numbers.insert(running.unit, unit);
        stays.push(Stay {
            unit,
            from: running.since,
            to: facts.until,
            end: StayEnd::Running,
            factor: factor(&running.cabinet),
        });
    }
    let mut next = held.running.len();
    for past in &held.stays {
        let mut new = || {
            next += 1;
            next - 1
        };
        // Old records may name no unit: each is then a unit of its own.
        let unit = match past.unit {
            Some(label) => *numbers.entry(label).or_insert_with(new),
            None => new(),
        };
        let end = match past.ended_by {
            register::StayEnd::Failure => StayEnd::Failure,
            register::StayEnd::NoFaultFound => StayEnd::NoFaultFound,
            register::StayEnd::Other => StayEnd::Other,
        };
        let factor = past.slot.as_ref().map_or(1.0, |slot| factor(&slot.cabinet()));
        stays.push(Stay { unit, from: Some(past.from), to: past.to, end, factor });
    }
    stays
}

/// The failure rate as the catalogue states it.
fn stated(model: &Model) -> Option<StatedRate> {
    let parts = || {
        let lines = model.parts_count.iter();
        lines.map(|line| PartsLine { count: line.count, fit: line.fit }).collect::<Vec<_>>()
    };
    match (model.failure_rate_fit, model.mtbf_h) {
        // A model that never fails has no stated rate.
        (Some(fit), _) => (fit > 0.0).then_some(StatedRate::Fit(fit)),
        (None, Some(mtbf_h)) => Some(StatedRate::MtbfH(mtbf_h)),
        (None, None) => Some(parts()).filter(|parts| !parts.is_empty()).map(StatedRate::Parts),
    }
}
