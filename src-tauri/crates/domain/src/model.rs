//! Models: the catalogue line that many units share.

#[cfg(test)]
mod made;
mod on_rail;
mod plate;
mod supply;

#[cfg(test)]
pub(crate) use made::made;
pub use on_rail::{Feeds, OnRail};
pub use plate::{CodePattern, Form, PatternRefusal, Plate, Proposal, propose};
pub use supply::{
    FAILURE_ACTIVATION_EV, FAILURE_RATE_AT_C, FAILURE_RATE_WORTH, PartsLine, PriceBreak,
    SupplyRefusal,
};

use crate::key::KeySetting;
use chrono::NaiveDate;
use std::fmt;

/// A part number, as the catalogue writes it.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PartNo(String);

impl PartNo {
    /// Fails when the text is empty or longer than 40 characters.
    pub fn parse(text: &str) -> Result<Self, String> {
        let text = text.trim();
        if text.is_empty() || text.chars().count() > 40 {
            return Err(format!("{text:?} is not a part number of 1 to 40 characters"));
        }
        Ok(Self(text.to_owned()))
    }

    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for PartNo {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    pub part_no: PartNo,
    pub title: String,
    pub kind: ModelKind,
    /// The base kind that it plugs onto or stands as.
    pub base: Option<BaseKind>,
    /// The key fixed at the factory; none for one-piece modules.
    pub key: Option<KeySetting>,
    pub width_mm: f64,
    pub channels: u32,
    /// Current drawn from the 24 V rail, mA.
    pub current_24v_ma: Option<f64>,
    /// What a power supply can deliver at 24 V, mA.
    pub supply_rating_ma: Option<f64>,
    pub heat_w: Option<f64>,
    pub intrinsically_safe: bool,
    /// Entity parameters of one channel, from the certificate.
    pub entity: Option<EntityOutput>,
    /// The back-up battery that it needs.
    pub battery: Option<BatteryNeed>,
    /// What it is as a battery.
    pub cell: Option<Cell>,
    /// Failures in 1e9 h.
    pub failure_rate_fit: Option<f64>,
    /// Mean time between failures, h: another way to state the rate.
    pub mtbf_h: Option<f64>,
    /// Parts that fail on their own; their sum is another way to state the rate.
    pub parts_count: Vec<PartsLine>,
    /// Temperature that the rate is stated at, °C; none: [`FAILURE_RATE_AT_C`].
    pub failure_rate_at_c: Option<f64>,
    /// Activation energy of the rate (Arrhenius), eV; none: [`FAILURE_ACTIVATION_EV`].
    pub failure_activation_ev: Option<f64>,
    /// Failures that the stated rate is worth; none: [`FAILURE_RATE_WORTH`].
    pub failure_rate_worth: Option<f64>,
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
    /// Prices from a number of pieces on, rising numbers.
    pub price_breaks: Vec<PriceBreak>,
    /// How long it may lie before it is fitted, years; a battery says so in its cell.
    pub shelf_life_y: Option<f64>,
    /// Last day on which its maker takes orders.
    pub last_order_on: Option<NaiveDate>,
    pub lifecycle: Lifecycle,
    /// Models that may stand in for this one (one direction).
    pub substitutes: Vec<PartNo>,
    /// Revisions in order, oldest first.
    pub revisions: Vec<String>,
    /// How its maker's own codes name it, besides the part number: an order number or GTIN.
    pub maker_codes: Vec<String>,
    /// Forms of the codes on its maker's plates.
    pub code_patterns: Vec<CodePattern>,
    pub repairable: bool,
    pub turn_round_d: Option<u32>,
    /// Share of repairs after which it is as good as new, per cent.
    pub repair_yield_pct: Option<f64>,
    /// Price of one repair, cents.
    pub repair_price_cents: Option<i64>,
    /// Counted in lots rather than by serial number.
    pub counted: bool,
    /// What matters of it beside others on a rail.
    pub on_rail: OnRail,
}

/// Output side of an intrinsically safe channel (IEC 60079-25).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EntityOutput {
    pub uo_v: f64,
    pub io_ma: f64,
    pub po_mw: f64,
    pub co_nf: Option<f64>,
    pub lo_mh: Option<f64>,
    pub lo_ro_uh_ohm: Option<f64>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct BatteryNeed {
    pub model: PartNo,
    pub cells: u32,
    /// Drain with the cabinet powered, µA.
    pub standby_drain_ua: f64,
    /// Drain that keeps the memory without power, µA.
    pub backup_drain_ua: Option<f64>,
    /// How long a capacitor keeps the memory while the battery is out, s.
    pub ride_through_s: Option<u32>,
    /// Standard deviation of the standby drain from one controller to the next, per cent.
    pub standby_spread_pct: Option<f64>,
    /// Standard deviation of the back-up drain, per cent.
    pub backup_spread_pct: Option<f64>,
    /// What the maker asks for, where the catalogue says.
    pub change_with: Option<ChangeWith>,
    /// Time that a change takes, minutes, where the catalogue says.
    pub change_min: Option<u32>,
}

/// Minutes that a change takes where the catalogue gives none (common practice, no source).
pub const CHANGE_MIN: u32 = 15;

/// Whether the controller is powered while its battery is changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ChangeWith {
    /// Only powered: without power the memory would be lost.
    Powered,
    /// Only without power, e.g. behind a cover over live parts.
    Unpowered,
    Either,
}

impl BatteryNeed {
    /// Whether power must be on or off. Where the catalogue says nothing, a controller whose
    /// capacitor keeps the memory may be changed either way, any other one only powered.
    pub fn change_with(&self) -> ChangeWith {
        let rides_through = self.ride_through_s.is_some_and(|s| s > 0);
        let reckoned = if rides_through { ChangeWith::Either } else { ChangeWith::Powered };
        self.change_with.unwrap_or(reckoned)
    }

    /// Minutes that a change takes.
    pub fn change_min(&self) -> u32 {
        self.change_min.unwrap_or(CHANGE_MIN)
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// Designation by IEC 60086, where it has one.
    pub designation: Option<String>,
    pub capacity_mah: f64,
    /// Loss a year at 20 °C, per cent.
    pub self_discharge_pct_a: f64,
    pub shelf_life_y: Option<f64>,
    /// Oldest age from making that the maker allows, years.
    pub max_age_y: Option<f64>,
    /// Standard deviation of the capacity from one cell to the next, per cent.
    pub capacity_spread_pct: Option<f64>,
    /// Standard deviation of the self-discharge, per cent of its value.
    pub self_discharge_spread_pct: Option<f64>,
    /// Activation energy of the self-discharge (Arrhenius), eV; none: it doubles with every 10 K.
    pub activation_energy_ev: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ModelKind {
    Controller,
    ModuleOnePiece,
    Module,
    PowerSupply,
    Terminator,
    EndSupport,
    Base,
    Battery,
    Blank,
    /// Counted and used up by work: fuse links, marker strips.
    Consumable,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum BaseKind {
    /// Clamps to the rail itself and carries no key.
    OnePiece,
    Compact,
    Extended,
    IntrinsicallySafe,
    /// A controller or power supply, delivered with its base mounted.
    Own,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lifecycle {
    Active,
    Discontinued,
    Recalled,
}

impl ModelKind {
    pub fn word(self) -> &'static str {
        match self {
            Self::Controller => "controller",
            Self::ModuleOnePiece => "module_one_piece",
            Self::Module => "module",
            Self::PowerSupply => "power_supply",
            Self::Terminator => "terminator",
            Self::EndSupport => "end_support",
            Self::Base => "base",
            Self::Battery => "battery",
            Self::Blank => "blank",
            Self::Consumable => "consumable",
        }
    }
}

impl BaseKind {
    pub fn word(self) -> &'static str {
        match self {
            Self::OnePiece => "one_piece",
            Self::Compact => "compact",
            Self::Extended => "extended",
            Self::IntrinsicallySafe => "intrinsically_safe",
            Self::Own => "own",
        }
    }
}

impl Lifecycle {
    pub fn word(self) -> &'static str {
        match self {
            Self::Active => "active",
            Self::Discontinued => "discontinued",
            Self::Recalled => "recalled",
        }
    }
}

impl Model {
    /// Position of a revision in the catalogue's order; none where it is not listed.
    pub fn revision_rank(&self, revision: &str) -> Option<usize> {
        self.revisions.iter().position(|known| known.eq_ignore_ascii_case(revision))
    }

    /// Whether its maker still takes an order for it on a day.
    pub fn can_be_ordered_on(&self, day: NaiveDate) -> bool {
        match self.lifecycle {
            Lifecycle::Active => self.last_order_on.is_none_or(|last| last >= day),
            Lifecycle::Discontinued => self.last_order_on.is_some_and(|last| last >= day),
            Lifecycle::Recalled => false,
        }
    }

    /// Whether it stands in a slot, as against being counted stock or rail furniture.
    pub fn is_slot_unit(&self) -> bool {
        use ModelKind::{Controller, Module, ModuleOnePiece, PowerSupply};
        matches!(self.kind, Controller | Module | ModuleOnePiece | PowerSupply)
    }
}
