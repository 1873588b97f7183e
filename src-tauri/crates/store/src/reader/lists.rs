use super::Reader;
use crate::StoreFault;
use crate::rows::Stored;
use slotkeep_domain::journal::{PowerOff, PowerScope};
use slotkeep_domain::key::KeyScheme;
use slotkeep_domain::loops::Loop;
use slotkeep_domain::model::{Model, PartNo};
use slotkeep_domain::people::{Device, Person};
use slotkeep_domain::place::{
    Area, Bin, BinPath, Cabinet, CabinetAddress, Rail, Slot, SlotAddress, Storeroom,
    TemperatureReading,
};
use slotkeep_domain::register::{
    Change, Failure, Imported, Issue, KnownOff, PlannedOff, PopulationChange, Reservation,
    SpareChoice, Stay, Table,
};
use slotkeep_domain::stock::{Lot, Order};
use slotkeep_domain::swap::Swap;
use slotkeep_domain::unit::Unit;
use std::collections::BTreeMap;
use uuid::Uuid;

macro_rules! list {
    ($self:ident, $kind:ident, $rest:expr, $values:expr) => {
        $self.records(Table::$kind, $rest, $values).map(|records| {
            let typed = records.into_iter().filter_map(|change| match change {
                Change::$kind(record) => Some(record),
                _ => None,
            });
            typed.collect::<Vec<_>>()
        })
    };
}

/// Records whose key lies below an address, e.g. the rails of `+K12`.
const BELOW: &str = "WHERE key > ?1 || '.' AND key < ?1 || '/' ORDER BY key";

impl Reader<'_> {
    pub fn areas(&self) -> Result<Vec<Area>, StoreFault> {
        list!(self, Area, "", &[])
    }

    pub fn key_schemes(&self) -> Result<Vec<KeyScheme>, StoreFault> {
        list!(self, KeyScheme, "", &[])
    }

    pub fn cabinets(&self) -> Result<Vec<Cabinet>, StoreFault> {
        list!(self, Cabinet, "", &[])
    }

    pub fn rails_of(&self, cabinet: &CabinetAddress) -> Result<Vec<Rail>, StoreFault> {
        list!(self, Rail, BELOW, &[cabinet.as_str()])
    }

    pub fn rails(&self) -> Result<Vec<Rail>, StoreFault> {
        list!(self, Rail, "", &[])
    }

    /// Slots of a cabinet, by address.
    pub fn slots_of(&self, cabinet: &CabinetAddress) -> Result<Vec<Slot>, StoreFault> {
        list!(self, Slot, BELOW, &[cabinet.as_str()])
    }

    pub fn slots(&self) -> Result<Vec<Slot>, StoreFault> {
        list!(self, Slot, "", &[])
    }

    /// Slots engineered for a model.
    pub fn slots_wanting(&self, model: &PartNo) -> Result<Vec<Slot>, StoreFault> {
        list!(self, Slot, "WHERE model_wanted = ?1 ORDER BY key", &[model.as_str()])
    }

    /// Units that stand in a cabinet, by slot.
    pub fn units_in_cabinet(&self, cabinet: &CabinetAddress) -> Result<Vec<Unit>, StoreFault> {
        let rest = "WHERE place > ?1 || '.' AND place < ?1 || '/' ORDER BY place";
        list!(self, Unit, rest, &[cabinet.as_str()])
    }

    /// Units at exactly one place: a slot, a bin, `bench`, `repair`, `scrapped` or `lost`.
    pub fn units_at(&self, place: &str) -> Result<Vec<Unit>, StoreFault> {
        list!(self, Unit, "WHERE place = ?1 ORDER BY key", &[place])
    }

    /// Units that lie in the bins of a storeroom.
    pub fn units_in_storeroom(&self, code: &str) -> Result<Vec<Unit>, StoreFault> {
        let rest = "WHERE place > ?1 || '/' AND place < ?1 || '0' ORDER BY place, key";
        list!(self, Unit, rest, &[code])
    }

    pub fn units_of(&self, model: &PartNo) -> Result<Vec<Unit>, StoreFault> {
        list!(self, Unit, "WHERE model = ?1 ORDER BY key", &[model.as_str()])
    }

    /// Units of a model that stand in no slot.
    pub fn spares_of(&self, model: &PartNo) -> Result<Vec<Unit>, StoreFault> {
        // Slot addresses begin with a plus; every other place sorts behind them.
        list!(
            self,
            Unit,
            "WHERE model = ?1 AND place >= ',' ORDER BY place, key",
            &[model.as_str()]
        )
    }

    pub fn units_with_serial(&self, serial: &str) -> Result<Vec<Unit>, StoreFault> {
        list!(self, Unit, "WHERE serial = ?1 ORDER BY key", &[serial])
    }

    /// Units whose condition is not good, wherever they are.
    pub fn units_not_good(&self) -> Result<Vec<Unit>, StoreFault> {
        list!(self, Unit, "WHERE condition <> 'good' ORDER BY place", &[])
    }

    pub fn units(&self) -> Result<Vec<Unit>, StoreFault> {
        list!(self, Unit, "", &[])
    }

    pub fn models(&self) -> Result<Vec<Model>, StoreFault> {
        let boxed = list!(self, Model, "", &[])?;
        Ok(boxed.into_iter().map(|model| *model).collect())
    }

    pub fn storerooms(&self) -> Result<Vec<Storeroom>, StoreFault> {
        list!(self, Storeroom, "", &[])
    }

    pub fn bins(&self) -> Result<Vec<Bin>, StoreFault> {
        list!(self, Bin, "", &[])
    }

    pub fn lots(&self) -> Result<Vec<Lot>, StoreFault> {
        list!(self, Lot, "", &[])
    }

    pub fn lots_of(&self, model: &PartNo) -> Result<Vec<Lot>, StoreFault> {
        list!(self, Lot, "WHERE model = ?1 ORDER BY key", &[model.as_str()])
    }

    pub fn lots_with_code(&self, code: &str) -> Result<Vec<Lot>, StoreFault> {
        list!(self, Lot, "WHERE code = ?1 ORDER BY key", &[code])
    }

    /// Lots that have pieces in a bin.
    pub fn lots_in(&self, bin: &BinPath) -> Result<Vec<Lot>, StoreFault> {
        let rest = "WHERE EXISTS (SELECT 1 FROM json_each(record, '$.pieces') AS p \
                    WHERE p.key = ?1) ORDER BY lot.key";
        list!(self, Lot, rest, &[bin.as_str()])
    }

    pub(super) fn loops_at(&self, slot: &SlotAddress) -> Result<Vec<Loop>, StoreFault> {
        list!(self, Loop, "WHERE slot = ?1 ORDER BY channel, key", &[slot.as_str()])
    }

    pub fn loops(&self) -> Result<Vec<Loop>, StoreFault> {
        list!(self, Loop, "", &[])
    }

    /// Swaps that are under way, by slot.
    pub fn open_swaps(&self) -> Result<Vec<Swap>, StoreFault> {
        list!(self, Swap, "WHERE state = 'open' ORDER BY slot", &[])
    }

    /// The newest swaps that were finished, at most `limit`, newest first.
    pub fn finished_swaps(&self, limit: u32) -> Result<Vec<Swap>, StoreFault> {
        let rest = format!("WHERE state = 'finished' ORDER BY key DESC LIMIT {limit}");
        list!(self, Swap, &rest, &[])
    }

    pub fn orders(&self) -> Result<Vec<Order>, StoreFault> {
        list!(self, Order, "", &[])
    }

    pub fn orders_of(&self, model: &PartNo) -> Result<Vec<Order>, StoreFault> {
        list!(self, Order, "WHERE model = ?1 ORDER BY key", &[model.as_str()])
    }

    pub fn people(&self) -> Result<Vec<Person>, StoreFault> {
        list!(self, Person, "", &[])
    }

    pub fn devices(&self) -> Result<Vec<Device>, StoreFault> {
        list!(self, Device, "", &[])
    }

    /// The device that shows a pass with this SHA-256, in hexadecimal.
    pub fn device_with_pass(&self, digest: &str) -> Result<Option<Device>, StoreFault> {
        let found = list!(self, Device, "WHERE pass_digest = ?1", &[digest])?;
        Ok(found.into_iter().next())
    }

    pub fn power_offs(&self) -> Result<Vec<(Uuid, PowerOff)>, StoreFault> {
        let records = self.records(Table::PowerOff, "", &[])?;
        Ok(records
            .into_iter()
            .filter_map(|change| match change {
                Change::PowerOff(id, off) => Some((id, off)),
                _ => None,
            })
            .collect())
    }

    /// Planned power-offs, those that are settled among them.
    pub fn planned_offs(&self) -> Result<Vec<PlannedOff>, StoreFault> {
        list!(self, PlannedOff, "", &[])
    }

    pub(super) fn offs_at(&self, scope: &PowerScope) -> Result<Vec<KnownOff>, StoreFault> {
        let stored = scope.to_row();
        let mut offs = Vec::new();
        for table in [Table::PowerOff, Table::PlannedOff] {
            let records = self.records(table, "WHERE scope = ?1 ORDER BY key", &[&stored])?;
            offs.extend(records.iter().filter_map(|record| KnownOff::of(record, scope)));
        }
        Ok(offs)
    }

    /// Temperatures that were read in cabinets, in the order in which they were recorded.
    pub fn temperatures(&self) -> Result<Vec<TemperatureReading>, StoreFault> {
        list!(self, Temperature, "", &[])
    }

    /// Temperatures that were read in one cabinet.
    pub fn temperatures_of(
        &self,
        cabinet: &CabinetAddress,
    ) -> Result<Vec<TemperatureReading>, StoreFault> {
        list!(self, Temperature, "WHERE cabinet = ?1 ORDER BY key", &[cabinet.as_str()])
    }

    pub fn failures_of(&self, model: &PartNo) -> Result<Vec<Failure>, StoreFault> {
        list!(self, Failure, "WHERE model = ?1 ORDER BY key", &[model.as_str()])
    }

    pub fn failures(&self) -> Result<Vec<Failure>, StoreFault> {
        list!(self, Failure, "", &[])
    }

    /// Stays in slots that ended.
    pub fn stays(&self) -> Result<Vec<Stay>, StoreFault> {
        list!(self, Stay, "", &[])
    }

    pub fn stays_of(&self, model: &PartNo) -> Result<Vec<Stay>, StoreFault> {
        list!(self, Stay, "WHERE model = ?1 ORDER BY key", &[model.as_str()])
    }

    /// Counted pieces that were handed out.
    pub fn issues(&self) -> Result<Vec<Issue>, StoreFault> {
        list!(self, Issue, "", &[])
    }

    pub fn issues_of(&self, model: &PartNo) -> Result<Vec<Issue>, StoreFault> {
        list!(self, Issue, "WHERE model = ?1 ORDER BY key", &[model.as_str()])
    }

    pub fn spare_choices(&self) -> Result<Vec<SpareChoice>, StoreFault> {
        list!(self, SpareChoice, "", &[])
    }

    /// Planned changes of the plant, those that are settled among them.
    pub fn population_changes(&self) -> Result<Vec<PopulationChange>, StoreFault> {
        list!(self, PopulationChange, "", &[])
    }

    /// Reservations, those that are ended among them.
    pub fn reservations(&self) -> Result<Vec<Reservation>, StoreFault> {
        list!(self, Reservation, "", &[])
    }

    pub fn open_reservations(&self) -> Result<Vec<Reservation>, StoreFault> {
        list!(self, Reservation, "WHERE ended IS NULL ORDER BY key", &[])
    }

    pub(super) fn open_reservations_of(
        &self,
        model: &PartNo,
    ) -> Result<Vec<Reservation>, StoreFault> {
        let rest = "WHERE model = ?1 AND ended IS NULL ORDER BY key";
        list!(self, Reservation, rest, &[model.as_str()])
    }

    /// Rows of site files as they were last taken in.
    pub fn imported(&self) -> Result<Vec<Imported>, StoreFault> {
        list!(self, Imported, "", &[])
    }

    /// How many units of each model stand in slots.
    pub fn standing_by_model(&self) -> Result<BTreeMap<String, u32>, StoreFault> {
        let sql = "SELECT model, count(*) FROM unit WHERE place > '+' AND place < ',' \
                   GROUP BY model";
        let mut statement = self.conn.prepare_cached(sql)?;
        let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}
