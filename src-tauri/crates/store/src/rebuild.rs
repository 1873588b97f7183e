use crate::reader::{ENTRY_COLUMNS, kept};
use crate::rows::write_record;
use crate::{StoreFault, tables};
use rusqlite::{Connection, params};
use slotkeep_domain::journal::apply;
use slotkeep_domain::register::{Ledger, Table};

/// Writes every derived table anew from the journal, and notes which photos it names.
///
/// An entry that no longer fits changes nothing here; `verify` names it.
pub(crate) fn rebuild(conn: &Connection) -> Result<(), StoreFault> {
    let mut ledger = Ledger::default();
    let mut statement =
        conn.prepare(&format!("SELECT {ENTRY_COLUMNS} FROM entry ORDER BY entry.seq"))?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let entry = kept(row)?.entry;
        crate::photos::name(conn, &entry.body)?;
        let changes = apply(&ledger, &entry).unwrap_or_default();
        changes.into_iter().for_each(|change| ledger.take(change));
    }
    // What rows said when they were taken in is no record of the ledger, and cannot change form.
    for table in Table::ALL.into_iter().filter(|table| *table != Table::Imported) {
        let name = tables::name(table);
        conn.execute(&format!("DELETE FROM {name}"), [])?;
        let mut put = conn.prepare(&format!("INSERT INTO {name} (key, record) VALUES (?1, ?2)"))?;
        for change in ledger.records(table) {
            put.execute(params![change.key(), write_record(change)?])?;
        }
    }
    Ok(())
}
