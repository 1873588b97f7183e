//! Spares for a slot, best first.

use super::find;
use super::spares_serving::Serving;
use super::swap_check::Gathered;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::swap::{Candidate, CandidatesInput, Nearness};
use chrono::NaiveDate;
use slotkeep_domain::model::Model;
use slotkeep_domain::place::Slot;
use slotkeep_domain::register::View;
use slotkeep_domain::swap::{Finding, Judge, Rule, Seat, Severity, worst};
use slotkeep_domain::unit::UnitPlace;
use slotkeep_store::Reader;
use std::cmp::Reverse;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "swap.candidates",
        "Lists spares for a slot: those in order before those with cautions, nearest first.",
        candidates,
    )]
}

fn candidates(ask: &Ask<'_>, input: CandidatesInput) -> Result<Vec<Candidate>, Failure> {
    let today = ask.today();
    ask.read(|r| candidates_for(r, &find::slot(r, &input.slot)?, today, input.all))
}

/// Spares judged for a slot: the model wanted and whatever may stand in for it, best first.
pub(super) fn candidates_for(
    r: &Reader<'_>,
    slot: &Slot,
    today: NaiveDate,
    all: bool,
) -> Result<Vec<Candidate>, Failure> {
    let gathered = Gathered::new(r, today)?;
    let seat = gathered.seat(slot.clone())?;
    let near = Near::to(r, slot)?;
    let mut judge = Judge::new(&seat);
    let mut judged = Vec::new();
    for model in models_for(r, &seat)? {
        for unit in r.spares_of(&model.part_no)? {
            let nearness = near.of(&unit.place);
            if nearness > Nearness::OtherStoreroom && !all {
                continue;
            }
            let spare = gathered.spare(unit, model.clone(), &seat)?;
            let findings = judge.findings(&spare);
            let severity = worst(&findings);
            if !all && severity == Severity::Stop {
                continue;
            }
            judged.push((severity, nearness, spare.unit, findings));
        }
    }
    judged.sort_by(|(a, near_a, unit_a, _), (b, near_b, unit_b, _)| {
        // Notes stand in nobody's way: what is near goes before what has none.
        let care = |severity: &Severity| (*severity).max(Severity::Note);
        (care(a), near_a, a).cmp(&(care(b), near_b, b)).then_with(|| {
            (unit_a.place.bin(), &unit_a.serial).cmp(&(unit_b.place.bin(), &unit_b.serial))
        })
    });
    let lines = judged.into_iter().map(|(severity, nearness, unit, findings)| Candidate {
        unit: gathered.catalogue.unit(&unit),
        nearness,
        severity: severity.word().to_owned(),
        reasons: reasons(findings),
    });
    Ok(lines.collect())
}

/// The model wanted, and those that may stand in for it. Where the site has made another model less
/// than a stop, every model that plugs is looked at.
fn models_for(r: &Reader<'_>, seat: &Seat) -> Result<Vec<Model>, Failure> {
    let Some(wanted) = seat.reference_model() else { return Ok(Vec::new()) };
    let rule = slotkeep_domain::rules::kept(Rule::Model.spec(), &seat.settings);
    if !rule.on || rule.severity < Severity::Stop {
        let plugs = |model: &Model| model.base == wanted.base && model.key == wanted.key;
        return Ok(r.models()?.into_iter().filter(plugs).collect());
    }
    let others = wanted.substitutes.iter().filter_map(|part_no| r.model(part_no));
    Ok(std::iter::once(wanted.clone()).chain(others).collect())
}

/// What is not simply in order, worst first.
pub(super) fn reasons(mut findings: Vec<Finding>) -> Vec<String> {
    findings.retain(|finding| finding.severity > Severity::Pass);
    findings.sort_by_key(|finding| Reverse(finding.severity));
    findings.into_iter().map(|finding| finding.compared).collect()
}

/// How far storerooms are from one slot.
struct Near {
    serving: Option<String>,
    central: Option<String>,
}

impl Near {
    fn to(r: &Reader<'_>, slot: &Slot) -> Result<Self, Failure> {
        let cabinet = r.cabinet(&slot.address.cabinet());
        let serving = Serving::new(r.storerooms()?, cabinet.iter());
        let central = serving.central().map(|room| room.code.clone());
        let named = serving.of_cabinet(&slot.address.cabinet(), "").to_owned();
        let named = Some(named).filter(|named| !named.is_empty());
        Ok(Self { serving: named.or_else(|| central.clone()), central })
    }

    fn of(&self, place: &UnitPlace) -> Nearness {
        match place {
            UnitPlace::Bin(bin) if self.serving.as_deref() == Some(bin.storeroom()) => {
                Nearness::Serving
            }
            UnitPlace::Bin(bin) if self.central.as_deref() == Some(bin.storeroom()) => {
                Nearness::Central
            }
            UnitPlace::Bin(_) => Nearness::OtherStoreroom,
            UnitPlace::Bench => Nearness::Bench,
            _ => Nearness::Elsewhere,
        }
    }
}
