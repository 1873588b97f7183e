//! From the register to the problem that the planner of visits solves.

use super::battery_agreed::open_visits;
use super::battery_figures::{Known, Surroundings};
use crate::Failure;
use chrono::{DateTime, Days, Months, NaiveDate, TimeDelta, Utc};
use slotkeep_domain::battery::plan::{
    AgreedVisit, ChangeWith, CrewDay, Fitted, Group, Kind, LossStep, Lot, PowerOff, Problem,
};
use slotkeep_domain::journal::PowerScope;
use slotkeep_domain::model;
use slotkeep_domain::place::{BatteryRules, Cabinet, GroupBy};
use slotkeep_domain::register::PlannedOff;
use slotkeep_domain::stock;
use slotkeep_store::Reader;
use std::collections::BTreeMap;

/// Days before the due date at which the risk of a later change is weighed.
const STEPS_D: [u32; 7] = [0, 30, 90, 180, 365, 730, 1461];

/// Working days from today on which what is overdue must be changed.
const OVERDUE_DAYS: usize = 5;

/// A day counts as without power where at least so many hours of it are, or the whole power-off.
const OFF_H: i64 = 4;

/// Lead time of batteries where the catalogue gives none, days (common practice, no source).
pub(super) const LEAD_TIME_D: u32 = 28;

/// The problem, and what its numbers stand for.
pub(super) struct Asked {
    pub problem: Problem,
    /// By battery of the problem.
    pub known: Vec<Known>,
    /// By group.
    pub places: Vec<Place>,
    /// By kind.
    pub lots: Vec<Vec<stock::Lot>>,
    /// Planned power-offs that are still to come.
    pub offs: Vec<PlannedOff>,
}

/// What one visit goes to.
pub(super) struct Place {
    pub scope: PowerScope,
    pub cabinets: Vec<Cabinet>,
}

/// What a person asks for instead of the site's rules.
pub(super) struct Wish {
    pub horizon_y: Option<u32>,
    pub group_by: Option<GroupBy>,
    /// Plan as if nothing had been agreed.
    pub anew: bool,
}

pub(super) fn gather(
    r: &Reader<'_>,
    surroundings: &Surroundings,
    known: Vec<Known>,
    wish: &Wish,
    now: DateTime<Utc>,
) -> Result<Asked, Failure> {
    let today = now.date_naive();
    let rules = &surroundings.site.battery_rules;
    let horizon_y = wish.horizon_y.unwrap_or(rules.horizon_y);
    if !(1..=30).contains(&horizon_y) {
        return Err(Failure::bad_input(format!(
            "a horizon of {horizon_y} years: plan 1 to 30 years ahead"
        )));
    }
    let horizon_until =
        today.checked_add_months(Months::new(12 * horizon_y)).unwrap_or(NaiveDate::MAX);
    let mut offs = r.planned_offs()?;
    offs.retain(|planned| planned.settled.is_none() && planned.off.to > now);
    let crew = crew_days(rules, today, horizon_until);
    let places = places(&known, &offs, wish.group_by.unwrap_or(rules.group_by));
    let group_of = |known: &Known| {
        places.iter().position(|p| p.cabinets.iter().any(|c| c.address == known.cabinet.address))
    };
    let kinds = Kinds::of(r, &known)?;
    let overdue_until = crew.get(OVERDUE_DAYS - 1).map_or(today, |day| day.on);
    let mut batteries = Vec::with_capacity(known.len());
    for one in &known {
        let due_on = if one.due_on < today { overdue_until } else { one.due_on };
        batteries.push(Fitted {
            group: group_of(one).unwrap_or_default(),
            earliest: earliest(one, today, due_on),
            due_on,
            life_d: one.life_d,
            change_min: one.need.change_min() * one.need.cells,
            change_cost_cents: change_cost(one, rules),
            change_with: match one.need.change_with() {
                model::ChangeWith::Powered => ChangeWith::Powered,
                model::ChangeWith::Unpowered => ChangeWith::Unpowered,
                model::ChangeWith::Either => ChangeWith::Either,
            },
            kind: kinds.place(one),
            life_cents_per_d: change_cost(one, rules) / f64::from(one.life_d),
            loss: if one.due_on < today { waiting(one, rules, today) } else { loss(one, rules) },
        });
    }
    let groups = places.iter().map(|place| group(place, &offs, rules)).collect();
    let agreed = match wish.anew {
        true => Vec::new(),
        false => agreed(r, &known, &group_of, rules, today)?,
    };
    let problem = Problem {
        today,
        horizon_until,
        groups,
        batteries,
        crew,
        kinds: kinds.problem(today),
        agreed,
    };
    Ok(Asked { problem, known, places, lots: kinds.lots, offs })
}

/// The first sensible day for the next change: a battery is not thrown away before half of its life,
/// but for one that waits for a power-off, which may come when it likes.
fn earliest(known: &Known, today: NaiveDate, due_on: NaiveDate) -> NaiveDate {
    match known.need.change_with() {
        model::ChangeWith::Unpowered => today,
        _ => (due_on - Days::new((known.life_d / 2).into())).max(today),
    }
}

/// What a change costs besides the walk, cents: work and the cells.
fn change_cost(known: &Known, rules: &BatteryRules) -> f64 {
    let cells = known.price_cents.unwrap_or(0) * i64::from(known.need.cells);
    (rules.change_cost_cents + cells) as f64
}

/// What losing the memory costs, times the chance that it is lost before a change so long before
/// the due date. The chance is that of not covering the power-off that the site asks for.
fn loss(known: &Known, rules: &BatteryRules) -> Vec<LossStep> {
    let uncovered = known.uncovered();
    let mut steps: Vec<LossStep> = Vec::new();
    for before_due_d in STEPS_D {
        let on = known.due_on - Days::new(before_due_d.into());
        let cost_cents = uncovered(on) * rules.loss_cost_cents as f64;
        if steps.last().is_none_or(|last| cost_cents < last.cost_cents) {
            steps.push(LossStep { before_due_d, cost_cents });
        }
    }
    steps
}

/// The same for what is overdue: each day of waiting costs a tenth more of today's risk, so that it
/// comes first.
fn waiting(known: &Known, rules: &BatteryRules, today: NaiveDate) -> Vec<LossStep> {
    let risk = known.uncovered()(today) * rules.loss_cost_cents as f64;
    let steps = (0..=10u32).map(|before_due_d| LossStep {
        before_due_d,
        cost_cents: risk * (2.0 - f64::from(before_due_d) / 10.0),
    });
    steps.take_while(|step| risk > 0.0 || step.before_due_d == 0).collect()
}

fn crew_days(rules: &BatteryRules, today: NaiveDate, until: NaiveDate) -> Vec<CrewDay> {
    let minutes = (rules.crew_h_per_day * 60.0).round() as u32;
    let days = today.iter_days().take_while(|day| *day < until);
    days.filter(|day| rules.open_on(*day))
        .map(|on| CrewDay { on, minutes: Some(minutes) })
        .collect()
}

/// Groups the cabinets. Where a power-off covers a part of an area only, that part is a place of
/// its own, so that every cabinet of a place has power on the same days.
fn places(known: &[Known], offs: &[PlannedOff], by: GroupBy) -> Vec<Place> {
    let mut groups: BTreeMap<(String, Vec<bool>), Place> = BTreeMap::new();
    for one in known {
        let cabinet = &one.cabinet;
        let covered = offs.iter().map(|o| o.off.scope.covers(&cabinet.address, &cabinet.area));
        let (name, scope) = match by {
            GroupBy::Cabinet => {
                (cabinet.address.to_string(), PowerScope::Cabinet(cabinet.address.clone()))
            }
            GroupBy::Area => (cabinet.area.clone(), PowerScope::Area(cabinet.area.clone())),
        };
        let place = groups
            .entry((name, covered.collect()))
            .or_insert_with(|| Place { scope, cabinets: Vec::new() });
        if !place.cabinets.iter().any(|known| known.address == cabinet.address) {
            place.cabinets.push(cabinet.clone());
        }
    }
    groups.into_values().collect()
}

fn group(place: &Place, offs: &[PlannedOff], rules: &BatteryRules) -> Group {
    let here = offs.iter().filter(|planned| {
        place.cabinets.iter().any(|c| planned.off.scope.covers(&c.address, &c.area))
    });
    Group {
        visit_cost_cents: rules.visit_cost_cents as f64,
        setup_min: rules.setup_min,
        power_offs: here.filter_map(off_days).collect(),
    }
}

/// The days of a power-off on which there is time to work without power.
pub(super) fn off_days(planned: &PlannedOff) -> Option<PowerOff> {
    let (from, to) = (planned.off.from, planned.off.to);
    let least = (to - from).min(TimeDelta::hours(OFF_H));
    let long_enough = |day: &NaiveDate| {
        let start = day.and_time(chrono::NaiveTime::MIN).and_utc();
        to.min(start + TimeDelta::days(1)) - from.max(start) >= least
    };
    let days = from.date_naive().iter_days().take_while(|day| *day <= to.date_naive());
    let days: Vec<NaiveDate> = days.filter(long_enough).collect();
    Some(PowerOff { from: *days.first()?, to: *days.last()? })
}

/// Visits agreed for the near future, in the numbers of the problem.
fn agreed(
    r: &Reader<'_>,
    known: &[Known],
    group_of: &dyn Fn(&Known) -> Option<usize>,
    rules: &BatteryRules,
    today: NaiveDate,
) -> Result<Vec<AgreedVisit>, Failure> {
    let kept_until = today + Days::new(rules.agreed_d.into());
    let mut visits: BTreeMap<(NaiveDate, usize), Vec<usize>> = BTreeMap::new();
    for visit in open_visits(r)? {
        if visit.on < today || visit.on > kept_until {
            continue;
        }
        for label in &visit.units {
            let found = known.iter().position(|one| one.unit.label == *label);
            if let Some(battery) = found
                && let Some(group) = group_of(&known[battery])
            {
                visits.entry((visit.on, group)).or_default().push(battery);
            }
        }
    }
    let visits = visits.into_iter();
    Ok(visits.map(|((on, group), batteries)| AgreedVisit { on, group, batteries }).collect())
}

/// The kinds of batteries: those of one model that are fitted in the same number share lots.
struct Kinds {
    /// Model and how many are fitted together.
    names: Vec<(model::PartNo, u32)>,
    lots: Vec<Vec<stock::Lot>>,
    lead_times_d: Vec<u32>,
    /// Share of the model's pieces that the kind may count on.
    shares: Vec<f64>,
}

impl Kinds {
    fn of(r: &Reader<'_>, known: &[Known]) -> Result<Self, Failure> {
        let mut wanted: BTreeMap<(model::PartNo, u32), u32> = BTreeMap::new();
        for one in known {
            *wanted.entry((one.need.model.clone(), one.need.cells)).or_default() += one.need.cells;
        }
        let mut kinds = Self {
            names: Vec::new(),
            lots: Vec::new(),
            lead_times_d: Vec::new(),
            shares: Vec::new(),
        };
        for ((model, cells), pieces) in &wanted {
            let of_model = wanted.iter().filter(|((other, _), _)| other == model);
            let all: u32 = of_model.map(|(_, pieces)| pieces).sum();
            let mut lots = r.lots_of(model)?;
            lots.retain(|lot| !lot.quarantined && lot.total() > 0);
            // First expired, first out.
            lots.sort_by_key(|lot| (lot.shelf_until.unwrap_or(NaiveDate::MAX), lot.label));
            let of_catalogue = known.iter().find(|one| one.need.model == *model);
            let lead_time_d = of_catalogue.and_then(|one| one.lead_time_d);
            kinds.names.push((model.clone(), *cells));
            kinds.lots.push(lots);
            kinds.lead_times_d.push(lead_time_d.unwrap_or(LEAD_TIME_D));
            kinds.shares.push(f64::from(*pieces) / f64::from(all.max(1)));
        }
        Ok(kinds)
    }

    fn place(&self, known: &Known) -> Option<usize> {
        let wanted = (&known.need.model, known.need.cells);
        self.names.iter().position(|(model, cells)| (model, *cells) == wanted)
    }

    fn problem(&self, today: NaiveDate) -> Vec<Kind> {
        let kinds = self.names.iter().zip(&self.lots).zip(&self.lead_times_d).zip(&self.shares);
        kinds
            .map(|((((_, cells), lots), lead_time_d), share)| Kind {
                lots: lots
                    .iter()
                    .map(|lot| Lot {
                        quantity: (f64::from(lot.total()) * share / f64::from((*cells).max(1)))
                            .floor() as u32,
                        shelf_until: lot.shelf_until,
                    })
                    .collect(),
                new_from: Some(today + Days::new((*lead_time_d).into())),
            })
            .collect()
    }
}
