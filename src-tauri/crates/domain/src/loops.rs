//! Loops: the tags wired to a unit's channels.

mod wired;

pub use wired::{EntityInput, Loop};
