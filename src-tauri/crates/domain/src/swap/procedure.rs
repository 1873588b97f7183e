//! The steps of a swap, composed from small templates that a site may edit.
//!
//! A [`Template`] names the slots that it is for and the steps that it adds; [`compose`] takes
//! those that fit, in the order of the file. Whatever a site writes, the order of what hands do is
//! held by [`ORDERS`] and what must not be left out by [`MUSTS`]: [`check`] tries every kind of
//! slot, and [`compose`] looks again at what it made.

mod act;
mod check;
mod compose;
mod facts;
mod left;
mod order;
mod times;

pub use act::Act;
pub use check::{Flaw, check};
pub use compose::{Names, compose};
pub use facts::{Facts, Kind, Redundancy, Wired};
pub use left::{Left, left};
pub use order::{Broken, MUSTS, Must, ORDERS, Order, broken};
pub use times::{Expected, Times};

use crate::label::LabelCode;
use crate::model::BaseKind;
use crate::place::BusPosition;
use std::fmt;

/// The templates of a site, in the order in which their steps follow each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Procedure {
    pub templates: Vec<Template>,
}

/// A few steps for some slots.
#[derive(Debug, Clone, PartialEq)]
pub struct Template {
    /// Names it within the procedure.
    pub name: String,
    pub when: When,
    pub steps: Vec<StepTemplate>,
}

/// The slots that a template is for: all that is given must hold; nothing given holds always.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct When {
    pub base: Option<Vec<BaseKind>>,
    /// Whether a unit stands in the slot.
    pub occupied: Option<bool>,
    pub redundancy: Option<Vec<Redundancy>>,
    pub hot_swap: Option<bool>,
    pub bus: Option<Vec<BusPosition>>,
    pub intrinsically_safe: Option<bool>,
    pub battery: Option<bool>,
    pub kind: Option<Vec<Kind>>,
    pub firmware: Option<bool>,
    pub keyed: Option<bool>,
    pub loops: Option<Vec<Wired>>,
}

/// A step as a template words it; `{slot}` and the like are filled in.
#[derive(Debug, Clone, PartialEq)]
pub struct StepTemplate {
    pub act: Act,
    pub text: String,
    /// Why, or what to look for; may be empty.
    pub detail: String,
    pub asks: Option<Asked>,
    /// How long it takes as long as nobody has done it, min.
    pub minutes: f64,
}

/// What a template's step demands before it counts as done.
#[derive(Debug, Clone, PartialEq)]
pub enum Asked {
    ScanSlot,
    /// The unit that comes out.
    ScanOut,
    /// The unit that goes in.
    ScanIn,
    Reading(Limits),
    Photo,
    SecondPerson,
}

/// Between which values a reading must lie, both included.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// Unit of measure, e.g. V.
    pub unit: String,
    pub low: f64,
    pub high: f64,
}

/// One thing to do and tick.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    pub text: String,
    /// Why, or what to look for; may be empty.
    pub detail: String,
    /// What must be there before the step counts as done.
    pub demand: Option<Demand>,
    /// Template and place within it, e.g. `unplug.2`; none for steps from before templates.
    pub name: Option<String>,
    /// What it does to the plant; none for steps from before templates.
    pub act: Option<Act>,
    /// How long it takes as long as nobody has done it, min.
    pub minutes: Option<f64>,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Demand {
    /// The label of the slot.
    Slot(LabelCode),
    /// The label of a unit.
    Unit(LabelCode),
    Reading(Limits),
    Photo,
    /// Another person than the one who ticks.
    SecondPerson,
}

impl Limits {
    pub fn hold(&self, value: f64) -> bool {
        value.is_finite() && (self.low..=self.high).contains(&value)
    }
}

impl fmt::Display for Limits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} to {} {}", self.low, self.high, self.unit)
    }
}
