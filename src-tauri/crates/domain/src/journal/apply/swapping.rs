use super::{Outcome, Refusal, known, unit};
use crate::journal::{
    Entry, Override, SwapAbandoned, SwapFinished, SwapStarted, SwapTicked, UnitInstalled,
};
use crate::label::{LabelCode, LabelKind};
use crate::register::{Change, View};
use crate::swap::procedure::left;
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
    demanded(view, entry, step, ticked)?;
    swap.ticks.push(Tick {
        at: entry.at,
        person: entry.person.clone(),
        scanned: ticked.scanned,
        reading: ticked.reading,
        photo: ticked.photo.clone(),
        second: ticked.second.clone(),
    });
    Ok(vec![Change::Swap(swap)])
}

/// A step that demands something counts as done only with that.
fn demanded(
    view: &impl View,
    entry: &Entry,
    step: &Step,
    ticked: &SwapTicked,
) -> Result<(), Refusal> {
    let number = ticked.step;
    match &step.demand {
        None => Ok(()),
        Some(Demand::Slot(wanted) | Demand::Unit(wanted)) => scanned(view, wanted, ticked),
        Some(Demand::Reading(limits)) => match ticked.reading {
            Some(read) if limits.hold(read) => Ok(()),
            Some(read) => Err(Refusal::new(
                format!("stop: {read} {} was read, step {number} wants {limits}", limits.unit),
                "find out why before you go on, and read again; or give the swap up",
            )),
            None => Err(Refusal::new(
                format!("step {number} wants a reading of {limits}"),
                "measure, and give the figure",
            )),
        },
        Some(Demand::Photo) if ticked.photo.is_none() => {
            Err(Refusal::new(format!("step {number} wants a photo"), "take one"))
        }
        Some(Demand::SecondPerson) => {
            let second = ticked.second.as_deref().unwrap_or_default().trim();
            if second.is_empty() {
                return Err(Refusal::new(
                    format!("step {number} wants a second person"),
                    "have somebody else look, and give the name",
                ));
            }
            if second.eq_ignore_ascii_case(entry.person.trim()) {
                return Err(Refusal::new(
                    format!("{second} cannot be the second person beside {}", entry.person),
                    "have somebody else look, and give that name",
                ));
            }
            Ok(())
        }
        Some(Demand::Photo) => Ok(()),
    }
}

fn scanned(view: &impl View, wanted: &LabelCode, ticked: &SwapTicked) -> Result<(), Refusal> {
    match ticked.scanned {
        Some(scanned) if scanned == *wanted => Ok(()),
        Some(scanned) => Err(Refusal::new(
            format!(
                "stop: you scanned {} ({}), this step wants {}",
                scanned.human(),
                view.labelled(&scanned).unwrap_or_else(|| "not in the register".to_owned()),
                wanted.human()
            ),
            match scanned.kind() {
                LabelKind::Unit => "put it back and find the right one; do not go on with this one",
                _ => "find the right place; do not go on at this one",
            },
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

/// Gives a swap up; units are booked to where the ticked steps brought them.
pub(super) fn abandon(view: &impl View, entry: &Entry, abandoned: &SwapAbandoned) -> Outcome {
    let mut swap = open(view, &abandoned.swap)?;
    if abandoned.state_left.trim().is_empty() {
        return Err(Refusal::new(
            "nothing is said about the state the plant was left in",
            "say what is in the slot, what is isolated and which loops are in manual",
        ));
    }
    let left = left(&swap, &[]);
    let mut changes = match (&swap.out, &abandoned.removal) {
        (Some(out), Some(removal)) if left.out_is_out => {
            unit::take_out(view, entry, out, &swap.slot, removal)?
        }
        (Some(out), None) if left.out_is_out => {
            return Err(Refusal::new(
                format!("nothing is said about unit {}, which was taken out", out.human()),
                "say where it is now and in which condition",
            ));
        }
        (_, Some(_)) => {
            return Err(Refusal::new(
                format!("no unit was taken out of slot {}", swap.slot),
                "leave the removal out",
            ));
        }
        (_, None) => Vec::new(),
    };
    if left.in_is_in {
        let installed = UnitInstalled { unit: swap.into, slot: swap.slot.clone() };
        changes.extend(unit::install(view, entry.at, &installed, swap.out)?);
    }
    swap.state = SwapState::Abandoned(abandoned.state_left.clone());
    changes.push(Change::Swap(swap));
    Ok(changes)
}
