//! Every command of Slotkeep in one table, with its wire types, roles and failures.
//!
//! The window, the door and the terminal all call [`Api::call`]; none of them knows a command by
//! name. [`schema`] writes the table down for programs in other languages.

mod api;
mod ask;
pub mod calc;
mod commands;
mod failure;
mod import;
mod known;
pub mod schema;
mod sheet;
pub mod site_files;
mod table;
pub mod wire;

pub use api::{Api, Notice};
pub use ask::{Caller, Progress};
pub use failure::{Detail, Failure, FailureKind};
pub use slotkeep_domain::people::Role;
pub use table::{Access, Command, File, Gives, Payload, Reply, Takes};
