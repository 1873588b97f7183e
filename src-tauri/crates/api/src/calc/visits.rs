use super::{Calc, Entry, entry};
use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::battery as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<BatteryVisits>(), entry::<VisitDays>()]
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
