//! What work in a slot does to running loops and to other units.

use super::unit::UnitLine;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EffectsInput {
    /// Address or label of the slot.
    pub slot: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EffectsSheetInput {
    /// Address or label of the slot.
    pub slot: String,
    /// `a4` (where nothing is given) or `letter`.
    pub page: Option<String>,
}

/// What taking the unit out of a slot does.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SwapEffects {
    pub slot: String,
    pub title: String,
    /// `vital`, `essential` or `desirable`.
    pub criticality: String,
    /// What stands there now.
    pub unit: Option<UnitLine>,
    /// Loops on the unit itself, by channel.
    pub loops: Vec<EffectLine>,
    /// `single`, `carried` or `lost`.
    pub redundancy: String,
    /// Address of the redundant partner.
    pub partner: Option<String>,
    pub redundancy_message: String,
    /// The supply of the rail must be isolated.
    pub isolates_rail: bool,
    /// Other units that the work disturbs.
    pub disturbed: Vec<DisturbedLine>,
    pub counts: ClearanceCounts,
    pub cautions: Vec<String>,
    pub message: String,
}

/// A loop, what it does when its signal goes, and what operations do before.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EffectLine {
    pub tag: String,
    pub slot: String,
    /// Counted from 1.
    pub channel: u32,
    pub service: String,
    /// In the words of the site.
    pub on_loss: Option<String>,
    /// `trip`, `valve_opens`, `valve_closes`, `valve_stays`, `value_held` or `alarm_only`.
    pub effect: Option<String>,
    /// `manual`, `bypass`, `announce` or `nothing`; none where it is not recorded.
    pub clearance: Option<String>,
    pub safety_function: bool,
    /// What happens, in a sentence.
    pub happens: String,
    /// What operations do before, in a sentence.
    pub to_do: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DisturbedLine {
    pub slot: String,
    pub title: String,
    pub unit: UnitLine,
    /// `supply_out`, `supply_too_small`, `rail_isolated`, `shared_supply`, `controller_out` or
    /// `bus_opened`.
    pub why: String,
    pub why_message: String,
    pub loops: Vec<EffectLine>,
}

/// How many loops want what.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ClearanceCounts {
    pub loops: u32,
    pub manual: u32,
    pub bypass: u32,
    pub announce: u32,
    pub nothing: u32,
    /// What to do is not recorded: ask operations.
    pub not_recorded: u32,
    /// Loops of a safety function.
    pub safety: u32,
}
