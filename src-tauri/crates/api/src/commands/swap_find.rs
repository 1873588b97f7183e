//! What less important slots could lend, and where a spare fits.

use super::swap_candidates::reasons;
use super::swap_check::Gathered;
use super::{find, swap_effects};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::swap_find::{Fit, Fits, FitsInput, Lender, LendersInput, LendingCost};
use crate::wire::words;
use slotkeep_domain::counted_as;
use slotkeep_domain::model::{Model, PartNo};
use slotkeep_domain::place::{Criticality, Slot};
use slotkeep_domain::register::View;
use slotkeep_domain::swap::{Judge, Rule, Severity, Situation, verdict, worst};
use slotkeep_domain::unit::{Condition, Unit};
use slotkeep_store::Reader;
use std::collections::BTreeMap;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask(
            "swap.lenders",
            "Lists units of the same model that less important slots could lend, and what each \
             would cost.",
            lenders,
        ),
        table::ask("swap.fits", "Lists the slots that a spare may go into.", fits),
    ]
}

fn lenders(ask: &Ask<'_>, input: LendersInput) -> Result<Vec<Lender>, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let gathered = Gathered::new(r, today)?;
        let seat = gathered.seat(find::slot(r, &input.slot)?)?;
        let Some(wanted) = seat.reference_model().cloned() else { return Ok(Vec::new()) };
        let mut judge = Judge::new(&seat);
        let mut found = Vec::new();
        for unit in r.units_of(&wanted.part_no)? {
            let Some(from) = unit.place.slot().and_then(|address| r.slot(address)) else {
                continue;
            };
            // Vital comes first in the order of classes.
            let less_important = from.criticality > seat.slot.criticality;
            if !less_important || r.open_swap(&from.address).is_some() {
                continue;
            }
            let spare = gathered.spare(unit, wanted.clone(), &seat)?;
            let mut findings = judge.findings(&spare);
            // It is taken out there first.
            findings.retain(|finding| finding.rule != Rule::Place);
            let severity = worst(&findings);
            if severity < Severity::Stop {
                found.push((from, spare.unit, severity, reasons(findings)));
            }
        }
        let lent = found.into_iter().map(|(from, unit, severity, reasons)| {
            Ok(Lender {
                slot: from.address.to_string(),
                slot_title: from.title.clone(),
                unit: gathered.catalogue.unit(&unit),
                severity: severity.word().to_owned(),
                reasons,
                cost: cost(r, &from)?,
            })
        });
        let mut lent = lent.collect::<Result<Vec<_>, Failure>>()?;
        lent.sort_by_key(order);
        Ok(lent)
    })
}

/// The cheapest first: class, safety functions, cautions, loops, other units, address.
fn order(lender: &Lender) -> (bool, u32, bool, usize, u32, String) {
    let cost = &lender.cost;
    (
        cost.criticality != "desirable",
        cost.safety_loops,
        lender.severity == "caution",
        cost.loops.len(),
        cost.disturbed_units,
        lender.slot.clone(),
    )
}

fn cost(r: &Reader<'_>, from: &Slot) -> Result<LendingCost, Failure> {
    let effects = swap_effects::of(r, from)?;
    let loops: Vec<_> = effects.loops.iter().map(swap_effects::line).collect();
    let safety_loops = loops.iter().filter(|line| line.safety_function).count();
    let (redundancy, partner_words) = swap_effects::redundancy(&effects.redundancy);
    let criticality = words::criticality(from.criticality);
    let mut message = format!("{criticality} slot {} would stand empty: ", from.address);
    message.push_str(&match loops.len() {
        0 => "no loop is wired to it".to_owned(),
        1 => "1 loop goes".to_owned(),
        n => format!("{n} loops go"),
    });
    if safety_loops > 0 {
        message.push_str(&format!(", {safety_loops} of a safety function"));
    }
    if redundancy != "single" {
        message.push_str(&format!("; {partner_words}"));
    }
    if !effects.disturbed.is_empty() {
        message.push_str(&format!(
            "; {} while it is taken out",
            counted_as(effects.disturbed.len() as u64, "other unit is", "other units are")
                + " disturbed"
        ));
    }
    Ok(LendingCost {
        criticality: criticality.to_owned(),
        safety_loops: safety_loops as u32,
        loops,
        redundancy: redundancy.to_owned(),
        disturbed_units: effects.disturbed.len() as u32,
        message,
    })
}

/// Slots that are judged for one spare where nothing is asked for.
const FITS: u32 = 200;

fn fits(ask: &Ask<'_>, input: FitsInput) -> Result<Fits, Failure> {
    let today = ask.today();
    let limit = input.limit.unwrap_or(FITS).max(1) as usize;
    ask.read(|r| {
        let unit = find::unit(r, &input.unit)?;
        let model = find::model(r, unit.model.as_str())?;
        let mut slots = slots_for(r, &model, &unit)?;
        let left_off = slots.len().saturating_sub(limit);
        slots.truncate(limit);
        let gathered = Gathered::new(r, today)?;
        let (mut fit, mut against) = (Vec::new(), BTreeMap::<String, u32>::new());
        let judged = slots.len();
        for (slot, standing) in slots {
            let seat = gathered.seat(slot)?;
            let spare = gathered.spare(unit.clone(), model.clone(), &seat)?;
            let findings = verdict(&Situation { seat: &seat, spare: &spare });
            let severity = worst(&findings);
            if severity == Severity::Stop {
                let first = findings.into_iter().find(|found| found.severity == Severity::Stop);
                *against
                    .entry(first.map(|found| found.compared).unwrap_or_default())
                    .or_default() += 1;
                continue;
            }
            let line = gathered.catalogue.slot(&seat.slot, standing.as_ref());
            fit.push(Fit {
                slot: line.address,
                title: line.title,
                criticality: words::criticality(seat.slot.criticality).to_owned(),
                state: line.state,
                severity: severity.word().to_owned(),
                reasons: reasons(findings),
            });
        }
        let message = said(&unit, fit.len(), judged, left_off, &against);
        Ok(Fits {
            unit: gathered.catalogue.unit(&unit),
            slots: fit,
            judged: judged as u32,
            left_off: left_off as u32,
            message,
        })
    })
}

/// Slots for a model, those in need first, then the most important, each with what stands there.
fn slots_for(
    r: &Reader<'_>,
    model: &Model,
    own: &Unit,
) -> Result<Vec<(Slot, Option<Unit>)>, Failure> {
    let stands_in =
        r.models()?.into_iter().filter(|other| other.substitutes.contains(&model.part_no));
    let wanted: Vec<PartNo> = std::iter::once(model.part_no.clone())
        .chain(stands_in.map(|other| other.part_no))
        .collect();
    let mut slots = BTreeMap::new();
    for part_no in &wanted {
        for slot in r.slots_wanting(part_no)? {
            slots.insert(slot.address.clone(), slot);
        }
        // Slots of which only what stands in them says what they are for.
        for unit in r.units_of(part_no)? {
            let slot = unit.place.slot().and_then(|address| r.slot(address));
            if let Some(slot) = slot.filter(|slot| slot.model_wanted.is_none()) {
                slots.insert(slot.address.clone(), slot);
            }
        }
    }
    slots.retain(|address, _| own.place.slot() != Some(address));
    let with_units = slots.into_values().map(|slot| {
        let unit = r.unit_in(&slot.address).and_then(|label| r.unit(&label));
        (slot, unit)
    });
    let mut with_units: Vec<_> = with_units.collect();
    with_units.sort_by_key(|(slot, unit)| (!in_need(unit.as_ref()), importance(slot.criticality)));
    Ok(with_units)
}

fn in_need(standing: Option<&Unit>) -> bool {
    standing.is_none_or(|unit| unit.condition != Condition::Good)
}

fn importance(criticality: Criticality) -> u8 {
    match criticality {
        Criticality::Vital => 0,
        Criticality::Essential => 1,
        Criticality::Desirable => 2,
    }
}

fn said(
    unit: &Unit,
    fit: usize,
    judged: usize,
    left_off: usize,
    against: &BTreeMap<String, u32>,
) -> String {
    let name = unit.label.human();
    let most = against.iter().max_by_key(|(_, count)| **count).map(|(why, _)| why);
    let mut message = match (fit, judged, most) {
        (0, 0, _) => format!("no slot of this plant is engineered for a {}", unit.model),
        (0, _, Some(why)) => format!("unit {name} may go into none of {judged} slots: {why}"),
        (1, ..) => format!("unit {name} may go into 1 of {judged} slots for its model"),
        _ => format!("unit {name} may go into {fit} of {judged} slots for its model"),
    };
    if left_off > 0 {
        message.push_str(&format!("; {left_off} more were not looked at: ask for more"));
    }
    message
}
