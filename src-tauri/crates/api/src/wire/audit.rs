//! The audit of a rail by photo.

use super::unit::UnitLine;
use chrono::{DateTime, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// What was read in photos of one rail.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AuditLookInput {
    /// E.g. `+K12.2`; the rail that has most of what was seen, where nothing is given.
    pub rail: Option<String>,
    /// The photos, in any order.
    pub photos: Vec<AuditPhoto>,
}

/// One photo as `label.read_photo` answers it, or labels that were read otherwise.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AuditPhoto {
    /// Name of the photo, where it is kept.
    pub photo: Option<String>,
    /// Width of the photo, px; bare places are told only where both are given.
    pub width_px: Option<u32>,
    /// Height of the photo, px; bare places are told only where both are given.
    pub height_px: Option<u32>,
    /// Every label that was seen, read or not.
    pub labels: Vec<AuditLabel>,
    /// Rows of labels as places in `labels`, from the left as they are read; one row with all in
    /// their order, where nothing is given.
    #[serde(default)]
    pub rails: Vec<Vec<u32>>,
}

/// A symbol in a photo.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AuditLabel {
    /// What was read; empty for a symbol that could not be read.
    pub text: String,
    /// Recognised only, see `FoundLabel.confirm`.
    #[serde(default)]
    pub confirm: bool,
    /// Corners in px; where they are left out only the order of the labels speaks.
    #[serde(default)]
    pub corners: Vec<super::label::Corner>,
}

/// A rail was looked at by photo.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AuditRecordInput {
    /// E.g. `+K12.2`.
    pub rail: String,
    /// The photos, in any order.
    pub photos: Vec<AuditPhoto>,
    /// A remark for the journal.
    #[serde(default)]
    pub note: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AuditInput {
    /// E.g. `+K12.2`.
    pub rail: String,
}

#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AuditListInput {
    /// Only rails of this cabinet.
    pub cabinet: Option<String>,
}

/// How one slot is settled by who looked at it.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AuditSettleInput {
    /// Address or label of the slot.
    pub slot: String,
    /// Id of the audit.
    pub audit: Uuid,
    /// What was found when somebody looked.
    pub how: AuditSettlement,
    /// Label of the unit that stands there, where the photo does not say it.
    pub unit: Option<String>,
    /// The label is to be printed and stuck on again.
    #[serde(default)]
    pub reprint: bool,
    /// A remark for the journal.
    #[serde(default)]
    pub note: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum AuditSettlement {
    /// The registered unit stands there.
    Stands,
    /// Units really stand in each other's slots: the register follows.
    Exchanged,
    /// The registered unit is not there, and is lost until somebody finds it.
    NotThere,
    /// Another unit stands there: the register follows.
    StandsHere,
    /// What did not belong there was taken out, and is on the bench.
    TakenOut,
    /// It is left as it is, with a note.
    LeftOpen,
}

/// What the photos show of a slot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum AuditFound {
    Present,
    /// Its label is on the photo, but the photo cannot tell its slot from the next one.
    PlaceUnsure,
    /// Empty in the register, and no label is seen in its place.
    Empty,
    /// Units stand in each other's slots: two, or more in a ring.
    Exchanged,
    /// Another unit than the register's.
    Strange,
    /// A label is there and cannot be read, or was only recognised.
    Unreadable,
    /// Its place is on a photo and shows no label: it is empty, or the label is gone.
    Missing,
    /// Photos, or two labels in one place, contradict each other.
    Contradicted,
    /// No photo shows its place: it was not looked at.
    NotCovered,
}

/// A rail held against its photos. Nothing is recorded where `audit` is null.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RailAudit {
    pub rail: String,
    pub rail_title: String,
    /// Id of the audit, once it is recorded.
    pub audit: Option<Uuid>,
    pub at: Option<DateTime<Utc>>,
    pub person: Option<String>,
    /// How many photos were looked at.
    pub pictures: u32,
    /// Names of those that are kept.
    pub photos: Vec<String>,
    /// Every slot, left to right.
    pub slots: Vec<AuditSlot>,
    /// Labels on the rail of which it cannot be said in which slot they are.
    pub loose: Vec<LooseLabel>,
    pub counts: AuditCounts,
    pub message: String,
    /// What to mind before anything is pulled.
    pub cautions: Vec<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AuditSlot {
    /// Address.
    pub slot: String,
    pub number: String,
    pub found: AuditFound,
    /// The unit that the register had there when the photos were judged.
    pub registered: Option<UnitLine>,
    /// Label seen there, as people read it; of an unreadable one what it was recognised as, which
    /// proves nothing.
    pub seen_label: Option<String>,
    /// The unit that carries it.
    pub seen: Option<UnitLine>,
    /// Of units that were exchanged: the slot where its own unit was seen.
    pub with: Option<String>,
    /// The photo that shows it best, counted from 0.
    pub picture: Option<u32>,
    /// Its name, where it is kept.
    pub photo: Option<String>,
    /// What was found, in a sentence.
    pub message: String,
    /// Somebody has to look at it: it is not settled, or was left open.
    pub open: bool,
    /// The ways to settle it, the likeliest first; none before the audit is recorded.
    pub ways: Vec<AuditWay>,
    pub settled: Option<AuditSettledLine>,
    /// Id of the swap that is under way in it.
    pub open_swap: Option<Uuid>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AuditWay {
    pub how: AuditSettlement,
    /// What it records, in a sentence.
    pub does: String,
    /// Why it would be refused now.
    pub refused: Option<String>,
    /// It has to be said which unit stands there.
    pub asks_unit: bool,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AuditSettledLine {
    pub how: AuditSettlement,
    pub at: DateTime<Utc>,
    pub person: String,
    /// The label is to be printed and stuck on again.
    pub reprint: bool,
    pub note: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LooseLabel {
    pub label_human: String,
    /// What it is by the register.
    pub message: String,
    /// The unit that carries it.
    pub unit: Option<UnitLine>,
}

/// How many slots were found how.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct AuditCounts {
    pub present: u32,
    pub place_unsure: u32,
    pub empty: u32,
    pub exchanged: u32,
    pub strange: u32,
    pub unreadable: u32,
    pub missing: u32,
    pub contradicted: u32,
    pub not_covered: u32,
    /// Slots that wait for somebody.
    pub open: u32,
}

/// A rail and its newest audit; nothing beside its name where it was never audited.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AuditLine {
    pub rail: String,
    pub rail_title: String,
    pub audit: Option<Uuid>,
    pub at: Option<DateTime<Utc>>,
    pub person: Option<String>,
    pub counts: Option<AuditCounts>,
}
