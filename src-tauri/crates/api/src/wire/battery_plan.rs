//! Plans of visits, and the visits agreed on.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanInput {
    /// How far to look, years; the site's rule where nothing is given.
    pub horizon_y: Option<u32>,
    /// What is visited at once, `cabinet` or `area`; the site's rule where nothing is given.
    pub group_by: Option<String>,
    /// Plan as if nothing had been agreed.
    #[serde(default)]
    pub anew: bool,
}

/// One visit of a plan, named by its day and place; the rest as the plan was asked for.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WorkSheetInput {
    /// Day of the visit in the plan.
    pub on: NaiveDate,
    /// An area code or a cabinet address.
    pub scope: String,
    /// How far the plan looks, years; the site's rule where nothing is given.
    pub horizon_y: Option<u32>,
    /// What is visited at once, `cabinet` or `area`; the site's rule where nothing is given.
    pub group_by: Option<String>,
    /// Plan as if nothing had been agreed.
    #[serde(default)]
    pub anew: bool,
}

/// A plan of visits over years, with how good it is and what it cannot do.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlanReply {
    /// By day.
    pub visits: Vec<PlannedVisit>,
    pub cost: PlanCost,
    /// No plan for the same batteries can cost less, cents.
    pub lower_bound_cents: i64,
    /// By how much a better plan could be cheaper at most, per cent of the bound.
    pub gap_pct: f64,
    /// `exact` (no plan is cheaper) or `bound` (the gap says how far it may be off).
    pub proof: String,
    /// Changes that were agreed and come on another day now.
    pub moved: Vec<MovedChange>,
    /// Batteries that cannot be changed in time, and what stands in the way.
    pub conflicts: Vec<PlanConflict>,
    /// Batteries whose day is past already; they come first.
    pub overdue: Vec<String>,
    /// Batteries that cannot be planned, since the register lacks a figure.
    pub unknown: Vec<UnknownBattery>,
    /// Days of the horizon on which the site's rules allow no visits, besides days of the week.
    pub closed: Vec<ClosedDays>,
    pub from: NaiveDate,
    /// First day after the plan.
    pub horizon_until: NaiveDate,
    /// The outcome in a sentence.
    pub message: String,
}

/// Days without visits, the first and the last among them.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ClosedDays {
    pub from: NaiveDate,
    pub to: NaiveDate,
    pub reason: String,
}

/// The parts of what a plan costs, cents.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlanCost {
    pub visits_cents: i64,
    pub changes_cents: i64,
    /// Value of the life thrown away by changing before the due date.
    pub life_cents: i64,
    /// Expected cost of lost memories.
    pub loss_cents: i64,
    pub total_cents: i64,
}

/// One walk to a cabinet or area.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlannedVisit {
    pub on: NaiveDate,
    /// An area code or a cabinet address.
    pub scope: String,
    pub scope_title: String,
    /// Code of the area that it lies in.
    pub area: String,
    /// Work of the visit, minutes.
    pub minutes: u32,
    /// Entry of the planned power-off that it is made in.
    pub power_off: Option<Uuid>,
    /// It was agreed for this day.
    pub agreed: bool,
    pub changes: Vec<PlannedChange>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlannedChange {
    /// Label of the controller.
    pub unit: String,
    pub unit_human: String,
    pub slot: String,
    pub model: String,
    pub battery_model: String,
    pub cells: u32,
    /// Last day on which it could be done.
    pub due_on: NaiveDate,
    /// Days of life thrown away.
    pub early_d: i64,
    /// 1 for the battery that is in there now, 2 for the one after it, and so on.
    pub round: u32,
    /// `powered`, `unpowered` or `either`.
    pub change_with: String,
    /// Lot to take; none where it must be ordered.
    pub lot: Option<String>,
    pub lot_code: Option<String>,
    /// Day by which it must be ordered; none where a lot is there.
    pub order_by: Option<NaiveDate>,
}

/// A change that was agreed and comes on another day.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MovedChange {
    pub unit: String,
    pub unit_human: String,
    pub slot: String,
    pub agreed_on: NaiveDate,
    /// None where it is not changed within the horizon any more.
    pub now_on: Option<NaiveDate>,
    /// Why, in a sentence.
    pub message: String,
}

/// A battery that cannot be changed in time.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlanConflict {
    pub unit: String,
    pub unit_human: String,
    pub slot: String,
    pub due_on: NaiveDate,
    /// `overdue`, `no_day`, `zero_crew`, `crew_too_small`, `needs_power_off`, `needs_power`,
    /// `no_stock`, `crew_full` or `stock_taken`.
    pub constraint: String,
    /// First day after the due date that would serve.
    pub soonest: Option<NaiveDate>,
    /// What stands in the way and what to do, in a sentence.
    pub message: String,
}

/// A battery whose due date is not known.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct UnknownBattery {
    pub unit: String,
    pub unit_human: String,
    pub place: String,
    /// What is missing.
    pub message: String,
}

/// Visits to keep; they take the place of those agreed before.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AgreeInput {
    /// All visits that are agreed now; earlier ones that are left out are not agreed any more.
    pub visits: Vec<AgreedVisit>,
    /// Last day that the plan looks at.
    pub horizon_until: NaiveDate,
}

/// One visit on which people agree.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AgreedVisit {
    /// Day of the visit.
    pub on: NaiveDate,
    /// `site`, an area code, or a cabinet address.
    pub scope: String,
    /// Labels of the units whose batteries are changed.
    pub units: Vec<String>,
    /// Entry of the planned power-off that it needs.
    pub power_off: Option<Uuid>,
}
