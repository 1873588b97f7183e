//! What the entries about spares say, in a sentence for people.

use super::sentence::{self, because};
use slotkeep_domain::journal::{
    BinCounted, Body, PopulationPlanned, Reserved, ReservedWhat, SpareChosen,
};
use slotkeep_domain::{counted_as, listed};

/// None for an entry that is about something else.
pub(super) fn of_spares(body: &Body) -> Option<String> {
    Some(match body {
        Body::UnitTested(tested) => format!(
            "Unit {} tested, {}{}",
            tested.unit.human(),
            if tested.fault_found { "a fault found" } else { "no fault found" },
            because(&tested.note)
        ),
        Body::SpareChosen(chosen) => of_choice(chosen),
        Body::PopulationPlanned(planned) => of_plan(planned),
        Body::PopulationSettled(settled) if settled.happened => {
            format!("Planned change of the plant happened{}", because(&settled.reason))
        }
        Body::PopulationSettled(settled) => {
            format!("Planned change of the plant called off{}", because(&settled.reason))
        }
        Body::Reserved(wanted) => of_reserved(wanted),
        Body::ReservationEnded(ended) if ended.used => {
            format!("Reserved stock used{}", because(&ended.reason))
        }
        Body::ReservationEnded(ended) => {
            format!("Reserved stock released{}", because(&ended.reason))
        }
        Body::BinCounted(counted) => of_stocktake(counted),
        _ => return None,
    })
}

fn of_choice(chosen: &SpareChosen) -> String {
    let mut what = Vec::new();
    if let Some(method) = &chosen.method {
        what.push(format!("method {method}"));
    }
    if let Some(level) = &chosen.level {
        what.push(format!("order at {}, up to {}", level.reorder_at, level.order_up_to));
    }
    if let Some(class) = chosen.class {
        what.push(crate::wire::words::criticality(class).to_owned());
    }
    let what =
        if what.is_empty() { "back to the automatic choice".to_owned() } else { what.join(", ") };
    let room = chosen.storeroom.as_ref().map(|room| format!(" in {room}")).unwrap_or_default();
    format!("Chosen for {}{room}: {what}{}", chosen.model, because(&chosen.reason))
}

fn of_plan(planned: &PopulationPlanned) -> String {
    let mut text =
        format!("Planned for {}: {:+} of {}", planned.on, planned.installed_change, planned.model);
    if planned.from_stock > 0 {
        text.push_str(&format!(", {} from the stock", planned.from_stock));
    }
    if planned.harvested > 0 {
        let back = counted_as(planned.harvested, "comes back as a spare", "come back as spares");
        text.push_str(&format!(", {back}"));
    }
    format!("{text}{}", because(&planned.reason))
}

fn of_reserved(wanted: &Reserved) -> String {
    let what = match &wanted.what {
        ReservedWhat::Unit(label) => format!("Unit {}", label.human()),
        ReservedWhat::Pieces { model, storeroom, pieces } => {
            format!("{} of {model} in {storeroom}", sentence::pieces(*pieces))
        }
    };
    let until = wanted.until.map(|day| format!(" until {day}")).unwrap_or_default();
    format!("{what} reserved for {}{until}", wanted.purpose)
}

fn of_stocktake(counted: &BinCounted) -> String {
    let mut text = format!("Bin {} counted", counted.bin);
    if !counted.lots.is_empty() {
        let lots: Vec<_> = counted
            .lots
            .iter()
            .map(|(lot, n)| format!("{} of lot {}", sentence::pieces(*n), lot.human()))
            .collect();
        text.push_str(&format!(", {}", listed(&lots)));
    }
    for (units, what) in [(&counted.units_found, "found"), (&counted.units_missing, "missing")] {
        if !units.is_empty() {
            let units: Vec<_> = units.iter().map(|unit| unit.human()).collect();
            let named = if units.len() == 1 { "unit" } else { "units" };
            text.push_str(&format!(", {named} {} {what}", listed(&units)));
        }
    }
    format!("{text}{}", because(&counted.note))
}
