use super::swap_steps::{StandLine, StepLine};
use super::unit::UnitLine;
use chrono::{DateTime, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CheckInput {
    /// Address or label.
    pub slot: String,
    /// Label or serial number of the spare.
    pub unit: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CandidatesInput {
    /// Address or label.
    pub slot: String,
    /// Also those that do not pass (false).
    #[serde(default)]
    pub all: bool,
}

/// A spare judged for a slot.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Candidate {
    pub unit: UnitLine,
    /// How near it lies to the slot.
    pub nearness: Nearness,
    /// The worst finding: `pass`, `note`, `caution` or `stop`.
    pub severity: String,
    /// What is not simply in order, worst first.
    pub reasons: Vec<String>,
}

/// How near a spare lies to a slot, nearest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Nearness {
    /// In the storeroom that serves the area of the cabinet.
    Serving,
    /// In the central storeroom.
    Central,
    OtherStoreroom,
    Bench,
    /// In no place where it can be taken from.
    Elsewhere,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FindingLine {
    /// Name of the rule.
    pub rule: String,
    /// The site added this rule.
    pub own: bool,
    /// `pass`, `note`, `caution` or `stop`.
    pub severity: String,
    /// Something that the rule needs is not recorded.
    pub unknown: bool,
    pub compared: String,
    /// What to do; empty when it is in order.
    pub to_do: String,
    /// Whether a named person may take this stop upon themselves.
    pub can_be_overridden: bool,
}

/// The verdict for a slot and a spare, before work begins.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Check {
    pub slot: String,
    pub out: Option<UnitLine>,
    pub into: UnitLine,
    /// No stop stands against it.
    pub passes: bool,
    /// A stop stands that nobody may override.
    pub barred: bool,
    pub findings: Vec<FindingLine>,
    pub loops: Vec<super::place::LoopLine>,
    /// What the work does to other units, in a sentence; empty where it does nothing to them.
    pub others: String,
    pub cautions: Vec<String>,
    pub steps: Vec<StepLine>,
    /// Minutes that all steps together will take.
    pub expected_min: Option<f64>,
    pub message: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StartInput {
    /// Address or label.
    pub slot: String,
    /// Label or serial number of the spare.
    pub unit: String,
    /// Stops that a named person takes on.
    #[serde(default)]
    pub overrides: Vec<OverrideInput>,
}

#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OverrideInput {
    /// Name of the rule.
    pub rule: String,
    /// Who takes it on.
    pub person: String,
    /// Why it may be done all the same.
    pub reason: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SwapInput {
    /// Id of the swap.
    pub swap: Uuid,
}

/// A swap with its steps.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SwapCard {
    pub swap: Uuid,
    pub slot: String,
    pub out: Option<UnitLine>,
    pub into: Option<UnitLine>,
    pub started_at: DateTime<Utc>,
    pub started_by: String,
    /// `open`, `finished` or `abandoned`.
    pub state: String,
    pub state_left: Option<String>,
    pub findings: Vec<FindingLine>,
    pub overrides: Vec<OverrideInput>,
    pub loops: Vec<super::place::LoopLine>,
    pub cautions: Vec<String>,
    pub steps: Vec<StepLine>,
    /// Number of the next step; none when all are ticked.
    pub next_step: Option<u32>,
    /// Minutes that all steps together take, as expected.
    pub expected_min: Option<f64>,
    /// Minutes that are left of them.
    pub left_min: Option<f64>,
    /// How the plant stands now.
    pub stand: StandLine,
}

/// A sheet to print: of a swap under way, or of one being considered.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SwapSheetInput {
    /// Id of a swap; or give slot and unit of one to come.
    pub swap: Option<Uuid>,
    /// Address or label of the slot.
    pub slot: Option<String>,
    /// Label or serial number of the unit that goes in.
    pub unit: Option<String>,
}
