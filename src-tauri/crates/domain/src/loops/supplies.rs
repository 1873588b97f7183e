//! What stays when a power supply comes out, and what hangs on the supplies of a rail.

use super::Work;
use crate::lineup::without;
use crate::model::{Model, ModelKind};
use crate::place::{RailAddress, SlotAddress};
use std::collections::HashSet;

/// Whether what hangs on a power supply is fed on while it is out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stays {
    /// No power supply comes out, or those that stay carry everything.
    Fed,
    /// None stays.
    Out,
    /// Those that stay do not carry it, or nobody knows whether they do; why, in words.
    TooLittle(String),
}

/// Returns what becomes of the 24 V when the unit comes out of the slot.
///
/// Where the cabinet is not described, one more power supply on the rail counts as enough: the
/// caller says with `other_supply` whether there is one.
pub fn stays(work: &Work<'_>, other_supply: bool) -> Stays {
    let is_supply = |model: &Model| model.kind == ModelKind::PowerSupply;
    if !work.outgoing.is_some_and(is_supply) {
        return Stays::Fed;
    }
    let left = work
        .cabinet
        .and_then(|cabinet| Some((cabinet, without(cabinet, &work.slot.address, work.derating)?)));
    let Some((cabinet, left)) = left else {
        return if other_supply { Stays::Fed } else { Stays::Out };
    };
    let figures = format!(
        "{:.0} mA are drawn, and what stays gives {:.0} mA at {:.0} °C",
        left.drawn_ma, left.available_ma, cabinet.inside_c
    );
    match (left.supplies, left.carries()) {
        (0, _) => Stays::Out,
        (_, Some(true)) => Stays::Fed,
        (_, Some(false)) => Stays::TooLittle(figures),
        (_, None) => Stays::TooLittle(format!(
            "{figures}, as far as currents and ratings are recorded (not known of {})",
            left.unknown.join(", ")
        )),
    }
}

/// Slots of other rails that hang on the same power supplies as that of the work.
pub(super) fn on_same_supplies(work: &Work<'_>) -> HashSet<SlotAddress> {
    let here = work.slot.address.rail();
    let Some(cabinet) = work.cabinet else { return HashSet::new() };
    let Some(rail) = cabinet.rail(&here) else { return HashSet::new() };
    let hanging = cabinet.hanging_on(cabinet.source(rail));
    let places = hanging.filter(|(on, _)| on.address != here).filter_map(|(_, item)| item.place());
    places.map(|place| place.address.clone()).collect()
}

/// Rails over which the buses of the rail of the work go.
pub(super) fn on_same_bus(work: &Work<'_>) -> Vec<RailAddress> {
    let here = work.slot.address.rail();
    let rail = work.cabinet.and_then(|cabinet| Some((cabinet, cabinet.rail(&here)?)));
    match rail {
        Some((cabinet, rail)) => {
            cabinet.on_bus_of(rail).into_iter().map(|rail| rail.address.clone()).collect()
        }
        None => vec![here],
    }
}
