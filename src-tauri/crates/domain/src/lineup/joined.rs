//! Rails of one cabinet that hang together: on the same power supplies, or on one bus.

use super::{Bus, Cabinet, Finding, Item, Rail, buses};
use crate::model::Feeds;
use crate::rules::Severity;

impl Cabinet {
    /// The rail on which the power supplies of a rail stand: itself, unless others feed it.
    pub fn source<'c>(&'c self, rail: &'c Rail) -> &'c Rail {
        let mut source = rail;
        // A circle of rails that feed each other ends after as many steps as there are rails.
        for _ in 0..self.rails.len() {
            match source.fed_by.as_ref().and_then(|by| self.rail(by)) {
                Some(by) => source = by,
                None => break,
            }
        }
        source
    }

    /// Everything that hangs on the power supplies of a rail, with the rail on which it stands.
    pub fn hanging_on<'c>(
        &'c self,
        source: &'c Rail,
    ) -> impl Iterator<Item = (&'c Rail, &'c Item)> {
        let own = |rail: &Rail| rail.address == source.address;
        let rails = self.rails.iter().filter(move |rail| own(rail) || own(self.source(rail)));
        rails.flat_map(move |rail| {
            let hangs = move |item: &&Item| {
                item.place().is_some()
                    && !item.is_supply()
                    && (rail.feeds_itself(item) == own(rail))
            };
            rail.items.iter().filter(hangs).map(move |item| (rail, item))
        })
    }

    /// Rails of the cabinet over which the buses of a rail go, itself among them, in their order.
    pub fn on_bus_of(&self, rail: &Rail) -> Vec<&Rail> {
        let mut on = vec![&rail.address];
        let mut at = 0;
        while let Some(&here) = on.get(at) {
            for one in &self.rails {
                let from = [&one.bus_left, &one.bus_right];
                let comes = from.into_iter().flatten().any(|to| to == here);
                let there = self.rail(here);
                let ways = there.map(|rail| [&rail.bus_left, &rail.bus_right]);
                let goes = ways.into_iter().flatten().flatten().any(|to| *to == one.address);
                if (comes || goes) && !on.contains(&&one.address) {
                    on.push(&one.address);
                }
            }
            at += 1;
        }
        self.rails.iter().filter(|one| on.contains(&&one.address)).collect()
    }

    /// Follows a bus of a rail to every rail of the cabinet on which it goes on.
    pub fn whole_bus<'c>(&'c self, rail: &'c Rail, bus: &Bus<'c>) -> WholeBus<'c> {
        let alone = || vec![(rail, bus.clone())];
        let joined = self.rails.iter().any(|rail| {
            // Most cabinets have none, and then there is nothing to look for.
            rail.bus_left.is_some() || rail.bus_right.is_some()
        });
        if !joined {
            return WholeBus { rails: alone() };
        }
        let of = |one: &'c Rail| {
            if one.address == rail.address {
                return Some((one, bus.clone()));
            }
            let there = buses(one).buses;
            let only = there.len() == 1;
            let same = |other: &Bus<'_>| {
                other.name == bus.name || only && (other.name.is_empty() || bus.name.is_empty())
            };
            there.into_iter().find(same).map(|other| (one, other))
        };
        let rails: Vec<_> = self.on_bus_of(rail).into_iter().filter_map(of).collect();
        WholeBus { rails: if rails.is_empty() { alone() } else { rails } }
    }

    /// Whether a finding matters for a rail: it is about the rail, what stands on it or the cabinet,
    /// or was found where the supplies and buses of several rails are added up.
    pub fn concerns(&self, rail: &Rail, found: &Finding) -> bool {
        let here = rail.address.as_str();
        let on_it = found.at.strip_prefix(here).is_some_and(|rest| rest.starts_with('.'));
        if found.at == here || on_it || found.at == self.address.as_str() {
            return true;
        }
        // There, what is in order is said of each rail.
        if found.own || found.severity == Severity::Pass {
            return false;
        }
        match &*found.rule {
            "supply-budget" | "supply-start" => found.at == self.source(rail).address.as_str(),
            "bus-units" | "bus-budget" | "bus-addresses" => {
                self.on_bus_of(rail).iter().any(|one| found.at == one.address.as_str())
            }
            _ => false,
        }
    }
}

impl Rail {
    /// Whether an item hangs on power supplies of this very rail.
    fn feeds_itself(&self, item: &Item) -> bool {
        if self.fed_by.is_none() {
            return true;
        }
        let wanted = if item.is_safe() { Feeds::IntrinsicallySafe } else { Feeds::Standard };
        let supplies = self.items.iter().filter(|one| one.is_supply());
        supplies.into_iter().any(|one| one.feeds().unwrap_or(Feeds::Standard) == wanted)
    }
}

/// A bus with every rail of the cabinet on which it runs.
#[derive(Debug, Clone, PartialEq)]
pub struct WholeBus<'c> {
    /// In the order of the cabinet, each with its part of the bus; never empty.
    pub rails: Vec<(&'c Rail, Bus<'c>)>,
}

impl<'c> WholeBus<'c> {
    /// The rail at which it is added up: that of what heads it, else the first.
    pub fn counted_at(&self) -> &'c Rail {
        let heads = |item: &Item| {
            item.meant().is_some_and(|model| {
                let facts = &model.on_rail;
                facts.bus_units_max.is_some() || facts.bus_supply_ma.is_some()
            })
        };
        let headed = self
            .rails
            .iter()
            .find(|(rail, bus)| bus.units.iter().any(|&at| heads(&rail.items[at])));
        headed.unwrap_or(&self.rails[0]).0
    }

    /// Its units, rail by rail, left to right.
    pub fn units(&self) -> impl Iterator<Item = (&'c Rail, &'c Item)> {
        self.rails.iter().flat_map(|(rail, bus)| {
            let rail = *rail;
            bus.units.iter().map(move |&at| (rail, &rail.items[at]))
        })
    }
}
