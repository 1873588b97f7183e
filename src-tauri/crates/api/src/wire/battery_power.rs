//! Stretches without power.

use chrono::{DateTime, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// A stretch without power is recorded or planned.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PowerOffInput {
    /// `site`, an area code, or the address or label of a cabinet.
    pub scope: String,
    /// When power goes.
    pub from: DateTime<Utc>,
    /// When power is back.
    pub to: DateTime<Utc>,
    /// Why power is off.
    #[serde(default)]
    pub reason: String,
}

/// What became of a planned power-off.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SettlePowerOffInput {
    /// The entry that planned it.
    pub planned: Uuid,
    /// When power went; both times are left out where it was called off.
    pub from: Option<DateTime<Utc>>,
    /// When power came back.
    pub to: Option<DateTime<Utc>>,
    /// Why it was called off, or anything else; the reason planned where nothing is given.
    #[serde(default)]
    pub reason: String,
}

#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PowerOffsInput {
    /// Only those that are planned and not settled.
    #[serde(default)]
    pub open: bool,
}

/// One stretch without power.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PowerOffLine {
    /// The entry that recorded or planned it.
    pub entry: Uuid,
    /// `planned`, `waiting` (planned, its time is over, nobody said what became of it),
    /// `happened` or `called_off`.
    pub state: String,
    /// `site`, an area code, or a cabinet address.
    pub scope: String,
    pub scope_title: String,
    /// How many cabinets lie without power.
    pub cabinets: u32,
    pub from: DateTime<Utc>,
    pub to: DateTime<Utc>,
    pub hours: f64,
    pub reason: String,
    /// Why it was called off.
    pub called_off: Option<String>,
}
