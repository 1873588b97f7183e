//! The rules of the trade as pure functions: no I/O, no clock, no database, no serialisation.
//!
//! Nouns are modules. [`journal`] says what may be recorded and what follows from it;
//! [`register`] is what the journal adds up to.

pub mod audit;
pub mod battery;
mod counted;
pub mod journal;
pub mod key;
pub mod label;
pub mod lineup;
pub mod loops;
pub mod model;
mod parallel;
pub mod people;
pub mod photo;
pub mod place;
pub mod register;
pub mod rules;
pub mod spares;
pub mod stock;
pub mod swap;
pub mod unit;

pub use counted::{counted, counted_as, listed};
pub use parallel::{in_parallel, in_parallel_with};
