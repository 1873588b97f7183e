use super::Reader;
use crate::{StoreFault, tables};
use rusqlite::OptionalExtension;
use slotkeep_domain::journal::Removable;
use slotkeep_domain::key::KeyScheme;
use slotkeep_domain::label::{LabelCode, LabelKind};
use slotkeep_domain::loops::Loop;
use slotkeep_domain::model::{Model, PartNo};
use slotkeep_domain::people::{Device, Person};
use slotkeep_domain::place::{
    Area, Bin, BinPath, Cabinet, CabinetAddress, Rail, RailAddress, Site, Slot, SlotAddress,
    Storeroom,
};
use slotkeep_domain::register::{Change, Table, View};
use slotkeep_domain::stock::{Lot, Order};
use slotkeep_domain::swap::Swap;
use slotkeep_domain::unit::Unit;
use uuid::Uuid;

macro_rules! record {
    ($self:ident, $kind:ident, $key:expr) => {
        match $self.keep($self.record(Table::$kind, $key)).flatten() {
            Some(Change::$kind(record)) => Some(record),
            _ => None,
        }
    };
}

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
