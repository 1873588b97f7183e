use super::{Calc, Entry, at_least_zero, entry};
use chrono::{NaiveDate, TimeDelta};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::battery as domain;
use slotkeep_domain::battery::plan::{ChangeWith, CrewDay, Fitted, Group, Problem, Proof, plan};
use std::collections::BTreeSet;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<BatteryVisits>(), entry::<VisitDays>(), entry::<BatteryPlan>()]
}

/// Groups batteries into visits to their cabinets so that none is changed late.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BatteryVisits {
    batteries: Vec<DueAt>,
    /// Day on which what is overdue is done.
    today: NaiveDate,
    /// Batteries of a cabinet due within so many days of its first share a visit.
    window_d: u32,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DueAt {
    /// Name of the battery.
    id: String,
    /// Name of its cabinet.
    cabinet: String,
    /// Last day for the change.
    due_on: NaiveDate,
}

#[derive(Serialize, JsonSchema)]
struct Visits {
    visits: Vec<Visit>,
}

#[derive(Serialize, JsonSchema)]
struct Visit {
    /// Day of the visit.
    visit_on: NaiveDate,
    /// Cabinet to go to.
    cabinet: String,
    /// Batteries to change, the most urgent first.
    ids: Vec<String>,
}

impl Calc for BatteryVisits {
    const NAME: &'static str = "battery-visits";
    type Reply = Visits;

    fn reckon(self) -> Result<Visits, String> {
        let batteries: Vec<domain::DueAt<String, String>> = self
            .batteries
            .into_iter()
            .map(|at| domain::DueAt { id: at.id, cabinet: at.cabinet, due_on: at.due_on })
            .collect();
        let visits = domain::visits(&batteries, self.today, self.window_d)
            .into_iter()
            .map(|visit| Visit { visit_on: visit.on, cabinet: visit.cabinet, ids: visit.ids })
            .collect();
        Ok(Visits { visits })
    }
}

/// Fewest visit days that serve every window, each from its earliest day to its due day.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct VisitDays {
    windows: Vec<Window>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Window {
    /// First day on which it may be done, counted from any day.
    earliest_d: i64,
    /// Last day on which it may be done.
    due_d: i64,
}

#[derive(Serialize, JsonSchema)]
struct Days {
    /// How many days are needed.
    count: usize,
    /// Which, in order.
    days_d: Vec<i64>,
}

impl Calc for VisitDays {
    const NAME: &'static str = "visit-days";
    type Reply = Days;

    fn reckon(self) -> Result<Days, String> {
        let windows: Vec<(i64, i64)> =
            self.windows.iter().map(|window| (window.earliest_d, window.due_d)).collect();
        let days = domain::fewest_days(&windows);
        Ok(Days { count: days.len(), days_d: days })
    }
}

/// Cheapest visit days to one group whose batteries are changed again and again, none too late.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BatteryPlan {
    batteries: Vec<Serviced>,
    /// Days on which somebody can go, from zero.
    days_d: Vec<i32>,
    /// A battery that lasts to this day needs no further change.
    horizon_d: i32,
    /// Cost of a visit, whatever is changed.
    visit_cost: f64,
    /// Cost of each day that a battery is changed before its life is over (0).
    #[serde(default)]
    life_cost_per_d: f64,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Serviced {
    /// Day of the last change.
    last_d: i32,
    /// Longest time between changes.
    life_d: u32,
    /// Cost of a change.
    cost: f64,
}

#[derive(Serialize, JsonSchema)]
struct Planned {
    /// Cost of all visits and changes.
    cost: f64,
    /// No plan costs less.
    lower_bound: f64,
    /// Whether it is proved that none is cheaper.
    proved: bool,
    /// Days of the visits, in order.
    days_d: Vec<i64>,
    /// How many batteries are changed in all.
    changes: usize,
}

/// Any day serves as the one that days are counted from.
const DAY_ZERO: NaiveDate = NaiveDate::from_ymd_opt(2000, 1, 1).expect("a day of the calendar");

impl Calc for BatteryPlan {
    const NAME: &'static str = "battery-plan";
    type Reply = Planned;

    fn reckon(self) -> Result<Planned, String> {
        at_least_zero("visit_cost", self.visit_cost)?;
        at_least_zero("life_cost_per_d", self.life_cost_per_d)?;
        if !(1..=36_525).contains(&self.horizon_d) {
            return Err(format!("horizon_d is {}: give 1 to 36525", self.horizon_d));
        }
        let date = |day: i64| {
            let delta = TimeDelta::try_days(day).unwrap_or(TimeDelta::zero());
            DAY_ZERO.checked_add_signed(delta).unwrap_or(NaiveDate::MAX)
        };
        let mut batteries = Vec::new();
        for (n, battery) in self.batteries.iter().enumerate() {
            at_least_zero(&format!("batteries[{n}].cost"), battery.cost)?;
            batteries.push(Fitted {
                group: 0,
                earliest: DAY_ZERO,
                due_on: date(i64::from(battery.last_d) + i64::from(battery.life_d)),
                life_d: battery.life_d,
                change_min: 0,
                change_cost_cents: battery.cost,
                change_with: ChangeWith::Either,
                kind: None,
                life_cents_per_d: self.life_cost_per_d,
                loss: Vec::new(),
            });
        }
        let days: BTreeSet<i32> =
            self.days_d.iter().copied().filter(|day| (0..self.horizon_d).contains(day)).collect();
        let planned = plan(&Problem {
            today: DAY_ZERO,
            horizon_until: date(self.horizon_d.into()),
            groups: vec![Group {
                visit_cost_cents: self.visit_cost,
                setup_min: 0,
                power_offs: Vec::new(),
            }],
            batteries,
            crew: days
                .iter()
                .map(|day| CrewDay { on: date((*day).into()), minutes: None })
                .collect(),
            kinds: Vec::new(),
            agreed: Vec::new(),
        })
        .map_err(|refusal| refusal.to_string())?;
        if let Some(conflict) = planned.conflicts.first() {
            let due_d = (conflict.due_on - DAY_ZERO).num_days();
            return Err(format!(
                "batteries[{}] is due on day {due_d}, and no day given serves it: give one before",
                conflict.battery
            ));
        }
        Ok(Planned {
            cost: planned.cost.total_cents(),
            lower_bound: planned.lower_bound_cents,
            proved: planned.proof == Proof::Exact,
            days_d: planned.visits.iter().map(|v| (v.on - DAY_ZERO).num_days()).collect(),
            changes: planned.visits.iter().map(|visit| visit.changes.len()).sum(),
        })
    }
}
