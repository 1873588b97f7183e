//! What people record about the audit of a rail.

use crate::audit::{Finding, Settlement};
use crate::label::LabelCode;
use crate::photo::PhotoHash;
use crate::place::{RailAddress, SlotAddress};
use uuid::Uuid;

/// A rail was looked at by photo; takes the place of the audit before. Its entry's id names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RailAudited {
    pub rail: RailAddress,
    /// How many photos were looked at.
    pub pictures: u32,
    /// Those that are kept.
    pub photos: Vec<PhotoHash>,
    /// Every slot of the rail, left to right.
    pub findings: Vec<Finding>,
    /// Labels of which it cannot be said in which slot they are.
    pub loose: Vec<LabelCode>,
    pub note: String,
}

/// A person looked at a slot and settled what an audit found of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuditSettled {
    pub audit: Uuid,
    pub slot: SlotAddress,
    pub how: Settlement,
    /// The unit that the register had there when the photos were judged.
    pub registered: Option<LabelCode>,
    /// The unit that stands there, or was taken out; none where it is the registered one.
    pub unit: Option<LabelCode>,
    /// Of units that were exchanged: each slot with the unit that stands there.
    pub exchanged: Vec<(SlotAddress, LabelCode)>,
    /// The label is to be printed and stuck on again.
    pub reprint: bool,
    /// The kept photo that shows the slot.
    pub photo: Option<PhotoHash>,
    pub note: String,
}
