//! The steps of a swap: composed, ticked, finished, or given up.

use super::{find, photo, swap, unit};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::site_files::built_in_procedure;
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::swap::SwapCard;
use crate::wire::swap_steps::{
    AbandonInput, FinishInput, LimitsLine, StandLine, StepLine, TickInput,
};
use base64::Engine;
use slotkeep_domain::journal::{Body, Removal, SwapAbandoned, SwapFinished, SwapTicked};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::photo::PhotoHash;
use slotkeep_domain::place::SlotAddress;
use slotkeep_domain::register::View;
use slotkeep_domain::swap::procedure::{Facts, Left, Names, Times, compose, left};
use slotkeep_domain::swap::{Demand, Situation, Step, Swap, Tick};
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::record(
            "swap.tick",
            "Ticks the next step; a wrong scan or a reading out of limits is refused.",
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
            "Gives a swap up; how the plant was left follows from the ticked steps.",
            table::HANDS,
            abandon,
        ),
    ]
}

/// Composes the steps of a swap from the site's templates, or from those of the program.
///
/// Fails where the templates would break the order or leave a step out for this slot.
pub(super) fn composed(r: &Reader<'_>, s: &Situation<'_>) -> Result<Vec<Step>, Failure> {
    let own = r.procedure();
    let procedure = own.as_ref().unwrap_or_else(|| built_in_procedure());
    compose(procedure, &Facts::of(s), &Names::of(s)).map_err(|broken| {
        let rules: Vec<_> = broken.into_iter().map(|broken| broken.what).collect();
        Failure::refused(format!(
            "the site's templates give no safe steps for slot {} ({}): correct procedure.json and \
             import it again",
            s.seat.slot.address,
            rules.join("; ")
        ))
    })
}

/// How many of the newest finished swaps times are taken from.
const REMEMBERED: u32 = 200;

/// How long each step took in the newest finished swaps.
pub(super) fn times(r: &Reader<'_>) -> Result<Times, Failure> {
    Ok(Times::of(&r.finished_swaps(REMEMBERED)?))
}

/// Steps as they are shown, with what was ticked.
pub(super) fn lines(steps: &[Step], ticks: &[Tick], times: &Times) -> Vec<StepLine> {
    let numbered = (1..).zip(steps);
    numbered
        .map(|(number, step)| line(number, step, ticks.get(number as usize - 1), times))
        .collect()
}

fn line(number: u32, step: &Step, tick: Option<&Tick>, times: &Times) -> StepLine {
    let (scan, label) = match &step.demand {
        Some(Demand::Slot(label)) => (Some("slot".to_owned()), Some(label.human())),
        Some(Demand::Unit(label)) => (Some("unit".to_owned()), Some(label.human())),
        _ => (None, None),
    };
    let reading = match &step.demand {
        Some(Demand::Reading(limits)) => {
            Some(LimitsLine { unit: limits.unit.clone(), low: limits.low, high: limits.high })
        }
        _ => None,
    };
    let expected = times.expected(step);
    StepLine {
        number,
        text: step.text.clone(),
        detail: step.detail.clone(),
        scan,
        scan_label: label,
        reading,
        photo: step.demand == Some(Demand::Photo),
        second_person: step.demand == Some(Demand::SecondPerson),
        expected_min: expected.map(|expected| expected.minutes),
        seen: expected.map_or(0, |expected| expected.seen),
        ticked_at: tick.map(|tick| tick.at),
        ticked_by: tick.map(|tick| tick.person.clone()),
        read: tick.and_then(|tick| tick.reading),
        photo_taken: tick.and_then(|tick| tick.photo.as_ref()).map(ToString::to_string),
        second: tick.and_then(|tick| tick.second.clone()),
    }
}

/// Expected minutes of some steps together; none where a step has no figure at all.
pub(super) fn minutes<'a>(lines: impl IntoIterator<Item = &'a StepLine>) -> Option<f64> {
    lines.into_iter().map(|line| line.expected_min).sum()
}

/// How the plant stands after the ticked steps of a swap.
pub(super) fn stand(r: &Reader<'_>, swap: &Swap) -> StandLine {
    let Left { said, out_is_out, in_is_in } = left_of(r, swap);
    StandLine { said, out_is_out, in_is_in }
}

fn left_of(r: &Reader<'_>, swap: &Swap) -> Left {
    let loops: Vec<_> = r.loops_of(&swap.slot).into_iter().map(|wired| wired.tag).collect();
    left(swap, &loops)
}

fn tick(ask: &Ask<'_>, stamp: &Stamp, input: TickInput) -> Result<SwapCard, Failure> {
    let scanned = match input.scanned.as_deref().filter(|text| !text.trim().is_empty()) {
        Some(text) => Some(scan(ask, text)?),
        None => None,
    };
    let body = SwapTicked {
        swap: input.swap,
        step: input.step,
        scanned,
        reading: input.reading,
        photo: picture(ask, &input)?,
        second: input.second.map(|name| name.trim().to_owned()).filter(|name| !name.is_empty()),
    };
    ask.record(stamp, Body::SwapTicked(body))?;
    swap::shown(ask, &input.swap)
}

/// The photo of a tick: named, or sent with it, which is kept now.
fn picture(ask: &Ask<'_>, input: &TickInput) -> Result<Option<PhotoHash>, Failure> {
    match (&input.photo_data, &input.photo) {
        (Some(data), _) => {
            let bytes = base64::engine::general_purpose::STANDARD
                .decode(data.trim())
                .map_err(|why| Failure::bad_input(format!("the photo is no Base64 ({why})")))?;
            photo::keep(ask, &photo::made_keepable(&bytes)?).map(Some)
        }
        (None, Some(name)) => ask.read(|r| photo::named(r, name)).map(Some),
        (None, None) => Ok(None),
    }
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
    let swap = swap::shown(ask, &input.swap)?;
    let into = swap.into.map(|unit| unit.label_human).unwrap_or_default();
    Ok(Done {
        entry: stamp.id,
        repeated: recorded.repeated,
        message: format!("unit {into} stands in {}", swap.slot),
    })
}

fn abandon(ask: &Ask<'_>, stamp: &Stamp, input: AbandonInput) -> Result<Done, Failure> {
    let recorded = ask.record_within(stamp, |r| {
        let removal =
            input.removal.as_ref().map(|removal| unit::removal(r, removal)).transpose()?;
        let state_left = match r.swap(&input.swap) {
            Some(swap) => {
                state_left(&left_of(r, &swap), &swap, removal.as_ref(), &input.state_left)
            }
            None => input.state_left.clone(),
        };
        Ok(Body::SwapAbandoned(SwapAbandoned { swap: input.swap, state_left, removal }))
    })?;
    let left = swap::shown(ask, &input.swap)?.state_left.unwrap_or_default();
    Ok(Done {
        entry: stamp.id,
        repeated: recorded.repeated,
        message: format!("the swap is given up; the plant was left so: {left}"),
    })
}

/// What the ticked steps say, where the old unit is, and what a person adds.
fn state_left(left: &Left, swap: &Swap, removal: Option<&Removal>, added: &str) -> String {
    let mut said = left.said.clone();
    if let (Some(out), Some(removal)) = (&swap.out, removal) {
        said.push(format!("Unit {} is now at: {}.", out.human(), removal.to));
    }
    let added = added.trim();
    if !added.is_empty() {
        said.push(added.to_owned());
    }
    said.join(" ")
}
