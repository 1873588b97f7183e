use super::{Item, Rail, What, WholeBus};
use crate::place::BusPosition;

/// One bus of a rail: positions of its units and of the terminators that close it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Bus<'r> {
    /// Empty where the catalogue names no bus of this rail.
    pub name: &'r str,
    /// Positions in [`Rail::items`], left to right.
    pub units: Vec<usize>,
    pub terminators: Vec<usize>,
    /// Units that close the bus themselves.
    pub closing: Vec<usize>,
}

/// The buses of a rail, and what is on a bus that cannot be told.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Buses<'r> {
    pub buses: Vec<Bus<'r>>,
    /// Units and terminators of which nobody knows to which of several buses they belong.
    pub unclear: Vec<usize>,
}

/// Finds the buses of a rail by the names in the catalogue.
///
/// Where only one bus is named, or none, everything on a bus is on that one.
pub fn buses(rail: &Rail) -> Buses<'_> {
    let mut found = Buses::default();
    let on_bus = |item: &Item| item.place().is_some_and(|place| place.bus != BusPosition::Off);
    for item in rail.items.iter().filter(|item| on_bus(item)) {
        for name in named(item) {
            if !found.buses.iter().any(|bus| bus.name == name) {
                found.buses.push(Bus { name, ..Bus::default() });
            }
        }
    }
    if found.buses.is_empty() && rail.items.iter().any(on_bus) {
        found.buses.push(Bus::default());
    }
    for (at, item) in rail.items.iter().enumerate() {
        let terminator = matches!(item.what, What::Terminator);
        if !terminator && !on_bus(item) {
            continue;
        }
        let names = named(item);
        let alone = found.buses.len() == 1;
        if names.is_empty() && !alone {
            found.unclear.push(at);
            continue;
        }
        for bus in &mut found.buses {
            let unnamed = bus.name.is_empty();
            if !(unnamed || names.is_empty() || names.iter().any(|name| name == bus.name)) {
                continue;
            }
            if terminator {
                bus.terminators.push(at);
                continue;
            }
            bus.units.push(at);
            let closes = item.meant().map_or(&[][..], |model| &model.on_rail.terminates);
            if closes.iter().any(|name| unnamed || name == bus.name) {
                bus.closing.push(at);
            }
        }
    }
    found
}

fn named(item: &Item) -> &[String] {
    item.meant().map_or(&[], |model| &model.on_rail.buses)
}

/// What the units of a bus draw from it against what its head delivers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BusBudget {
    /// Units besides the one that heads the bus.
    pub units: usize,
    /// How many its head allows.
    pub units_max: Option<u32>,
    pub drawn_ma: f64,
    pub supply_ma: Option<f64>,
    /// Units whose current is not known.
    pub unknown: Vec<String>,
}

/// Adds up a bus over all its rails. What states how many units or what current it allows heads the
/// bus; of several (a redundant pair) the least counts, since each must serve alone.
pub fn bus_budget(bus: &WholeBus<'_>) -> BusBudget {
    let mut of = BusBudget::default();
    for (rail, item) in bus.units() {
        let Some(model) = item.meant() else {
            of.units += 1;
            of.unknown.push(rail.name_of(item));
            continue;
        };
        let facts = &model.on_rail;
        if facts.bus_units_max.is_some() || facts.bus_supply_ma.is_some() {
            of.units_max = least(of.units_max, facts.bus_units_max, Ord::min);
            of.supply_ma = least(of.supply_ma, facts.bus_supply_ma, f64::min);
            continue;
        }
        of.units += 1;
        match facts.bus_current_ma {
            Some(ma) => of.drawn_ma += ma,
            None => of.unknown.push(rail.name_of(item)),
        }
    }
    of
}

fn least<T>(a: Option<T>, b: Option<T>, pick: impl Fn(T, T) -> T) -> Option<T> {
    match (a, b) {
        (Some(a), Some(b)) => Some(pick(a, b)),
        (a, b) => a.or(b),
    }
}
