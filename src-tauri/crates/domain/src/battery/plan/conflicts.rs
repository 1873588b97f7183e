//! Batteries that cannot be served in time whatever the others need, and why.

use super::chain::Chain;
use super::model::Model;
use super::{ChangeWith, Conflict, Constraint};

/// How far a battery's changes reach.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reach {
    /// To the end of the horizon.
    Whole,
    /// A due date that no chain of changes gets past, and the first day that could serve it.
    Until { due: i32, window_from: i32 },
}

/// Follows a battery as far as the places allow. Changing as late as possible each time reaches
/// furthest, since every later window then ends latest.
pub(super) fn reach(model: &Model<'_>, chain: &Chain, allowed: impl Fn(usize) -> bool) -> Reach {
    let (mut from, mut last, mut due) = (chain.first.0, chain.first.1, chain.due);
    loop {
        let places = model.through(from.saturating_sub(1))..model.through(last);
        match places.rev().find(|place| allowed(*place)) {
            None => return Reach::Until { due, window_from: from },
            Some(place) if model.days[place] + chain.life >= chain.until => return Reach::Whole,
            Some(place) => {
                from = model.days[place] + 1;
                due = model.days[place] + chain.life;
                last = due;
            }
        }
    }
}

/// Finds each battery that cannot be served through the horizon, and cuts its chain off at the due
/// date that cannot be kept.
pub(super) fn alone(model: &mut Model<'_>) -> Vec<Conflict> {
    let mut conflicts = Vec::new();
    for battery in 0..model.chains.len() {
        let Some(chain) = &model.chains[battery] else { continue };
        let found = reach(model, chain, |place| model.allowed(battery, place));
        let Reach::Until { due, window_from } = found else { continue };
        conflicts.push(conflict(model, battery, window_from, due));
        cut(model, battery, due);
    }
    conflicts
}

/// Lets the chain end at a due date that cannot be kept.
pub(super) fn cut(model: &mut Model<'_>, battery: usize, due: i32) {
    let chain = &mut model.chains[battery];
    match chain {
        Some(known) if known.due < due => known.until = due,
        _ => *chain = None,
    }
}

fn conflict(model: &Model<'_>, battery: usize, window_from: i32, due: i32) -> Conflict {
    let next = model.through(due.max(-1))..model.days.len();
    let soonest = next.clone().find(|place| model.allowed(battery, *place));
    Conflict {
        battery,
        window_from: model.date(window_from),
        due_on: model.date(due),
        constraint: constraint(model, battery, window_from, due),
        soonest: soonest.map(|place| model.date(model.days[place])),
    }
}

/// Takes the constraints one after another; the first that leaves no day is the one to name.
fn constraint(model: &Model<'_>, battery: usize, from: i32, due: i32) -> Constraint {
    if due < 0 {
        return Constraint::Overdue;
    }
    let mut stated = model.problem.crew.iter().map(|day| model.day(day.on));
    if !stated.any(|day| (from..=due).contains(&day)) {
        return Constraint::NoDay;
    }
    let places: Vec<usize> = (model.through(from.saturating_sub(1))..model.through(due)).collect();
    let Some(most_min) = places.iter().map(|place| model.minutes[*place]).max() else {
        return Constraint::ZeroCrew;
    };
    let needed_min = model.alone_min(battery);
    if most_min < needed_min {
        let (needed_min, most_min) = (needed_min as u32, most_min as u32);
        return Constraint::CrewTooSmall { needed_min, most_min };
    }
    let roomy = |place: &usize| model.minutes[*place] >= needed_min;
    if !places.iter().filter(|p| roomy(p)).any(|place| model.power_suits(battery, *place)) {
        return match model.problem.batteries[battery].change_with {
            ChangeWith::Unpowered => Constraint::NeedsPowerOff,
            _ => Constraint::NeedsPower,
        };
    }
    Constraint::NoStock { until: new_from(model, battery) }
}

pub(super) fn new_from(model: &Model<'_>, battery: usize) -> Option<chrono::NaiveDate> {
    let kind = model.problem.batteries[battery].kind?;
    model.problem.kinds[kind].new_from
}
