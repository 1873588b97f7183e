//! The plan of visits over years: asked of the planner, told in the words of the plant.

use super::battery_agreed::open_visits;
use super::battery_figures::{Known, Surroundings};
use super::battery_problem::{Asked, Place, Wish, gather};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::battery_plan::{
    ClosedDays, MovedChange, PlanConflict, PlanCost, PlanInput, PlanReply, PlannedChange,
    PlannedVisit, UnknownBattery,
};
use chrono::{DateTime, Days, NaiveDate, Utc};
use slotkeep_domain::battery::plan::{
    Change, Conflict, Constraint, MoveReason, Moved, Plan, Problem, Proof, Supply, Visit, plan,
};
use slotkeep_domain::journal::{AgreedVisit, PowerScope};
use slotkeep_domain::place::{Closed, GroupBy};
use slotkeep_domain::{counted, counted_as};
use slotkeep_store::Reader;
use std::collections::HashMap;
use uuid::Uuid;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "battery.plan",
        "Plans the visits of years: none late, as cheap as can be, with the proof.",
        visits,
    )]
}

pub(super) fn visits(ask: &Ask<'_>, input: PlanInput) -> Result<PlanReply, Failure> {
    let group_by = match input.group_by.as_deref() {
        None | Some("") => None,
        Some("cabinet") => Some(GroupBy::Cabinet),
        Some("area") => Some(GroupBy::Area),
        Some(other) => {
            return Err(Failure::bad_input(format!(
                "{other:?} is no way to group visits: write cabinet or area"
            )));
        }
    };
    let wish = Wish { horizon_y: input.horizon_y, group_by, anew: input.anew };
    ask.read(|r| {
        let surroundings = Surroundings::of(r)?;
        ask.progress("planning visits", 0, 1);
        let (asked, planned, unknown) = planned(r, &surroundings, &wish, ask.now)?;
        ask.progress("planning visits", 1, 1);
        let closed = closed(&surroundings.site.battery_rules.closed, &asked.problem);
        let telling = Telling::of(r, &asked)?;
        Ok(PlanReply { unknown, closed, ..telling.reply(&planned) })
    })
}

/// The problem as the register states it, its plan, and the batteries that lack a figure.
pub(super) fn planned(
    r: &Reader<'_>,
    surroundings: &Surroundings,
    wish: &Wish,
    now: DateTime<Utc>,
) -> Result<(Asked, Plan, Vec<UnknownBattery>), Failure> {
    let (known, unknown) = surroundings.batteries(r, now)?;
    let asked = gather(r, surroundings, known, wish, now)?;
    let planned = plan(&asked.problem).map_err(|no| Failure::refused(no.to_string()))?;
    Ok((asked, planned, unknown))
}

/// The closed days that lie in the horizon, at least in part.
fn closed(closed: &[Closed], problem: &Problem) -> Vec<ClosedDays> {
    let ahead = |days: &&Closed| days.to >= problem.today && days.from < problem.horizon_until;
    let said =
        |days: &Closed| ClosedDays { from: days.from, to: days.to, reason: days.reason.clone() };
    closed.iter().filter(ahead).map(said).collect()
}

/// What the numbers of a plan are called.
struct Telling<'a> {
    asked: &'a Asked,
    titles: HashMap<String, String>,
    /// All that people agreed on, also beyond the days that a new plan keeps.
    agreed: Vec<AgreedVisit>,
}

impl<'a> Telling<'a> {
    fn of(r: &Reader<'_>, asked: &'a Asked) -> Result<Self, Failure> {
        let mut titles = HashMap::new();
        titles.extend(r.areas()?.into_iter().map(|area| (area.code, area.title)));
        titles.extend(r.cabinets()?.into_iter().map(|c| (c.address.to_string(), c.title)));
        Ok(Self { asked, titles, agreed: open_visits(r)? })
    }

    fn reply(&self, plan: &Plan) -> PlanReply {
        let problem = &self.asked.problem;
        let mut rounds: HashMap<usize, u32> = HashMap::new();
        let mut visits = Vec::with_capacity(plan.visits.len());
        for visit in &plan.visits {
            visits.push(self.visit(visit, &mut rounds));
        }
        let overdue = self.asked.known.iter().filter(|known| known.due_on < problem.today);
        let cents = |cents: f64| cents.round() as i64;
        PlanReply {
            visits,
            cost: PlanCost {
                visits_cents: cents(plan.cost.visits_cents),
                changes_cents: cents(plan.cost.changes_cents),
                life_cents: cents(plan.cost.life_cents),
                loss_cents: cents(plan.cost.loss_cents),
                total_cents: cents(plan.cost.total_cents()),
            },
            lower_bound_cents: cents(plan.lower_bound_cents),
            gap_pct: plan.gap() * 100.0,
            proof: match plan.proof {
                Proof::Exact => "exact".to_owned(),
                Proof::Bound => "bound".to_owned(),
            },
            moved: plan.moved.iter().map(|moved| self.moved(moved)).collect(),
            conflicts: plan.conflicts.iter().map(|conflict| self.conflict(conflict)).collect(),
            overdue: overdue.map(|known| known.unit.label.to_string()).collect(),
            unknown: Vec::new(),
            closed: Vec::new(),
            from: problem.today,
            horizon_until: problem.horizon_until,
            message: message(plan),
        }
    }

    fn visit(&self, visit: &Visit, rounds: &mut HashMap<usize, u32>) -> PlannedVisit {
        let place = &self.asked.places[visit.group];
        let changes = visit.changes.iter().map(|change| {
            let round = rounds.entry(change.battery).or_default();
            *round += 1;
            self.change(visit, change, *round)
        });
        let changes: Vec<_> = changes.collect();
        let agreed = self.agreed.iter().any(|agreed| {
            let named = |change: &Change| {
                agreed.units.contains(&self.asked.known[change.battery].unit.label)
            };
            agreed.on == visit.on && agreed.scope == place.scope && visit.changes.iter().all(named)
        });
        let needs_off = changes.iter().any(|change| change.change_with == "unpowered");
        PlannedVisit {
            on: visit.on,
            scope: place.scope.to_string(),
            scope_title: self.title(&place.scope),
            area: place.cabinets.first().map(|c| c.area.clone()).unwrap_or_default(),
            minutes: visit.minutes,
            power_off: needs_off.then(|| self.power_off(place, visit.on)).flatten(),
            agreed,
            changes,
        }
    }

    fn title(&self, scope: &PowerScope) -> String {
        self.titles.get(&scope.to_string()).cloned().unwrap_or_default()
    }

    /// The planned power-off that a place is in on a day.
    fn power_off(&self, place: &Place, on: NaiveDate) -> Option<Uuid> {
        let found = self.asked.offs.iter().find(|planned| {
            let days = super::battery_problem::off_days(planned);
            let covered =
                |c: &slotkeep_domain::place::Cabinet| planned.off.scope.covers(&c.address, &c.area);
            days.is_some_and(|days| (days.from..=days.to).contains(&on))
                && place.cabinets.iter().any(covered)
        });
        found.map(|planned| planned.id)
    }

    fn change(&self, visit: &Visit, change: &Change, round: u32) -> PlannedChange {
        let known = &self.asked.known[change.battery];
        let kind = self.asked.problem.batteries[change.battery].kind;
        let lot = match (change.supply, kind) {
            (Supply::Lot(lot), Some(kind)) => self.asked.lots[kind].get(lot),
            _ => None,
        };
        let lead =
            Days::new(known.lead_time_d.unwrap_or(super::battery_problem::LEAD_TIME_D).into());
        PlannedChange {
            unit: known.unit.label.to_string(),
            unit_human: known.unit.label.human(),
            slot: known.unit.place.to_string(),
            model: known.unit.model.to_string(),
            battery_model: known.need.model.to_string(),
            cells: known.need.cells,
            due_on: if round == 1 { known.due_on } else { change.due_on },
            early_d: (change.due_on - visit.on).num_days(),
            round,
            change_with: super::battery_figures::change_with(&known.need).to_owned(),
            lot: lot.map(|lot| lot.label.to_string()),
            lot_code: lot.map(|lot| lot.code.clone()),
            order_by: lot.is_none().then(|| visit.on - lead),
        }
    }

    fn moved(&self, moved: &Moved) -> MovedChange {
        let known = &self.asked.known[moved.battery];
        let name = self.name(known);
        let (agreed_on, because) = (moved.agreed_on, because(moved.because));
        let message = match moved.now_on {
            Some(on) => format!("{name} moves from {agreed_on} to {on}: {because}"),
            None => format!("{name} is no longer changed on {agreed_on}: {because}"),
        };
        MovedChange {
            unit: known.unit.label.to_string(),
            unit_human: known.unit.label.human(),
            slot: known.unit.place.to_string(),
            agreed_on,
            now_on: moved.now_on,
            message,
        }
    }

    fn name(&self, known: &Known) -> String {
        format!("the battery of unit {} in {}", known.unit.label.human(), known.unit.place)
    }

    fn conflict(&self, conflict: &Conflict) -> PlanConflict {
        let known = &self.asked.known[conflict.battery];
        let (constraint, stands, to_do) = stands(&conflict.constraint);
        let soonest = match conflict.soonest {
            Some(on) => format!("the first day that would serve is {on}"),
            None => "no day of the horizon would serve".to_owned(),
        };
        PlanConflict {
            unit: known.unit.label.to_string(),
            unit_human: known.unit.label.human(),
            slot: known.unit.place.to_string(),
            due_on: conflict.due_on,
            constraint: constraint.to_owned(),
            soonest: conflict.soonest,
            message: format!(
                "{} is due by {} and cannot be changed in time: {stands}; {soonest}. {to_do}",
                self.name(known),
                conflict.due_on
            ),
        }
    }
}

fn message(plan: &Plan) -> String {
    let changes: usize = plan.visits.iter().map(|visit| visit.changes.len()).sum();
    let quality = match plan.proof {
        Proof::Exact => "no plan is cheaper".to_owned(),
        Proof::Bound => format!("no plan is more than {:.2} % cheaper", plan.gap() * 100.0),
    };
    let mut text = format!(
        "{} {}; {quality}",
        counted_as(plan.visits.len() as u64, "visit changes", "visits change"),
        counted_as(changes as u64, "battery", "batteries")
    );
    if !plan.moved.is_empty() {
        let moved = counted(plan.moved.len() as u64, "agreed change");
        text.push_str(&format!("; {moved} moved"));
    }
    if !plan.conflicts.is_empty() {
        let late = counted_as(plan.conflicts.len() as u64, "battery", "batteries");
        text.push_str(&format!("; {late} cannot be changed in time"));
    }
    text
}

fn because(reason: MoveReason) -> &'static str {
    match reason {
        MoveReason::DueBefore => "it is due before that day",
        MoveReason::TooEarly => "that day is too early for it",
        MoveReason::NoCrewThatDay => "no visits are made on that day",
        MoveReason::CrewFull => "the crew has no time for all that was agreed for that day",
        MoveReason::Power => {
            "the cabinet has power on that day, or has none, and it needs the other"
        }
        MoveReason::Stock => "no battery of its kind can be there on that day",
        MoveReason::GivesWay => "another battery that cannot wait needs the crew or the stock",
        MoveReason::LaterDueDates => "later changes of it could not keep their due dates",
        MoveReason::NotNeeded => "it needs no change any more",
    }
}

/// A word for a constraint, what stands in the way, and what to do about it.
fn stands(constraint: &Constraint) -> (&'static str, String, &'static str) {
    match constraint {
        Constraint::Overdue => {
            ("overdue", "its day is past".to_owned(), "Change it as soon as somebody can go.")
        }
        Constraint::NoDay => (
            "no_day",
            "no visits are made on any day until then".to_owned(),
            "Open a day in the site's rules.",
        ),
        Constraint::ZeroCrew => (
            "zero_crew",
            "the crew has no hours on any day until then".to_owned(),
            "State the crew's hours in the site's rules.",
        ),
        Constraint::CrewTooSmall { needed_min, most_min } => (
            "crew_too_small",
            format!("the visit takes {needed_min} min and the crew has {most_min} min a day"),
            "Give the crew more hours on a day.",
        ),
        Constraint::NeedsPowerOff => (
            "needs_power_off",
            "it is changed without power, and no power-off is planned until then".to_owned(),
            "Plan a power-off of its cabinet.",
        ),
        Constraint::NeedsPower => (
            "needs_power",
            "it is changed with power on, and every day until then is in a power-off".to_owned(),
            "Change it before power goes, or move the power-off.",
        ),
        Constraint::NoStock { until } => (
            "no_stock",
            format!("no fresh battery of its kind is in store{}", before(*until)),
            "Order it with speed, or borrow one.",
        ),
        Constraint::CrewFull { days } => (
            "crew_full",
            format!("others that cannot wait take the crew's time on {}", listed(days)),
            "Give the crew more hours on those days.",
        ),
        Constraint::StockTaken { until } => (
            "stock_taken",
            format!("others that cannot wait take the batteries in store{}", before(*until)),
            "Order more with speed, or borrow some.",
        ),
    }
}

fn before(until: Option<NaiveDate>) -> String {
    until.map_or(String::new(), |until| format!(", and ordered ones come on {until}"))
}

fn listed(days: &[NaiveDate]) -> String {
    let shown: Vec<String> = days.iter().take(3).map(ToString::to_string).collect();
    let more = days.len().saturating_sub(shown.len());
    let more = if more > 0 { format!(" and {more} more days") } else { String::new() };
    format!("{}{more}", shown.join(", "))
}
