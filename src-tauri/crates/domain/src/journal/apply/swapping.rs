use super::{Outcome, Refusal, known, unit};
use crate::journal::{Entry, SwapAbandoned, SwapFinished, SwapStarted, SwapTicked, UnitInstalled};
use crate::register::{Change, View};
use crate::swap::{Demand, Severity, Situation, Step, Swap, SwapState, Tick, verdict};
use uuid::Uuid;

pub(super) fn start(view: &impl View, entry: &Entry, started: &SwapStarted) -> Outcome {
    known(view.slot(&started.slot), "slot", &started.slot)?;
    let into = known(view.unit(&started.into), "unit", started.into.human())?;
    let today = entry.at.date_naive();
    let situation = known(
        Situation::gather(view, &started.slot, &started.into, today),
        "the model of unit",
        started.into.human(),
    )?;
    if view.unit_in(&started.slot) != started.out {
        return Err(Refusal::new(
            format!("slot {} no longer holds what the plan says", started.slot),
            "check the slot again and begin anew",
        ));
    }
    for stop in verdict(&situation).iter().filter(|f| f.severity == Severity::Stop) {
        let taken = started.overrides.iter().find(|o| o.rule == stop.rule.name());
        if !stop.rule.can_be_overridden() {
            return Err(Refusal::new(stop.compared.clone(), stop.to_do.clone()));
        }
        let complete =
            taken.is_some_and(|o| !o.person.trim().is_empty() && !o.reason.trim().is_empty());
        if !complete {
            return Err(Refusal::new(
                format!("{} (rule {})", stop.compared, stop.rule.name()),
                format!("{}; or have a named person take it on with a reason", stop.to_do),
            ));
        }
    }
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
