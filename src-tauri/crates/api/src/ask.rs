use crate::Failure;
use crate::known::Register;
use chrono::{DateTime, NaiveDate, Utc};
use slotkeep_domain::journal::{Body, Entry};
use slotkeep_domain::people::Role;
use slotkeep_optics::KnownLabels;
use slotkeep_store::{Recorded, Store};
use std::cell::RefCell;
use std::sync::Arc;
use uuid::Uuid;

/// Who asks, and from where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caller {
    pub person: String,
    pub device: String,
    pub roles: Vec<Role>,
}

impl Caller {
    /// The person at the machine that holds the store.
    pub fn owner(person: impl Into<String>, device: impl Into<String>) -> Self {
        Self { person: person.into(), device: device.into(), roles: vec![Role::Owner] }
    }

    /// Whether a role that may do a thing is held; the owner may do everything.
    pub fn may(&self, roles: &[Role]) -> bool {
        self.roles.iter().any(|held| *held == Role::Owner || roles.contains(held))
    }
}

/// How far a long piece of work has come: what it does, done, of how many.
pub type Progress<'a> = dyn FnMut(&str, u64, u64) + 'a;

/// One command being answered.
pub struct Ask<'a> {
    pub store: &'a Store,
    pub(crate) register: &'a Register,
    pub caller: &'a Caller,
    pub now: DateTime<Utc>,
    pub(crate) progress: RefCell<&'a mut Progress<'a>>,
    /// Names of what was recorded, for those who listen.
    pub(crate) recorded: RefCell<Vec<String>>,
}

/// Id and time that a device gave to what it recorded.
#[derive(Debug, Clone, Copy)]
pub struct Stamp {
    pub id: Uuid,
    pub at: DateTime<Utc>,
    pub corrects: Option<Uuid>,
}

impl Ask<'_> {
    pub fn today(&self) -> NaiveDate {
        self.now.date_naive()
    }

    pub fn progress(&self, what: &str, done: u64, total: u64) {
        (self.progress.borrow_mut())(what, done, total);
    }

    /// Records one entry under the stamp of the command.
    pub fn record(&self, stamp: &Stamp, body: Body) -> Result<Recorded, Failure> {
        self.record_within(stamp, |_| Ok(body))
    }

    /// Records one entry whose body is worked out within the same transaction.
    pub fn record_within(
        &self,
        stamp: &Stamp,
        body: impl FnOnce(&slotkeep_store::Reader<'_>) -> Result<Body, Failure>,
    ) -> Result<Recorded, Failure> {
        let recorded: Recorded = self.store.write(|writer| {
            if let Some(kept) = writer.reader().entry(&stamp.id)? {
                // Sent before: what was worked out then stands.
                return Ok::<_, Failure>(Recorded {
                    seq: kept.seq,
                    repeated: true,
                    subjects: Vec::new(),
                });
            }
            let body = body(&writer.reader())?;
            Ok(writer.record(&self.entry(stamp, body))?)
        })?;
        if !recorded.repeated {
            self.recorded.borrow_mut().extend(recorded.subjects.iter().cloned());
        }
        Ok(recorded)
    }

    pub fn entry(&self, stamp: &Stamp, body: Body) -> Entry {
        Entry {
            id: stamp.id,
            at: stamp.at,
            person: self.caller.person.clone(),
            device: self.caller.device.clone(),
            corrects: stamp.corrects,
            source: None,
            body,
        }
    }

    /// The labels of the register, for reading photos.
    pub fn known_labels(&self) -> Result<Arc<KnownLabels>, Failure> {
        self.register.labels(self.store)
    }

    /// Asks the store a question.
    pub fn read<T>(
        &self,
        ask: impl FnOnce(&slotkeep_store::Reader<'_>) -> Result<T, Failure>,
    ) -> Result<T, Failure> {
        self.store.read(ask)
    }
}
