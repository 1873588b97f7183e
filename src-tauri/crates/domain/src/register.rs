//! The register: what the journal adds up to.
//!
//! [`View`] is how rules look at it, [`Change`] how an entry alters it, and [`Ledger`] is the
//! register held in memory, used to rebuild and to import.

mod change;
mod ledger;

pub use change::{Change, Failure, Imported, Table};
pub use ledger::Ledger;

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
use crate::unit::Unit;
use uuid::Uuid;

/// The present state, as rules may look at it.
///
/// Answers are owned: one implementation reads a database. That implementation keeps its own
/// faults and reports them after the rule has run.
pub trait View {
    fn site(&self) -> Option<Site>;
    fn key_scheme(&self, name: &str) -> Option<KeyScheme>;
    fn area(&self, code: &str) -> Option<Area>;
    fn cabinet(&self, address: &CabinetAddress) -> Option<Cabinet>;
    fn rail(&self, address: &RailAddress) -> Option<Rail>;
    fn slot(&self, address: &SlotAddress) -> Option<Slot>;
    fn model(&self, part_no: &PartNo) -> Option<Model>;
    fn storeroom(&self, code: &str) -> Option<Storeroom>;
    fn bin(&self, path: &BinPath) -> Option<Bin>;
    fn unit(&self, label: &LabelCode) -> Option<Unit>;
    fn lot(&self, label: &LabelCode) -> Option<Lot>;
    fn wired(&self, tag: &str) -> Option<Loop>;
    fn swap(&self, id: &Uuid) -> Option<Swap>;
    fn order(&self, id: &Uuid) -> Option<Order>;
    fn person(&self, name: &str) -> Option<Person>;
    fn device(&self, id: &Uuid) -> Option<Device>;

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
    /// What already carries a label.
    fn labelled(&self, label: &LabelCode) -> Option<String>;
}
