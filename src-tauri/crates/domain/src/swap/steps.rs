use super::Situation;
use crate::label::LabelCode;
use crate::model::{BaseKind, ModelKind};
use crate::place::BusPosition;

/// What every swap and battery procedure opens with, on screen and on paper.
pub const CAUTIONS: [&str; 6] = [
    "Permit and isolation: by the rules of your site, before you open the cabinet.",
    "Running loops: clear every effect with operations before you touch the unit.",
    "Electrostatic discharge: wear the wrist strap, keep the unit in its bag until it is plugged.",
    "Hazardous areas: only authorised, competent people work here.",
    "Lithium cells: no short circuit, no heat, no recharging.",
    "This program does not replace local codes, the maker's instructions or licensed practice.",
];

/// One thing to do and tick.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    pub text: String,
    /// Why, or what to look for; may be empty.
    pub detail: String,
    /// What must be scanned before the step counts as done.
    pub demand: Option<Demand>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Demand {
    /// The label of the slot.
    Slot(LabelCode),
    /// The label of a unit.
    Unit(LabelCode),
}

/// Composes the steps for one slot and one spare.
///
/// The order is fixed (common practice, no source): isolate before unlatch, unlatch before
/// pull, key before plug, plug before latch since latched means energised, verify before
/// return to service.
pub fn steps(s: &Situation<'_>) -> Vec<Step> {
    let mut steps = Vec::new();
    prepare(s, &mut steps);
    if s.seat.outgoing.is_some() {
        take_out(s, &mut steps);
    }
    put_in(s, &mut steps);
    hand_back(s, &mut steps);
    steps
}

fn step(steps: &mut Vec<Step>, text: impl Into<String>, detail: impl Into<String>) {
    steps.push(Step { text: text.into(), detail: detail.into(), demand: None });
}

fn scan(steps: &mut Vec<Step>, text: impl Into<String>, demand: Demand) {
    let detail = "A wrong label stops the work here.".to_owned();
    steps.push(Step { text: text.into(), detail, demand: Some(demand) });
}

fn prepare(s: &Situation<'_>, steps: &mut Vec<Step>) {
    step(
        steps,
        "Have the permit at hand and put on the wrist strap.",
        "Permit and isolation follow the rules of your site.",
    );
    scan(
        steps,
        format!("Scan the label of slot {}.", s.seat.slot.address),
        Demand::Slot(s.seat.slot.label),
    );
    if !s.seat.loops.is_empty() {
        let tags: Vec<_> = s.seat.loops.iter().map(|wired| wired.tag.as_str()).collect();
        step(
            steps,
            format!("Have operations put {} in manual or bypass.", counted(tags.len(), "loop")),
            format!("Loops on this unit: {}.", tags.join(", ")),
        );
    }
    if s.seat.loops.iter().any(|wired| wired.safety_function) {
        step(
            steps,
            "Have the safety function's owner release the affected loops in writing.",
            "A loop on this unit belongs to a safety function.",
        );
    }
    if let Some((address, partner)) = &s.seat.partner {
        match partner {
            Some(_) => step(
                steps,
                format!("Check that the redundant partner in {address} carries the function."),
                "Switch over to it if it does not.",
            ),
            None => step(
                steps,
                format!("Treat the unit as single: the partner slot {address} is empty."),
                "The function is lost while the unit is out.",
            ),
        }
    }
    if let Some((unit, model)) = &s.seat.outgoing
        && model.kind == ModelKind::Controller
    {
        step(
            steps,
            format!("Save the program of controller {} and check the copy.", unit.label.human()),
            "Its memory is lost when battery and supply are both away.",
        );
    }
}

fn take_out(s: &Situation<'_>, steps: &mut Vec<Step>) {
    let Some((outgoing, _)) = &s.seat.outgoing else { return };
    scan(
        steps,
        format!("Scan the unit that comes out: {} {}.", outgoing.model, outgoing.label.human()),
        Demand::Unit(outgoing.label),
    );
    isolate(s, steps);
    match s.seat.slot.base {
        BaseKind::OnePiece | BaseKind::Own => {
            terminator_off(s, steps);
            step(
                steps,
                "Mark and unplug the wiring, then set the rail locks to free.",
                "Slide the neighbours apart no further than their connectors allow.",
            );
            step(steps, "Lift the unit off the rail.", "");
        }
        BaseKind::Compact | BaseKind::Extended | BaseKind::IntrinsicallySafe => {
            step(
                steps,
                "Open the latch of the module.",
                "Unlatched means switched off. Never pull a latched module.",
            );
            step(
                steps,
                "Pull the module straight off its base.",
                "The base stays on the rail with the wiring.",
            );
        }
    }
}

fn isolate(s: &Situation<'_>, steps: &mut Vec<Step>) {
    if s.seat.slot.hot_swap {
        step(
            steps,
            "Leave the rail energised: this slot may be changed under power.",
            "Other units of the rail go on working.",
        );
    } else {
        step(
            steps,
            format!("Isolate the supply of rail {} and prove it dead.", s.seat.slot.address.rail()),
            "This slot must not be changed under power; every unit of the rail goes down.",
        );
    }
}

fn terminator_off(s: &Situation<'_>, steps: &mut Vec<Step>) {
    if s.seat.slot.bus_position == BusPosition::End {
        step(
            steps,
            "Take the end support and the bus terminator off and keep them.",
            "A bus is closed once at each of its two ends.",
        );
    }
}

fn put_in(s: &Situation<'_>, steps: &mut Vec<Step>) {
    scan(
        steps,
        format!(
            "Scan the unit that goes in: {} {}.",
            s.spare.unit.model,
            s.spare.unit.label.human()
        ),
        Demand::Unit(s.spare.unit.label),
    );
    if s.seat.outgoing.is_none() {
        isolate(s, steps);
    }
    match s.seat.slot.base {
        BaseKind::OnePiece | BaseKind::Own => {
            if s.seat.outgoing.is_none() {
                terminator_off(s, steps);
            }
            step(
                steps,
                "Hang the unit on the rail, slide it to its neighbour and lock it.",
                "Rail locks: free, sliding, locked.",
            );
            if s.seat.slot.bus_position == BusPosition::End {
                step(
                    steps,
                    "Put the bus terminator back on the new end, then the end support.",
                    "A missing or doubled terminator is a fault.",
                );
            }
            step(steps, "Plug the wiring in by its marks.", "");
        }
        BaseKind::Compact | BaseKind::Extended | BaseKind::IntrinsicallySafe => {
            let key = s.seat.slot.key.as_ref().map_or("recorded".to_owned(), ToString::to_string);
            step(
                steps,
                format!("Compare the keys by eye: base and module both show {key}."),
                "If they differ, stop. Never turn or force a key to make a module fit.",
            );
            step(
                steps,
                "Plug the module onto its base until it sits flat, with the latch open.",
                "",
            );
            step(steps, "Close the latch.", "Latched means energised.");
        }
    }
    if !s.seat.slot.hot_swap {
        step(steps, format!("Switch the supply of rail {} on.", s.seat.slot.address.rail()), "");
    }
}

fn hand_back(s: &Situation<'_>, steps: &mut Vec<Step>) {
    if s.spare.model.kind == ModelKind::Controller {
        step(
            steps,
            "Load the saved program and firmware, and compare both with the copy.",
            "Set address and redundancy role as they were.",
        );
    }
    if s.spare.model.battery.is_some() {
        step(
            steps,
            "Check that the back-up battery is in and its low-battery lamp is dark.",
            "Record a change of battery apart from this swap.",
        );
    }
    step(
        steps,
        "Check the unit's lamps and diagnostics.",
        "Every channel healthy, no bus fault, the partner in step where there is one.",
    );
    if !s.seat.loops.is_empty() {
        step(
            steps,
            "Check each loop against its reading in the control room.",
            "Compare with a field reading where one can be had.",
        );
        step(
            steps,
            "Have operations return the loops to service.",
            "Only after every loop was checked.",
        );
    }
}

fn counted(count: usize, noun: &str) -> String {
    if count == 1 { format!("1 {noun}") } else { format!("{count} {noun}s") }
}
