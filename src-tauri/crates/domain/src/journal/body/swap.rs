//! What people record about swaps.

use crate::journal::Removal;
use crate::label::LabelCode;
use crate::photo::PhotoHash;
use crate::place::SlotAddress;
use crate::swap::Plan;
use uuid::Uuid;

#[derive(Debug, Clone, PartialEq)]
pub struct SwapStarted {
    pub slot: SlotAddress,
    /// The unit that comes out; none when the slot is empty.
    pub out: Option<LabelCode>,
    /// The unit that goes in.
    pub into: LabelCode,
    /// Verdict and steps as they were when work began.
    pub plan: Plan,
    pub overrides: Vec<Override>,
}

/// A named person took a stop upon themselves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Override {
    pub rule: String,
    pub person: String,
    pub reason: String,
}

#[derive(Debug, Clone, PartialEq)]
pub struct SwapTicked {
    pub swap: Uuid,
    /// Number of the step, counted from 1.
    pub step: u32,
    /// The label that was scanned at the step.
    pub scanned: Option<LabelCode>,
    /// What was read at the step, in its unit.
    pub reading: Option<f64>,
    /// The photo that was taken at the step.
    pub photo: Option<PhotoHash>,
    /// The second person who was there.
    pub second: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SwapFinished {
    pub swap: Uuid,
    /// None when the slot was empty.
    pub removal: Option<Removal>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SwapAbandoned {
    pub swap: Uuid,
    /// What state the plant was left in.
    pub state_left: String,
    /// Where the old unit went, where it had left the slot.
    pub removal: Option<Removal>,
}
