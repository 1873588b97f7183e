use super::{EntryFilter, Kept, Reader};
use crate::{StoreFault, tables};
use chrono::NaiveDate;
use rusqlite::OptionalExtension;
use slotkeep_domain::journal::{PowerScope, Removable};
use slotkeep_domain::label::{LabelCode, LabelKind};
use slotkeep_domain::loops::Loop;
use slotkeep_domain::model::PartNo;
use slotkeep_domain::place::{SlotAddress, Storeroom};
use slotkeep_domain::register::{Change, KnownOff, Reservation, Table, View};
use slotkeep_domain::swap::Swap;
use uuid::Uuid;

impl Reader<'_> {
    /// Keeps a fault for [`Reader::fault`], since rules know nothing of databases.
    fn keep<T>(&self, answer: Result<T, StoreFault>) -> Option<T> {
        answer.map_err(|fault| self.fault.borrow_mut().get_or_insert(fault).to_string()).ok()
    }

    fn one_text(&self, sql: &str, values: &[&str]) -> Option<String> {
        let ask = || -> Result<Option<String>, StoreFault> {
            let mut statement = self.conn.prepare_cached(sql)?;
            let params = rusqlite::params_from_iter(values);
            Ok(statement.query_row(params, |row| row.get(0)).optional()?)
        };
        self.keep(ask()).flatten()
    }

    fn one_label(&self, sql: &str, values: &[&str]) -> Option<LabelCode> {
        LabelCode::parse(&self.one_text(sql, values)?).ok()
    }
}

impl View for Reader<'_> {
    fn look(&self, table: Table, key: &str) -> Option<Change> {
        self.keep(self.record(table, key)).flatten()
    }

    fn reservations_on(&self, model: &PartNo) -> Vec<Reservation> {
        self.keep(self.open_reservations_of(model)).unwrap_or_default()
    }

    fn usable_in(&self, model: &PartNo, storeroom: &str, day: NaiveDate) -> u32 {
        let lots = self.keep(self.lots_of(model)).unwrap_or_default();
        let pieces: u32 = lots.iter().map(|lot| lot.usable_in(storeroom, day)).sum();
        let units = self.keep(self.spares_of(model)).unwrap_or_default();
        pieces + units.iter().filter(|unit| unit.lies_good_in(storeroom)).count() as u32
    }

    fn every_storeroom(&self) -> Vec<Storeroom> {
        self.keep(self.storerooms()).unwrap_or_default()
    }

    fn offs_of(&self, scope: &PowerScope) -> Vec<KnownOff> {
        self.keep(self.offs_at(scope)).unwrap_or_default()
    }

    fn unit_in(&self, slot: &SlotAddress) -> Option<LabelCode> {
        self.one_label("SELECT key FROM unit WHERE place = ?1", &[slot.as_str()])
    }

    fn unit_with(&self, model: &PartNo, serial: &str) -> Option<LabelCode> {
        let sql = "SELECT key FROM unit WHERE serial = ?1 AND model = ?2";
        self.one_label(sql, &[serial, model.as_str()])
    }

    fn open_swap(&self, slot: &SlotAddress) -> Option<Uuid> {
        let sql = "SELECT key FROM swap WHERE slot = ?1 AND state = 'open'";
        Uuid::parse_str(&self.one_text(sql, &[slot.as_str()])?).ok()
    }

    fn loops_of(&self, slot: &SlotAddress) -> Vec<Loop> {
        self.keep(self.loops_at(slot)).unwrap_or_default()
    }

    fn occupied(&self, place: &Removable) -> Option<String> {
        let inside = |table: Table, condition: &str, value: String| {
            let name = tables::name(table);
            let sql = format!("SELECT CAST(count(*) AS TEXT) FROM {name} WHERE {condition}");
            let count = self.one_text(&sql, &[&value])?;
            (count != "0").then(|| format!("{count} {name}s"))
        };
        let below = "key > ?1 || '.' AND key < ?1 || '/'";
        match place {
            Removable::Cabinet(address) => inside(Table::Rail, below, address.to_string()),
            Removable::Rail(address) => inside(Table::Slot, below, address.to_string()),
            Removable::Slot(address) => inside(Table::Unit, "place = ?1", address.to_string())
                .or_else(|| inside(Table::Loop, "slot = ?1", address.to_string())),
            Removable::Bin(path) => {
                let holds = "EXISTS (SELECT 1 FROM json_each(record, '$.pieces') WHERE key = ?1)";
                inside(Table::Unit, "place = ?1", path.to_string())
                    .or_else(|| inside(Table::Lot, holds, path.to_string()))
            }
            Removable::Loop(_) => None,
        }
    }

    fn labelled(&self, label: &LabelCode) -> Option<String> {
        match label.kind() {
            LabelKind::Unit => {
                self.unit(label).map(|unit| format!("unit {} {}", unit.model, unit.serial))
            }
            LabelKind::Lot => self.lot(label).map(|lot| format!("lot {} {}", lot.model, lot.code)),
            LabelKind::Slot => self.slot_labelled(label).map(|key| format!("slot {key}")),
            LabelKind::Bin => self.bin_labelled(label).map(|key| format!("bin {key}")),
            LabelKind::Cabinet => self.cabinet_labelled(label).map(|key| format!("cabinet {key}")),
        }
    }
}

impl Reader<'_> {
    /// Swaps that are under way; a fault is kept for [`Reader::fault`].
    pub fn swaps_under_way(&self) -> Vec<Swap> {
        self.keep(self.open_swaps()).unwrap_or_default()
    }

    /// Entries that a filter selects, newest first; a fault is kept for [`Reader::fault`].
    pub fn entries_seen(&self, filter: &EntryFilter) -> Vec<Kept> {
        self.keep(self.entries(filter)).unwrap_or_default()
    }

    /// Address of the slot that carries a label.
    pub fn slot_labelled(&self, label: &LabelCode) -> Option<String> {
        self.one_text("SELECT key FROM slot WHERE label = ?1", &[label.as_str()])
    }

    /// Path of the bin that carries a label.
    pub fn bin_labelled(&self, label: &LabelCode) -> Option<String> {
        self.one_text("SELECT key FROM bin WHERE label = ?1", &[label.as_str()])
    }

    /// Address of the cabinet that carries a label.
    pub fn cabinet_labelled(&self, label: &LabelCode) -> Option<String> {
        self.one_text("SELECT key FROM cabinet WHERE label = ?1", &[label.as_str()])
    }
}
