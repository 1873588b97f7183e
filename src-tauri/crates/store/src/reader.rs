use crate::rows::{decode, read_record};
use crate::{StoreFault, tables};
use chrono::{DateTime, Utc};
use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension, Row, params, params_from_iter};
use slotkeep_domain::journal::{Entry, Source};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::register::{Change, Ledger, Table};
use std::cell::RefCell;
use uuid::Uuid;

mod lists;
mod search;
mod view;

pub use search::Match;

/// Asks questions of one state of the store.
pub struct Reader<'c> {
    pub(crate) conn: &'c Connection,
    /// The first fault met while a rule looked at the register through [`View`].
    fault: RefCell<Option<StoreFault>>,
}

/// An entry as kept in the journal.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    pub seq: i64,
    pub entry: Entry,
    pub hash: [u8; 32],
}

/// Which entries to list, newest first.
#[derive(Debug, Clone, Default)]
pub struct EntryFilter {
    /// Only entries found under this name: a label, address, tag or part number.
    pub subject: Option<String>,
    /// Only entries of this kind, e.g. `unit-moved`.
    pub kind: Option<String>,
    /// Only entries before this one.
    pub before_seq: Option<i64>,
    pub limit: u32,
}

/// A record that no longer fitted when it arrived.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetAside {
    pub id: Uuid,
    pub received_at: DateTime<Utc>,
    pub person: String,
    pub device: String,
    pub command: String,
    /// What was sent, as JSON.
    pub input: String,
    pub refusal: String,
    pub settled: Option<String>,
}

impl<'c> Reader<'c> {
    pub(crate) fn new(conn: &'c Connection) -> Self {
        Self { conn, fault: RefCell::new(None) }
    }

    /// Fails with the first fault that a rule's look at the register met.
    pub fn fault(&self) -> Result<(), StoreFault> {
        self.fault.take().map_or(Ok(()), Err)
    }

    /// One record by its key.
    pub fn record(&self, table: Table, key: &str) -> Result<Option<Change>, StoreFault> {
        let sql = format!("SELECT record FROM {} WHERE key = ?1", tables::name(table));
        let mut statement = self.conn.prepare_cached(&sql)?;
        let mut rows = statement.query([key])?;
        match rows.next()? {
            Some(row) => Ok(Some(read_record(table, key, text(row, 0)?)?)),
            None => Ok(None),
        }
    }

    /// Records of a table that a condition selects, in the order of their keys.
    fn records(
        &self,
        table: Table,
        rest: &str,
        values: &[&str],
    ) -> Result<Vec<Change>, StoreFault> {
        let sql = format!("SELECT key, record FROM {} {rest}", tables::name(table));
        let mut statement = self.conn.prepare_cached(&sql)?;
        let mut rows = statement.query(params_from_iter(values))?;
        let mut records = Vec::new();
        while let Some(row) = rows.next()? {
            records.push(read_record(table, text(row, 0)?, text(row, 1)?)?);
        }
        Ok(records)
    }

    /// How many records a table holds.
    pub fn count(&self, table: Table) -> Result<u64, StoreFault> {
        let sql = format!("SELECT count(*) FROM {}", tables::name(table));
        let count: i64 = self.conn.prepare_cached(&sql)?.query_row([], |row| row.get(0))?;
        Ok(count.unsigned_abs())
    }

    /// Every label of the register.
    pub fn labels(&self) -> Result<Vec<LabelCode>, StoreFault> {
        let mut statement = self.conn.prepare_cached(
            "SELECT key FROM unit UNION ALL SELECT key FROM lot UNION ALL SELECT label FROM slot \
             UNION ALL SELECT label FROM bin UNION ALL SELECT label FROM cabinet",
        )?;
        let mut rows = statement.query([])?;
        let mut labels = Vec::new();
        while let Some(row) = rows.next()? {
            labels.extend(LabelCode::parse(text(row, 0)?).ok());
        }
        Ok(labels)
    }

    /// Whether a thing with a label came to the register, or left it, after an entry.
    pub fn labels_changed_after(&self, seq: i64) -> Result<bool, StoreFault> {
        let mut changed = self.conn.prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM entry WHERE seq > ?1 AND kind IN ('unit-registered', \
             'lot-received', 'slot-set', 'bin-set', 'cabinet-set', 'place-removed'))",
        )?;
        Ok(changed.query_row([seq], |row| row.get(0))?)
    }

    /// The whole register in memory.
    pub fn ledger(&self) -> Result<Ledger, StoreFault> {
        let mut ledger = Ledger::default();
        for table in Table::ALL {
            for record in self.records(table, "", &[])? {
                ledger.take(record);
            }
        }
        Ok(ledger)
    }

    /// Number of the newest entry, 0 for an empty journal, and its hash.
    pub fn head(&self) -> Result<(i64, [u8; 32]), StoreFault> {
        let newest = self
            .conn
            .prepare_cached("SELECT seq, hash FROM entry ORDER BY seq DESC LIMIT 1")?
            .query_row([], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?;
        Ok(newest.unwrap_or((0, crate::chain::BEGINNING)))
    }

    /// Entries that a filter selects, newest first.
    pub fn entries(&self, filter: &EntryFilter) -> Result<Vec<Kept>, StoreFault> {
        let mut conditions = vec!["entry.seq < ?1".to_owned()];
        let mut values = vec![Value::from(filter.before_seq.unwrap_or(i64::MAX))];
        let mut from = "entry";
        if let Some(subject) = &filter.subject {
            from = "subject JOIN entry ON entry.seq = subject.seq";
            values.push(Value::from(subject.clone()));
            conditions[0] = "subject.seq < ?1".to_owned();
            conditions.push(format!("subject.name = ?{}", values.len()));
        }
        if let Some(kind) = &filter.kind {
            values.push(Value::from(kind.clone()));
            conditions.push(format!("entry.kind = ?{}", values.len()));
        }
        let order = if filter.subject.is_some() { "subject.seq" } else { "entry.seq" };
        values.push(Value::from(i64::from(filter.limit)));
        let sql = format!(
            "SELECT {ENTRY_COLUMNS} FROM {from} WHERE {} ORDER BY {order} DESC LIMIT ?{}",
            conditions.join(" AND "),
            values.len()
        );
        let mut statement = self.conn.prepare_cached(&sql)?;
        let mut rows = statement.query(params_from_iter(values))?;
        let mut entries = Vec::new();
        while let Some(row) = rows.next()? {
            entries.push(kept(row)?);
        }
        Ok(entries)
    }

    /// One entry by its id.
    pub fn entry(&self, id: &Uuid) -> Result<Option<Kept>, StoreFault> {
        let sql = format!("SELECT {ENTRY_COLUMNS} FROM entry WHERE id = ?1");
        let mut statement = self.conn.prepare_cached(&sql)?;
        let mut rows = statement.query([id.as_bytes()])?;
        rows.next()?.map(kept).transpose()
    }

    /// Records that were set aside; with `settled` those too that a person has dealt with.
    pub fn set_aside(&self, settled: bool) -> Result<Vec<SetAside>, StoreFault> {
        let mut statement = self.conn.prepare_cached(
            "SELECT id, received_ms, person, device, command, input, refusal, settled \
             FROM set_aside WHERE ?1 OR settled IS NULL ORDER BY received_ms",
        )?;
        let rows = statement.query_map(params![settled], |row| {
            Ok(SetAside {
                id: Uuid::from_bytes(row.get(0)?),
                received_at: moment(row.get(1)?),
                person: row.get(2)?,
                device: row.get(3)?,
                command: row.get(4)?,
                input: row.get(5)?,
                refusal: row.get(6)?,
                settled: row.get(7)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

/// The columns that [`kept`] reads, in its order.
pub(crate) const ENTRY_COLUMNS: &str = "entry.seq, entry.id, at_ms, person, device, corrects, \
     source_file, source_key, source_digest, kind, body, hash";

/// Reads an entry from a row of [`ENTRY_COLUMNS`].
pub(crate) fn kept(row: &Row<'_>) -> Result<Kept, StoreFault> {
    let corrects: Option<[u8; 16]> = row.get(5)?;
    let file: Option<String> = row.get(6)?;
    let source = match file {
        Some(file) => {
            Some(Source { file, key: row.get(7)?, digest: row.get::<_, i64>(8)?.cast_unsigned() })
        }
        None => None,
    };
    let body = decode(text(row, 9)?, text(row, 10)?)?;
    Ok(Kept {
        seq: row.get(0)?,
        entry: Entry {
            id: Uuid::from_bytes(row.get(1)?),
            at: moment(row.get(2)?),
            person: row.get(3)?,
            device: row.get(4)?,
            corrects: corrects.map(Uuid::from_bytes),
            source,
            body,
        },
        hash: row.get(11)?,
    })
}

/// The text of a column, without a copy.
pub(crate) fn text<'r>(row: &'r Row<'_>, column: usize) -> Result<&'r str, StoreFault> {
    let value = row.get_ref(column)?;
    value.as_str().map_err(|why| crate::rows::RowFault::new("text", why).into())
}

fn moment(ms: i64) -> DateTime<Utc> {
    DateTime::from_timestamp_millis(ms).unwrap_or_default()
}
