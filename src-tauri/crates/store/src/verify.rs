use crate::chain::Link;
use crate::reader::{ENTRY_COLUMNS, kept, text};
use crate::rows::write_record;
use crate::{Kept, Reader, StoreFault, tables};
use rusqlite::{Connection, Row};
use slotkeep_domain::journal::{apply, subjects};
use slotkeep_domain::photo::PhotoHash;
use slotkeep_domain::register::{Ledger, Table};
use std::collections::BTreeSet;
use std::hash::BuildHasher;
use std::sync::mpsc::{SyncSender, sync_channel};

/// How many entries go from one thread to the other at once.
const BATCH: usize = 4096;

/// How many differences are named; the rest are counted.
const NAMED: usize = 20;

/// What a check of the whole store found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Verdict {
    /// Entries read.
    pub entries: u64,
    /// Records of derived tables compared.
    pub records: u64,
    /// The first differences, in the order met.
    pub differences: Vec<Difference>,
    /// How many there are in all.
    pub count: u64,
    /// Hash of the newest entry, for comparing two copies of a store.
    pub head: [u8; 32],
}

/// One thing that is not as the journal says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// Where: an entry number, or a table and key.
    pub place: String,
    pub what: String,
}

impl Verdict {
    pub fn is_clean(&self) -> bool {
        self.count == 0
    }

    fn differs(&mut self, place: impl Into<String>, what: impl Into<String>) {
        self.count += 1;
        if self.differences.len() < NAMED {
            self.differences.push(Difference { place: place.into(), what: what.into() });
        }
    }

    /// Takes in what was found beside.
    fn also(&mut self, other: Self) {
        self.records += other.records;
        self.count += other.count;
        self.differences.extend(other.differences);
        self.differences.truncate(NAMED);
    }
}

/// Any number will do: the sums that are compared are made in the same run.
const NAME_SEED: u64 = 0;

/// Sum of one hash a name: equal for the same names in any order.
#[derive(Default, PartialEq, Eq)]
struct NameSum {
    count: u64,
    sum: u64,
}

impl NameSum {
    fn add(&mut self, name: &str, seq: i64) {
        let hash = foldhash::quality::FixedState::with_seed(NAME_SEED).hash_one((name, seq));
        self.count += 1;
        self.sum = self.sum.wrapping_add(hash);
    }
}

/// Checks a store on two connections that see the same state, each on a thread of its own.
pub(crate) fn verify(
    conn: &Connection,
    other: Connection,
    progress: &mut dyn FnMut(u64, u64),
) -> Result<Verdict, StoreFault> {
    let mut verdict = Verdict::default();
    let rebuilt = replay(conn, &mut verdict, progress)?;
    let beside = std::thread::scope(|scope| {
        let Rebuilt { ledger, names, photos, .. } = &rebuilt;
        let beside = scope.spawn(move || {
            let mut verdict = Verdict::default();
            file_is_sound(&other, &mut verdict)?;
            names_agree(&other, names, &mut verdict)?;
            compare(&other, Table::Imported, ledger, &mut verdict)?;
            photos_agree(&other, photos, &mut verdict)?;
            Ok::<_, StoreFault>(verdict)
        });
        for table in Table::ALL.into_iter().filter(|table| *table != Table::Imported) {
            compare(conn, table, ledger, &mut verdict)?;
        }
        beside.join().map_err(|_| lost(conn))?
    })?;
    verdict.also(beside);
    Ok(verdict)
}

/// What to say when a thread came to an end that nobody foresaw.
fn lost(conn: &Connection) -> StoreFault {
    StoreFault::File {
        path: conn.path().unwrap_or_default().into(),
        why: "could not be checked to the end: keep a copy and report this".to_owned(),
    }
}

fn names_agree(
    conn: &Connection,
    names: &NameSum,
    verdict: &mut Verdict,
) -> Result<(), StoreFault> {
    let mut stored = NameSum::default();
    let mut statement = conn.prepare("SELECT name, seq FROM subject")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        stored.add(text(row, 0)?, row.get(1)?);
    }
    if stored != *names {
        verdict.differs(
            "table subject",
            format!("holds {} names, the journal gives {}", stored.count, names.count),
        );
    }
    Ok(())
}

/// Every photo is what its name says, and every photo that an entry names is there.
fn photos_agree(
    conn: &Connection,
    named: &BTreeSet<PhotoHash>,
    verdict: &mut Verdict,
) -> Result<(), StoreFault> {
    for name in crate::photos::changed(conn)? {
        verdict.differs(format!("photo {name}"), "its bytes are not those that it is named by");
    }
    let reader = Reader::new(conn);
    for photo in named {
        if !reader.has_photo(photo)? {
            verdict.differs(format!("photo {photo}"), "the journal names it, it is not there");
        }
        if reader.photo_waits(photo)? {
            let said = "the journal names it, yet it may be thrown away";
            verdict.differs(format!("photo {photo}"), said);
        }
    }
    Ok(())
}

fn file_is_sound(conn: &Connection, verdict: &mut Verdict) -> Result<(), StoreFault> {
    let mut statement = conn.prepare("PRAGMA quick_check(5)")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let said = text(row, 0)?;
        if said != "ok" {
            verdict.differs("the file", said);
        }
    }
    Ok(())
}

/// The register as a replay of the journal gives it.
#[derive(Default)]
struct Rebuilt {
    ledger: Ledger,
    names: NameSum,
    /// Photos that entries name.
    photos: BTreeSet<PhotoHash>,
    /// Entries that did not fit, with the reason.
    refused: Vec<(i64, String)>,
}

impl Rebuilt {
    fn take(&mut self, kept: &Kept) {
        for name in subjects(&self.ledger, &kept.entry.body) {
            self.names.add(&name, kept.seq);
        }
        self.photos.extend(kept.entry.body.photos().into_iter().cloned());
        match apply(&self.ledger, &kept.entry) {
            Ok(changes) => changes.into_iter().for_each(|change| self.ledger.take(change)),
            Err(refusal) => self.refused.push((kept.seq, refusal.to_string())),
        }
    }
}

/// Reads the journal from its beginning and checks the chain, while a second thread rebuilds the
/// register from what was read.
fn replay(
    conn: &Connection,
    verdict: &mut Verdict,
    progress: &mut dyn FnMut(u64, u64),
) -> Result<Rebuilt, StoreFault> {
    std::thread::scope(|scope| {
        let (sender, receiver) = sync_channel::<Vec<Kept>>(4);
        let rebuilding = scope.spawn(move || {
            let mut rebuilt = Rebuilt::default();
            receiver.iter().flatten().for_each(|kept| rebuilt.take(&kept));
            rebuilt
        });
        read_chain(conn, verdict, progress, &sender)?;
        drop(sender);
        let rebuilt = rebuilding.join().map_err(|_| lost(conn))?;
        for (seq, refusal) in &rebuilt.refused {
            verdict.differs(format!("entry {seq}"), refusal);
        }
        Ok(rebuilt)
    })
}

/// Checks the chain entry by entry and hands the entries on in batches.
fn read_chain(
    conn: &Connection,
    verdict: &mut Verdict,
    progress: &mut dyn FnMut(u64, u64),
    sender: &SyncSender<Vec<Kept>>,
) -> Result<(), StoreFault> {
    let total = Reader::new(conn).head()?.0.unsigned_abs();
    let mut statement =
        conn.prepare(&format!("SELECT {ENTRY_COLUMNS} FROM entry ORDER BY entry.seq"))?;
    let mut rows = statement.query([])?;
    let mut batch = Vec::with_capacity(BATCH);
    while let Some(row) = rows.next()? {
        let seq: i64 = row.get(0)?;
        verdict.entries += 1;
        if seq != verdict.entries.cast_signed() {
            verdict.differs(format!("entry {seq}"), "an entry before it is missing");
            verdict.entries = seq.unsigned_abs();
        }
        let stored: [u8; 32] = row.get(11)?;
        if expected_hash(row, &verdict.head)? != stored {
            verdict.differs(
                format!("entry {seq}"),
                "its hash does not follow from its content and the entry before",
            );
        }
        verdict.head = stored;
        match kept(row) {
            Ok(kept) => batch.push(kept),
            Err(StoreFault::Row(fault)) => {
                verdict.differs(format!("entry {seq}"), fault.to_string());
            }
            Err(fault) => return Err(fault),
        }
        if batch.len() == BATCH {
            progress(verdict.entries, total);
            // The other side ends only after this one.
            let _ = sender.send(std::mem::replace(&mut batch, Vec::with_capacity(BATCH)));
        }
    }
    let _ = sender.send(batch);
    progress(total, total);
    Ok(())
}

fn expected_hash(row: &Row<'_>, before: &[u8; 32]) -> Result<[u8; 32], StoreFault> {
    let id: [u8; 16] = row.get(1)?;
    let corrects: Option<[u8; 16]> = row.get(5)?;
    let source = match row.get_ref(6)?.as_str_or_null().ok().flatten() {
        Some(file) => Some((file, text(row, 7)?, row.get(8)?)),
        None => None,
    };
    let link = Link {
        id: &id,
        at_ms: row.get(2)?,
        person: text(row, 3)?,
        device: text(row, 4)?,
        corrects: corrects.as_ref().map(<[u8; 16]>::as_slice),
        source,
        kind: text(row, 9)?,
        body: text(row, 10)?,
    };
    Ok(link.hash(before))
}

fn compare(
    conn: &Connection,
    table: Table,
    ledger: &Ledger,
    verdict: &mut Verdict,
) -> Result<(), StoreFault> {
    let name = tables::name(table);
    let mut statement = conn.prepare(&format!("SELECT key, record FROM {name}"))?;
    let mut rows = statement.query([])?;
    let mut met = 0;
    while let Some(row) = rows.next()? {
        let (key, record) = (text(row, 0)?, text(row, 1)?);
        verdict.records += 1;
        match ledger.record(table, key) {
            None => verdict.differs(format!("{name} {key}"), "the journal knows no such record"),
            Some(rebuilt) => {
                met += 1;
                if write_record(&rebuilt)?.as_deref() != Some(record) {
                    verdict.differs(format!("{name} {key}"), "differs from what the journal gives");
                }
            }
        }
    }
    if met < ledger.count(table) {
        let missing = ledger.count(table) - met;
        verdict.differs(format!("table {name}"), format!("{missing} records are missing"));
    }
    Ok(())
}
