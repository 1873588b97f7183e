//! What work in a slot does to loops and to other units.

use super::made::{address, model, seat, unit, wired};
use crate::loops::{Clearance, Effects, Neighbour, Redundancy, Why, Work, effects};
use crate::model::{BaseKind, ModelKind};
use crate::place::{BusPosition, Slot};
use crate::swap::Seat;
use crate::unit::Condition;

fn neighbour(number: u32, slot: &str, kind: ModelKind) -> Neighbour {
    let slot = Slot { address: address(slot), ..seat().slot };
    let place = slot.address.as_str().to_owned();
    let mut model = model("MP-B");
    model.kind = kind;
    let loops = vec![wired(&format!("PIT-{number}"), 1)];
    Neighbour { unit: unit("MP-B", number, &place), model: Some(model), loops, slot }
}

/// The rail of the slot has three more units, and another rail two.
fn neighbours() -> Vec<Neighbour> {
    vec![
        neighbour(11, "+K12.3.05", ModelKind::Module),
        neighbour(12, "+K12.3.01", ModelKind::ModuleOnePiece),
        neighbour(13, "+K12.3.09", ModelKind::Module),
        neighbour(21, "+K12.1.02", ModelKind::Module),
        neighbour(22, "+K12.1.03", ModelKind::Module),
    ]
}

fn of(seat: &Seat, neighbours: &[Neighbour]) -> Effects {
    let work = Work {
        slot: &seat.slot,
        outgoing: seat.outgoing.as_ref().map(|(_, model)| model),
        loops: &seat.loops,
        partner: seat.partner.as_ref().map(|(address, unit)| (address, unit.as_ref())),
    };
    effects(&work, neighbours)
}

fn disturbed(effects: &Effects) -> Vec<(&str, Why)> {
    effects.disturbed.iter().map(|one| (one.slot.as_str(), one.why)).collect()
}

/// A slot for a controller, its partner empty.
fn controller() -> Seat {
    let mut seat = seat();
    seat.slot.base = BaseKind::Own;
    seat.outgoing.as_mut().unwrap().1.kind = ModelKind::Controller;
    seat.partner = None;
    seat
}

#[test]
fn a_module_on_a_base_that_is_changed_under_power_disturbs_nobody() {
    let found = of(&seat(), &neighbours());
    assert_eq!(disturbed(&found), []);
    assert_eq!(found.redundancy, Redundancy::Carried(address("+K12.3.05")));
    let tags: Vec<_> = found.every_loop().map(|wired| wired.tag.as_str()).collect();
    assert_eq!(tags, ["LIT-1", "LIT-2"]);
}

#[test]
fn where_power_must_go_the_whole_rail_goes_and_takes_the_partner_with_it() {
    let mut seat = seat();
    seat.slot.hot_swap = false;
    let found = of(&seat, &neighbours());
    let rail = ["+K12.3.01", "+K12.3.05", "+K12.3.09"];
    assert_eq!(disturbed(&found), rail.map(|slot| (slot, Why::RailIsolated)));
    assert!(matches!(found.redundancy, Redundancy::Lost(..)), "{:?}", found.redundancy);
    assert_eq!(found.every_loop().count(), 5);
}

#[test]
fn a_partner_that_is_empty_or_not_good_carries_nothing() {
    let mut seat = seat();
    seat.partner.as_mut().unwrap().1.as_mut().unwrap().condition = Condition::Suspect;
    assert!(matches!(of(&seat, &[]).redundancy, Redundancy::Lost(..)));
    seat.partner.as_mut().unwrap().1 = None;
    assert!(matches!(of(&seat, &[]).redundancy, Redundancy::Lost(..)));
    seat.partner = None;
    assert_eq!(of(&seat, &[]).redundancy, Redundancy::Single);
}

#[test]
fn a_power_supply_takes_its_rail_down_but_not_where_another_one_stands() {
    let mut seat = controller();
    seat.outgoing.as_mut().unwrap().1.kind = ModelKind::PowerSupply;
    let rail = ["+K12.3.01", "+K12.3.05", "+K12.3.09"];
    assert_eq!(disturbed(&of(&seat, &neighbours())), rail.map(|slot| (slot, Why::SupplyOut)));
    let mut two = neighbours();
    two[0].model.as_mut().unwrap().kind = ModelKind::PowerSupply;
    seat.slot.bus_position = BusPosition::Off;
    assert_eq!(disturbed(&of(&seat, &two)), []);
}

#[test]
fn a_controller_takes_rails_along_that_have_none_of_their_own() {
    let all = ["+K12.1.02", "+K12.1.03", "+K12.3.01", "+K12.3.05", "+K12.3.09"];
    let found = of(&controller(), &neighbours());
    assert_eq!(disturbed(&found), all.map(|slot| (slot, Why::ControllerOut)));
    let mut own = neighbours();
    own[3].model.as_mut().unwrap().kind = ModelKind::Controller;
    assert_eq!(
        disturbed(&of(&controller(), &own)),
        all[2..].iter().map(|slot| (*slot, Why::ControllerOut)).collect::<Vec<_>>()
    );
    let mut pair = controller();
    pair.partner = seat().partner;
    let rail = all[2..].iter().map(|slot| (*slot, Why::BusOpened)).collect::<Vec<_>>();
    assert_eq!(disturbed(&of(&pair, &neighbours())), rail, "the bus still runs through it");
}

#[test]
fn an_empty_slot_disturbs_nobody_as_long_as_power_stays() {
    let mut seat = controller();
    (seat.outgoing, seat.standing) = (None, None);
    assert_eq!(disturbed(&of(&seat, &neighbours())), []);
}

#[test]
fn loops_are_counted_by_what_operations_do_and_the_unknown_ones_apart() {
    let mut seat = seat();
    seat.slot.hot_swap = false;
    seat.loops[0].clearance = Some(Clearance::Bypass);
    let found = of(&seat, &neighbours());
    assert_eq!(found.count(Some(Clearance::Bypass)), 1);
    assert_eq!(found.count(None), 4);
    assert_eq!(found.count(Some(Clearance::Nothing)), 0);
}
