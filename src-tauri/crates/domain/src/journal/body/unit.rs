//! What people record about units.

use crate::journal::Purpose;
use crate::label::LabelCode;
use crate::model::PartNo;
use crate::place::SlotAddress;
use crate::unit::{Condition, FittedBattery, UnitPlace};
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// A unit enters the register, wherever it stands at that moment.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitRegistered {
    pub label: LabelCode,
    pub model: PartNo,
    pub serial: String,
    pub revision: Option<String>,
    pub firmware: Option<String>,
    pub place: UnitPlace,
    /// When it came to that place, where that is known.
    pub since: Option<DateTime<Utc>>,
    pub condition: Condition,
    pub received_on: Option<NaiveDate>,
    pub battery: Option<FittedBattery>,
    /// The order that it came on.
    pub order: Option<Uuid>,
}

/// What is printed on a unit or loaded into it was read again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitDescribed {
    pub unit: LabelCode,
    pub revision: Option<String>,
    pub firmware: Option<String>,
    pub battery: Option<FittedBattery>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitInstalled {
    pub unit: LabelCode,
    pub slot: SlotAddress,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitRemoved {
    pub unit: LabelCode,
    pub slot: SlotAddress,
    pub removal: Removal,
}

/// Why a unit came out and where it went.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Removal {
    pub to: UnitPlace,
    pub condition: Condition,
    /// None for a removal without a failure.
    pub failure: Option<FailureNote>,
    pub note: String,
}

/// Mode (what was seen), cause (why) and detection method, in the manner of ISO 14224.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FailureNote {
    pub mode: String,
    pub cause: Option<String>,
    pub detection: Option<String>,
}

/// A unit that is in no slot went to another place or got another condition.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitMoved {
    pub unit: LabelCode,
    pub to: UnitPlace,
    pub condition: Condition,
    pub reason: String,
    /// What it was handed out to.
    pub purpose: Option<Purpose>,
    /// The reservation under which it was taken.
    pub reservation: Option<Uuid>,
}
