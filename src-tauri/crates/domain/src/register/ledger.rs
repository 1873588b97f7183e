use super::{Change, Table, View};
use crate::journal::Removable;
use crate::label::LabelCode;
use crate::loops::Loop;
use crate::model::PartNo;
use crate::place::{Bin, Cabinet, Slot, SlotAddress};
use crate::stock::Lot;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use uuid::Uuid;

/// The register held in memory.
#[derive(Debug, Clone, Default)]
pub struct Ledger {
    records: HashMap<Table, HashMap<String, Change>>,
    standing: HashMap<SlotAddress, LabelCode>,
    serials: HashMap<PartNo, HashMap<String, LabelCode>>,
    wired: HashMap<SlotAddress, BTreeSet<(u32, String)>>,
    swaps: HashMap<SlotAddress, Uuid>,
    labels: HashMap<LabelCode, String>,
    /// How many places lie within a cabinet, rail or storeroom, and units or lots within a bin.
    within: HashMap<String, BTreeMap<Table, u32>>,
}

impl Ledger {
    /// Takes in what an entry changed.
    pub fn take(&mut self, change: Change) {
        let (table, key) = (change.table(), change.key());
        let slot = self.records.entry(table).or_default();
        if let Some(before) = slot.remove(&key) {
            self.unlink(&before);
        }
        if !matches!(change, Change::Gone(..)) {
            self.link(&change);
            self.records.entry(table).or_default().insert(key, change);
        }
    }

    /// Every record of a table, in no order.
    pub fn records(&self, table: Table) -> impl Iterator<Item = &Change> {
        self.records.get(&table).into_iter().flat_map(HashMap::values)
    }

    pub fn count(&self, table: Table) -> usize {
        self.records.get(&table).map_or(0, HashMap::len)
    }

    /// The record with a key.
    pub fn record(&self, table: Table, key: &str) -> Option<&Change> {
        self.records.get(&table)?.get(key)
    }

    fn link(&mut self, change: &Change) {
        for holder in holders(change) {
            *self.within.entry(holder).or_default().entry(change.table()).or_default() += 1;
        }
        match change {
            Change::Unit(unit) => {
                self.label(unit.label, format!("unit {} {}", unit.model, unit.serial));
                let serials = self.serials.entry(unit.model.clone()).or_default();
                serials.insert(unit.serial.clone(), unit.label);
                if let Some(slot) = unit.place.slot() {
                    self.standing.insert(slot.clone(), unit.label);
                }
            }
            Change::Loop(wired) => {
                let of_slot = self.wired.entry(wired.slot.clone()).or_default();
                of_slot.insert((wired.channel, wired.tag.clone()));
            }
            Change::Swap(swap) if swap.is_open() => {
                self.swaps.insert(swap.slot.clone(), swap.id);
            }
            Change::Cabinet(cabinet) => {
                self.label(cabinet.label, format!("cabinet {}", cabinet.address));
            }
            Change::Slot(slot) => self.label(slot.label, format!("slot {}", slot.address)),
            Change::Bin(bin) => self.label(bin.label, format!("bin {}", bin.path)),
            Change::Lot(lot) => self.label(lot.label, format!("lot {} {}", lot.model, lot.code)),
            _ => {}
        }
    }

    fn unlink(&mut self, change: &Change) {
        for holder in holders(change) {
            if let Some(counts) = self.within.get_mut(&holder)
                && let Some(count) = counts.get_mut(&change.table())
            {
                *count = count.saturating_sub(1);
            }
        }
        match change {
            Change::Unit(unit) => {
                self.labels.remove(&unit.label);
                if let Some(serials) = self.serials.get_mut(&unit.model) {
                    serials.remove(&unit.serial);
                }
                if let Some(slot) = unit.place.slot()
                    && self.standing.get(slot) == Some(&unit.label)
                {
                    self.standing.remove(slot);
                }
            }
            Change::Loop(wired) => {
                if let Some(of_slot) = self.wired.get_mut(&wired.slot) {
                    of_slot.remove(&(wired.channel, wired.tag.clone()));
                }
            }
            Change::Swap(swap) if self.swaps.get(&swap.slot) == Some(&swap.id) => {
                self.swaps.remove(&swap.slot);
            }
            Change::Cabinet(Cabinet { label, .. })
            | Change::Slot(Slot { label, .. })
            | Change::Bin(Bin { label, .. })
            | Change::Lot(Lot { label, .. }) => {
                self.labels.remove(label);
            }
            _ => {}
        }
    }

    fn label(&mut self, label: LabelCode, what: String) {
        self.labels.insert(label, what);
    }
}

/// The places that a record lies in, for telling whether they are free.
fn holders(change: &Change) -> Vec<String> {
    match change {
        Change::Rail(rail) => vec![rail.address.cabinet().to_string()],
        Change::Slot(slot) => vec![slot.address.rail().to_string()],
        Change::Unit(unit) => match (unit.place.slot(), unit.place.bin()) {
            (Some(slot), _) => vec![slot.to_string()],
            (_, Some(bin)) => vec![bin.to_string()],
            _ => Vec::new(),
        },
        Change::Loop(wired) => vec![wired.slot.to_string()],
        Change::Lot(lot) => lot.pieces.keys().map(ToString::to_string).collect(),
        _ => Vec::new(),
    }
}

/// The word for what keeps a place from being removed.
pub(super) fn occupants(table: Table) -> &'static str {
    match table {
        Table::Rail => "rails",
        Table::Slot => "slots",
        Table::Unit => "units",
        Table::Loop => "loops",
        Table::Lot => "lots",
        _ => "records",
    }
}

impl View for Ledger {
    fn look(&self, table: Table, key: &str) -> Option<Change> {
        self.record(table, key).cloned()
    }

    fn knows(&self, table: Table, key: &str) -> bool {
        self.record(table, key).is_some()
    }

    fn unit_in(&self, slot: &SlotAddress) -> Option<LabelCode> {
        self.standing.get(slot).copied()
    }

    fn unit_with(&self, model: &PartNo, serial: &str) -> Option<LabelCode> {
        self.serials.get(model)?.get(serial).copied()
    }

    fn open_swap(&self, slot: &SlotAddress) -> Option<Uuid> {
        self.swaps.get(slot).copied()
    }

    fn loops_of(&self, slot: &SlotAddress) -> Vec<Loop> {
        let tags = self.wired.get(slot).into_iter().flatten();
        tags.filter_map(|(_, tag)| self.wired(tag)).collect()
    }

    fn occupied(&self, place: &Removable) -> Option<String> {
        let name = match place {
            Removable::Cabinet(address) => address.as_str(),
            Removable::Rail(address) => address.as_str(),
            Removable::Slot(address) => address.as_str(),
            Removable::Bin(path) => path.as_str(),
            Removable::Loop(_) => return None,
        };
        let counts = self.within.get(name)?;
        let (table, count) = counts.iter().find(|(_, count)| **count > 0)?;
        Some(format!("{count} {}", occupants(*table)))
    }

    fn labelled(&self, label: &LabelCode) -> Option<String> {
        self.labels.get(label).cloned()
    }
}
