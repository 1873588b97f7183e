//! The visit plan: on which days which batteries are changed over years, so that none passes its
//! due date and the whole is cheap.
//!
//! A battery that is changed on day `s` is due again on `s + life_d`, so each one is a chain of
//! changes through the horizon; the batteries of a group share its visits, and all groups share the
//! crew and the stock. [`plan`] answers with the visits, what they cost, a bound that no plan can
//! go below, and with every battery that it could not serve and why.

mod agreed;
mod chain;
mod conflicts;
mod exact;
mod fill;
mod group;
mod improve;
mod model;
mod prices;
mod report;
mod room;
mod search;
mod solve;
mod split;

#[cfg(test)]
mod tests;

pub use solve::plan;

use chrono::NaiveDate;

/// Everything that a plan depends on. Batteries, groups and kinds are named by their place in
/// their list.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// First day of the horizon.
    pub today: NaiveDate,
    /// First day after the horizon: a battery due on it or later needs no further change.
    pub horizon_until: NaiveDate,
    pub groups: Vec<Group>,
    pub batteries: Vec<Fitted>,
    /// Days on which somebody can go, each once, in any order.
    pub crew: Vec<CrewDay>,
    pub kinds: Vec<Kind>,
    /// Visits that a new plan keeps unless it must move them.
    pub agreed: Vec<AgreedVisit>,
}

/// What one visit goes to: a cabinet, or all the cabinets of an area.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Cost of going there once, cents, whatever is changed.
    pub visit_cost_cents: f64,
    /// Crew time of a visit besides the changes, minutes.
    pub setup_min: u32,
    pub power_offs: Vec<PowerOff>,
}

/// Days on which a group has no power, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PowerOff {
    pub from: NaiveDate,
    pub to: NaiveDate,
}

/// A battery that is in service now and what follows each time it is changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    pub group: usize,
    /// First sensible day for the next change.
    pub earliest: NaiveDate,
    /// Last day for the next change.
    pub due_on: NaiveDate,
    /// A change on day `s` makes the battery due again on `s + life_d`; at least 1.
    pub life_d: u32,
    /// Crew time of one change, minutes.
    pub change_min: u32,
    /// Cost of one change, cents.
    pub change_cost_cents: f64,
    pub change_with: ChangeWith,
    /// Kind of battery in [`Problem::kinds`]; none where stock is not counted.
    pub kind: Option<usize>,
    /// Value of one day of life thrown away, cents: a change `e` days before the due date costs
    /// `e` times as much.
    pub life_cents_per_d: f64,
    /// Expected cost of losing the memory before the change. Empty where it does not count.
    pub loss: Vec<LossStep>,
}

/// Expected cost of loss of a change that comes at least so long before the due date.
///
/// The step with the most days that still holds counts; the cost must fall as the days rise. Closer
/// to the due date than every step the cost of the first one counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LossStep {
    pub before_due_d: u32,
    pub cost_cents: f64,
}

/// What the controller needs while its battery is changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChangeWith {
    /// Not on a day of a power-off of its group.
    Powered,
    /// Only on a day of a power-off of its group.
    Unpowered,
    Either,
}

/// A day on which somebody can go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CrewDay {
    pub on: NaiveDate,
    /// Crew time of the day, minutes, shared by all groups; none where it does not count.
    pub minutes: Option<u32>,
}

/// A kind of battery in the store.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kind {
    pub lots: Vec<Lot>,
    /// First day on which batteries ordered today are there, as many as wanted; none where the kind
    /// cannot be bought any more.
    pub new_from: Option<NaiveDate>,
}

/// Batteries that came together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lot {
    pub quantity: u32,
    /// Last day on which one may be fitted; none where it does not age.
    pub shelf_until: Option<NaiveDate>,
}

/// A visit that people have agreed on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AgreedVisit {
    pub on: NaiveDate,
    pub group: usize,
    /// Places in [`Problem::batteries`].
    pub batteries: Vec<usize>,
}

/// The visits, their cost, and how good they are.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// By day, then by group.
    pub visits: Vec<Visit>,
    pub cost: Cost,
    /// No plan for the same batteries can cost less, cents.
    pub lower_bound_cents: f64,
    pub proof: Proof,
    /// Changes of the agreed plan that come on another day now.
    pub moved: Vec<Moved>,
    /// Batteries that cannot be served in time. Their visits before that are planned; the one that
    /// would be late is not.
    pub conflicts: Vec<Conflict>,
}

impl Plan {
    /// Returns by how much a better plan could be cheaper at most, as a share of the bound; zero
    /// where nothing costs anything.
    pub fn gap(&self) -> f64 {
        let over = (self.cost.total_cents() - self.lower_bound_cents).max(0.0);
        if over == 0.0 { 0.0 } else { over / self.lower_bound_cents.max(f64::MIN_POSITIVE) }
    }
}

/// One walk to a group.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Visit {
    pub on: NaiveDate,
    pub group: usize,
    /// By battery.
    pub changes: Vec<Change>,
    /// Set-up and changes, minutes.
    pub minutes: u32,
}

/// One battery changed for another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Change {
    pub battery: usize,
    /// Last day on which it could have been done.
    pub due_on: NaiveDate,
    pub supply: Supply,
}

/// Where the new battery comes from: first expired, first out, then what is bought.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Supply {
    /// Place in [`Kind::lots`].
    Lot(usize),
    /// To be ordered.
    Bought,
    NotCounted,
}

/// The parts of what a plan costs, cents.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Cost {
    pub visits_cents: f64,
    pub changes_cents: f64,
    /// Value of the life thrown away by changing before the due date.
    pub life_cents: f64,
    pub loss_cents: f64,
}

impl Cost {
    /// Returns the sum of the parts, cents.
    pub fn total_cents(&self) -> f64 {
        self.visits_cents + self.changes_cents + self.life_cents + self.loss_cents
    }
}

/// How it is known how good the plan is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Proof {
    /// No plan is cheaper: bound and cost agree.
    Exact,
    /// Between the bound and the cost lies the gap.
    Bound,
}

/// A change of the agreed plan that comes on another day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moved {
    pub battery: usize,
    pub agreed_on: NaiveDate,
    /// The new day; none where the battery is not changed within the horizon any more.
    pub now_on: Option<NaiveDate>,
    pub because: MoveReason,
}

/// Why an agreed change could not stay.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MoveReason {
    /// The battery is due before the agreed day.
    DueBefore,
    /// The agreed day lies before the first sensible one.
    TooEarly,
    /// Nobody can go on that day, or it is past.
    NoCrewThatDay,
    /// The crew of that day does not have the minutes for all that is agreed.
    CrewFull,
    /// The group has power on that day, or has none, and the battery needs the other.
    Power,
    /// No battery of the kind can be there on that day.
    Stock,
    /// Another battery that cannot wait needs the day's crew or the stock.
    GivesWay,
    /// No further chain of changes from that day keeps every due date.
    LaterDueDates,
    /// The battery needs no change within the horizon.
    NotNeeded,
}

/// A battery that cannot be served in time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    pub battery: usize,
    /// First day that could be used, not counting the constraint.
    pub window_from: NaiveDate,
    /// The due date that cannot be kept.
    pub due_on: NaiveDate,
    pub constraint: Constraint,
    /// First day after the due date that would serve; none within the horizon.
    pub soonest: Option<NaiveDate>,
}

/// What stands in the way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Constraint {
    /// The due date is past already.
    Overdue,
    /// No day in the window on which anybody can go.
    NoDay,
    /// Days in the window, but none with any crew time.
    ZeroCrew,
    /// No day in the window has the minutes that the visit needs.
    CrewTooSmall { needed_min: u32, most_min: u32 },
    /// Needs a power-off, and none with a crew day lies in the window.
    NeedsPowerOff,
    /// Needs power, and every crew day in the window is in a power-off.
    NeedsPower,
    /// Nothing of the kind in store that may still be fitted; bought ones come on the day.
    NoStock { until: Option<NaiveDate> },
    /// Others that cannot wait either take the crew of every day in the window.
    CrewFull { days: Vec<NaiveDate> },
    /// Others that cannot wait either take the stock.
    StockTaken { until: Option<NaiveDate> },
}

/// Why a problem cannot be planned at all: every figure that makes no sense, in sentences.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", .0.join("; "))]
pub struct PlanRefusal(pub Vec<String>);
