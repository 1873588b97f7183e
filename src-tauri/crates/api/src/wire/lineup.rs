use super::Key;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LineupInput {
    /// Address of a cabinet or a rail, or label of a cabinet.
    pub address: String,
}

/// A cabinet or rail held against the rules of a line-up.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Lineup {
    /// What was looked at, in a sentence.
    pub message: String,
    pub address: String,
    /// Findings of each severity.
    pub stops: u32,
    pub cautions: u32,
    pub notes: u32,
    /// Of those, findings that miss data.
    pub unknown: u32,
    /// Graver ones first.
    pub findings: Vec<LineupFinding>,
}

#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct LineupFinding {
    /// `stop`, `caution`, `note` or `pass`.
    pub severity: String,
    /// Cabinet, rail or slot.
    pub at: String,
    /// Name of the rule.
    pub rule: String,
    /// The site added this rule.
    pub own: bool,
    /// Data are missing to judge by.
    pub unknown: bool,
    /// What was compared.
    pub compared: String,
    /// What to do about it; empty where it is in order.
    pub to_do: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanLineupInput {
    /// Rail that is planned anew.
    pub rail: String,
    /// Everything that is to stand on it, left to right; as it stands where nothing is given.
    pub items: Option<Vec<PlanItemInput>>,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanItemInput {
    /// `slot`, `terminator`, `end_support`, `blank` or `base`.
    pub kind: String,
    /// Part number.
    pub model: Option<String>,
    /// Address of the slot where it is one that is there already.
    pub slot: Option<String>,
    /// Key of the base; that of the model where nothing is given.
    pub key: Option<Key>,
    /// The base is to stay without a module.
    #[serde(default)]
    pub empty: bool,
    /// Number on the bus.
    pub bus_address: Option<u32>,
    /// Free width before it (0).
    #[serde(default)]
    pub gap_mm: f64,
}

/// A rail as planned, with what the rules find before anything is mounted.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlannedLineup {
    pub message: String,
    pub rail: String,
    pub title: String,
    pub length_mm: f64,
    /// Left on the rail; below zero where it is too short.
    pub left_mm: f64,
    pub stops: u32,
    pub cautions: u32,
    pub notes: u32,
    pub unknown: u32,
    pub items: Vec<PlanItem>,
    /// About this rail and its cabinet, graver ones first.
    pub findings: Vec<LineupFinding>,
    /// What it takes and gives back, against what stands there now.
    pub materials: Vec<MaterialLine>,
    /// Price of all that has to be ordered, where every price is known.
    pub order_cents: Option<i64>,
    /// Days until all is there; none where a lead time is not known.
    pub ready_in_d: Option<u32>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlanItem {
    pub kind: String,
    pub model: Option<String>,
    /// Title of the model.
    pub title: String,
    /// Address of the slot; that of a new one follows from what is free.
    pub slot: Option<String>,
    /// The slot is not there yet.
    pub new: bool,
    /// The base is to stay without a module.
    pub empty: bool,
    pub base: Option<String>,
    pub key: Option<Key>,
    pub bus_address: Option<u32>,
    pub x_mm: f64,
    pub width_mm: f64,
    pub gap_mm: f64,
}

/// One line of the bill of material.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct MaterialLine {
    pub model: String,
    pub title: String,
    /// Pieces that the plan takes more than what is there; below zero: comes back.
    pub pieces: i32,
    /// Lies ready and is not kept for others.
    pub free: u32,
    /// Lies ready and is kept for others.
    pub reserved: u32,
    /// Ordered and not here yet.
    pub on_order: u32,
    /// To be ordered, in whole packs.
    pub order: u32,
    pub lead_time_d: Option<u32>,
    /// Of one piece at this number.
    pub price_cents: Option<i64>,
    /// Of all that is to be ordered.
    pub cost_cents: Option<i64>,
    /// Where it comes from, in words.
    pub said: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LineupSheetInput {
    /// Address or label of the cabinet.
    pub cabinet: String,
    /// `a4` or `letter` (a4).
    pub page: Option<String>,
}
