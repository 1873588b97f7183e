//! What is kept of the register from one question to the next.

use crate::Failure;
use crate::commands::SparesKept;
use slotkeep_optics::KnownLabels;
use slotkeep_store::Store;
use std::sync::{Arc, Mutex, PoisonError};

/// Keeps the labels from one photo to the next, and what spares are reckoned from.
///
/// Labels are gathered again only after the journal says that a thing with a label came or left.
/// Camera frames never ask for them.
#[derive(Default)]
pub(crate) struct Register {
    held: Mutex<Option<Held>>,
    /// What spares are reckoned from.
    pub(crate) spares: SparesKept,
}

struct Held {
    /// Number of the newest entry that the labels were compared with.
    head: i64,
    labels: Arc<KnownLabels>,
}

impl Register {
    pub fn labels(&self, store: &Store) -> Result<Arc<KnownLabels>, Failure> {
        let mut held = self.held.lock().unwrap_or_else(PoisonError::into_inner);
        store.read(|r| {
            let (head, _) = r.head()?;
            let labels = match held.as_ref() {
                Some(held) if !r.labels_changed_after(held.head)? => held.labels.clone(),
                _ => Arc::new(KnownLabels::new(r.labels()?)),
            };
            *held = Some(Held { head, labels: labels.clone() });
            Ok(labels)
        })
    }
}
