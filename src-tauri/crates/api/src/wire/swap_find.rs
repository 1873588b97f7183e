//! What could go into a slot besides spares, and where a spare could go.

use super::swap_effects::EffectLine;
use super::unit::UnitLine;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LendersInput {
    /// Address or label of the slot that is in need.
    pub slot: String,
}

/// A unit of the same model that a less important slot could lend.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Lender {
    pub unit: UnitLine,
    /// Address of the slot that would stand empty.
    pub slot: String,
    pub slot_title: String,
    /// The worst finding for the slot in need, once the unit is taken out: `pass`, `note` or
    /// `caution`.
    pub severity: String,
    /// What is not simply in order, worst first.
    pub reasons: Vec<String>,
    pub cost: LendingCost,
}

/// What it costs to take a unit from its slot.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LendingCost {
    /// `essential` or `desirable`.
    pub criticality: String,
    /// Loops that go as long as the slot stands empty.
    pub loops: Vec<EffectLine>,
    /// Loops of a safety function among them.
    pub safety_loops: u32,
    /// `single`, `carried` or `lost`.
    pub redundancy: String,
    /// Other units that are disturbed while it is taken out.
    pub disturbed_units: u32,
    pub message: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FitsInput {
    /// Label or serial number of the spare.
    pub unit: String,
    /// How many slots are judged at most (200).
    pub limit: Option<u32>,
}

/// The slots that a spare may go into.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Fits {
    pub unit: UnitLine,
    /// Those in need first, then the most important.
    pub slots: Vec<Fit>,
    /// Slots that were judged.
    pub judged: u32,
    /// Slots for its model that were not looked at.
    pub left_off: u32,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Fit {
    pub slot: String,
    pub title: String,
    /// `vital`, `essential` or `desirable`.
    pub criticality: String,
    /// What stands there: `empty`, `good`, `suspect`, `failed`, `quarantined` or `other_model`.
    pub state: String,
    /// The worst finding: `pass`, `note` or `caution`.
    pub severity: String,
    /// What is not simply in order, worst first.
    pub reasons: Vec<String>,
}
