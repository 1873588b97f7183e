use super::{Clearance, Loop};
use crate::model::{BaseKind, Model, ModelKind};
use crate::place::{BusPosition, Slot, SlotAddress};
use crate::unit::{Condition, Unit};

/// What is to be worked on: one unit goes out of its slot, and perhaps another goes in.
#[derive(Debug, Clone, Copy)]
pub struct Work<'a> {
    pub slot: &'a Slot,
    /// The model of what stands there; none where the slot is empty or that is not known.
    pub outgoing: Option<&'a Model>,
    pub loops: &'a [Loop],
    pub partner: Option<(&'a SlotAddress, Option<&'a Unit>)>,
}

/// Another unit of the cabinet.
#[derive(Debug, Clone)]
pub struct Neighbour {
    pub slot: Slot,
    pub unit: Unit,
    /// None where the catalogue does not have it.
    pub model: Option<Model>,
    pub loops: Vec<Loop>,
}

/// What the work does to running loops and to other units.
#[derive(Debug, Clone, PartialEq)]
pub struct Effects {
    /// Loops of the slot itself, by channel.
    pub loops: Vec<Loop>,
    pub redundancy: Redundancy,
    /// Whether the supply of the rail must be isolated.
    pub isolates_rail: bool,
    /// Other units that the work disturbs, in the order of their slots.
    pub disturbed: Vec<Disturbed>,
}

/// Who carries the function while the slot is empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Redundancy {
    /// The slot has no partner: its function is gone.
    Single,
    Carried(SlotAddress),
    /// There is a partner, and it does not carry the function; why, in words.
    Lost(SlotAddress, String),
}

#[derive(Debug, Clone, PartialEq)]
pub struct Disturbed {
    pub slot: SlotAddress,
    pub title: String,
    pub unit: Unit,
    pub why: Why,
    pub loops: Vec<Loop>,
}

/// Why another unit is disturbed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Why {
    /// It is fed by the power supply that comes out.
    SupplyOut,
    /// Its rail is isolated, since the slot must not be changed under power.
    RailIsolated,
    /// Its controller comes out and nobody takes over.
    ControllerOut,
    /// The bus runs through what comes out.
    BusOpened,
}

/// Returns what taking the unit out of a slot does to loops and to other units of its cabinet.
///
/// `neighbours` are the other units of the cabinet. Rails of a cabinet that have no controller of
/// their own are taken to hang on the one that comes out, and the bus to run through one-piece
/// units and those with a base of their own, but not through modules on bases (common practice, no
/// source): where the plant differs too much is announced, never too little.
pub fn effects(work: &Work<'_>, neighbours: &[Neighbour]) -> Effects {
    let rail = work.slot.address.rail();
    let isolates_rail = !work.slot.hot_swap;
    let redundancy = redundancy(work, isolates_rail);
    let carried = matches!(redundancy, Redundancy::Carried(_));
    let is = |model: Option<&Model>, kind| model.is_some_and(|model| model.kind == kind);
    let other_supply = neighbours.iter().any(|one| {
        one.slot.address.rail() == rail && is(one.model.as_ref(), ModelKind::PowerSupply)
    });
    let supply_out = is(work.outgoing, ModelKind::PowerSupply) && !other_supply;
    let controller_out = is(work.outgoing, ModelKind::Controller) && !carried;
    let bus_opened = matches!(work.slot.base, BaseKind::OnePiece | BaseKind::Own)
        && work.slot.bus_position != BusPosition::Off
        && work.outgoing.is_some();
    let own_controller = |one: &Neighbour| {
        let there = one.slot.address.rail();
        there != rail
            && neighbours.iter().any(|other| {
                other.slot.address.rail() == there
                    && is(other.model.as_ref(), ModelKind::Controller)
            })
    };
    let why = |one: &Neighbour| {
        let same_rail = one.slot.address.rail() == rail;
        let on_bus = one.slot.bus_position != BusPosition::Off;
        if same_rail && supply_out {
            Some(Why::SupplyOut)
        } else if same_rail && isolates_rail {
            Some(Why::RailIsolated)
        } else if controller_out && on_bus && !own_controller(one) {
            Some(Why::ControllerOut)
        } else if same_rail && bus_opened && on_bus {
            Some(Why::BusOpened)
        } else {
            None
        }
    };
    let disturbed = neighbours.iter().filter_map(|one| {
        Some(Disturbed {
            why: why(one)?,
            slot: one.slot.address.clone(),
            title: one.slot.title.clone(),
            unit: one.unit.clone(),
            loops: one.loops.clone(),
        })
    });
    let mut disturbed: Vec<_> = disturbed.collect();
    disturbed.sort_by(|a, b| a.slot.cmp(&b.slot));
    Effects { loops: work.loops.to_vec(), redundancy, isolates_rail, disturbed }
}

fn redundancy(work: &Work<'_>, isolates_rail: bool) -> Redundancy {
    let Some((address, partner)) = work.partner else { return Redundancy::Single };
    let lost = |why: String| Redundancy::Lost(address.clone(), why);
    match partner {
        None => lost("the partner slot is empty".to_owned()),
        Some(unit) if unit.condition != Condition::Good => {
            lost(format!("the partner is {}", unit.condition.word()))
        }
        Some(_) if isolates_rail && address.rail() == work.slot.address.rail() => {
            lost("the partner stands on the rail that is isolated".to_owned())
        }
        Some(_) => Redundancy::Carried(address.clone()),
    }
}

impl Effects {
    /// Loops that operations have to look at, own ones first. Those of the slot itself are among
    /// them although a partner may carry them, since it may fail while the unit is out.
    pub fn every_loop(&self) -> impl Iterator<Item = &Loop> {
        self.loops.iter().chain(self.disturbed.iter().flat_map(|one| &one.loops))
    }

    /// How many loops want a clearance; none: those for which the register does not say.
    pub fn count(&self, clearance: Option<Clearance>) -> usize {
        self.every_loop().filter(|wired| wired.clearance == clearance).count()
    }
}
