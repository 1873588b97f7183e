use chrono::NaiveDate;
use slotkeep_domain::journal::{
    CellFound, FailureNote, PastKind, PopulationPlanned, PowerOff, Purpose,
};
use slotkeep_domain::key::{KeyScheme, KeySetting};
use slotkeep_domain::lineup::Stand;
use slotkeep_domain::loops::Loop;
use slotkeep_domain::model::{BaseKind, Model, PartNo};
use slotkeep_domain::people::Person;
use slotkeep_domain::place::{
    Area, BinPath, BusPosition, CabinetAddress, Criticality, Rail, Site as Settings, SlotAddress,
    Storeroom,
};
use slotkeep_domain::swap::procedure::Procedure;
use slotkeep_domain::unit::{Condition, UnitPlace};

/// What a folder of site files says, every row checked against every other.
///
/// Rows stand in the order of their files. What needs no label is already a record of the
/// register; the others have rows of their own, since labels are given at import.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    pub settings: Row<Settings>,
    pub key_schemes: Vec<Row<KeyScheme>>,
    pub models: Vec<Row<Model>>,
    pub areas: Vec<Row<Area>>,
    pub cabinets: Vec<Row<CabinetRow>>,
    /// Rails with the items of `rail_items.csv`; the digest covers both.
    pub rails: Vec<Row<Rail>>,
    pub slots: Vec<Row<SlotRow>>,
    pub storerooms: Vec<Row<Storeroom>>,
    pub bins: Vec<Row<BinRow>>,
    pub units: Vec<Row<UnitRow>>,
    pub lots: Vec<Row<LotRow>>,
    pub loops: Vec<Row<Loop>>,
    pub power_offs: Vec<Row<PowerOffRow>>,
    pub history: Vec<Row<HistoryRow>>,
    pub orders: Vec<Row<OrderRow>>,
    pub reservations: Vec<Row<ReservationRow>>,
    pub planned_changes: Vec<Row<PopulationPlanned>>,
    pub people: Vec<Row<Person>>,
    pub procedure: Option<Row<Procedure>>,
}

impl Site {
    /// How many rows there are in all.
    pub fn rows(&self) -> u64 {
        let counts = [
            1,
            self.key_schemes.len(),
            self.models.len(),
            self.areas.len(),
            self.cabinets.len(),
            self.rails.len(),
            self.slots.len(),
            self.storerooms.len(),
            self.bins.len(),
            self.units.len(),
            self.lots.len(),
            self.loops.len(),
            self.power_offs.len(),
            self.history.len(),
            self.orders.len(),
            self.reservations.len(),
            self.planned_changes.len(),
            self.people.len(),
            usize::from(self.procedure.is_some()),
        ];
        counts.iter().sum::<usize>() as u64
    }
}

/// One row of a file and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Row<T> {
    /// Name of the file, e.g. `units.csv`.
    pub file: &'static str,
    /// Line in the file, counted from 1.
    pub line: u32,
    /// What names the row within its file, e.g. an address.
    pub key: String,
    /// First 8 bytes of SHA-256 over the row, blanks and number formats evened out.
    pub digest: u64,
    pub value: T,
}

#[derive(Debug, Clone, PartialEq)]
pub struct CabinetRow {
    pub address: CabinetAddress,
    pub area: String,
    pub title: String,
    pub width_mm: f64,
    pub height_mm: f64,
    pub temperature_c: Option<f64>,
    pub temperatures_c: Option<[f64; 12]>,
    pub temperature_spread_k: Option<f64>,
    pub depth_mm: Option<f64>,
    pub stand: Option<Stand>,
    pub room_c: Option<f64>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct SlotRow {
    pub address: SlotAddress,
    pub title: String,
    pub x_mm: f64,
    pub width_mm: f64,
    pub base: BaseKind,
    pub key: Option<KeySetting>,
    pub model_wanted: Option<PartNo>,
    pub min_revision: Option<String>,
    pub min_firmware: Option<String>,
    pub redundant_partner: Option<SlotAddress>,
    pub bus_position: BusPosition,
    pub bus_address: Option<u32>,
    pub hot_swap: bool,
    pub criticality: Criticality,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BinRow {
    pub path: BinPath,
    pub title: String,
}

#[derive(Debug, Clone, PartialEq)]
pub struct UnitRow {
    pub serial: String,
    pub model: PartNo,
    pub revision: Option<String>,
    pub firmware: Option<String>,
    pub place: UnitPlace,
    /// Day on which it came to that place.
    pub installed_on: Option<NaiveDate>,
    pub received_on: Option<NaiveDate>,
    pub condition: Condition,
    pub battery: Option<BatteryRow>,
}

/// The battery that sits in a unit; it has no lot label yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BatteryRow {
    pub model: PartNo,
    pub made_on: Option<NaiveDate>,
    pub fitted_on: NaiveDate,
}

/// The pieces of one lot in one bin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotRow {
    pub code: String,
    pub model: PartNo,
    pub bin: BinPath,
    pub quantity: u32,
    pub made_on: Option<NaiveDate>,
    pub shelf_until: Option<NaiveDate>,
    pub quarantined: bool,
}

/// A stretch without power, recorded or planned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PowerOffRow {
    pub off: PowerOff,
    pub planned: bool,
}

/// An order that is still to come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderRow {
    pub number: String,
    pub model: PartNo,
    pub storeroom: String,
    pub quantity: u32,
    pub placed_on: NaiveDate,
    pub due_on: Option<NaiveDate>,
    pub price_cents: Option<i64>,
    pub reason: String,
}

/// Stock that is kept for something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReservationRow {
    pub model: PartNo,
    pub storeroom: String,
    pub serial: Option<String>,
    pub pieces: u32,
    pub purpose: Purpose,
    pub until: Option<NaiveDate>,
}

/// Something that happened before the register began.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HistoryRow {
    pub on: NaiveDate,
    pub what: PastKind,
    /// Index into [`Site::units`] of the unit that it happened to.
    pub unit: Option<usize>,
    pub model: Option<PartNo>,
    pub slot: Option<SlotAddress>,
    /// Code of a lot of `model` in [`Site::lots`].
    pub lot: Option<String>,
    pub quantity: Option<u32>,
    pub failure: Option<FailureNote>,
    pub found: Option<CellFound>,
    pub found_mv: Option<u32>,
    pub fitted_on: Option<NaiveDate>,
    pub note: String,
}
