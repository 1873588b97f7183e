//! The journal: what may be recorded, and what follows from it.
//!
//! An [`Entry`] is validated against the present [`crate::register::View`] by [`apply`], which
//! answers with the records that change. Nothing else changes the register.

mod apply;
mod body;
mod subjects;

pub use apply::{Refusal, apply};
pub use body::*;
pub use subjects::subjects;

use chrono::{DateTime, Utc};
use uuid::Uuid;

/// One thing that happened, as recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// UUIDv7 made where the thing was recorded: sending it twice changes nothing.
    pub id: Uuid,
    /// When it happened, to the millisecond.
    pub at: DateTime<Utc>,
    pub person: String,
    pub device: String,
    /// The entry that this one puts right.
    pub corrects: Option<Uuid>,
    /// The row of a site file that it came from.
    pub source: Option<Source>,
    pub body: Body,
}

/// A row of a site file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    pub file: String,
    /// What names the row within its file, e.g. the address.
    pub key: String,
    /// Digest of what the row said.
    pub digest: u64,
}
