//! Which row each record of the register is written as.

use super::{RowFault, Stored};
use slotkeep_domain::journal::Source;
use slotkeep_domain::register::{Change, Imported, Table};
use uuid::Uuid;

/// Writes a record as the JSON text of its table; none for a record that is gone.
pub fn write_record(change: &Change) -> Result<Option<String>, RowFault> {
    fn json<T: Stored>(record: &T) -> Result<Option<String>, RowFault> {
        serde_json::to_string(&record.to_row())
            .map(Some)
            .map_err(|why| RowFault::new("record", why))
    }
    match change {
        Change::Site(record) => json(record),
        Change::KeyScheme(record) => json(record),
        Change::Area(record) => json(record),
        Change::Cabinet(record) => json(record),
        Change::Rail(record) => json(record),
        Change::Slot(record) => json(record),
        Change::Model(record) => json(record),
        Change::Storeroom(record) => json(record),
        Change::Bin(record) => json(record),
        Change::Unit(record) => json(record),
        Change::Lot(record) => json(record),
        Change::Loop(record) => json(record),
        Change::Swap(record) => json(record),
        Change::Order(record) => json(record),
        Change::Person(record) => json(record),
        Change::Device(record) => json(record),
        Change::PowerOff(_, record) => json(record),
        Change::PlannedOff(record) => json(record),
        Change::Temperature(record) => json(record),
        Change::AgreedPlan(record) => json(record),
        Change::Failure(record) => json(record),
        Change::Stay(record) => json(record),
        Change::Issue(record) => json(record),
        Change::SpareChoice(record) => json(record),
        Change::PopulationChange(record) => json(record),
        Change::Reservation(record) => json(record),
        Change::Procedure(record) => json(record),
        Change::Audit(record) => json(record),
        // The key says the rest, and there are many of these.
        Change::Imported(imported) => Ok(Some(imported.source.digest.to_string())),
        Change::Gone(..) => Ok(None),
    }
}

/// Reads a record back from the JSON text of its table.
pub fn read_record(table: Table, key: &str, text: &str) -> Result<Change, RowFault> {
    fn json<T: Stored>(text: &str) -> Result<T, RowFault> {
        let row = serde_json::from_str(text).map_err(|why| RowFault::new("record", why))?;
        T::from_row(row)
    }
    Ok(match table {
        Table::Site => Change::Site(json(text)?),
        Table::KeyScheme => Change::KeyScheme(json(text)?),
        Table::Area => Change::Area(json(text)?),
        Table::Cabinet => Change::Cabinet(json(text)?),
        Table::Rail => Change::Rail(json(text)?),
        Table::Slot => Change::Slot(json(text)?),
        Table::Model => Change::Model(json(text)?),
        Table::Storeroom => Change::Storeroom(json(text)?),
        Table::Bin => Change::Bin(json(text)?),
        Table::Unit => Change::Unit(json(text)?),
        Table::Lot => Change::Lot(json(text)?),
        Table::Loop => Change::Loop(json(text)?),
        Table::Swap => Change::Swap(json(text)?),
        Table::Order => Change::Order(json(text)?),
        Table::Person => Change::Person(json(text)?),
        Table::Device => Change::Device(json(text)?),
        Table::PowerOff => Change::PowerOff(
            Uuid::parse_str(key).map_err(|why| RowFault::new("entry id", why))?,
            json(text)?,
        ),
        Table::PlannedOff => Change::PlannedOff(json(text)?),
        Table::Temperature => Change::Temperature(json(text)?),
        Table::AgreedPlan => Change::AgreedPlan(json(text)?),
        Table::Failure => Change::Failure(json(text)?),
        Table::Stay => Change::Stay(json(text)?),
        Table::Issue => Change::Issue(json(text)?),
        Table::SpareChoice => Change::SpareChoice(json(text)?),
        Table::PopulationChange => Change::PopulationChange(json(text)?),
        Table::Reservation => Change::Reservation(json(text)?),
        Table::Procedure => Change::Procedure(json(text)?),
        Table::Audit => Change::Audit(json(text)?),
        Table::Imported => Change::Imported(imported(key, text)?),
    })
}

fn imported(key: &str, digest: &str) -> Result<Imported, RowFault> {
    let fault = || RowFault::new("record", format!("{key:?} {digest:?}"));
    let (file, row) = Imported::split(key).ok_or_else(fault)?;
    let digest = digest.parse().map_err(|_| fault())?;
    Ok(Imported { source: Source { file: file.to_owned(), key: row.to_owned(), digest } })
}
