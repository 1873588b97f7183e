use super::Key;
use super::unit::UnitLine;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CabinetLine {
    /// E.g. `+K12`.
    pub address: String,
    pub label: String,
    pub title: String,
    pub area: String,
    pub area_title: String,
    pub rails: u32,
    pub slots: u32,
    pub units: u32,
    /// Units in its slots whose condition is not good.
    pub not_good: u32,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CabinetInput {
    /// E.g. `+K12`.
    pub cabinet: String,
}

/// A cabinet to draw to scale; all measures in mm.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CabinetDrawing {
    pub address: String,
    pub label: String,
    pub title: String,
    pub area: String,
    pub area_title: String,
    pub width_mm: f64,
    pub height_mm: f64,
    pub temperature_c: Option<f64>,
    pub rails: Vec<RailDrawing>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RailDrawing {
    pub address: String,
    pub title: String,
    pub length_mm: f64,
    /// Below the top edge of the cabinet.
    pub y_mm: f64,
    /// How its supply and its buses hang together with other rails, a sentence each.
    pub joins: Vec<String>,
    /// Left to right.
    pub items: Vec<ItemDrawing>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ItemDrawing {
    /// `slot`, `terminator`, `end_support`, `blank` or `base`.
    pub kind: String,
    /// From the left end of the rail.
    pub x_mm: f64,
    pub width_mm: f64,
    /// Only for slots.
    pub slot: Option<SlotLine>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SlotLine {
    pub address: String,
    pub number: String,
    pub label: String,
    pub title: String,
    pub base: String,
    pub key: Option<Key>,
    pub model_wanted: Option<String>,
    /// `empty`, `good`, `suspect`, `failed`, `quarantined`, or `other_model` where another model
    /// than the one wanted stands in it.
    pub state: String,
    pub unit: Option<UnitLine>,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SlotInput {
    /// Address (`+K12.2.07`) or label of the slot.
    pub slot: String,
}

/// Everything about one slot.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SlotCard {
    pub slot: SlotLine,
    pub min_revision: Option<String>,
    pub min_firmware: Option<String>,
    pub redundant_partner: Option<String>,
    /// `off`, `inner` or `end`.
    pub bus_position: String,
    pub hot_swap: bool,
    /// `vital`, `essential` or `desirable`.
    pub criticality: String,
    pub x_mm: f64,
    pub width_mm: f64,
    pub loops: Vec<LoopLine>,
    /// Id of the swap under way.
    pub open_swap: Option<uuid::Uuid>,
    pub history: Vec<super::journal::EntryLine>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LoopLine {
    pub tag: String,
    pub slot: String,
    pub channel: u32,
    pub service: String,
    /// What happens when its signal goes.
    pub on_loss: Option<String>,
    pub safety_function: bool,
}

/// A base was re-keyed with its module pulled.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RekeyInput {
    /// Address or label of the slot.
    pub slot: String,
    /// The key that the base is set to.
    pub key: Key,
}

/// Labels as they were seen along a rail.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SeenInput {
    /// From left to right; labels of slots and of others are passed over.
    pub labels: Vec<String>,
}

/// A rail as registered, held against what was seen along it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SeenRail {
    /// The rail that carries most of what was seen; none where that cannot be said.
    pub rail: Option<String>,
    pub rail_title: Option<String>,
    /// It agrees from right to left: the picture is upside down.
    pub turned: bool,
    /// In the order of the rail, as far as the picture shows it.
    pub rows: Vec<SeenRow>,
    pub agree: u32,
    /// Units that are where the register does not have them.
    pub differ: u32,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SeenRow {
    pub verdict: SeenVerdict,
    pub slot: Option<String>,
    /// What the register has in the slot.
    pub wanted: Option<UnitLine>,
    /// What the picture shows there.
    pub seen: Option<UnitLine>,
    pub message: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SeenVerdict {
    Agrees,
    /// Another unit was seen in the slot.
    Other,
    /// The slot's unit was not seen.
    NotSeen,
    /// The slot is empty in the register, and nothing was seen.
    Empty,
    /// A unit that the register has elsewhere; in which slot it is here cannot be said.
    NotExpected,
}

/// A temperature was read inside a cabinet.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TemperatureInput {
    /// Address or label of the cabinet.
    pub cabinet: String,
    /// Temperature inside, °C.
    pub temperature_c: f64,
}
