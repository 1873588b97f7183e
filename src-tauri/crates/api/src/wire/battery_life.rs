//! How long battery types last.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LifeInput {
    /// Only this battery type; part number.
    pub battery_model: Option<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LifeReply {
    pub types: Vec<LifeLine>,
}

/// How long the batteries of one type last here, until they are spent.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LifeLine {
    pub battery_model: String,
    pub title: String,
    /// How many are in slots now.
    pub in_service: u32,
    pub found: FoundCells,
    /// By the charge balance, over all places where one is in service.
    pub model: Option<Quantiles>,
    /// By what was found alone.
    pub learned: Option<Quantiles>,
    /// Why nothing could be learned.
    pub learned_message: String,
    /// Both, weighed by how much was found.
    pub blended: Option<Quantiles>,
    /// How much of the blend is what was found, per cent.
    pub found_share_pct: f64,
    pub advice: Option<Advised>,
    /// The outcome in a sentence.
    pub message: String,
}

/// How cells of a type were found.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct FoundCells {
    /// Cells of which there is a record.
    pub cells: u32,
    pub good: u32,
    pub weak: u32,
    pub spent: u32,
    pub not_judged: u32,
    /// Cells whose records tell nothing of their life, since nobody said how they were found or when
    /// they had been fitted.
    pub untold: u32,
    /// Cells whose records contradict each other, and how.
    pub left_out: Vec<String>,
}

/// A Weibull life, years.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Quantiles {
    /// 1 in 100 lasts less.
    pub early_y: f64,
    /// 1 in 10 lasts less.
    pub tenth_y: f64,
    /// Half of them last less.
    pub middle_y: f64,
    /// 9 in 10 last less.
    pub late_y: f64,
    pub scale_y: f64,
    pub shape: f64,
    /// 95 % bounds of the middle.
    pub middle_least_y: Option<f64>,
    pub middle_most_y: Option<f64>,
}

/// When to change batteries of a type by age, and what it costs; cents a year for each battery.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct Advised {
    /// What a planned change costs, its walk included.
    pub planned_cents: i64,
    /// What a lost memory costs, the change included.
    pub loss_cents: i64,
    /// Each battery at its own age (Barlow and Proschan).
    pub age: Option<Policy>,
    /// Each place at fixed times whatever the age of its battery.
    pub block: Option<Policy>,
    /// All together after whole years; ends within the last year are paid singly before.
    pub group: Option<Policy>,
    /// The same where ends within the last year wait for the group.
    pub group_waiting: Option<Policy>,
    /// Never before the end.
    pub to_failure_cents_per_y: Option<i64>,
    /// At the site's present age limit.
    pub present: Option<Policy>,
    /// What the best age saves against that, or against waiting where the site has no limit.
    pub saving_cents_per_y: Option<i64>,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Policy {
    /// Years; none where it is best to wait for the end.
    pub every_y: Option<f64>,
    pub cents_per_y: i64,
}
