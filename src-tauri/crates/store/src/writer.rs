use crate::chain::{BEGINNING, Link};
use crate::rows::{RowFault, encode, write_record};
use crate::{Reader, StoreFault, tables};
use chrono::SubsecRound;
use rusqlite::{Connection, OptionalExtension, params};
use slotkeep_domain::journal::{Entry, Source, apply, subjects};
use slotkeep_domain::register::Table;
use uuid::Uuid;

/// Where an entry stands in the journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recorded {
    pub seq: i64,
    /// The entry was there already and nothing changed.
    pub repeated: bool,
    /// Names under which it is found again.
    pub subjects: Vec<String>,
}

/// Records entries within one transaction.
pub struct Writer<'c> {
    conn: &'c Connection,
    head: (i64, [u8; 32]),
}

impl<'c> Writer<'c> {
    pub(crate) fn new(conn: &'c Connection) -> Result<Self, StoreFault> {
        let last = conn
            .prepare_cached("SELECT seq, hash FROM entry ORDER BY seq DESC LIMIT 1")?
            .query_row([], |row| Ok((row.get(0)?, row.get::<_, [u8; 32]>(1)?)))
            .optional()?;
        Ok(Self { conn, head: last.unwrap_or((0, BEGINNING)) })
    }

    /// The state as it is within this transaction.
    pub fn reader(&self) -> Reader<'c> {
        Reader::new(self.conn)
    }

    /// Validates one entry, appends it and writes what follows from it.
    ///
    /// An entry that is there already changes nothing. Fails when the entry does not fit, or
    /// when its id stands for another entry.
    pub fn record(&mut self, entry: &Entry) -> Result<Recorded, StoreFault> {
        let mut entry = entry.clone();
        to_the_millisecond(&mut entry);
        if let Some(seq) = self.seq_of(&entry.id)? {
            return self.repeat(seq, &entry);
        }
        let reader = self.reader();
        let changes = apply(&reader, &entry);
        let subjects = subjects(&reader, &entry.body);
        reader.fault()?;
        let changes = changes?;
        crate::photos::name(self.conn, &entry.body)?;
        let seq = self.append(&Sealed::new(entry, &self.head.1)?)?;
        for name in &subjects {
            self.name(name, seq)?;
        }
        for change in &changes {
            self.put(change.table(), &change.key(), write_record(change)?)?;
        }
        Ok(Recorded { seq, repeated: false, subjects })
    }

    pub(crate) fn conn(&self) -> &'c Connection {
        self.conn
    }

    /// Number and hash of the newest entry.
    pub(crate) fn head(&self) -> (i64, [u8; 32]) {
        self.head
    }

    fn seq_of(&self, id: &Uuid) -> Result<Option<i64>, StoreFault> {
        let mut statement = self.conn.prepare_cached("SELECT seq FROM entry WHERE id = ?1")?;
        Ok(statement.query_row([id.as_bytes()], |row| row.get(0)).optional()?)
    }

    fn repeat(&self, seq: i64, entry: &Entry) -> Result<Recorded, StoreFault> {
        let (kind, body) = encode(&entry.body)?;
        let same = self
            .conn
            .prepare_cached("SELECT kind = ?2 AND body = ?3 FROM entry WHERE seq = ?1")?
            .query_row(params![seq, kind, body], |row| row.get::<_, bool>(0))?;
        if !same {
            return Err(StoreFault::IdTaken(entry.id));
        }
        Ok(Recorded { seq, repeated: true, subjects: Vec::new() })
    }

    /// Appends an entry that was sealed onto the newest one, and returns its number.
    pub(crate) fn append(&mut self, sealed: &Sealed) -> Result<i64, StoreFault> {
        let seq = self.head.0 + 1;
        let link = sealed.link();
        self.conn
            .prepare_cached(
                "INSERT INTO entry (seq, id, at_ms, person, device, corrects, source_file, \
                 source_key, source_digest, kind, body, hash) \
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
            )?
            .execute(params![
                seq,
                link.id,
                link.at_ms,
                link.person,
                link.device,
                link.corrects,
                link.source.map(|s| s.0),
                link.source.map(|s| s.1),
                link.source.map(|s| s.2),
                link.kind,
                link.body,
                sealed.hash,
            ])?;
        self.head = (seq, sealed.hash);
        Ok(seq)
    }

    /// Notes a name under which an entry is found again.
    fn name(&self, name: &str, seq: i64) -> Result<(), StoreFault> {
        self.conn
            .prepare_cached("INSERT INTO subject (name, seq) VALUES (?1, ?2)")?
            .execute(params![name, seq])?;
        Ok(())
    }

    /// Writes a record, or takes it out where there is none.
    fn put(&self, table: Table, key: &str, record: Option<String>) -> Result<(), StoreFault> {
        let table = tables::name(table);
        match record {
            Some(record) => self
                .conn
                .prepare_cached(&format!(
                    "INSERT INTO {table} (key, record) VALUES (?1, ?2) \
                     ON CONFLICT (key) DO UPDATE SET record = excluded.record"
                ))?
                .execute(params![key, record])?,
            None => self
                .conn
                .prepare_cached(&format!("DELETE FROM {table} WHERE key = ?1"))?
                .execute([key])?,
        };
        Ok(())
    }

    /// Keeps a record that no longer fitted, for a person to settle.
    pub fn set_aside(&self, aside: &crate::SetAside) -> Result<(), StoreFault> {
        self.conn
            .prepare_cached(
                "INSERT INTO set_aside (id, received_ms, person, device, command, input, refusal) \
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7) ON CONFLICT (id) DO NOTHING",
            )?
            .execute(params![
                aside.id.as_bytes(),
                aside.received_at.timestamp_millis(),
                aside.person,
                aside.device,
                aside.command,
                aside.input,
                aside.refusal,
            ])?;
        Ok(())
    }

    /// Marks a record that was set aside as settled, with what was done about it.
    pub fn settle(&self, id: &Uuid, settled: &str) -> Result<bool, StoreFault> {
        let changed = self
            .conn
            .prepare_cached("UPDATE set_aside SET settled = ?2 WHERE id = ?1")?
            .execute(params![id.as_bytes(), settled])?;
        Ok(changed > 0)
    }
}

/// An entry in words, and the hash that binds it to the entry before.
pub(crate) struct Sealed {
    id: Uuid,
    at_ms: i64,
    person: String,
    device: String,
    corrects: Option<Uuid>,
    source: Option<Source>,
    kind: &'static str,
    body: String,
    pub hash: [u8; 32],
}

impl Sealed {
    pub fn new(entry: Entry, before: &[u8; 32]) -> Result<Self, RowFault> {
        let (kind, body) = encode(&entry.body)?;
        let mut sealed = Self {
            id: entry.id,
            at_ms: entry.at.timestamp_millis(),
            person: entry.person,
            device: entry.device,
            corrects: entry.corrects,
            source: entry.source,
            kind,
            body,
            hash: BEGINNING,
        };
        sealed.hash = sealed.link().hash(before);
        Ok(sealed)
    }

    fn link(&self) -> Link<'_> {
        let source = self.source.as_ref();
        Link {
            id: self.id.as_bytes(),
            at_ms: self.at_ms,
            person: &self.person,
            device: &self.device,
            corrects: self.corrects.as_ref().map(|id| id.as_bytes().as_slice()),
            source: source.map(|s| (s.file.as_str(), s.key.as_str(), s.digest.cast_signed())),
            kind: self.kind,
            body: &self.body,
        }
    }
}

/// Times are kept to the millisecond, so rules see no finer ones.
pub(crate) fn to_the_millisecond(entry: &mut Entry) {
    entry.at = entry.at.trunc_subsecs(3);
}
