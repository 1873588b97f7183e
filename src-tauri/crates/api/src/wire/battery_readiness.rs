//! Which memories outlast a power-off.

use super::battery_plan::UnknownBattery;
use chrono::{DateTime, NaiveDate, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// A planned power-off, or any that might be planned.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadinessInput {
    /// Entry of the planned power-off; else scope and times are given.
    pub planned: Option<Uuid>,
    /// `site`, an area code, or the address or label of a cabinet.
    pub scope: Option<String>,
    /// When power goes.
    pub from: Option<DateTime<Utc>>,
    /// When power is back.
    pub to: Option<DateTime<Utc>>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ReadinessReply {
    pub planned: Option<Uuid>,
    pub scope: String,
    pub scope_title: String,
    pub from: DateTime<Utc>,
    pub to: DateTime<Utc>,
    pub hours: f64,
    pub reason: String,
    /// Chance of loss that the site allows each memory, 0 to 1.
    pub spent_chance: f64,
    /// How many memories outlast it.
    pub survive: u32,
    /// How many do not.
    pub lost: u32,
    /// How many are lost on average if nothing is changed before.
    pub expected_losses: f64,
    /// The least margin first.
    pub memories: Vec<MemoryLine>,
    /// Units to change first, the likeliest loss first.
    pub first: Vec<String>,
    /// Memories of which the register does not know enough.
    pub unknown: Vec<UnknownBattery>,
    /// The outcome in a sentence.
    pub message: String,
}

/// How one memory stands up to the power-off.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MemoryLine {
    pub unit: String,
    pub unit_human: String,
    pub slot: String,
    pub model: String,
    pub battery_model: String,
    /// `powered`, `unpowered` or `either`.
    pub change_with: String,
    /// Hours that it outlasts but for the chance that the site allows; none: without end.
    pub lasts_h: Option<f64>,
    /// Hours that it outlasts, as often less as more.
    pub lasts_middle_h: Option<f64>,
    /// Hours left at the end, below zero where they fall short; none: without end.
    pub margin_h: Option<f64>,
    /// Probability that it is lost, 0 to 1.
    pub loss_chance: f64,
    pub survives: bool,
    /// Day before the power-off on which the agreed plan changes its battery.
    pub agreed_on: Option<NaiveDate>,
    pub message: String,
}
