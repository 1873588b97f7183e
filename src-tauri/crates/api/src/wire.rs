//! What commands take and give, as JSON.
//!
//! Optional fields may be left out of an input and are always there, null when empty, in a reply.

pub mod audit;
pub mod battery;
pub mod battery_life;
pub mod battery_plan;
pub mod battery_power;
pub mod battery_readiness;
pub mod journal;
pub mod label;
pub mod label_quality;
pub mod label_sheet;
pub mod lineup;
pub mod model;
pub mod people;
pub mod photo;
pub mod place;
pub mod rule;
pub mod site;
pub mod spares;
pub mod spares_choice;
pub mod spares_last;
pub mod spares_model;
pub mod spares_money;
pub mod spares_projection;
pub mod spares_stores;
pub mod stock;
pub mod stock_out;
pub mod stocktake;
pub mod swap;
pub mod swap_effects;
pub mod swap_find;
pub mod swap_steps;
pub mod unit;
pub(crate) mod words;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Nothing to say.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Nothing {}

/// A record was taken.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Done {
    /// Id of the entry.
    pub entry: uuid::Uuid,
    /// It had been sent before, and nothing changed.
    pub repeated: bool,
    /// What was recorded, in a sentence.
    pub message: String,
}

/// Scheme and letters of a key.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Key {
    /// Name of a scheme of the site, e.g. `std`.
    pub scheme: String,
    /// A letter for each key of the scheme, e.g. `AC`.
    pub code: String,
}

impl From<slotkeep_domain::key::KeySetting> for Key {
    fn from(key: slotkeep_domain::key::KeySetting) -> Self {
        Self { scheme: key.scheme, code: key.code }
    }
}

/// One line of a list that the site may edit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Choice {
    pub code: String,
    pub title: String,
}

impl From<slotkeep_domain::place::Choice> for Choice {
    fn from(choice: slotkeep_domain::place::Choice) -> Self {
        Self { code: choice.code, title: choice.title }
    }
}
