//! Loops: the tags wired to a unit's channels.

mod entity;
#[cfg(test)]
mod tests;
mod wired;

pub use entity::{
    CAUTION, Cable, Comparison, EntityCheck, EntityFinding, EntitySource, Outcome, entity_check,
    linear_source,
};
pub use wired::{EntityInput, Loop};
