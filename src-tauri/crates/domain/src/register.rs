//! The register: what the journal adds up to.
//!
//! [`View`] is how rules look at it, [`Change`] how an entry alters it, and [`Ledger`] is the
//! register held in memory, used to rebuild and to import.

mod change;
mod ledger;
mod spares;

pub use change::{
    AgreedPlan, CellEvidence, Change, Failure, Imported, KnownOff, PlannedOff, Settled, Table,
};
pub use ledger::Ledger;
pub use spares::{
    Issue, PopulationChange, PopulationEnd, Reservation, ReservationEnd, SpareChoice, Stay, StayEnd,
};

use crate::audit::Audit;
use crate::journal::PowerScope;
use crate::key::KeyScheme;
use crate::label::LabelCode;
use crate::loops::Loop;
use crate::model::{Model, PartNo};
use crate::people::{Device, Person};
use crate::place::{
    Area, Bin, BinPath, Cabinet, CabinetAddress, Rail, RailAddress, Site, Slot, SlotAddress,
    Storeroom,
};
use crate::stock::{Lot, Order};
use crate::swap::Swap;
use crate::swap::procedure::Procedure;
use crate::unit::Unit;
use chrono::NaiveDate;
use uuid::Uuid;

macro_rules! record {
    ($view:ident, $kind:ident, $key:expr) => {
        match $view.look(Table::$kind, $key) {
            Some(Change::$kind(record)) => Some(record),
            _ => None,
        }
    };
}

/// The present state, as rules may look at it.
///
/// Answers are owned: one implementation reads a database. That implementation keeps its own
/// faults and reports them after the rule has run.
pub trait View {
    /// The record of a table with a key.
    fn look(&self, table: Table, key: &str) -> Option<Change>;

    /// Whether a table has a record with a key.
    fn knows(&self, table: Table, key: &str) -> bool {
        self.look(table, key).is_some()
    }

    fn site(&self) -> Option<Site> {
        record!(self, Site, "site")
    }

    fn key_scheme(&self, name: &str) -> Option<KeyScheme> {
        record!(self, KeyScheme, name)
    }

    fn area(&self, code: &str) -> Option<Area> {
        record!(self, Area, code)
    }

    fn cabinet(&self, address: &CabinetAddress) -> Option<Cabinet> {
        record!(self, Cabinet, address.as_str())
    }

    fn rail(&self, address: &RailAddress) -> Option<Rail> {
        record!(self, Rail, address.as_str())
    }

    fn slot(&self, address: &SlotAddress) -> Option<Slot> {
        record!(self, Slot, address.as_str())
    }

    fn model(&self, part_no: &PartNo) -> Option<Model> {
        record!(self, Model, part_no.as_str()).map(|model| *model)
    }

    fn storeroom(&self, code: &str) -> Option<Storeroom> {
        record!(self, Storeroom, code)
    }

    fn bin(&self, path: &BinPath) -> Option<Bin> {
        record!(self, Bin, path.as_str())
    }

    fn unit(&self, label: &LabelCode) -> Option<Unit> {
        record!(self, Unit, label.as_str())
    }

    fn lot(&self, label: &LabelCode) -> Option<Lot> {
        record!(self, Lot, label.as_str())
    }

    fn wired(&self, tag: &str) -> Option<Loop> {
        record!(self, Loop, tag)
    }

    fn swap(&self, id: &Uuid) -> Option<Swap> {
        record!(self, Swap, &id.to_string())
    }

    fn order(&self, id: &Uuid) -> Option<Order> {
        record!(self, Order, &id.to_string())
    }

    fn person(&self, name: &str) -> Option<Person> {
        record!(self, Person, name)
    }

    fn device(&self, id: &Uuid) -> Option<Device> {
        record!(self, Device, &id.to_string())
    }

    fn planned_off(&self, id: &Uuid) -> Option<PlannedOff> {
        record!(self, PlannedOff, &id.to_string())
    }

    fn failure(&self, id: &Uuid) -> Option<Failure> {
        record!(self, Failure, &id.to_string())
    }

    fn stay(&self, id: &Uuid) -> Option<Stay> {
        record!(self, Stay, &id.to_string())
    }

    fn reservation(&self, id: &Uuid) -> Option<Reservation> {
        record!(self, Reservation, &id.to_string())
    }

    fn population_change(&self, id: &Uuid) -> Option<PopulationChange> {
        record!(self, PopulationChange, &id.to_string())
    }

    /// What was chosen for a model in exactly this storeroom, or for all.
    fn spare_choice(&self, model: &PartNo, storeroom: Option<&str>) -> Option<SpareChoice> {
        record!(self, SpareChoice, &SpareChoice::key_of(model, storeroom))
    }

    /// The visits that were agreed last.
    fn agreed_plan(&self) -> Option<AgreedPlan> {
        record!(self, AgreedPlan, "visits")
    }

    /// The newest audit of a rail.
    fn audit(&self, rail: &RailAddress) -> Option<Audit> {
        record!(self, Audit, rail.as_str())
    }

    /// The templates that the site set for swaps.
    fn procedure(&self) -> Option<Procedure> {
        record!(self, Procedure, "swap")
    }

    /// Reservations of a model that are not ended, in the order in which they were made.
    fn reservations_on(&self, model: &PartNo) -> Vec<Reservation>;
    /// Pieces and good units of a model in a storeroom that may be handed out on a day.
    fn usable_in(&self, model: &PartNo, storeroom: &str, day: NaiveDate) -> u32;
    /// Every storeroom, in no order.
    fn every_storeroom(&self) -> Vec<Storeroom>;
    /// Recorded and planned power-offs of exactly one scope, the settled plans left out.
    fn offs_of(&self, scope: &PowerScope) -> Vec<KnownOff>;
    /// The unit that stands in a slot.
    fn unit_in(&self, slot: &SlotAddress) -> Option<LabelCode>;
    /// The unit of a model with a serial number.
    fn unit_with(&self, model: &PartNo, serial: &str) -> Option<LabelCode>;
    /// The swap that is under way in a slot.
    fn open_swap(&self, slot: &SlotAddress) -> Option<Uuid>;
    /// Loops wired to a slot, by channel.
    fn loops_of(&self, slot: &SlotAddress) -> Vec<Loop>;
    /// What keeps a place from being removed, in words; none when it is free.
    fn occupied(&self, place: &crate::journal::Removable) -> Option<String>;
    /// What already carries a label, in words.
    fn labelled(&self, label: &LabelCode) -> Option<String>;

    /// Whether anything carries a label.
    fn is_labelled(&self, label: &LabelCode) -> bool {
        self.labelled(label).is_some()
    }
}
