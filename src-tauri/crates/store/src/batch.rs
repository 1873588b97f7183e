use crate::rows::write_record;
use crate::writer::to_the_millisecond;
use crate::{Reader, StoreFault, Writer};
use slotkeep_domain::journal::{Entry, Refusal, apply, subjects};
use slotkeep_domain::register::{Change, Ledger, Table};
use std::collections::BTreeMap;

/// Many entries, validated one after the other against a register held in memory.
///
/// Nothing is written before [`Batch::write`], which is faster than single entries: each record
/// is written once, however often it changed, and everything in the order of its key.
pub struct Batch {
    ledger: Ledger,
    entries: Vec<Entry>,
    /// Names of entries, with the position of the entry.
    names: Vec<(String, usize)>,
    changed: BTreeMap<(Table, String), Change>,
}

impl Batch {
    /// Begins with the register as the reader sees it.
    pub fn begin(reader: &Reader<'_>) -> Result<Self, StoreFault> {
        Ok(Self {
            ledger: reader.ledger()?,
            entries: Vec::new(),
            names: Vec::new(),
            changed: BTreeMap::new(),
        })
    }

    /// The register with every entry so far.
    pub fn ledger(&self) -> &Ledger {
        &self.ledger
    }

    /// The entries so far, in their order.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Validates an entry and takes it in; a refused one changes nothing.
    pub fn add(&mut self, entry: &Entry) -> Result<(), Refusal> {
        let entry = to_the_millisecond(entry);
        let changes = apply(&self.ledger, &entry)?;
        let position = self.entries.len();
        let names = subjects(&self.ledger, &entry.body);
        self.names.extend(names.into_iter().map(|name| (name, position)));
        for change in changes {
            self.changed.insert((change.table(), change.key()), change.clone());
            self.ledger.take(change);
        }
        self.entries.push(entry);
        Ok(())
    }

    /// Writes everything within the transaction of `writer`, which must see the state that the
    /// batch began with. `progress` hears how many entries are done.
    ///
    /// Fails when an id is in the journal already, or as the database does.
    pub fn write(
        mut self,
        writer: &mut Writer<'_>,
        progress: &mut dyn FnMut(u64, u64),
    ) -> Result<(), StoreFault> {
        let total = self.entries.len() as u64;
        let first = writer.next_seq();
        for (position, entry) in self.entries.iter().enumerate() {
            writer.append(entry)?;
            if position.is_multiple_of(4096) {
                progress(position as u64, total);
            }
        }
        self.names.sort_unstable();
        for (name, position) in &self.names {
            writer.name(name, first + *position as i64)?;
        }
        for ((table, key), change) in &self.changed {
            writer.put(*table, key, write_record(change)?)?;
        }
        progress(total, total);
        Ok(())
    }
}
