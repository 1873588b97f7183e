use chrono::{DateTime, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PersonLine {
    pub name: String,
    pub roles: Vec<String>,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PersonInput {
    /// As it is to stand in the journal.
    pub name: String,
    /// `owner`, `planner`, `technician`, `clerk`.
    pub roles: Vec<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DeviceLine {
    pub device: Uuid,
    pub title: String,
    pub person: String,
    pub roles: Vec<String>,
    pub withdrawn: bool,
    /// It is the address of a calendar and lets nobody in.
    pub calendar_only: bool,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InviteInput {
    /// Who will use the device; must be in the list of people.
    pub person: String,
    /// What the device is, e.g. `phone of the shift`.
    pub title: String,
}

/// A pass for one device: show it as a QR code or type it at the door.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Invite {
    pub device: Uuid,
    /// Shown once and kept by the device; the store keeps only its SHA-256.
    pub pass: String,
    pub made_at: DateTime<Utc>,
    pub message: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WithdrawInput {
    /// Id of the device.
    pub device: Uuid,
    /// Why it is no longer let in.
    pub reason: String,
}
