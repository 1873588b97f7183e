//! Handing stock out and keeping it for something.

use super::stock::{LotLine, OrderLine};
use super::unit::UnitLine;
use chrono::{DateTime, NaiveDate, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PickInput {
    /// Part number.
    pub model: String,
    /// Pieces or units.
    pub pieces: u32,
    /// Code of a storeroom; all of them where nothing is given.
    pub storeroom: Option<String>,
    /// Take what this reservation keeps; what is kept for others is left out.
    pub reservation: Option<Uuid>,
}

/// What to take of a model, first expired first.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Pick {
    pub model: String,
    pub model_title: String,
    pub counted: bool,
    pub wanted: u32,
    /// What to take, in this order; fewer than wanted where no more is free.
    pub takes: Vec<PickLine>,
    /// Kept for others.
    pub kept: Vec<ReservationLine>,
    /// Not to be taken, each with the reason.
    pub left_out: Vec<PickLine>,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PickLine {
    /// Label of the lot or unit.
    pub label: String,
    pub label_human: String,
    /// Lot code or serial number.
    pub code: String,
    pub bin: String,
    pub pieces: u32,
    pub shelf_until: Option<NaiveDate>,
    /// Why this one, or why not.
    pub reason: String,
}

#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReservationsInput {
    /// Part number; every model where nothing is given.
    pub model: Option<String>,
}

/// Stock that is kept for something.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ReservationLine {
    pub reservation: Uuid,
    pub model: String,
    pub model_title: String,
    /// Label of a unit of its own, else pieces of the model.
    pub unit: Option<String>,
    pub storeroom: String,
    /// Pieces that are still kept.
    pub pieces: u32,
    pub for_what: String,
    /// Id of the swap that it is for.
    pub swap: Option<Uuid>,
    /// Slot whose next swap it is for.
    pub slot: Option<String>,
    /// Place of the visit that it is for.
    pub visit: Option<String>,
    /// Last day on which it keeps stock back.
    pub until: Option<NaiveDate>,
    /// That day is over, so it keeps nothing back any more.
    pub over: bool,
    pub person: String,
    pub at: DateTime<Utc>,
}

/// An agreed visit.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VisitRef {
    /// Day of the visit in the plan.
    pub on: NaiveDate,
    /// `site`, an area code or a cabinet.
    pub scope: String,
}

/// Either `unit`, or `model`, `storeroom` and `pieces`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReserveInput {
    /// Label or serial number of a unit.
    pub unit: Option<String>,
    /// Part number; goes with `storeroom` and `pieces`.
    pub model: Option<String>,
    /// Code of the storeroom.
    pub storeroom: Option<String>,
    /// How many of the model.
    pub pieces: Option<u32>,
    /// A person or a job, in words.
    #[serde(default)]
    pub for_what: String,
    /// Id of a swap under way.
    pub swap: Option<Uuid>,
    /// Slot whose next swap it is for.
    pub slot: Option<String>,
    /// The visit of the plan that it is for.
    pub visit: Option<VisitRef>,
    /// Last day on which it is kept; until it is released where nothing is given.
    pub until: Option<NaiveDate>,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReleaseInput {
    /// Id of the reservation.
    pub reservation: Uuid,
    /// What was kept was used for it, though nobody recorded so.
    #[serde(default)]
    pub used: bool,
    /// Why it is no longer needed.
    #[serde(default)]
    pub reason: String,
}

/// Pieces of a lot, or a unit, are handed out.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct IssueInput {
    /// Label, or the maker's lot code.
    pub lot: Option<String>,
    /// Label or serial number of a unit, which goes to the bench.
    pub unit: Option<String>,
    /// Path or label; may be left out where the lot lies in one bin.
    pub bin: Option<String>,
    /// Pieces; 1 where nothing is given.
    pub quantity: Option<u32>,
    /// Who takes it, or what for.
    #[serde(default)]
    pub to: String,
    /// Id of the swap under way that it is for.
    pub swap: Option<Uuid>,
    /// Slot whose next swap it is for.
    pub slot: Option<String>,
    /// The visit of the plan that it is for.
    pub visit: Option<VisitRef>,
    /// The reservation under which it is taken.
    pub reservation: Option<Uuid>,
    /// Why a lot is handed out though another one expires before it.
    pub later_reason: Option<String>,
}

/// A unit that was handed out comes back unused.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BringBackInput {
    /// Label or serial number.
    pub unit: String,
    /// Path or label of the bin it goes into; the one that it was taken from where nothing is given.
    pub bin: Option<String>,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MatchInput {
    /// A maker's plate or a label as a scanner gives it, or a part number as typed.
    pub text: String,
}

/// What came, and the orders that it may belong to.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OrderMatch {
    pub model: Option<String>,
    pub model_title: Option<String>,
    pub counted: bool,
    pub serial: Option<String>,
    pub lot: Option<String>,
    pub revision: Option<String>,
    pub made_on: Option<NaiveDate>,
    /// Reckoned from the day of making and the catalogue's shelf life.
    pub shelf_until: Option<NaiveDate>,
    /// Open orders, the one that is due first first.
    pub orders: Vec<OrderLine>,
    /// Where its like lies.
    pub bin: Option<String>,
    /// A unit that is in the register already.
    pub already: Option<UnitLine>,
    /// A lot of this code that is here already: what came is added to it.
    pub lot_here: Option<LotLine>,
    pub message: String,
}
