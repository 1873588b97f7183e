use super::spares::{Issue, PopulationChange, Reservation, SpareChoice, Stay};
use crate::audit::Audit;
use crate::journal::{AgreedVisit, CellFound, PastKind, PowerOff, PowerScope, Source};
use crate::key::KeyScheme;
use crate::label::LabelCode;
use crate::loops::Loop;
use crate::model::{Model, PartNo};
use crate::people::{Device, Person};
use crate::place::{
    Area, Bin, Cabinet, Rail, Site, Slot, SlotAddress, Storeroom, TemperatureReading,
};
use crate::stock::{Lot, Order};
use crate::swap::Swap;
use crate::swap::procedure::Procedure;
use crate::unit::Unit;
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// One record of the register written anew, or taken out.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    Site(Site),
    KeyScheme(KeyScheme),
    Area(Area),
    Cabinet(Cabinet),
    Rail(Rail),
    Slot(Slot),
    /// In a box: it is far larger than the others, and there are few.
    Model(Box<Model>),
    Storeroom(Storeroom),
    Bin(Bin),
    Unit(Unit),
    Lot(Lot),
    Loop(Loop),
    Swap(Swap),
    Order(Order),
    Person(Person),
    Device(Device),
    PowerOff(Uuid, PowerOff),
    PlannedOff(PlannedOff),
    Temperature(TemperatureReading),
    AgreedPlan(AgreedPlan),
    Failure(Failure),
    Stay(Stay),
    Issue(Issue),
    SpareChoice(SpareChoice),
    PopulationChange(PopulationChange),
    Reservation(Reservation),
    Procedure(Procedure),
    Audit(Audit),
    Imported(Imported),
    /// The record with this key leaves this table.
    Gone(Table, String),
}

/// The tables of the register, one for each kind of record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Table {
    Site,
    KeyScheme,
    Area,
    Cabinet,
    Rail,
    Slot,
    Model,
    Storeroom,
    Bin,
    Unit,
    Lot,
    Loop,
    Swap,
    Order,
    Person,
    Device,
    PowerOff,
    PlannedOff,
    Temperature,
    AgreedPlan,
    Failure,
    Stay,
    Issue,
    SpareChoice,
    PopulationChange,
    Reservation,
    Procedure,
    Audit,
    Imported,
}

/// Evidence for failure rates and cell lives: one event of one model.
#[derive(Debug, Clone, PartialEq)]
pub struct Failure {
    /// The entry that says so.
    pub id: Uuid,
    pub what: PastKind,
    pub at: DateTime<Utc>,
    pub model: PartNo,
    pub unit: Option<LabelCode>,
    pub slot: Option<SlotAddress>,
    pub mode: Option<String>,
    /// What it says about the cell, where it is about one.
    pub cell: Option<CellEvidence>,
}

/// How a cell was found after some time in service.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CellEvidence {
    /// Model of the battery.
    pub battery: PartNo,
    pub fitted_on: Option<NaiveDate>,
    pub found: CellFound,
    /// Voltage, mV, where it was measured.
    pub mv: Option<u32>,
}

/// A power-off that is or was to come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlannedOff {
    /// The entry that planned it.
    pub id: Uuid,
    pub off: PowerOff,
    /// None while it is still to come, or waits for somebody to say what became of it.
    pub settled: Option<Settled>,
}

/// What became of a planned power-off.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Settled {
    /// It is booked as a power-off under the id of this entry.
    Happened(Uuid),
    /// The reason.
    CalledOff(String),
}

/// The visits that were agreed last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AgreedPlan {
    /// The entry that agreed them.
    pub id: Uuid,
    pub agreed_at: DateTime<Utc>,
    pub agreed_by: String,
    pub visits: Vec<AgreedVisit>,
    /// Last day that the plan looks at.
    pub horizon_until: NaiveDate,
}

/// A stretch without power of one scope, recorded or still planned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownOff {
    pub id: Uuid,
    pub planned: bool,
    pub off: PowerOff,
}

impl KnownOff {
    /// What a record says of a scope; none for other records and for plans that are settled.
    pub fn of(change: &Change, scope: &PowerScope) -> Option<Self> {
        let (id, planned, off) = match change {
            Change::PowerOff(id, off) => (*id, false, off),
            Change::PlannedOff(plan) if plan.settled.is_none() => (plan.id, true, &plan.off),
            _ => return None,
        };
        (off.scope == *scope).then(|| Self { id, planned, off: off.clone() })
    }
}

/// The last state in which a row of a site file was taken in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Imported {
    pub source: Source,
}

impl Imported {
    pub fn key(&self) -> String {
        format!("{}\u{1f}{}", self.source.file, self.source.key)
    }

    /// File and row that a key is made of.
    pub fn split(key: &str) -> Option<(&str, &str)> {
        key.split_once('\u{1f}')
    }
}

impl Table {
    pub const ALL: [Self; 29] = [
        Self::Site,
        Self::KeyScheme,
        Self::Area,
        Self::Cabinet,
        Self::Rail,
        Self::Slot,
        Self::Model,
        Self::Storeroom,
        Self::Bin,
        Self::Unit,
        Self::Lot,
        Self::Loop,
        Self::Swap,
        Self::Order,
        Self::Person,
        Self::Device,
        Self::PowerOff,
        Self::PlannedOff,
        Self::Temperature,
        Self::AgreedPlan,
        Self::Failure,
        Self::Stay,
        Self::Issue,
        Self::SpareChoice,
        Self::PopulationChange,
        Self::Reservation,
        Self::Procedure,
        Self::Audit,
        Self::Imported,
    ];
}

impl Change {
    pub fn table(&self) -> Table {
        match self {
            Self::Site(_) => Table::Site,
            Self::KeyScheme(_) => Table::KeyScheme,
            Self::Area(_) => Table::Area,
            Self::Cabinet(_) => Table::Cabinet,
            Self::Rail(_) => Table::Rail,
            Self::Slot(_) => Table::Slot,
            Self::Model(_) => Table::Model,
            Self::Storeroom(_) => Table::Storeroom,
            Self::Bin(_) => Table::Bin,
            Self::Unit(_) => Table::Unit,
            Self::Lot(_) => Table::Lot,
            Self::Loop(_) => Table::Loop,
            Self::Swap(_) => Table::Swap,
            Self::Order(_) => Table::Order,
            Self::Person(_) => Table::Person,
            Self::Device(_) => Table::Device,
            Self::PowerOff(..) => Table::PowerOff,
            Self::PlannedOff(_) => Table::PlannedOff,
            Self::Temperature(_) => Table::Temperature,
            Self::AgreedPlan(_) => Table::AgreedPlan,
            Self::Failure(_) => Table::Failure,
            Self::Stay(_) => Table::Stay,
            Self::Issue(_) => Table::Issue,
            Self::SpareChoice(_) => Table::SpareChoice,
            Self::PopulationChange(_) => Table::PopulationChange,
            Self::Reservation(_) => Table::Reservation,
            Self::Procedure(_) => Table::Procedure,
            Self::Audit(_) => Table::Audit,
            Self::Imported(_) => Table::Imported,
            Self::Gone(table, _) => *table,
        }
    }

    /// What names the record within its table.
    pub fn key(&self) -> String {
        match self {
            Self::Site(_) => "site".to_owned(),
            Self::KeyScheme(scheme) => scheme.name.clone(),
            Self::Area(area) => area.code.clone(),
            Self::Cabinet(cabinet) => cabinet.address.to_string(),
            Self::Rail(rail) => rail.address.to_string(),
            Self::Slot(slot) => slot.address.to_string(),
            Self::Model(model) => model.part_no.to_string(),
            Self::Storeroom(storeroom) => storeroom.code.clone(),
            Self::Bin(bin) => bin.path.to_string(),
            Self::Unit(unit) => unit.label.to_string(),
            Self::Lot(lot) => lot.label.to_string(),
            Self::Loop(wired) => wired.tag.clone(),
            Self::Swap(swap) => swap.id.to_string(),
            Self::Order(order) => order.id.to_string(),
            Self::Person(person) => person.name.clone(),
            Self::Device(device) => device.id.to_string(),
            Self::PowerOff(id, _) => id.to_string(),
            Self::PlannedOff(planned) => planned.id.to_string(),
            Self::Temperature(reading) => reading.id.to_string(),
            Self::AgreedPlan(_) => "visits".to_owned(),
            Self::Failure(failure) => failure.id.to_string(),
            Self::Stay(stay) => stay.id.to_string(),
            Self::Issue(issue) => issue.id.to_string(),
            Self::SpareChoice(choice) => {
                SpareChoice::key_of(&choice.model, choice.storeroom.as_deref())
            }
            Self::PopulationChange(planned) => planned.id.to_string(),
            Self::Reservation(kept) => kept.id.to_string(),
            Self::Procedure(_) => "swap".to_owned(),
            Self::Audit(audit) => audit.rail.to_string(),
            Self::Imported(imported) => imported.key(),
            Self::Gone(_, key) => key.clone(),
        }
    }
}
