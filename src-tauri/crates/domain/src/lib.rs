//! The rules of the trade as pure functions: no I/O, no clock, no database, no serialisation.

pub mod battery;
pub mod label;
pub mod loops;
pub mod spares;
