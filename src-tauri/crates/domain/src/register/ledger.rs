use super::{Change, Imported, KnownOff, Reservation, Table, View};
use crate::journal::{PowerScope, Removable, Source};
use crate::label::{LabelCode, LabelKind};
use crate::loops::Loop;
use crate::model::PartNo;
use crate::place::{Bin, Cabinet, Slot, SlotAddress, Storeroom};
use chrono::NaiveDate;
use foldhash::HashMap;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// The register held in memory.
#[derive(Debug, Clone, Default)]
pub struct Ledger {
    /// Boxed, so that a table that grows moves little.
    records: [HashMap<String, Box<Change>>; Table::ALL.len()],
    /// Digests of the rows that were taken in, by file and key: by far the most records.
    imported: HashMap<String, HashMap<String, u64>>,
    standing: HashMap<SlotAddress, LabelCode>,
    /// Units by serial number and lots by code, within their models.
    serials: HashMap<PartNo, HashMap<String, LabelCode>>,
    lots: HashMap<PartNo, HashMap<String, LabelCode>>,
    wired: HashMap<SlotAddress, BTreeSet<(u32, String)>>,
    swaps: HashMap<SlotAddress, Uuid>,
    /// Power-offs, recorded and planned, by what lies without power.
    offs: HashMap<PowerScope, BTreeSet<(Table, String)>>,
    /// Reservations that are not ended, by model.
    kept: HashMap<PartNo, BTreeSet<String>>,
    /// Places that carry a label; units and lots are found by theirs anyway.
    labels: HashMap<LabelCode, String>,
    /// How many rails lie in a cabinet, slots on a rail, and units or lots in a bin.
    within: HashMap<String, BTreeMap<Table, u32>>,
}

impl Ledger {
    /// Takes in what an entry changed.
    pub fn take(&mut self, change: Change) {
        if let Change::Imported(Imported { source }) = change {
            match self.imported.get_mut(&source.file) {
                Some(rows) => rows.insert(source.key, source.digest),
                None => {
                    self.imported.entry(source.file).or_default().insert(source.key, source.digest)
                }
            };
            return;
        }
        let (table, key) = (change.table(), change.key());
        if let Some(before) = self.records[table as usize].remove(&key) {
            self.unlink(&before);
        }
        if !matches!(change, Change::Gone(..)) {
            self.link(&change);
            self.records[table as usize].insert(key, Box::new(change));
        }
    }

    /// Every record of a table but [`Table::Imported`], in no order.
    pub fn records(&self, table: Table) -> impl Iterator<Item = &Change> {
        self.records[table as usize].values().map(|record| &**record)
    }

    pub fn count(&self, table: Table) -> usize {
        match table {
            Table::Imported => self.imported.values().map(|rows| rows.len()).sum(),
            _ => self.records[table as usize].len(),
        }
    }

    /// The record with a key.
    pub fn record(&self, table: Table, key: &str) -> Option<Cow<'_, Change>> {
        if table != Table::Imported {
            return self.borrowed(table, key).map(Cow::Borrowed);
        }
        let (file, row) = Imported::split(key)?;
        let digest = self.imported(file, row)?;
        let source = Source { file: file.to_owned(), key: row.to_owned(), digest };
        Some(Cow::Owned(Change::Imported(Imported { source })))
    }

    fn borrowed(&self, table: Table, key: &str) -> Option<&Change> {
        self.records[table as usize].get(key).map(|record| &**record)
    }

    /// Digest of a row of a site file when it was last taken in.
    pub fn imported(&self, file: &str, row: &str) -> Option<u64> {
        self.imported.get(file)?.get(row).copied()
    }

    /// Rows of a site file that were taken in, with their digests, in no order.
    pub fn imported_from(&self, file: &str) -> impl Iterator<Item = (&str, u64)> {
        let rows = self.imported.get(file).into_iter().flatten();
        rows.map(|(row, digest)| (row.as_str(), *digest))
    }

    /// The lot of a model with its maker's code.
    pub fn lot_with(&self, model: &PartNo, code: &str) -> Option<LabelCode> {
        self.lots.get(model)?.get(code).copied()
    }

    fn link(&mut self, change: &Change) {
        for holder in holders(change) {
            *self.within.entry(holder).or_default().entry(change.table()).or_default() += 1;
        }
        match change {
            Change::Unit(unit) => {
                let serials = self.serials.entry(unit.model.clone()).or_default();
                serials.insert(unit.serial.clone(), unit.label);
                if let Some(slot) = unit.place.slot() {
                    self.standing.insert(slot.clone(), unit.label);
                }
            }
            Change::Lot(lot) => {
                let codes = self.lots.entry(lot.model.clone()).or_default();
                codes.insert(lot.code.clone(), lot.label);
            }
            Change::Loop(wired) => {
                let of_slot = self.wired.entry(wired.slot.clone()).or_default();
                of_slot.insert((wired.channel, wired.tag.clone()));
            }
            Change::Reservation(kept) if kept.is_open() => {
                self.kept.entry(kept.model.clone()).or_default().insert(change.key());
            }
            Change::PowerOff(_, off) => self.link_off(&off.scope, change),
            Change::PlannedOff(planned) => self.link_off(&planned.off.scope, change),
            Change::Swap(swap) if swap.is_open() => {
                self.swaps.insert(swap.slot.clone(), swap.id);
            }
            Change::Cabinet(Cabinet { label, .. })
            | Change::Slot(Slot { label, .. })
            | Change::Bin(Bin { label, .. }) => {
                self.labels.insert(*label, change.key());
            }
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
                if let Some(serials) = self.serials.get_mut(&unit.model) {
                    serials.remove(&unit.serial);
                }
                if let Some(slot) = unit.place.slot()
                    && self.standing.get(slot) == Some(&unit.label)
                {
                    self.standing.remove(slot);
                }
            }
            Change::Lot(lot) => {
                if let Some(codes) = self.lots.get_mut(&lot.model) {
                    codes.remove(&lot.code);
                }
            }
            Change::Loop(wired) => {
                if let Some(of_slot) = self.wired.get_mut(&wired.slot) {
                    of_slot.remove(&(wired.channel, wired.tag.clone()));
                }
            }
            Change::Reservation(kept) => {
                if let Some(of_model) = self.kept.get_mut(&kept.model) {
                    of_model.remove(&change.key());
                }
            }
            Change::PowerOff(_, off) => self.unlink_off(&off.scope, change),
            Change::PlannedOff(planned) => self.unlink_off(&planned.off.scope, change),
            Change::Swap(swap) if self.swaps.get(&swap.slot) == Some(&swap.id) => {
                self.swaps.remove(&swap.slot);
            }
            Change::Cabinet(Cabinet { label, .. })
            | Change::Slot(Slot { label, .. })
            | Change::Bin(Bin { label, .. }) => {
                self.labels.remove(label);
            }
            _ => {}
        }
    }
}

/// The places that a record lies in, for telling whether they are free. What a slot holds is
/// told by the units and loops themselves.
fn holders(change: &Change) -> Vec<String> {
    match change {
        Change::Rail(rail) => vec![rail.address.cabinet().to_string()],
        Change::Slot(slot) => vec![slot.address.rail().to_string()],
        Change::Unit(unit) => unit.place.bin().iter().map(ToString::to_string).collect(),
        Change::Lot(lot) => lot.pieces.keys().map(ToString::to_string).collect(),
        _ => Vec::new(),
    }
}

impl Ledger {
    fn link_off(&mut self, scope: &PowerScope, change: &Change) {
        self.offs.entry(scope.clone()).or_default().insert((change.table(), change.key()));
    }

    fn unlink_off(&mut self, scope: &PowerScope, change: &Change) {
        if let Some(offs) = self.offs.get_mut(scope) {
            offs.remove(&(change.table(), change.key()));
        }
    }

    /// What a slot holds, in words.
    fn held_by(&self, slot: &SlotAddress) -> Option<String> {
        let loops = self.wired.get(slot).map_or(0, BTreeSet::len);
        match (self.standing.contains_key(slot), loops) {
            (true, _) => Some(format!("1 {}", occupants(Table::Unit))),
            (false, 0) => None,
            (false, loops) => Some(format!("{loops} {}", occupants(Table::Loop))),
        }
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
        self.record(table, key).map(Cow::into_owned)
    }

    fn knows(&self, table: Table, key: &str) -> bool {
        self.borrowed(table, key).is_some()
    }

    fn reservations_on(&self, model: &PartNo) -> Vec<Reservation> {
        let keys = self.kept.get(model).into_iter().flatten();
        let records = keys.filter_map(|key| self.borrowed(Table::Reservation, key));
        records
            .filter_map(|record| match record {
                Change::Reservation(kept) => Some(kept.clone()),
                _ => None,
            })
            .collect()
    }

    fn usable_in(&self, model: &PartNo, storeroom: &str, day: NaiveDate) -> u32 {
        let lots = self.lots.get(model).into_iter().flat_map(|lots| lots.values());
        let pieces = lots.map(|label| match self.borrowed(Table::Lot, label.as_str()) {
            Some(Change::Lot(lot)) => lot.usable_in(storeroom, day),
            _ => 0,
        });
        let units = self.serials.get(model).into_iter().flat_map(|units| units.values());
        let good = units.filter(|label| match self.borrowed(Table::Unit, label.as_str()) {
            Some(Change::Unit(unit)) => unit.lies_good_in(storeroom),
            _ => false,
        });
        pieces.sum::<u32>() + good.count() as u32
    }

    fn every_storeroom(&self) -> Vec<Storeroom> {
        let records = self.records(Table::Storeroom);
        records
            .filter_map(|record| match record {
                Change::Storeroom(storeroom) => Some(storeroom.clone()),
                _ => None,
            })
            .collect()
    }

    fn offs_of(&self, scope: &PowerScope) -> Vec<KnownOff> {
        let keys = self.offs.get(scope).into_iter().flatten();
        let records = keys.filter_map(|(table, key)| self.borrowed(*table, key));
        records.filter_map(|record| KnownOff::of(record, scope)).collect()
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
            Removable::Slot(address) => return self.held_by(address),
            Removable::Bin(path) => path.as_str(),
            Removable::Loop(_) => return None,
        };
        let counts = self.within.get(name)?;
        let (table, count) = counts.iter().find(|(_, count)| **count > 0)?;
        Some(format!("{count} {}", occupants(*table)))
    }

    fn labelled(&self, label: &LabelCode) -> Option<String> {
        let key = self.labels.get(label);
        match label.kind() {
            LabelKind::Unit => match self.borrowed(Table::Unit, label.as_str())? {
                Change::Unit(unit) => Some(format!("unit {} {}", unit.model, unit.serial)),
                _ => None,
            },
            LabelKind::Lot => match self.borrowed(Table::Lot, label.as_str())? {
                Change::Lot(lot) => Some(format!("lot {} {}", lot.model, lot.code)),
                _ => None,
            },
            LabelKind::Slot => key.map(|key| format!("slot {key}")),
            LabelKind::Bin => key.map(|key| format!("bin {key}")),
            LabelKind::Cabinet => key.map(|key| format!("cabinet {key}")),
        }
    }

    fn is_labelled(&self, label: &LabelCode) -> bool {
        match label.kind() {
            LabelKind::Unit => self.knows(Table::Unit, label.as_str()),
            LabelKind::Lot => self.knows(Table::Lot, label.as_str()),
            _ => self.labels.contains_key(label),
        }
    }
}
