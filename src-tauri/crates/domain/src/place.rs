//! Places: areas, cabinets, rails, slots, stores and bins, and how each is addressed.

mod address;
mod rules;
mod spares_rules;

pub use crate::battery::TEMPERATURES_C;
pub use address::{AddressRefusal, BinPath, CabinetAddress, RailAddress, SlotAddress};
pub use rules::{BatteryRules, Closed, GroupBy, RulesRefusal};
pub use spares_rules::{AbcBy, ByClass, Measure, SparesRules, Target};

use crate::key::KeySetting;
use crate::label::{LabelCode, SitePrefix};
use crate::lineup::Stand;
use crate::model::{BaseKind, PartNo};
use crate::rules::RuleSetting;
use crate::rules::own::OwnRule;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// Settings of the whole site.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    pub name: String,
    /// First two characters of every label of the site.
    pub prefix: SitePrefix,
    /// Temperature where nothing better is known for a cabinet, °C.
    pub temperature_c: f64,
    /// Temperature of the shelves, °C.
    pub shelf_temperature_c: f64,
    /// Oldest age of a fitted back-up battery, years from fitting; none: no such rule.
    pub battery_age_limit_y: Option<f64>,
    /// Wanted probability of no stock-out in the lead time, 0 to 1.
    pub protection: f64,
    /// Power-off that every controller must ride through, hours.
    pub hold_up_required_h: f64,
    /// Batteries of a cabinet due within this many days of the first share a visit.
    pub visit_window_d: u32,
    /// How battery changes are planned.
    pub battery_rules: BatteryRules,
    /// How spares are planned, where the site says so.
    pub spares_rules: Option<SparesRules>,
    /// What the site sets about named rules; a rule that is not here holds as it is.
    pub rules: Vec<RuleSetting>,
    /// Rules that the site has added to ours.
    pub own_rules: Vec<OwnRule>,
    pub failure_modes: Vec<Choice>,
    pub failure_causes: Vec<Choice>,
    pub detection_methods: Vec<Choice>,
}

/// One line of a list that the site may edit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    pub code: String,
    pub title: String,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Area {
    pub code: String,
    pub title: String,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Cabinet {
    pub address: CabinetAddress,
    pub label: LabelCode,
    pub area: String,
    pub title: String,
    pub width_mm: f64,
    pub height_mm: f64,
    /// Yearly mean temperature inside, °C.
    pub temperature_c: Option<f64>,
    /// Mean temperature inside of each month, January first, °C.
    pub temperatures_c: Option<[f64; 12]>,
    /// Standard deviation about those means, K.
    pub temperature_spread_k: Option<f64>,
    /// Outer depth, mm.
    pub depth_mm: Option<f64>,
    /// What keeps it from giving off heat.
    pub stand: Option<Stand>,
    /// Warmest that the room around it gets, °C.
    pub room_c: Option<f64>,
}

/// A temperature that somebody or something read inside a cabinet.
#[derive(Debug, Clone, PartialEq)]
pub struct TemperatureReading {
    /// The entry that says so.
    pub id: Uuid,
    pub cabinet: CabinetAddress,
    pub at: DateTime<Utc>,
    pub temperature_c: f64,
}

/// A mounting rail (IEC 60715, TH 35) and what stands on it besides slots.
#[derive(Debug, Clone, PartialEq)]
pub struct Rail {
    pub address: RailAddress,
    pub title: String,
    pub length_mm: f64,
    /// Height of the rail below the top edge of the cabinet, mm.
    pub y_mm: f64,
    /// Terminators, end supports, blanks and the like, left to right.
    pub items: Vec<RailItem>,
    pub feed: RailFeed,
    /// Rail on which its buses go on to the left.
    pub bus_left: Option<RailAddress>,
    /// Rail on which its buses go on to the right.
    pub bus_right: Option<RailAddress>,
}

/// Where the 24 V of a rail come from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RailFeed {
    /// Rail of the same cabinet whose power supplies feed this one.
    pub fed_by: Option<RailAddress>,
    /// Whether one of its power supplies may fail; known only where it has several.
    pub redundant: Option<bool>,
    /// Length of the line from the power supply to the first unit, m.
    pub line_m: Option<f64>,
    /// Its copper conductors, mm².
    pub line_mm2: Option<f64>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct RailItem {
    /// Left edge from the left end of the rail, mm.
    pub x_mm: f64,
    pub width_mm: f64,
    pub kind: RailItemKind,
    pub model: Option<PartNo>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RailItemKind {
    Terminator,
    EndSupport,
    Blank,
    Base,
}

/// A numbered position on a rail that holds at most one unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Slot {
    pub address: SlotAddress,
    pub label: LabelCode,
    pub title: String,
    /// Left edge from the left end of the rail, mm.
    pub x_mm: f64,
    pub width_mm: f64,
    pub base: BaseKind,
    /// The key as set on the base; none where the base kind carries no key.
    pub key: Option<KeySetting>,
    /// The model that the slot is engineered for.
    pub model_wanted: Option<PartNo>,
    pub min_revision: Option<String>,
    pub min_firmware: Option<String>,
    pub redundant_partner: Option<SlotAddress>,
    pub bus_position: BusPosition,
    /// Number by which its unit is called on its bus.
    pub bus_address: Option<u32>,
    /// Whether the unit may be exchanged with the rail energised.
    pub hot_swap: bool,
    pub criticality: Criticality,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BusPosition {
    /// Not on a bus.
    Off,
    Inner,
    /// Next to a terminator.
    End,
}

/// How much the plant depends on a slot (common practice, no source: three classes).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Criticality {
    Vital,
    Essential,
    Desirable,
}

impl BusPosition {
    pub fn word(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::Inner => "inner",
            Self::End => "end",
        }
    }
}

impl Criticality {
    pub fn word(self) -> &'static str {
        match self {
            Self::Vital => "vital",
            Self::Essential => "essential",
            Self::Desirable => "desirable",
        }
    }
}

/// A storeroom that holds bins.
///
/// A storeroom that none supplies is central: it buys from outside, and serves the areas that no
/// other one names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Storeroom {
    pub code: String,
    pub title: String,
    /// The central storeroom that fills it up.
    pub supplied_by: Option<String>,
    /// Days that filling up takes.
    pub resupply_d: Option<u32>,
    /// Areas that it serves.
    pub areas: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bin {
    pub path: BinPath,
    pub label: LabelCode,
    pub title: String,
}
