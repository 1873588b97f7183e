//! How warm it is where models stand, and what that does to their failing.

use super::spares_facts::Facts;
use slotkeep_domain::place::CabinetAddress;
use slotkeep_domain::spares::RateHeat;
use std::collections::HashMap;

/// Units of a model in one cabinet.
#[derive(Debug, Clone)]
pub(super) struct Place {
    pub units: u32,
    pub temperature_c: f64,
    pub temperature_from: &'static str,
    pub factor: f64,
}

/// How warm cabinets are, reckoned once for each law of heat.
#[derive(Default)]
pub(super) struct Warmth {
    known: HashMap<(u64, u64, CabinetAddress), Place>,
}

impl Warmth {
    /// A place without units; factor 1 where heat or cabinet is not known.
    pub fn of(&mut self, facts: &Facts, heat: Option<RateHeat>, cabinet: &CabinetAddress) -> Place {
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
