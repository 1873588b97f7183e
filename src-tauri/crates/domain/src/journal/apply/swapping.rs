use super::{Outcome, Refusal, known, unit};
use crate::journal::{
    Entry, Override, SwapAbandoned, SwapFinished, SwapStarted, SwapTicked, UnitInstalled,
};
use crate::register::{Change, View};
use crate::swap::{Demand, Seat, Severity, Situation, Spare, Step, Swap, SwapState, Tick, barred};
use uuid::Uuid;

pub(super) fn start(view: &impl View, entry: &Entry, started: &SwapStarted) -> Outcome {
    let slot = known(view.slot(&started.slot), "slot", &started.slot)?;
    let into = known(view.unit(&started.into), "unit", started.into.human())?;
    if view.unit_in(&started.slot) != started.out {
        return Err(Refusal::new(
            format!("slot {} no longer holds what the plan says", started.slot),
            "check the slot again and begin anew",
        ));
    }
    let model = known(view.model(&into.model), "model", &into.model)?;
    let seat = Seat::of(view, slot, entry.at.date_naive());
    let spare = Spare::of(into.clone(), model, &seat, &[]);
    if let Some(stop) = barred(&Situation { seat: &seat, spare: &spare }) {
        return Err(Refusal::new(stop.compared, stop.to_do));
    }
    taken_on(started)?;
    if started.plan.steps.is_empty() {
        return Err(Refusal::new("the swap has no steps", "ask for the verdict again"));
    }
    let mut changes =
        super::reserved::taken_for_swap(view, entry, &into.label, &into.model, &started.slot);
    changes.push(Change::Swap(Swap {
        id: entry.id,
        slot: started.slot.clone(),
        out: started.out,
        into: started.into,
        started_at: entry.at,
        started_by: entry.person.clone(),
        plan: started.plan.clone(),
        overrides: started.overrides.clone(),
        ticks: Vec::new(),
        state: SwapState::Open,
    }));
    Ok(changes)
}

/// Checks that a named person took on each stop of the verdict, as far as anybody may.
///
/// The verdict was reached in the same transaction, by the rules and settings of that day; later
/// rules do not judge old entries.
fn taken_on(started: &SwapStarted) -> Result<(), Refusal> {
    let stops = started.plan.findings.iter().filter(|found| found.severity == Severity::Stop);
    for stop in stops {
        if !stop.rule.can_be_overridden() {
            return Err(Refusal::new(stop.compared.clone(), stop.to_do.clone()));
        }
        let by_name = |o: &&Override| o.rule == stop.rule.name();
        let complete = started.overrides.iter().find(by_name);
        if !complete.is_some_and(|o| !o.person.trim().is_empty() && !o.reason.trim().is_empty()) {
            return Err(Refusal::new(
                format!("{} (rule {})", stop.compared, stop.rule.name()),
                format!("{}; or have a named person take it on with a reason", stop.to_do),
            ));
        }
    }
    Ok(())
}

fn open(view: &impl View, id: &Uuid) -> Result<Swap, Refusal> {
    let swap = known(view.swap(id), "swap", id)?;
    if swap.is_open() {
        return Ok(swap);
    }
    Err(Refusal::new(
        format!("the swap in slot {} is no longer open", swap.slot),
        "begin a new one if the slot still needs it",
    ))
}

pub(super) fn tick(view: &impl View, entry: &Entry, ticked: &SwapTicked) -> Outcome {
    let mut swap = open(view, &ticked.swap)?;
    let next = swap.ticks.len() + 1;
    let Some(step) = swap.next_step() else {
        return Err(Refusal::new("every step is ticked", "finish the swap"));
    };
    if ticked.step as usize != next {
        return Err(Refusal::new(
            format!("step {} is not the next one", ticked.step),
            format!("do step {next} first: {}", step.text),
        ));
    }
    demanded(view, step, ticked)?;
    swap.ticks.push(Tick { at: entry.at, person: entry.person.clone(), scanned: ticked.scanned });
    Ok(vec![Change::Swap(swap)])
}

/// A step that demands a label takes only that label.
fn demanded(view: &impl View, step: &Step, ticked: &SwapTicked) -> Result<(), Refusal> {
    let wanted = match &step.demand {
        None => return Ok(()),
        Some(Demand::Slot(label) | Demand::Unit(label)) => *label,
    };
    match ticked.scanned {
        Some(scanned) if scanned == wanted => Ok(()),
        Some(scanned) => Err(Refusal::new(
            format!(
                "stop: you scanned {} ({}), this step wants {}",
                scanned.human(),
                view.labelled(&scanned).unwrap_or_else(|| "not in the register".to_owned()),
                wanted.human()
            ),
            "put it back and find the right one; do not go on with this one",
        )),
        None => Err(Refusal::new(
            format!("step {} wants the label {}", ticked.step, wanted.human()),
            "scan it",
        )),
    }
}

pub(super) fn finish(view: &impl View, entry: &Entry, finished: &SwapFinished) -> Outcome {
    let mut swap = open(view, &finished.swap)?;
    if let Some(step) = swap.next_step() {
        return Err(Refusal::new(
            format!("step {} is not ticked: {}", swap.ticks.len() + 1, step.text),
            "finish every step, or abandon the swap and say how the plant was left",
        ));
    }
    let mut changes = match (&swap.out, &finished.removal) {
        (Some(out), Some(removal)) => unit::take_out(view, entry, out, &swap.slot, removal)?,
        (None, None) => Vec::new(),
        (Some(out), None) => {
            return Err(Refusal::new(
                format!("nothing is said about unit {} that came out", out.human()),
                "say where it went and in which condition",
            ));
        }
        (None, Some(_)) => {
            return Err(Refusal::new(
                format!("slot {} was empty, so nothing came out", swap.slot),
                "leave the removal out",
            ));
        }
    };
    let installed = UnitInstalled { unit: swap.into, slot: swap.slot.clone() };
    changes.extend(unit::install(view, entry.at, &installed, swap.out)?);
    swap.state = SwapState::Finished;
    changes.push(Change::Swap(swap));
    Ok(changes)
}

pub(super) fn abandon(view: &impl View, abandoned: &SwapAbandoned) -> Outcome {
    let mut swap = open(view, &abandoned.swap)?;
    if abandoned.state_left.trim().is_empty() {
        return Err(Refusal::new(
            "nothing is said about the state the plant was left in",
            "say what is in the slot, what is isolated and which loops are in manual",
        ));
    }
    swap.state = SwapState::Abandoned(abandoned.state_left.clone());
    Ok(vec![Change::Swap(swap)])
}
