//! How often units of a model fail: what is stated, what the family and the record say, and heat.

use super::spares_facts::{Facts, Held, fails};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::model::Model;
use slotkeep_domain::place::CabinetAddress;
use slotkeep_domain::register;
use slotkeep_domain::spares::{
    LearnedRate, Lives, NoWear, PartsLine, Pooled, Population, PopulationChange, RateHeat, Record,
    StatedRate, Stay, StayEnd, USUAL_ACTIVATION_EV, USUAL_STATED_C, USUAL_WORTH, Wear,
    learned_rate, pool, wear,
};
use std::collections::{BTreeMap, HashMap};

/// Rates of every model, learned together since families are pooled.
pub(super) struct Rates {
    by_model: HashMap<String, Rate>,
}

/// What is known of one model's failing.
pub(super) struct Rate {
    pub heat: Option<RateHeat>,
    /// Where it stands, and how warm it is there.
    pub places: BTreeMap<CabinetAddress, Place>,
    pub stated: Option<StatedRate>,
    /// Models of its family, itself among them; empty where it was not pooled.
    pub pooled_with: Vec<String>,
    pub learned: Result<LearnedRate, String>,
    pub wear: Result<Wear, NoWear>,
    /// Stays with the factor of their places, the running ones first.
    pub stays: Vec<Stay>,
}

/// Units of a model in one cabinet.
#[derive(Debug, Clone)]
pub(super) struct Place {
    pub units: u32,
    pub temperature_c: f64,
    pub temperature_from: &'static str,
    pub factor: f64,
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
        self.by_model.get(model)
    }

    /// Learns the rates of all models that can fail, each family together.
    pub fn learn(facts: &Facts) -> Self {
        let mut warmth = Warmth::default();
        let mut begun: BTreeMap<&str, Begun> = BTreeMap::new();
        for model in facts.models.values().filter(|model| fails(model)) {
            let part_no = model.part_no.as_str();
            begun.insert(part_no, Begun::of(facts, model, facts.of(part_no), &mut warmth));
        }
        let pooled = pooled_families(facts, &begun);
        let by_model = begun.into_iter().map(|(part_no, begun)| {
            let model = &facts.models[part_no];
            let family = model.family.as_ref().and_then(|family| pooled.get(family));
            (part_no.to_owned(), begun.finished(model, family))
        });
        Self { by_model: by_model.collect() }
    }
}

/// A family that was pooled, with its models.
struct Family {
    pooled: Pooled,
    models: Vec<String>,
}

fn pooled_families(facts: &Facts, begun: &BTreeMap<&str, Begun>) -> HashMap<String, Family> {
    let mut members: BTreeMap<&str, Vec<(&str, &Begun)>> = BTreeMap::new();
    for (part_no, rate) in begun {
        if let Some(family) = &facts.models[*part_no].family {
            members.entry(family).or_default().push((*part_no, rate));
        }
    }
    let mut families = HashMap::new();
    for (family, members) in members {
        let figures: Vec<(Option<f64>, &Record)> = members
            .iter()
            .map(|(_, rate)| (rate.stated.as_ref().and_then(|it| it.fit().ok()), &rate.record))
            .collect();
        if let Ok(pooled) = pool(&figures) {
            let models = members.iter().map(|(part_no, _)| (*part_no).to_owned()).collect();
            families.insert(family.to_owned(), Family { pooled, models });
        }
    }
    families
}

/// A rate before its family is known.
struct Begun {
    heat: Option<RateHeat>,
    places: BTreeMap<CabinetAddress, Place>,
    stated: Option<StatedRate>,
    stays: Vec<Stay>,
    record: Record,
}

impl Begun {
    fn of(facts: &Facts, model: &Model, held: &Held, warmth: &mut Warmth) -> Self {
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
        Self { heat, places, stated: stated(model), stays, record }
    }

    fn finished(self, model: &Model, family: Option<&Family>) -> Rate {
        let worth = model.failure_rate_worth.unwrap_or(USUAL_WORTH);
        let pooled = family.map(|family| family.pooled);
        let learned = learned_rate(self.stated.as_ref(), worth, pooled, self.record);
        let by_family = learned.as_ref().is_ok_and(|learned| learned.pooled.is_some());
        Rate {
            heat: self.heat,
            places: self.places,
            stated: self.stated,
            pooled_with: family
                .filter(|_| by_family)
                .map(|family| family.models.clone())
                .unwrap_or_default(),
            learned: learned.map_err(|no| no.to_string()),
            wear: wear(&Lives::of(&self.stays).seen),
            stays: self.stays,
        }
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
            to: facts.now,
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

/// How warm cabinets are, reckoned once for each law of heat.
#[derive(Default)]
struct Warmth {
    known: HashMap<(u64, u64, CabinetAddress), Place>,
}

impl Warmth {
    /// A place without units; factor 1 where heat or cabinet is not known.
    fn of(&mut self, facts: &Facts, heat: Option<RateHeat>, cabinet: &CabinetAddress) -> Place {
        let law =
            heat.map_or((0, 0), |heat| (heat.stated_c().to_bits(), heat.activation_ev().to_bits()));
        let key = (law.0, law.1, cabinet.clone());
        self.known.entry(key).or_insert_with(|| warm(facts, heat, cabinet)).clone()
    }
}

fn warm(facts: &Facts, heat: Option<RateHeat>, cabinet: &CabinetAddress) -> Place {
    let site_c = facts.around.site.temperature_c;
    let unknown = Place { units: 0, temperature_c: site_c, temperature_from: "site", factor: 1.0 };
    let Some(heat) = heat else { return unknown };
    match facts.around.pace(cabinet, heat.law()) {
        Ok((pace, temperature_from)) => Place {
            units: 0,
            temperature_c: pace.mean_c(),
            temperature_from,
            factor: heat.factor_of(pace),
        },
        Err(_) => unknown,
    }
}
