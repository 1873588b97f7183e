use super::lines::{self, Catalogue};
use super::{find, unit};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::swap::{
    AbandonInput, Candidate, CandidatesInput, Check, CheckInput, FindingLine, FinishInput,
    OverrideInput, StartInput, StepLine, SwapCard, SwapInput, TickInput,
};
use crate::wire::{Done, Nothing};
use chrono::NaiveDate;
use slotkeep_domain::journal::{
    Body, Override, SwapAbandoned, SwapFinished, SwapStarted, SwapTicked,
};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::place::{Slot, SlotAddress};
use slotkeep_domain::register::View;
use slotkeep_domain::swap::{
    CAUTIONS, Demand, Finding, Plan, Severity, Situation, Step, Swap, SwapState, Tick, steps,
    verdict,
};
use slotkeep_store::Reader;
use uuid::Uuid;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("swap.check", "Judges a spare for a slot and composes the steps.", check),
        table::ask("swap.candidates", "Lists spares for a slot, best first.", candidates),
        table::ask("swap.open", "Lists swaps that are under way.", open),
        table::ask("swap.show", "Shows one swap with its steps.", show),
        table::record(
            "swap.start",
            "Begins a swap; refused while a stop stands that nobody took on.",
            table::HANDS,
            start,
        ),
        table::record(
            "swap.tick",
            "Ticks the next step; a wrong scan is refused.",
            table::HANDS,
            tick,
        ),
        table::record(
            "swap.finish",
            "Finishes a swap: removal, installation and stock in one entry.",
            table::HANDS,
            finish,
        ),
        table::record(
            "swap.abandon",
            "Gives a swap up and says how the plant was left.",
            table::HANDS,
            abandon,
        ),
    ]
}

/// A slot and a spare as they stand, with everything the rules look at.
pub(super) fn situation(
    r: &Reader<'_>,
    slot: &str,
    unit: &str,
    today: NaiveDate,
) -> Result<Situation, Failure> {
    let slot = find::slot(r, slot)?;
    let unit = find::unit(r, unit)?;
    gather(r, &slot.address, &unit.label, today)
}

fn gather(
    r: &Reader<'_>,
    slot: &SlotAddress,
    unit: &LabelCode,
    today: NaiveDate,
) -> Result<Situation, Failure> {
    Situation::gather(r, slot, unit, today).ok_or_else(|| {
        Failure::refused(format!(
            "the model of unit {} is not in the catalogue: add it first",
            unit.human()
        ))
    })
}

fn check(ask: &Ask<'_>, input: CheckInput) -> Result<Check, Failure> {
    let today = ask.today();
    ask.read(|r| checked(r, &situation(r, &input.slot, &input.unit, today)?))
}

/// The verdict and steps of a situation, to show or print.
pub(super) fn checked(r: &Reader<'_>, s: &Situation) -> Result<Check, Failure> {
    let findings = verdict(s);
    let catalogue = Catalogue::new(r);
    let stops = findings.iter().filter(|f| f.severity == Severity::Stop).count();
    let barred =
        findings.iter().any(|f| f.severity == Severity::Stop && !f.rule.can_be_overridden());
    let message = match (stops, barred) {
        (0, _) => format!("unit {} may go into {}", s.candidate.label.human(), s.slot.address),
        (_, true) => {
            format!("stop: unit {} must not go into {}", s.candidate.label.human(), s.slot.address)
        }
        (n, false) => format!(
            "stop: {n} findings stand against unit {} in {}; a named person may take them on",
            s.candidate.label.human(),
            s.slot.address
        ),
    };
    Ok(Check {
        slot: s.slot.address.to_string(),
        out: s.outgoing.as_ref().map(|(unit, _)| catalogue.unit(unit)),
        into: catalogue.unit(&s.candidate),
        passes: stops == 0,
        barred,
        findings: findings.iter().map(finding).collect(),
        loops: s.loops.iter().map(lines::wired).collect(),
        cautions: cautions(),
        steps: step_lines(&steps(s), &[]),
        message,
    })
}

pub(super) fn cautions() -> Vec<String> {
    CAUTIONS.map(str::to_owned).to_vec()
}

fn finding(finding: &Finding) -> FindingLine {
    FindingLine {
        rule: finding.rule.name().to_owned(),
        severity: finding.severity.word().to_owned(),
        compared: finding.compared.clone(),
        to_do: finding.to_do.clone(),
        can_be_overridden: finding.rule.can_be_overridden(),
    }
}

fn step_lines(steps: &[Step], ticks: &[Tick]) -> Vec<StepLine> {
    let numbered = steps.iter().enumerate().map(|(position, step)| {
        let tick = ticks.get(position);
        let (scan, label) = match &step.demand {
            None => (None, None),
            Some(Demand::Slot(label)) => (Some("slot".to_owned()), Some(label.human())),
            Some(Demand::Unit(label)) => (Some("unit".to_owned()), Some(label.human())),
        };
        StepLine {
            number: position as u32 + 1,
            text: step.text.clone(),
            detail: step.detail.clone(),
            scan,
            scan_label: label,
            ticked_at: tick.map(|tick| tick.at),
            ticked_by: tick.map(|tick| tick.person.clone()),
        }
    });
    numbered.collect()
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
    let standing = r.unit_in(&slot.address).and_then(|label| r.unit(&label));
    let wanted = slot.model_wanted.clone().or(standing.map(|unit| unit.model));
    let Some(wanted) = wanted.and_then(|part_no| r.model(&part_no)) else {
        return Ok(Vec::new());
    };
    let catalogue = Catalogue::new(r);
    let mut judged = Vec::new();
    let mut situation: Option<Situation> = None;
    for part_no in std::iter::once(&wanted.part_no).chain(&wanted.substitutes) {
        for unit in r.spares_of(part_no)? {
            if unit.place.bin().is_none() && !all {
                continue;
            }
            let Some(model) = catalogue.model(&unit.model) else { continue };
            // The slot is looked at once, however many spares there are.
            let now = match &situation {
                Some(known) => known.with_candidate(r, unit, model),
                None => gather(r, &slot.address, &unit.label, today)?,
            };
            judged.push(judge(&now, &catalogue));
            situation = Some(now);
        }
    }
    judged.retain(|(severity, _)| all || *severity < Severity::Stop);
    judged.sort_by(|(a, x), (b, y)| a.cmp(b).then_with(|| x.unit.place.cmp(&y.unit.place)));
    Ok(judged.into_iter().map(|(_, candidate)| candidate).collect())
}

fn judge(situation: &Situation, catalogue: &Catalogue<'_, '_>) -> (Severity, Candidate) {
    let mut findings = verdict(situation);
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    let worst = findings.first().map_or(Severity::Pass, |finding| finding.severity);
    let reasons = findings
        .into_iter()
        .filter(|finding| finding.severity > Severity::Pass)
        .map(|finding| finding.compared);
    let candidate = Candidate {
        unit: catalogue.unit(&situation.candidate),
        severity: worst.word().to_owned(),
        reasons: reasons.collect(),
    };
    (worst, candidate)
}

fn open(ask: &Ask<'_>, _: Nothing) -> Result<Vec<SwapCard>, Failure> {
    ask.read(|r| Ok(r.open_swaps()?.iter().map(|swap| card(r, swap)).collect()))
}

fn show(ask: &Ask<'_>, input: SwapInput) -> Result<SwapCard, Failure> {
    shown(ask, &input.swap)
}

pub(super) fn shown(ask: &Ask<'_>, id: &Uuid) -> Result<SwapCard, Failure> {
    ask.read(|r| {
        let swap = r.swap(id).ok_or_else(|| {
            Failure::not_found(format!("there is no swap {id}: choose one from the list"))
        })?;
        Ok(card(r, &swap))
    })
}

fn card(r: &Reader<'_>, swap: &Swap) -> SwapCard {
    let catalogue = Catalogue::new(r);
    let line = |label: &LabelCode| r.unit(label).map(|unit| catalogue.unit(&unit));
    let (state, state_left) = match &swap.state {
        SwapState::Open => ("open", None),
        SwapState::Finished => ("finished", None),
        SwapState::Abandoned(left) => ("abandoned", Some(left.clone())),
    };
    let overrides = swap.overrides.iter().map(|taken| OverrideInput {
        rule: taken.rule.clone(),
        person: taken.person.clone(),
        reason: taken.reason.clone(),
    });
    SwapCard {
        swap: swap.id,
        slot: swap.slot.to_string(),
        out: swap.out.as_ref().and_then(line),
        into: line(&swap.into),
        started_at: swap.started_at,
        started_by: swap.started_by.clone(),
        state: state.to_owned(),
        state_left,
        findings: swap.plan.findings.iter().map(finding).collect(),
        overrides: overrides.collect(),
        loops: r.loops_of(&swap.slot).iter().map(lines::wired).collect(),
        cautions: cautions(),
        steps: step_lines(&swap.plan.steps, &swap.ticks),
        next_step: swap.next_step().map(|_| swap.ticks.len() as u32 + 1),
    }
}

fn start(ask: &Ask<'_>, stamp: &Stamp, input: StartInput) -> Result<SwapCard, Failure> {
    ask.record_within(stamp, |r| {
        let s = situation(r, &input.slot, &input.unit, stamp.at.date_naive())?;
        let overrides = input.overrides.iter().map(|taken| Override {
            rule: taken.rule.clone(),
            person: taken.person.trim().to_owned(),
            reason: taken.reason.trim().to_owned(),
        });
        Ok(Body::SwapStarted(SwapStarted {
            slot: s.slot.address.clone(),
            out: s.outgoing.as_ref().map(|(unit, _)| unit.label),
            into: s.candidate.label,
            overrides: overrides.collect(),
            plan: Plan { findings: verdict(&s), steps: steps(&s) },
        }))
    })?;
    shown(ask, &stamp.id)
}

fn tick(ask: &Ask<'_>, stamp: &Stamp, input: TickInput) -> Result<SwapCard, Failure> {
    let scanned = match input.scanned.as_deref().filter(|text| !text.trim().is_empty()) {
        Some(text) => Some(scan(ask, text)?),
        None => None,
    };
    let body = SwapTicked { swap: input.swap, step: input.step, scanned };
    ask.record(stamp, Body::SwapTicked(body))?;
    shown(ask, &input.swap)
}

/// A label as scanned, or a slot address as typed.
fn scan(ask: &Ask<'_>, text: &str) -> Result<LabelCode, Failure> {
    match LabelCode::parse_scan(text) {
        Ok(label) => Ok(label),
        Err(refusal) => match SlotAddress::parse(text) {
            Ok(_) => ask.read(|r| Ok(find::slot(r, text)?.label)),
            Err(_) => Err(Failure::refused(format!("stop: {refusal}"))),
        },
    }
}

fn finish(ask: &Ask<'_>, stamp: &Stamp, input: FinishInput) -> Result<Done, Failure> {
    let recorded = ask.record_within(stamp, |r| {
        let removal =
            input.removal.as_ref().map(|removal| unit::removal(r, removal)).transpose()?;
        Ok(Body::SwapFinished(SwapFinished { swap: input.swap, removal }))
    })?;
    let swap = shown(ask, &input.swap)?;
    let into = swap.into.map(|unit| unit.label_human).unwrap_or_default();
    Ok(Done {
        entry: stamp.id,
        repeated: recorded.repeated,
        message: format!("unit {into} stands in {}", swap.slot),
    })
}

fn abandon(ask: &Ask<'_>, stamp: &Stamp, input: AbandonInput) -> Result<Done, Failure> {
    let body = SwapAbandoned { swap: input.swap, state_left: input.state_left };
    let recorded = ask.record(stamp, Body::SwapAbandoned(body))?;
    Ok(Done {
        entry: stamp.id,
        repeated: recorded.repeated,
        message: "the swap is abandoned; how the plant was left is in the journal".into(),
    })
}
