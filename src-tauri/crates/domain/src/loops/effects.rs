use super::supplies::{Stays, on_same_bus, on_same_supplies, stays};
use super::{Clearance, Loop};
use crate::lineup::{Cabinet, Derating};
use crate::model::{BaseKind, Model, ModelKind};
use crate::place::{BusPosition, Slot, SlotAddress};
use crate::unit::{Condition, Unit};
use std::collections::HashSet;

/// What is to be worked on: one unit goes out of its slot, and perhaps another goes in.
#[derive(Debug, Clone, Copy)]
pub struct Work<'a> {
    pub slot: &'a Slot,
    /// The model of what stands there; none where the slot is empty or that is not known.
    pub outgoing: Option<&'a Model>,
    pub loops: &'a [Loop],
    pub partner: Option<(&'a SlotAddress, Option<&'a Unit>)>,
    /// The cabinet, with which rail feeds which and where buses go on; none where it is not known.
    pub cabinet: Option<&'a Cabinet>,
    /// How power supplies lose in the heat where their own data do not say.
    pub derating: Derating,
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
    /// Other units that the work disturbs, in the order of their slots; last those that stay up where
    /// the rail can be switched off alone.
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
    /// The power supplies that stay do not carry it, by what is recorded.
    SupplyTooSmall,
    /// Its rail is isolated, since the slot must not be changed under power.
    RailIsolated,
    /// Its rail hangs on the same power supplies as the one that is isolated.
    SharedSupply,
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
/// source): where the plant differs too much is announced, never too little. So rails on the same
/// power supplies go down with the one that is isolated, and a power supply of which those that
/// stay do not carry the load takes the rail along.
pub fn effects(work: &Work<'_>, neighbours: &[Neighbour]) -> Effects {
    let rail = work.slot.address.rail();
    let is = |model: Option<&Model>, kind| model.is_some_and(|model| model.kind == kind);
    let other_supply = neighbours.iter().any(|one| {
        one.slot.address.rail() == rail && is(one.model.as_ref(), ModelKind::PowerSupply)
    });
    let stays = stays(work, other_supply);
    let isolates_rail = !work.slot.hot_swap || matches!(stays, Stays::TooLittle(_));
    let on_supplies = on_same_supplies(work);
    let redundancy = redundancy(work, &stays, isolates_rail.then_some(&on_supplies));
    let carried = matches!(redundancy, Redundancy::Carried(_));
    let controller_out = is(work.outgoing, ModelKind::Controller) && !carried;
    let bus_opened = matches!(work.slot.base, BaseKind::OnePiece | BaseKind::Own)
        && work.slot.bus_position != BusPosition::Off
        && work.outgoing.is_some();
    let on_bus_rails = on_same_bus(work);
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
        let shares_supply = on_supplies.contains(&one.slot.address);
        let on_bus = one.slot.bus_position != BusPosition::Off;
        let fed = (same_rail || shares_supply) && !is(one.model.as_ref(), ModelKind::PowerSupply);
        match stays {
            Stays::Out if fed => return Some(Why::SupplyOut),
            Stays::TooLittle(_) if fed => return Some(Why::SupplyTooSmall),
            _ => {}
        }
        if same_rail && isolates_rail {
            Some(Why::RailIsolated)
        } else if shares_supply && isolates_rail {
            Some(Why::SharedSupply)
        } else if controller_out && on_bus && !own_controller(one) {
            Some(Why::ControllerOut)
        } else if bus_opened && on_bus && on_bus_rails.contains(&one.slot.address.rail()) {
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
    // What may stay up comes last.
    let last = |one: &Disturbed| one.why == Why::SharedSupply;
    disturbed.sort_by(|a, b| (last(a), &a.slot).cmp(&(last(b), &b.slot)));
    Effects { loops: work.loops.to_vec(), redundancy, isolates_rail, disturbed }
}

/// Who carries the function; `isolated` are slots of other rails that go down with the rail, none
/// where it stays energised.
fn redundancy(
    work: &Work<'_>,
    stays: &Stays,
    isolated: Option<&HashSet<SlotAddress>>,
) -> Redundancy {
    let Some((address, partner)) = work.partner else { return Redundancy::Single };
    let lost = |why: String| Redundancy::Lost(address.clone(), why);
    let goes_down = |isolated: &HashSet<SlotAddress>| {
        address.rail() == work.slot.address.rail() || isolated.contains(address)
    };
    match (partner, stays) {
        (None, _) => lost("the partner slot is empty".to_owned()),
        (Some(unit), _) if unit.condition != Condition::Good => {
            lost(format!("the partner is {}", unit.condition.word()))
        }
        (Some(_), Stays::TooLittle(why)) => lost(why.clone()),
        (Some(_), _) if isolated.is_some_and(goes_down) => {
            lost("the partner stands on a rail that is isolated".to_owned())
        }
        (Some(_), _) => Redundancy::Carried(address.clone()),
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
