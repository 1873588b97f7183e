use super::Key;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ModelLine {
    pub part_no: String,
    pub title: String,
    pub kind: String,
    pub base: Option<String>,
    pub key: Option<Key>,
    pub width_mm: f64,
    pub channels: u32,
    pub current_24v_ma: Option<f64>,
    pub heat_w: Option<f64>,
    pub intrinsically_safe: bool,
    /// The battery that it takes.
    pub battery: Option<String>,
    /// Failures in 1e9 h.
    pub failure_rate_fit: Option<f64>,
    /// Mean time between failures, h: another way to state the rate.
    pub mtbf_h: Option<f64>,
    /// Parts that fail on their own: another way to state the rate.
    pub parts_count: Vec<PartsLine>,
    /// Temperature that the rate is stated at, °C; 40 where the catalogue names none.
    pub failure_rate_at_c: f64,
    /// Activation energy of the rate (Arrhenius), eV; 0.4 where the catalogue names none.
    pub failure_activation_ev: f64,
    /// Failures that the stated rate is worth; 0.5 where the catalogue says nothing.
    pub failure_rate_worth: f64,
    /// Models of one family are judged together where one alone says too little.
    pub family: Option<String>,
    pub lead_time_d: Option<u32>,
    /// Standard deviation of the lead time, days.
    pub lead_time_spread_d: Option<f64>,
    pub price_cents: Option<i64>,
    /// Pieces in one pack: orders are whole packs.
    pub pack_size: Option<u32>,
    /// Fewest pieces of one order.
    pub min_order: Option<u32>,
    /// Prices from a number of pieces on.
    pub price_breaks: Vec<PriceBreak>,
    /// How long it may lie before it is fitted, years.
    pub shelf_life_y: Option<f64>,
    /// Last day on which its maker takes orders.
    pub last_order_on: Option<chrono::NaiveDate>,
    pub repairable: bool,
    /// Days that a repair takes, door to door.
    pub turn_round_d: Option<u32>,
    /// Share of repairs after which it is as good as new, per cent.
    pub repair_yield_pct: Option<f64>,
    /// Price of one repair, cents.
    pub repair_price_cents: Option<i64>,
    /// `active`, `discontinued` or `recalled`.
    pub lifecycle: String,
    /// Models that may stand in for this one.
    pub substitutes: Vec<String>,
    /// Counted in lots rather than by serial number.
    pub counted: bool,
}

/// Parts of one kind in a model.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PartsLine {
    pub title: String,
    pub count: u32,
    /// Failures of one such part in 1e9 h.
    pub fit: f64,
}

/// The price of one piece from a number of pieces on.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PriceBreak {
    pub from: u32,
    pub price_cents: i64,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ModelInput {
    /// Part number.
    pub model: String,
}

/// A model with where its units are.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ModelCard {
    pub model: ModelLine,
    pub standing: u32,
    /// Units that are in no slot.
    pub spares: Vec<super::unit::UnitLine>,
    pub lots: Vec<super::stock::LotLine>,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ProposeInput {
    /// What the codes of one plate say, each as a scanner gives it.
    pub texts: Vec<String>,
}

/// What a maker's plate says of the thing that carries it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlateReading {
    /// For a person to compare with the plate; nothing is recorded.
    pub proposals: Vec<PlateProposal>,
    /// Codes that follow no known form.
    pub unread: Vec<UnreadCode>,
    /// Labels of ours beside the plate.
    pub labels: Vec<PlateLabel>,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlateProposal {
    /// Part number of the catalogue.
    pub model: Option<String>,
    pub model_title: Option<String>,
    /// The model is counted in lots: it has a lot, no serial number.
    pub counted: bool,
    /// Part as the plate writes it.
    pub part: Option<String>,
    pub serial: Option<String>,
    pub revision: Option<String>,
    /// The catalogue does not list this revision.
    pub unlisted_revision: bool,
    pub lot: Option<String>,
    pub made_on: Option<chrono::NaiveDate>,
    /// The codes that say so.
    pub codes: Vec<String>,
    /// Label of the unit, where this one is in the register already.
    pub already: Option<String>,
    /// How it was understood, or what is missing.
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct UnreadCode {
    pub text: String,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlateLabel {
    pub label: String,
    pub label_human: String,
    /// It can be used for what is registered now.
    pub free: bool,
    pub message: String,
}
