use super::lines::{self, Catalogue};
use super::{find, swap_check, unit};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::swap::{
    AbandonInput, FindingLine, FinishInput, OverrideInput, StartInput, StepLine, SwapCard,
    SwapInput, TickInput,
};
use crate::wire::{Done, Nothing};
use slotkeep_domain::journal::{
    Body, Override, SwapAbandoned, SwapFinished, SwapStarted, SwapTicked,
};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::place::SlotAddress;
use slotkeep_domain::register::View;
use slotkeep_domain::swap::{
    CAUTIONS, Demand, Finding, Plan, Situation, Step, Swap, SwapState, Tick, steps, verdict,
};
use slotkeep_store::Reader;
use uuid::Uuid;

pub(super) fn commands() -> Vec<Command> {
    vec![
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

pub(super) fn cautions() -> Vec<String> {
    CAUTIONS.map(str::to_owned).to_vec()
}

pub(super) fn finding(finding: &Finding) -> FindingLine {
    FindingLine {
        rule: finding.rule.name().to_owned(),
        severity: finding.severity.word().to_owned(),
        unknown: finding.unknown,
        compared: finding.compared.clone(),
        to_do: finding.to_do.clone(),
        can_be_overridden: finding.rule.can_be_overridden(),
    }
}

pub(super) fn step_lines(steps: &[Step], ticks: &[Tick]) -> Vec<StepLine> {
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
        let (seat, spare) = swap_check::pair(r, &input.slot, &input.unit, stamp.at.date_naive())?;
        let s = Situation { seat: &seat, spare: &spare };
        let overrides = input.overrides.iter().map(|taken| Override {
            rule: taken.rule.clone(),
            person: taken.person.trim().to_owned(),
            reason: taken.reason.trim().to_owned(),
        });
        Ok(Body::SwapStarted(SwapStarted {
            slot: seat.slot.address.clone(),
            out: seat.standing,
            into: spare.unit.label,
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
