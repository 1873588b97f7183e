//! What was seen along a rail, held against the register.

use super::lines::Catalogue;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::place::{SeenInput, SeenRail, SeenRow, SeenVerdict};
use crate::wire::unit::UnitLine;
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::lineup::{Compared, compare};
use slotkeep_domain::place::{RailAddress, Slot};
use slotkeep_domain::register::View;
use slotkeep_domain::unit::Unit;
use slotkeep_store::Reader;
use std::collections::BTreeMap;

/// So many units of one rail must be seen before it is taken to be that rail.
const LEAST_UNITS: usize = 2;

/// The most labels that one picture of a rail is taken to show.
const MOST_LABELS: usize = 1000;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "place.compare",
        "Compares the labels seen along a rail, left to right, with the register.",
        seen,
    )]
}

fn seen(ask: &Ask<'_>, input: SeenInput) -> Result<SeenRail, Failure> {
    if input.labels.len() > MOST_LABELS {
        return Err(Failure::bad_input(format!(
            "{} labels were sent, at most {MOST_LABELS} are compared: send those of one rail",
            input.labels.len()
        )));
    }
    ask.read(|r| {
        // Labels of slots and cabinets, and what is not ours, say nothing about a unit's place.
        let labels = input.labels.iter().filter_map(|text| LabelCode::parse_scan(text).ok());
        let units: Vec<Unit> = labels.filter_map(|label| r.unit(&label)).collect();
        let Some(rail) = rail_of(&units) else {
            return Ok(SeenRail {
                rail: None,
                rail_title: None,
                turned: false,
                rows: Vec::new(),
                agree: 0,
                differ: 0,
                message: "these labels do not show which rail this is: it takes two units that \
                          the register has on it"
                    .to_owned(),
            });
        };
        compared(r, &rail, &units)
    })
}

/// The rail on which the register has most of the units.
pub(super) fn rail_of(units: &[Unit]) -> Option<RailAddress> {
    let mut counts: BTreeMap<RailAddress, usize> = BTreeMap::new();
    for slot in units.iter().filter_map(|unit| unit.place.slot()) {
        *counts.entry(slot.rail()).or_default() += 1;
    }
    let most = counts.into_iter().max_by_key(|(_, count)| *count);
    most.filter(|(_, count)| *count >= LEAST_UNITS).map(|(rail, _)| rail)
}

fn compared(r: &Reader<'_>, rail: &RailAddress, units: &[Unit]) -> Result<SeenRail, Failure> {
    let mut slots = r.slots_of(&rail.cabinet())?;
    slots.retain(|slot| slot.address.rail() == *rail);
    slots.sort_by(|a, b| a.x_mm.total_cmp(&b.x_mm));
    let standing: BTreeMap<_, _> = r
        .units_in_cabinet(&rail.cabinet())?
        .into_iter()
        .filter_map(|unit| Some((unit.place.slot()?.clone(), unit)))
        .collect();
    let wanted: Vec<Option<&Unit>> = slots.iter().map(|slot| standing.get(&slot.address)).collect();
    let labels: Vec<Option<LabelCode>> =
        wanted.iter().map(|unit| unit.map(|unit| unit.label)).collect();
    let seen: Vec<LabelCode> = units.iter().map(|unit| unit.label).collect();
    let result = compare(&labels, &seen);
    let catalogue = Catalogue::new(r);
    let rows: Vec<SeenRow> = result
        .rows
        .iter()
        .map(|compared| {
            let (slot, seen) = match *compared {
                Compared::Agrees { slot, seen } | Compared::Other { slot, seen } => {
                    (Some(slot), Some(seen))
                }
                Compared::NotSeen { slot } | Compared::Empty { slot } => (Some(slot), None),
                Compared::NotExpected { seen } => (None, Some(seen)),
            };
            row(
                verdict(compared),
                slot.map(|at| &slots[at]),
                slot.and_then(|at| wanted[at]).map(|unit| catalogue.unit(unit)),
                seen.map(|at| catalogue.unit(&units[at])),
            )
        })
        .collect();
    let count = |wanted: &[SeenVerdict]| {
        rows.iter().filter(|row| wanted.contains(&row.verdict)).count() as u32
    };
    let agree = count(&[SeenVerdict::Agrees]);
    let differ = count(&[SeenVerdict::Other, SeenVerdict::NotExpected]);
    let missing = count(&[SeenVerdict::NotSeen]);
    Ok(SeenRail {
        rail: Some(rail.to_string()),
        rail_title: r.rail(rail).map(|rail| rail.title),
        turned: result.turned,
        agree,
        differ,
        message: summary(rail, agree, differ, missing),
        rows,
    })
}

fn verdict(compared: &Compared) -> SeenVerdict {
    match compared {
        Compared::Agrees { .. } => SeenVerdict::Agrees,
        Compared::Other { .. } => SeenVerdict::Other,
        Compared::NotSeen { .. } => SeenVerdict::NotSeen,
        Compared::Empty { .. } => SeenVerdict::Empty,
        Compared::NotExpected { .. } => SeenVerdict::NotExpected,
    }
}

fn summary(rail: &RailAddress, agree: u32, differ: u32, missing: u32) -> String {
    let stand = |count: u32, one: &str, many: &str| match count {
        1 => format!("1 {one}"),
        count => format!("{count} {many}"),
    };
    let mut parts = vec![stand(
        agree,
        "unit stands where the register has it",
        "units stand where the register has them",
    )];
    if differ > 0 {
        parts.push(stand(differ, "does not", "do not"));
    }
    if missing > 0 {
        parts.push(stand(missing, "was not seen", "were not seen"));
    }
    format!("on rail {rail} {}", parts.join(", "))
}

fn row(
    verdict: SeenVerdict,
    slot: Option<&Slot>,
    wanted: Option<UnitLine>,
    seen: Option<UnitLine>,
) -> SeenRow {
    let name = |unit: &Option<UnitLine>| {
        unit.as_ref().map(|unit| format!("{} {}", unit.model, unit.serial)).unwrap_or_default()
    };
    let place = seen.as_ref().map(|unit| unit.place.clone()).unwrap_or_default();
    let address = slot.map(|slot| slot.address.to_string()).unwrap_or_default();
    let message = match (verdict, &wanted) {
        (SeenVerdict::Agrees, _) => format!("{} is in its slot", name(&seen)),
        (SeenVerdict::Empty, _) => "empty in the register, and no label was seen".to_owned(),
        (SeenVerdict::Other, Some(_)) => format!(
            "slot {address} should carry {}, the photo shows {}, which the register has in {place}",
            name(&wanted),
            name(&seen)
        ),
        (SeenVerdict::Other, None) => format!(
            "slot {address} should be empty, the photo shows {}, which the register has in {place}",
            name(&seen)
        ),
        (SeenVerdict::NotSeen, _) => format!(
            "slot {address} should carry {}, whose label was not seen: look whether it is covered, \
             dirty or gone",
            name(&wanted)
        ),
        (SeenVerdict::NotExpected, _) => {
            format!("the photo shows {} here, which the register has in {place}", name(&seen))
        }
    };
    SeenRow { verdict, slot: slot.map(|slot| slot.address.to_string()), wanted, seen, message }
}
