use crate::bulk::{Piece, write_pieces};
use crate::rows::{RowFault, kind_of, write_record};
use crate::writer::{Sealed, to_the_millisecond};
use crate::{StoreFault, Writer};
use foldhash::HashMap;
use slotkeep_domain::journal::{Entry, Refusal, apply, subjects};
use slotkeep_domain::register::{Ledger, Table};
use std::collections::BTreeMap;
use std::sync::mpsc::{SyncSender, sync_channel};

/// How many rows go from one thread to the other at once.
const ROWS: usize = 2048;

/// Many entries, validated one after the other against a register held in memory.
///
/// This is faster than single entries: each record is written once, however often it changed,
/// everything goes in the order of its key, and a second thread writes what this one has made.
pub struct Batch {
    ledger: Ledger,
    kinds: BTreeMap<&'static str, u64>,
    /// Numbers of the entries that are found under a name.
    names: HashMap<String, Vec<i64>>,
    /// Keys of the records that changed, some of them more than once.
    changed: Vec<(Table, String)>,
    head: (i64, [u8; 32]),
    sealed: Vec<Sealed>,
    /// None where nothing is to be written.
    sender: Option<SyncSender<Piece>>,
    fault: Option<RowFault>,
}

impl Writer<'_> {
    /// Lets `plan` add many entries, and writes them and what follows from them within this
    /// transaction; with `only_try` nothing is written. `progress` hears how many are written.
    ///
    /// Fails as `plan` does, when an id is in the journal already, or as the database does.
    pub fn batch<T: Send, F: From<StoreFault> + Send>(
        &mut self,
        only_try: bool,
        plan: impl FnOnce(&mut Batch) -> Result<T, F> + Send,
        progress: &mut dyn FnMut(u64),
    ) -> Result<T, F> {
        let ledger = self.reader().ledger()?;
        let head = self.head();
        std::thread::scope(|scope| {
            let (sender, receiver) = sync_channel(4);
            let planning = scope.spawn(move || {
                let mut batch = Batch::begin(ledger, head, (!only_try).then_some(sender));
                let answer = plan(&mut batch)?;
                batch.finish().map_err(StoreFault::from)?;
                Ok(answer)
            });
            // The receiver ends with the call, so that the planning side never waits for it.
            let written = write_pieces(self, receiver, progress);
            let planned = planning.join().unwrap_or_else(|why| std::panic::resume_unwind(why));
            written?;
            planned
        })
    }
}

impl Batch {
    fn begin(ledger: Ledger, head: (i64, [u8; 32]), sender: Option<SyncSender<Piece>>) -> Self {
        Self {
            ledger,
            kinds: BTreeMap::new(),
            names: HashMap::default(),
            changed: Vec::new(),
            head,
            sealed: Vec::new(),
            sender,
            fault: None,
        }
    }

    /// The register with every entry so far.
    pub fn ledger(&self) -> &Ledger {
        &self.ledger
    }

    /// How many entries of each kind there are so far.
    pub fn kinds(&self) -> &BTreeMap<&'static str, u64> {
        &self.kinds
    }

    /// Validates an entry and takes it in; a refused one changes nothing.
    pub fn add(&mut self, mut entry: Entry) -> Result<(), Refusal> {
        to_the_millisecond(&mut entry);
        let changes = apply(&self.ledger, &entry)?;
        *self.kinds.entry(kind_of(&entry.body)).or_default() += 1;
        if self.sender.is_some() {
            let seq = self.head.0 + 1;
            for name in subjects(&self.ledger, &entry.body) {
                self.names.entry(name).or_default().push(seq);
            }
            self.changed.extend(changes.iter().map(|change| (change.table(), change.key())));
            match Sealed::new(entry, &self.head.1) {
                Ok(sealed) => {
                    self.head = (seq, sealed.hash);
                    self.sealed.push(sealed);
                }
                Err(fault) => self.fault = Some(fault),
            }
            if self.sealed.len() == ROWS {
                self.hand_on_entries();
            }
        }
        changes.into_iter().for_each(|change| self.ledger.take(change));
        Ok(())
    }

    fn hand_on_entries(&mut self) {
        let sealed = std::mem::replace(&mut self.sealed, Vec::with_capacity(ROWS));
        self.hand_on(Piece::Entries(sealed));
    }

    /// Where the other side stopped listening it has a fault of its own to report.
    fn hand_on(&self, piece: Piece) {
        if let Some(sender) = &self.sender {
            sender.send(piece).unwrap_or_default();
        }
    }

    /// Hands on what is left: entries, names, and the records that changed.
    fn finish(mut self) -> Result<(), RowFault> {
        self.hand_on_entries();
        let mut names: Vec<_> = std::mem::take(&mut self.names).into_iter().collect();
        names.sort_unstable();
        for some in names.chunks_mut(ROWS) {
            self.hand_on(Piece::Names(some.iter_mut().map(std::mem::take).collect()));
        }
        let mut changed = std::mem::take(&mut self.changed);
        changed.sort_unstable();
        changed.dedup();
        for of_table in changed.chunk_by_mut(|a, b| a.0 == b.0) {
            let table = of_table[0].0;
            self.hand_on(Piece::Table(table, of_table.len()));
            for some in of_table.chunks_mut(ROWS) {
                let mut records = Vec::with_capacity(some.len());
                for (_, key) in some {
                    let record = self.ledger.record(table, key);
                    let record = record.as_deref().map(write_record).transpose()?;
                    records.push((std::mem::take(key), record.flatten()));
                }
                self.hand_on(Piece::Records(records));
            }
        }
        self.fault.map_or(Ok(()), Err)
    }
}
