//! The register in one SQLite file: the journal, and the tables derived from it.

mod batch;
mod bulk;
mod chain;
mod fault;
mod migrate;
mod photos;
mod reader;
mod rebuild;
mod rows;
mod store;
mod tables;
mod verify;
mod writer;

pub use batch::Batch;
pub use fault::StoreFault;
pub use photos::{PHOTO_WAITS_D, Photo};
pub use reader::{EntryFilter, Kept, Match, Reader, SetAside};
pub use rows::kind_of;
pub use store::Store;
pub use verify::{Difference, Verdict};
pub use writer::{Recorded, Writer};
