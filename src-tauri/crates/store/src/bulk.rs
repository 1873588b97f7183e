use crate::writer::Sealed;
use crate::{StoreFault, Writer, tables};
use rusqlite::{CachedStatement, Connection, params};
use slotkeep_domain::register::Table;
use std::sync::mpsc::Receiver;

/// Rows to be written, in the order in which they come.
pub(crate) enum Piece {
    /// The next entries, sealed.
    Entries(Vec<Sealed>),
    /// Names, each with the numbers of its entries; rising.
    Names(Vec<(String, Vec<i64>)>),
    /// The records that follow are of this table, so many in all.
    Table(Table, usize),
    /// Keys and records, rising; a record that is gone is taken out.
    Records(Vec<(String, Option<String>)>),
}

/// Writes pieces until there are no more; `progress` hears how many entries are written.
pub(crate) fn write_pieces(
    writer: &mut Writer<'_>,
    pieces: Receiver<Piece>,
    progress: &mut dyn FnMut(u64),
) -> Result<(), StoreFault> {
    let conn = writer.conn();
    let mut done = 0;
    let mut name = conn.prepare_cached("INSERT INTO subject (name, seq) VALUES (?1, ?2)")?;
    let mut filling: Option<Filling<'_>> = None;
    for piece in pieces {
        match piece {
            Piece::Entries(sealed) => {
                for one in &sealed {
                    writer.append(one)?;
                }
                done += sealed.len() as u64;
                progress(done);
            }
            Piece::Names(names) => {
                for (text, seqs) in &names {
                    for seq in seqs {
                        name.execute(params![text, seq])?;
                    }
                }
            }
            Piece::Table(table, count) => {
                if let Some(full) = filling.take() {
                    full.finish()?;
                }
                filling = Some(Filling::begin(conn, table, count)?);
            }
            Piece::Records(records) => {
                if let Some(filling) = &mut filling {
                    filling.put(&records)?;
                }
            }
        }
    }
    filling.map_or(Ok(()), Filling::finish)
}

/// A table that is being filled.
///
/// Sorting a whole index once is faster than finding the place of each new row in it, so the
/// indexes of a table that more than doubles are made anew at the end.
struct Filling<'c> {
    conn: &'c Connection,
    put: CachedStatement<'c>,
    remove: CachedStatement<'c>,
    /// The commands that make its indexes.
    indexes: Vec<String>,
}

impl<'c> Filling<'c> {
    fn begin(conn: &'c Connection, table: Table, count: usize) -> Result<Self, StoreFault> {
        let table = tables::name(table);
        let before: i64 =
            conn.query_row(&format!("SELECT count(*) FROM {table}"), [], |row| row.get(0))?;
        let mut indexes = Vec::new();
        if count as i64 > before {
            let mut made = conn.prepare(
                "SELECT name, sql FROM sqlite_schema \
                 WHERE type = 'index' AND tbl_name = ?1 AND sql IS NOT NULL",
            )?;
            let made = made.query_map([table], |row| Ok((row.get(0)?, row.get(1)?)))?;
            for (name, sql) in made.collect::<Result<Vec<(String, String)>, _>>()? {
                conn.execute(&format!("DROP INDEX {name}"), [])?;
                indexes.push(sql);
            }
        }
        let put = format!(
            "INSERT INTO {table} (key, record) VALUES (?1, ?2) \
             ON CONFLICT (key) DO UPDATE SET record = excluded.record"
        );
        let remove = format!("DELETE FROM {table} WHERE key = ?1");
        Ok(Self {
            conn,
            put: conn.prepare_cached(&put)?,
            remove: conn.prepare_cached(&remove)?,
            indexes,
        })
    }

    fn put(&mut self, records: &[(String, Option<String>)]) -> Result<(), StoreFault> {
        for (key, record) in records {
            match record {
                Some(record) => self.put.execute(params![key, record])?,
                None => self.remove.execute([key])?,
            };
        }
        Ok(())
    }

    fn finish(self) -> Result<(), StoreFault> {
        for sql in &self.indexes {
            self.conn.execute(sql, [])?;
        }
        Ok(())
    }
}
