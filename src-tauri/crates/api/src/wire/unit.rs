use super::Key;
use super::battery::BatteryLine;
use super::journal::EntryLine;
use super::place::LoopLine;
use chrono::{DateTime, NaiveDate, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct UnitLine {
    /// Label as stored, e.g. `MPU4F7Q2K9`.
    pub label: String,
    /// Label as people read it.
    pub label_human: String,
    pub model: String,
    pub model_title: String,
    pub serial: String,
    pub revision: Option<String>,
    pub firmware: Option<String>,
    /// Slot address, bin path, `bench`, `repair`, `scrapped` or `lost`.
    pub place: String,
    /// What it was handed out for: to a person or a job, or to a swap under way, which may take it
    /// while it still lies in its bin.
    pub handed_out: Option<HandedOut>,
    pub since: DateTime<Utc>,
    /// `good`, `suspect`, `failed` or `quarantined`.
    pub condition: String,
    pub received_on: Option<NaiveDate>,
    pub key: Option<Key>,
    pub battery: Option<FittedBattery>,
}

/// What a unit was handed out for, and what comes next.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HandedOut {
    /// A person, a job, a swap or a visit, in words.
    pub to: String,
    /// When it left its bin; null where only a swap under way takes it.
    pub at: Option<DateTime<Utc>>,
    /// Who recorded that.
    pub by: Option<String>,
    /// What comes next: it is put in, or it is brought back.
    pub next: String,
    /// The bin that it was taken from.
    pub from: Option<String>,
    /// Address of the slot that it is for.
    pub slot: Option<String>,
    /// Id of the swap under way that takes it.
    pub swap: Option<Uuid>,
}

#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FittedBattery {
    /// Part number of the battery.
    pub model: String,
    /// When it was made, as it says itself.
    pub made_on: Option<NaiveDate>,
    /// When it was put in.
    pub fitted_on: NaiveDate,
    /// Label of the lot that it came from.
    pub lot: Option<String>,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UnitInput {
    /// Label, link or serial number.
    pub unit: String,
}

/// Everything about one unit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct UnitCard {
    pub unit: UnitLine,
    pub model: super::model::ModelLine,
    pub slot: Option<super::place::SlotCard>,
    pub loops: Vec<LoopLine>,
    pub battery: Option<BatteryLine>,
    /// Newest first.
    pub history: Vec<EntryLine>,
    /// Spares that may replace it where it stands, nearest and best first.
    pub spares: Vec<super::swap::Candidate>,
}

/// A serialised unit came in.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RegisterInput {
    /// Part number.
    pub model: String,
    /// Serial number on its plate.
    pub serial: String,
    /// Bin path, `bench`, or the slot that it already stands in.
    pub place: String,
    /// Hardware revision on its plate.
    pub revision: Option<String>,
    /// What it was delivered or loaded with.
    pub firmware: Option<String>,
    /// `good` where nothing is given.
    pub condition: Option<String>,
    /// The battery that is in it.
    pub battery: Option<FittedBattery>,
    /// Id of the order that it came on.
    pub order: Option<uuid::Uuid>,
    /// A label that is already stuck on; a new one is made where nothing is given.
    pub label: Option<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Registered {
    pub label: String,
    pub label_human: String,
    pub done: super::Done,
}

/// Revision, firmware or battery were read again.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DescribeInput {
    /// Label or serial number.
    pub unit: String,
    /// Hardware revision on its plate; as it is, when left out.
    pub revision: Option<String>,
    /// As it is, when left out.
    pub firmware: Option<String>,
    /// The battery that is in it; as it is, when left out.
    pub battery: Option<FittedBattery>,
}

/// A unit that is in no slot goes elsewhere or is judged anew.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MoveInput {
    /// Label or serial number.
    pub unit: String,
    /// Bin path or label, `bench`, `repair`, `scrapped` or `lost`; where it is, when left out.
    pub to: Option<String>,
    /// `good`, `suspect`, `failed` or `quarantined`; as it is, when left out.
    pub condition: Option<String>,
    /// Why.
    #[serde(default)]
    pub reason: String,
    /// Id of the swap under way that it is handed out to.
    pub swap: Option<uuid::Uuid>,
    /// Slot whose next swap it is handed out to.
    pub slot: Option<String>,
    /// The visit of the plan that it is handed out to.
    pub visit: Option<super::stock_out::VisitRef>,
    /// The reservation under which it is taken.
    pub reservation: Option<uuid::Uuid>,
}

/// A unit that came out of a slot was tested.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TestInput {
    /// Label or serial number.
    pub unit: String,
    /// False: it works, and its removal was demand for a spare but no failure.
    pub fault_found: bool,
    /// What was tested, and how.
    #[serde(default)]
    pub note: String,
}

/// A unit comes out of its slot without another going in.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RemoveInput {
    /// Label or serial number.
    pub unit: String,
    /// Where it goes, and what was seen.
    pub removal: Removal,
}

/// Why a unit came out and where it went.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Removal {
    /// Bin path or label, `bench`, `repair` or `scrapped`.
    pub to: String,
    /// `good`, `suspect`, `failed` or `quarantined`.
    pub condition: String,
    /// What was seen; left out for a removal without a failure.
    pub failure_mode: Option<String>,
    /// Why it failed, by its word in the site's list, where it is known.
    pub failure_cause: Option<String>,
    /// How it was noticed, by its word in the site's list.
    pub detection: Option<String>,
    /// A remark for the journal.
    #[serde(default)]
    pub note: String,
}
