//! The labels of the register, ready for reading photos.

use crate::Failure;
use slotkeep_domain::register::Table;
use slotkeep_optics::KnownLabels;
use slotkeep_store::Store;
use std::sync::{Arc, Mutex, PoisonError};

/// Tables whose records carry a label.
const LABELLED: [Table; 5] = [Table::Unit, Table::Lot, Table::Slot, Table::Bin, Table::Cabinet];

/// Keeps the labels from one photo to the next.
///
/// They are gathered again only after the journal grew and the number of labelled things with it.
/// Camera frames never ask for them. A label whose thing left the register may stay for a while:
/// the answer to it is still made from the register.
#[derive(Default)]
pub(crate) struct Register {
    held: Mutex<Option<Held>>,
}

struct Held {
    head: i64,
    counts: [u64; LABELLED.len()],
    labels: Arc<KnownLabels>,
}

impl Register {
    pub fn labels(&self, store: &Store) -> Result<Arc<KnownLabels>, Failure> {
        let mut held = self.held.lock().unwrap_or_else(PoisonError::into_inner);
        store.read(|r| {
            let (head, _) = r.head()?;
            if let Some(held) = held.as_ref().filter(|held| held.head == head) {
                return Ok(held.labels.clone());
            }
            let mut counts = [0; LABELLED.len()];
            for (count, table) in counts.iter_mut().zip(LABELLED) {
                *count = r.count(table)?;
            }
            let same = held.as_ref().filter(|held| held.counts == counts);
            let labels = match same {
                Some(held) => held.labels.clone(),
                None => Arc::new(KnownLabels::new(r.labels()?)),
            };
            *held = Some(Held { head, counts, labels: labels.clone() });
            Ok(labels)
        })
    }
}
