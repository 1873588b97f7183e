//! Steps of a swap: what is asked at each, and what was given.

use super::unit::Removal;
use chrono::{DateTime, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StepLine {
    /// Counted from 1.
    pub number: u32,
    pub text: String,
    pub detail: String,
    /// `slot` or `unit` where a label must be scanned.
    pub scan: Option<String>,
    /// The label that is wanted, as people read it.
    pub scan_label: Option<String>,
    /// Where a reading must be given.
    pub reading: Option<LimitsLine>,
    /// A photo must be taken.
    pub photo: bool,
    /// Another person must be there.
    pub second_person: bool,
    /// Median of what it took in the past, or the template's figure, min.
    pub expected_min: Option<f64>,
    /// How often it was done before.
    pub seen: u32,
    pub ticked_at: Option<DateTime<Utc>>,
    pub ticked_by: Option<String>,
    /// What was read.
    pub read: Option<f64>,
    /// Name of the photo that was taken; `photo.show` gives it.
    pub photo_taken: Option<String>,
    /// The second person who was there.
    pub second: Option<String>,
}

/// Between which values a reading must lie, both included.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LimitsLine {
    pub unit: String,
    pub low: f64,
    pub high: f64,
}

/// How the plant stands after the steps that were ticked.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StandLine {
    /// One sentence for each thing; empty for swaps from before steps said what they do.
    pub said: Vec<String>,
    /// The old unit has left the slot: giving the swap up asks where it is.
    pub out_is_out: bool,
    /// The new unit stands in the slot.
    pub in_is_in: bool,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TickInput {
    /// Id of the swap.
    pub swap: Uuid,
    /// Number of the step, counted from 1.
    pub step: u32,
    /// The label scanned at the step.
    pub scanned: Option<String>,
    /// The value read at the step, in its unit.
    pub reading: Option<f64>,
    /// Name of a kept photo.
    pub photo: Option<String>,
    /// The photo itself, in Base64, where it was not kept before.
    pub photo_data: Option<String>,
    /// Name of the second person.
    pub second: Option<String>,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FinishInput {
    /// Id of the swap.
    pub swap: Uuid,
    /// Where the old unit went and why it came out; left out where the slot was empty.
    pub removal: Option<Removal>,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AbandonInput {
    /// Id of the swap.
    pub swap: Uuid,
    /// What there is to say beyond what the ticked steps say.
    #[serde(default)]
    pub state_left: String,
    /// Where the old unit is, where it had left the slot.
    pub removal: Option<Removal>,
}
