//! Loops: the tags wired to a unit's channels.

mod effects;
mod entity;
mod supplies;
#[cfg(test)]
mod tests;
mod wired;

pub use effects::{Disturbed, Effects, Neighbour, Redundancy, Why, Work, effects};
pub use entity::{
    CAUTION, Cable, Comparison, EntityCheck, EntityFinding, EntitySource, Outcome, entity_check,
    linear_source,
};
pub use supplies::{Stays, stays};
pub use wired::{Clearance, EntityInput, Loop, LossEffect};
