//! Visits that people agreed on: kept as long as nothing forbids them.

use super::conflicts::{Reach, reach};
use super::model::Model;
use super::room::Room;
use super::{MoveReason, Moved};
use chrono::NaiveDate;

/// What became of each agreed change.
#[derive(Debug, Clone, Default)]
pub(super) struct Agreed {
    changes: Vec<AgreedChange>,
}

#[derive(Debug, Clone, Copy)]
struct AgreedChange {
    battery: usize,
    on: NaiveDate,
    /// The place it is held on, or why it is not.
    held: Result<usize, MoveReason>,
    /// The place that it gave up for another battery.
    gave_up: Option<usize>,
}

impl Agreed {
    /// Holds each agreed change on its day where it is still allowed there, and says why not where
    /// it is not. Of a battery agreed twice the first counts.
    pub fn hold(model: &mut Model<'_>) -> Self {
        let mut asked: Vec<(NaiveDate, usize)> = model
            .problem
            .agreed
            .iter()
            .flat_map(|visit| visit.batteries.iter().map(|battery| (visit.on, *battery)))
            .collect();
        // On a full day those stay that can wait least.
        asked
            .sort_by_key(|(on, battery)| (*on, model.problem.batteries[*battery].due_on, *battery));
        let mut seen = vec![false; model.problem.batteries.len()];
        asked.retain(|(_, battery)| !std::mem::replace(&mut seen[*battery], true));
        let mut room = Room::new(model);
        let changes: Vec<AgreedChange> = asked
            .into_iter()
            .map(|(on, battery)| AgreedChange {
                battery,
                on,
                held: held(model, &mut room, battery, on),
                gave_up: None,
            })
            .collect();
        for change in &changes {
            if let (Ok(place), Some(chain)) = (change.held, &mut model.chains[change.battery]) {
                chain.first = (model.days[place], model.days[place]);
            }
        }
        Self { changes }
    }

    pub fn holds(&self, battery: usize) -> bool {
        self.changes.iter().any(|change| change.battery == battery && change.held.is_ok())
    }

    /// Lets one agreed visit between two days go, so that another battery finds room. Returns the
    /// batteries that may move now; the visit is the one that can wait longest.
    pub fn give_way(&mut self, model: &mut Model<'_>, from: i32, to: i32) -> Vec<usize> {
        let batteries = &model.problem.batteries;
        let key = |change: &AgreedChange| (change.on, batteries[change.battery].group);
        let held = self.changes.iter().filter(|change| {
            change.held.is_ok_and(|place| (from..=to).contains(&model.days[place]))
        });
        let Some(visit) = held.max_by_key(|change| batteries[change.battery].due_on).map(key)
        else {
            return Vec::new();
        };
        let mut freed = Vec::new();
        for change in &mut self.changes {
            let Ok(place) = change.held else { continue };
            if (change.on, batteries[change.battery].group) != visit {
                continue;
            }
            change.held = Err(MoveReason::GivesWay);
            change.gave_up = Some(place);
            freed.push(change.battery);
            if let Some(chain) = &mut model.chains[change.battery] {
                let earliest = model_day(model.problem, change.battery).min(model.days[place]);
                chain.first = (earliest, chain.due);
            }
        }
        freed
    }

    /// Holds again what gave way, since those for whom it did found no room all the same. Returns
    /// the batteries.
    pub fn hold_again(&mut self, model: &mut Model<'_>) -> Vec<usize> {
        let mut again = Vec::new();
        for change in &mut self.changes {
            let Some(place) = change.gave_up.take() else { continue };
            change.held = Ok(place);
            again.push(change.battery);
            if let Some(chain) = &mut model.chains[change.battery] {
                chain.first = (model.days[place], model.days[place]);
            }
        }
        again
    }

    /// Compares with the first change of each battery in the new plan.
    pub fn moved(&self, model: &Model<'_>, first_on: &[Option<NaiveDate>]) -> Vec<Moved> {
        let mut moved: Vec<Moved> = Vec::new();
        for change in &self.changes {
            let now_on = first_on[change.battery];
            // A battery that cannot be served is told of as a conflict.
            let due = model.day(model.problem.batteries[change.battery].due_on);
            let told = model.chains[change.battery].is_none() && due < model.until;
            if now_on == Some(change.on) || told {
                continue;
            }
            let because = change.held.err().unwrap_or(MoveReason::GivesWay);
            moved.push(Moved { battery: change.battery, agreed_on: change.on, now_on, because });
        }
        moved
    }
}

fn model_day(problem: &super::Problem, battery: usize) -> i32 {
    let earliest = problem.batteries[battery].earliest;
    (earliest - problem.today).num_days().clamp(0, i32::MAX.into()) as i32
}

fn held(
    model: &Model<'_>,
    room: &mut Room<'_, '_>,
    battery: usize,
    on: NaiveDate,
) -> Result<usize, MoveReason> {
    let Some(chain) = &model.chains[battery] else { return Err(MoveReason::NotNeeded) };
    let day = model.day(on);
    if day > chain.first.1 {
        return Err(MoveReason::DueBefore);
    }
    let Some(place) = model.place(on) else { return Err(MoveReason::NoCrewThatDay) };
    if day < chain.first.0 {
        return Err(MoveReason::TooEarly);
    }
    if !model.power_suits(battery, place) {
        return Err(MoveReason::Power);
    }
    if !model.supplied(battery, place) {
        return Err(MoveReason::Stock);
    }
    let mut fixed = chain.clone();
    fixed.first = (day, day);
    if !room.crew_fits(battery, place) {
        return Err(MoveReason::CrewFull);
    }
    if reach(model, &fixed, |place| model.allowed(battery, place)) != Reach::Whole {
        return Err(MoveReason::LaterDueDates);
    }
    if !room.add(battery, &[place]) {
        return Err(MoveReason::Stock);
    }
    Ok(place)
}
