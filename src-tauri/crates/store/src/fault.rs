use slotkeep_domain::journal::Refusal;
use std::path::PathBuf;

/// What can go wrong with a store, in sentences for the person at the screen.
#[derive(Debug, thiserror::Error)]
pub enum StoreFault {
    #[error(transparent)]
    Refused(#[from] Refusal),

    #[error(
        "{path} was written by a newer Slotkeep (store version {found}; this program knows \
         {known}): nothing was changed; start the newer program"
    )]
    Newer { path: PathBuf, found: u32, known: u32 },

    #[error("{path} is not a Slotkeep store: choose another file")]
    Foreign { path: PathBuf },

    #[error(
        "{path} is damaged ({why}): nothing was repaired or deleted; copy the file aside and \
         restore a backup with `slotkeep restore`"
    )]
    Damaged { path: PathBuf, why: String },

    #[error("{path}: {why}")]
    File { path: PathBuf, why: String },

    #[error("the store could not be read or written: {0}")]
    Sql(#[from] rusqlite::Error),

    #[error("the store holds something unreadable: {0}; run `slotkeep verify`")]
    Row(#[from] crate::rows::RowFault),

    #[error("entry id {0} is already used for something else: make a new id")]
    IdTaken(uuid::Uuid),
}
