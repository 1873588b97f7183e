//! Named rules of swaps and line-ups, ours and the site's own.

use schemars::JsonSchema;
use serde::Serialize;

/// A named rule as the site keeps it, or one that the site added.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RuleLine {
    pub name: String,
    /// What it asks for.
    pub asks: String,
    /// The site added it.
    pub own: bool,
    pub on: bool,
    /// How grave a break is here: `note`, `caution` or `stop`.
    pub severity: String,
    /// How grave a break is where the site sets nothing; none for a rule that the site added.
    pub ours: Option<String>,
    /// How grave missing data are here.
    pub unknown: String,
    /// It can be neither switched off nor softened, and nobody may take a stop of it on.
    pub fixed: bool,
    /// The site keeps it otherwise than it came: off, graver, milder, or with other limits.
    pub set: bool,
    pub limits: Vec<LimitLine>,
    /// Where it is from; empty for a rule that the site added.
    pub source: String,
    /// What to do about a break; empty for ours, which say it with each finding.
    pub to_do: String,
    /// Where a rule of the site applies: all of these; everywhere where there are none.
    pub applies: Vec<String>,
    /// What must hold there by a rule of the site: all of these.
    pub must: Vec<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LimitLine {
    pub name: String,
    /// Here.
    pub value: f64,
    /// Empty for pieces.
    pub unit: String,
    pub doc: String,
    /// Where the site sets none.
    pub ours: f64,
    pub least: f64,
    pub most: f64,
}

/// Something that a site's own rules may ask.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FactLine {
    pub name: String,
    /// As it stands in a sentence.
    pub said: String,
    /// `text`, `word`, `yes_no`, `number`, `firmware` or `revision`.
    pub kind: String,
    /// What it can be, where it is one of some words.
    pub words: Vec<String>,
    /// Empty where it has none.
    pub unit: String,
    /// Comparisons that fit it.
    pub comparisons: Vec<String>,
    /// Rules that judge swaps may ask it.
    pub swaps: bool,
    /// Rules that judge items of a line-up may ask it.
    pub items: bool,
}
