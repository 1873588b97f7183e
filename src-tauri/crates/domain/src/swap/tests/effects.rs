//! What work in a slot does to loops and to other units.

use super::made::{address, model, seat, unit, wired};
use crate::lineup::{Cabinet, What};
use crate::loops::{Clearance, Effects, Neighbour, Redundancy, Why, Work, effects};
use crate::model::{BaseKind, Model, ModelKind};
use crate::place::{BusPosition, RailAddress, Slot};
use crate::swap::Seat;
use crate::unit::Condition;
use std::sync::Arc;

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

/// The same where nothing is known of the cabinet.
fn of(seat: &Seat, neighbours: &[Neighbour]) -> Effects {
    effects(&Work { cabinet: None, ..seat.work() }, neighbours)
}

/// Rail 3 feeds rail 1, and its bus goes on there.
fn joined() -> Cabinet {
    let mut cabinet = Cabinet::clone(seat().cabinet.as_ref().unwrap());
    let mut fed = cabinet.rails[0].clone();
    fed.address = RailAddress::parse("+K12.1").unwrap();
    fed.items.retain(|item| !item.is_supply());
    for (item, slot) in fed.items.iter_mut().zip(["+K12.1.02", "+K12.1.03", "+K12.1.04"]) {
        if let What::Slot(place) = &mut item.what {
            place.address = address(slot);
        }
    }
    (fed.fed_by, fed.bus_left) =
        (Some(cabinet.rails[0].address.clone()), Some(cabinet.rails[0].address.clone()));
    cabinet.rails[0].bus_right = Some(fed.address.clone());
    cabinet.rails.push(fed);
    cabinet
}

/// The power supply of rail 3, with the second one in `+K12.3.09` of this rating (mA).
fn supply_of(second_ma: f64) -> (Seat, Vec<Neighbour>) {
    let mut seat = seat();
    let mut cabinet = joined();
    let mut second = cabinet.rails[0].items[0].clone();
    let mut small = Model::clone(second.model.as_ref().unwrap());
    small.supply_rating_ma = Some(second_ma);
    second.model = Some(Arc::new(small.clone()));
    if let What::Slot(place) = &mut second.what {
        place.address = address("+K12.3.09");
    }
    cabinet.rails[0].items.push(second);
    cabinet.rails[0].redundant = Some(true);
    seat.slot.address = address("+K12.3.01");
    seat.slot.base = BaseKind::Own;
    seat.slot.bus_position = BusPosition::Off;
    seat.slot.hot_swap = true;
    seat.outgoing.as_mut().unwrap().1 =
        Model::clone(cabinet.rails[0].items[0].model.as_ref().unwrap());
    seat.partner = Some((address("+K12.3.09"), Some(unit("MP-B", 13, "+K12.3.09"))));
    seat.cabinet = Some(Arc::new(cabinet));
    let mut neighbours = neighbours();
    neighbours.retain(|one| one.slot.address != seat.slot.address);
    neighbours.iter_mut().for_each(|one| {
        if one.slot.address == address("+K12.3.09") {
            one.model = Some(small.clone());
        }
    });
    (seat, neighbours)
}

/// Drawn are 2 heads and 4 modules of 130 mA each: 780 mA.
#[test]
fn a_redundant_supply_takes_all_rails_along_that_its_partner_does_not_carry() {
    let (seat, neighbours) = supply_of(780.0);
    let found = effects(&seat.work(), &neighbours);
    assert_eq!(disturbed(&found), []);
    assert_eq!(found.redundancy, Redundancy::Carried(address("+K12.3.09")));
    assert!(!found.isolates_rail);
    assert_eq!(seat.supply_too_small(), None);

    let (seat, neighbours) = supply_of(779.0);
    let found = effects(&seat.work(), &neighbours);
    let fed = ["+K12.1.02", "+K12.1.03", "+K12.3.05"].map(|slot| (slot, Why::SupplyTooSmall));
    let partner = [("+K12.3.09", Why::RailIsolated)];
    assert_eq!(disturbed(&found), [&fed[..], &partner].concat());
    let Redundancy::Lost(_, why) = &found.redundancy else { panic!("{:?}", found.redundancy) };
    assert_eq!(why, "780 mA are drawn, and what stays gives 779 mA at 38 °C");
    assert!(found.isolates_rail, "the steps go by this too");

    // What is not recorded is not relied on.
    let (mut seat, neighbours) = supply_of(5000.0);
    let mut cabinet = Cabinet::clone(seat.cabinet.as_ref().unwrap());
    let mut silent = model("MP-A");
    silent.current_24v_ma = None;
    cabinet.rails[1].items[1].model = Some(Arc::new(silent));
    seat.cabinet = Some(Arc::new(cabinet));
    let found = effects(&seat.work(), &neighbours);
    assert!(matches!(found.redundancy, Redundancy::Lost(..)), "{:?}", found.redundancy);
    assert_eq!(found.disturbed.len(), 4);
}

#[test]
fn rails_on_the_same_supplies_go_down_with_the_one_that_is_isolated() {
    let mut seat = seat();
    seat.slot.hot_swap = false;
    seat.cabinet = Some(Arc::new(joined()));
    let own = ["+K12.3.01", "+K12.3.05", "+K12.3.09"].map(|slot| (slot, Why::RailIsolated));
    let other = [("+K12.1.02", Why::SharedSupply), ("+K12.1.03", Why::SharedSupply)];
    let found = effects(&seat.work(), &neighbours());
    assert_eq!(disturbed(&found), [&own[..], &other].concat());
    // It is the same the other way round, and a partner there carries nothing.
    seat.slot.address = address("+K12.1.04");
    let found = effects(&seat.work(), &neighbours());
    let back = found.disturbed.iter().find(|one| one.slot == address("+K12.3.05"));
    assert_eq!(back.map(|one| one.why), Some(Why::SharedSupply));
    assert!(matches!(found.redundancy, Redundancy::Lost(..)), "{:?}", found.redundancy);
}

#[test]
fn a_bus_that_goes_on_is_opened_on_every_rail() {
    let mut seat = controller();
    seat.outgoing.as_mut().unwrap().1.kind = ModelKind::ModuleOnePiece;
    seat.slot.hot_swap = true;
    let alone: Vec<_> = disturbed(&effects(&seat.work(), &neighbours()))
        .into_iter()
        .filter(|(slot, _)| slot.starts_with("+K12.1"))
        .map(|(slot, _)| slot.to_owned())
        .collect();
    assert_eq!(alone, [""; 0]);
    seat.cabinet = Some(Arc::new(joined()));
    let found = effects(&seat.work(), &neighbours());
    let on_other = disturbed(&found).into_iter().filter(|(slot, _)| slot.starts_with("+K12.1"));
    let opened = [("+K12.1.02", Why::BusOpened), ("+K12.1.03", Why::BusOpened)];
    assert_eq!(on_other.collect::<Vec<_>>(), opened);
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
