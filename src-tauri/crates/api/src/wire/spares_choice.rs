//! What people decide about spares, and the files they take along.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Takes the place of what is reckoned, and of what was chosen before; with all fields but the
/// reason left out, back to what is reckoned.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChooseInput {
    /// Part number.
    pub model: String,
    /// None: for every storeroom.
    pub storeroom: Option<String>,
    /// Forecast method, by its word in `spares.model`.
    pub method: Option<String>,
    /// Order when the stock comes down to this; goes with `order_up_to`.
    pub reorder_at: Option<u32>,
    /// Order so many that stock and orders come up to this; goes with `reorder_at`.
    pub order_up_to: Option<u32>,
    /// `vital`, `essential` or `desirable`.
    pub class: Option<String>,
    /// Why what is reckoned does not hold here.
    pub reason: String,
}

/// An expansion, a project or a removal that will change how many units stand.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanChangeInput {
    /// Part number.
    pub model: String,
    /// Day on which it happens.
    pub on: NaiveDate,
    /// Units more in slots; negative: fewer.
    pub installed_change: i32,
    /// Pieces that are taken from the stock for it (0).
    #[serde(default)]
    pub from_stock: u32,
    /// Units that come to the stock as spares (0).
    #[serde(default)]
    pub harvested: u32,
    /// What happens then.
    pub reason: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SettleChangeInput {
    /// The entry that planned it.
    pub planned: Uuid,
    /// It happened; else it was called off.
    pub happened: bool,
    /// How it went, or why it was called off.
    pub reason: String,
}

#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedInput {
    /// Only those of this model.
    pub model: Option<String>,
    /// Also those that are settled.
    #[serde(default)]
    pub settled: bool,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlannedPopulation {
    /// The entry that planned it.
    pub planned: Uuid,
    pub model: String,
    pub model_title: String,
    pub on: NaiveDate,
    pub installed_change: i32,
    pub from_stock: u32,
    pub harvested: u32,
    pub reason: String,
    /// `waiting`, `late` (its day is past), `happened` or `called_off`.
    pub state: String,
    /// What was said when it was settled.
    pub settled_reason: Option<String>,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SpareSheetInput {
    /// `levels`, `orders`, `stock`, `projection` or `curve`.
    pub what: String,
    /// `csv` or `xlsx`.
    pub format: String,
    /// For `projection`: the model.
    pub model: Option<String>,
    /// Only this storeroom.
    pub storeroom: Option<String>,
    /// For `projection`: how many months (24).
    pub months: Option<u32>,
}
