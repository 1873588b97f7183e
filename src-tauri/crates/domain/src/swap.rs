//! Swaps: may this spare go into this slot, and by which steps.

mod cautions;
mod findings;
pub mod procedure;
mod rules;
mod situation;
#[cfg(test)]
pub(crate) mod tests;
mod verdict;

pub use cautions::CAUTIONS;
pub use findings::{Finding, Rule, RuleOf, Severity, specs};
pub use procedure::{Demand, Limits, Step};
pub use situation::{BatteryOutlook, Seat, Situation, Spare};
pub use verdict::{Judge, barred, verdict, worst};

use crate::journal::Override;
use crate::label::LabelCode;
use crate::photo::PhotoHash;
use crate::place::SlotAddress;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// What is known before work begins: the verdict with every reason, and the steps.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    pub findings: Vec<Finding>,
    pub steps: Vec<Step>,
}

/// A swap under way, finished or abandoned.
#[derive(Debug, Clone, PartialEq)]
pub struct Swap {
    pub id: Uuid,
    pub slot: SlotAddress,
    pub out: Option<LabelCode>,
    pub into: LabelCode,
    pub started_at: DateTime<Utc>,
    pub started_by: String,
    pub plan: Plan,
    pub overrides: Vec<Override>,
    /// When and by whom each step was ticked, in the order of the steps.
    pub ticks: Vec<Tick>,
    pub state: SwapState,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    pub at: DateTime<Utc>,
    pub person: String,
    pub scanned: Option<LabelCode>,
    /// What was read, in the unit of the step.
    pub reading: Option<f64>,
    pub photo: Option<PhotoHash>,
    /// The second person.
    pub second: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SwapState {
    Open,
    Finished,
    /// What state the plant was left in.
    Abandoned(String),
}

impl Swap {
    pub fn is_open(&self) -> bool {
        self.state == SwapState::Open
    }

    /// The first step that is not ticked; none when all are.
    pub fn next_step(&self) -> Option<&Step> {
        self.plan.steps.get(self.ticks.len())
    }
}
