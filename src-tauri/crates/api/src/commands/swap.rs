use super::lines::{self, Catalogue};
use super::{swap_check, swap_steps};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Nothing;
use crate::wire::swap::{FindingLine, OverrideInput, StartInput, SwapCard, SwapInput};
use slotkeep_domain::journal::{Body, Override, SwapStarted};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::register::View;
use slotkeep_domain::swap::procedure::Times;
use slotkeep_domain::swap::{CAUTIONS, Finding, Plan, Situation, Swap, SwapState, verdict};
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
    ]
}

pub(super) fn cautions() -> Vec<String> {
    CAUTIONS.map(str::to_owned).to_vec()
}

pub(super) fn finding(finding: &Finding) -> FindingLine {
    FindingLine {
        rule: finding.rule.name().to_owned(),
        own: finding.rule.is_own(),
        severity: finding.severity.word().to_owned(),
        unknown: finding.unknown,
        compared: finding.compared.clone(),
        to_do: finding.to_do.clone(),
        can_be_overridden: finding.rule.can_be_overridden(),
    }
}

fn open(ask: &Ask<'_>, _: Nothing) -> Result<Vec<SwapCard>, Failure> {
    ask.read(|r| {
        let times = swap_steps::times(r)?;
        Ok(r.open_swaps()?.iter().map(|swap| card(r, swap, &times)).collect())
    })
}

fn show(ask: &Ask<'_>, input: SwapInput) -> Result<SwapCard, Failure> {
    shown(ask, &input.swap)
}

pub(super) fn shown(ask: &Ask<'_>, id: &Uuid) -> Result<SwapCard, Failure> {
    ask.read(|r| {
        let swap = r.swap(id).ok_or_else(|| {
            Failure::not_found(format!("there is no swap {id}: choose one from the list"))
        })?;
        Ok(card(r, &swap, &swap_steps::times(r)?))
    })
}

fn card(r: &Reader<'_>, swap: &Swap, times: &Times) -> SwapCard {
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
    let steps = swap_steps::lines(&swap.plan.steps, &swap.ticks, times);
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
        next_step: swap.next_step().map(|_| swap.ticks.len() as u32 + 1),
        expected_min: swap_steps::minutes(&steps),
        left_min: swap_steps::minutes(steps.iter().skip(swap.ticks.len())),
        stand: swap_steps::stand(r, swap),
        steps,
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
            plan: Plan { findings: verdict(&s), steps: swap_steps::composed(r, &s)? },
        }))
    })?;
    shown(ask, &stamp.id)
}
