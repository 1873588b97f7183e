//! Records that spares are planned from.

use crate::journal::{ChosenLevel, Purpose};
use crate::label::LabelCode;
use crate::model::PartNo;
use crate::place::{Criticality, SlotAddress};
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// A stretch that a unit stood in a slot, from its installation to its removal.
///
/// A running one is told by [`crate::unit::Unit::since`]. One whose beginning is not known is not
/// kept: it gives neither hours nor a failure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stay {
    /// The entry that ended it; where it ended several, with the number of each in its last bits.
    pub id: Uuid,
    /// None for an old record that names no unit.
    pub unit: Option<LabelCode>,
    pub model: PartNo,
    pub slot: Option<SlotAddress>,
    pub from: DateTime<Utc>,
    pub to: DateTime<Utc>,
    pub ended_by: StayEnd,
}

/// Why a unit came out of its slot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum StayEnd {
    Failure,
    /// It was taken for failed and tested well: demand for a spare, but no failure.
    NoFaultFound,
    /// Planned work, or a removal without a failure.
    Other,
}

/// Pieces of counted stock that were handed out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Issue {
    /// The entry that says so.
    pub id: Uuid,
    pub at: DateTime<Utc>,
    pub model: PartNo,
    /// None for an old record that names no bin.
    pub storeroom: Option<String>,
    pub pieces: u32,
}

/// What a person chose for a model, in one storeroom or in all.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpareChoice {
    /// The entry that says so.
    pub id: Uuid,
    pub model: PartNo,
    /// None: for every storeroom.
    pub storeroom: Option<String>,
    pub method: Option<String>,
    pub level: Option<ChosenLevel>,
    pub class: Option<Criticality>,
    pub reason: String,
    pub chosen_at: DateTime<Utc>,
    pub chosen_by: String,
}

/// A planned change of how many of a model the plant has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PopulationChange {
    /// The entry that planned it.
    pub id: Uuid,
    pub model: PartNo,
    pub on: NaiveDate,
    pub installed_change: i32,
    pub from_stock: u32,
    pub harvested: u32,
    pub reason: String,
    /// None while it is to come, or waits for somebody to say what became of it.
    pub settled: Option<PopulationEnd>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PopulationEnd {
    pub happened: bool,
    pub reason: String,
    pub at: DateTime<Utc>,
}

/// Stock that is kept for something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reservation {
    /// The entry that made it.
    pub id: Uuid,
    pub model: PartNo,
    /// Where it lay when it was reserved.
    pub storeroom: String,
    /// None: any pieces or units of the model.
    pub unit: Option<LabelCode>,
    /// Pieces that are still kept.
    pub pieces: u32,
    pub purpose: Purpose,
    pub until: Option<NaiveDate>,
    pub made_at: DateTime<Utc>,
    pub made_by: String,
    pub ended: Option<ReservationEnd>,
}

/// How a reservation came to its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReservationEnd {
    pub used: bool,
    pub reason: String,
    pub at: DateTime<Utc>,
}

impl SpareChoice {
    /// What names a choice within its table.
    pub fn key_of(model: &PartNo, storeroom: Option<&str>) -> String {
        format!("{model}\u{1f}{}", storeroom.unwrap_or_default())
    }
}

impl Reservation {
    pub fn is_open(&self) -> bool {
        self.ended.is_none()
    }

    /// Whether it still keeps stock back on a day: its last day has not passed.
    pub fn holds_on(&self, day: NaiveDate) -> bool {
        self.is_open() && self.until.is_none_or(|until| until >= day)
    }

    /// Whom and what it is kept for, for a refusal.
    pub fn described(&self) -> String {
        let until = self.until.map(|day| format!(", until {day}")).unwrap_or_default();
        format!("{} (by {}{until})", self.purpose, self.made_by)
    }
}
