use crate::key::KeyScheme;
use crate::label::LabelCode;
use crate::loops::Loop;
use crate::model::{Model, PartNo};
use crate::people::{Device, Person};
use crate::photo::PhotoHash;
use crate::place::{
    AddressRefusal, Area, Bin, BinPath, Cabinet, CabinetAddress, Rail, RailAddress, Site, Slot,
    SlotAddress, Storeroom,
};
use crate::swap::Plan;
use crate::swap::procedure::Procedure;
use crate::unit::{Condition, FittedBattery, UnitPlace};
use chrono::{DateTime, NaiveDate, Utc};
use std::fmt;
use uuid::Uuid;

mod audit;
mod spares;

pub use audit::*;
pub use spares::*;

/// What happened; each kind is one named operation.
#[derive(Debug, Clone, PartialEq)]
pub enum Body {
    SiteSet(Site),
    KeySchemeSet(KeyScheme),
    AreaSet(Area),
    CabinetSet(Cabinet),
    RailSet(Rail),
    SlotSet(Slot),
    ModelSet(Box<Model>),
    StoreroomSet(Storeroom),
    BinSet(Bin),
    LoopSet(Loop),
    PersonSet(Person),
    ProcedureSet(Procedure),
    PlaceRemoved(PlaceRemoved),
    UnitRegistered(UnitRegistered),
    UnitDescribed(UnitDescribed),
    UnitInstalled(UnitInstalled),
    UnitRemoved(UnitRemoved),
    UnitMoved(UnitMoved),
    UnitTested(UnitTested),
    BatteryChanged(BatteryChanged),
    BatterySeen(BatterySeen),
    PowerOff(PowerOff),
    PowerOffPlanned(PowerOffPlanned),
    PowerOffSettled(PowerOffSettled),
    TemperatureLogged(TemperatureLogged),
    VisitsAgreed(VisitsAgreed),
    LotReceived(LotReceived),
    LotIssued(LotIssued),
    LotCounted(LotCounted),
    LotMoved(LotMoved),
    LotQuarantined(LotQuarantined),
    OrderPlaced(OrderPlaced),
    OrderClosed(OrderClosed),
    SpareChosen(SpareChosen),
    PopulationPlanned(PopulationPlanned),
    PopulationSettled(PopulationSettled),
    Reserved(Reserved),
    ReservationEnded(ReservationEnded),
    BinCounted(BinCounted),
    SwapStarted(SwapStarted),
    SwapTicked(SwapTicked),
    SwapFinished(SwapFinished),
    SwapAbandoned(SwapAbandoned),
    RailAudited(RailAudited),
    AuditSettled(AuditSettled),
    PastEvent(PastEvent),
    Noted(Noted),
    DeviceAdmitted(Device),
    DeviceWithdrawn(DeviceWithdrawn),
}

/// Takes an empty place, or a loop, out of the register.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlaceRemoved {
    pub what: Removable,
    pub reason: String,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Removable {
    Cabinet(CabinetAddress),
    Rail(RailAddress),
    Slot(SlotAddress),
    Bin(BinPath),
    Loop(String),
}

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

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BatteryChanged {
    pub unit: LabelCode,
    pub lot: LabelCode,
    pub bin: BinPath,
    /// Whether the controller was powered while the battery was out.
    pub powered: bool,
    /// Whether the program was saved before.
    pub memory_saved: bool,
    pub found: CellFound,
    /// Voltage of the old cell, mV, where it was measured.
    pub found_mv: Option<u32>,
}

/// How a cell was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CellFound {
    Good,
    Weak,
    Spent,
    /// Nobody looked, or there was none.
    NotJudged,
}

/// A battery was looked at and stayed where it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BatterySeen {
    pub unit: LabelCode,
    /// Whether the controller's lamp for a low battery was lit.
    pub low_lamp: bool,
    /// Voltage, mV, where it was measured.
    pub mv: Option<u32>,
}

/// A stretch without power.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PowerOff {
    pub scope: PowerScope,
    pub from: DateTime<Utc>,
    pub to: DateTime<Utc>,
    pub reason: String,
}

/// A stretch without power that is to come. Its entry's id names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PowerOffPlanned {
    pub scope: PowerScope,
    pub from: DateTime<Utc>,
    pub to: DateTime<Utc>,
    pub reason: String,
}

/// What became of a planned power-off.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PowerOffSettled {
    pub planned: Uuid,
    /// When power went and came back; none: it was called off.
    pub happened: Option<(DateTime<Utc>, DateTime<Utc>)>,
    pub reason: String,
}

/// What lies without power.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum PowerScope {
    Site,
    Area(String),
    Cabinet(CabinetAddress),
}

/// A temperature was read inside a cabinet.
#[derive(Debug, Clone, PartialEq)]
pub struct TemperatureLogged {
    pub cabinet: CabinetAddress,
    pub temperature_c: f64,
}

/// The visits that battery changes will be made at; takes the place of those agreed before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VisitsAgreed {
    /// By day.
    pub visits: Vec<AgreedVisit>,
    /// Last day that the plan looks at.
    pub horizon_until: NaiveDate,
}

/// One walk to a cabinet or area.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AgreedVisit {
    pub on: NaiveDate,
    pub scope: PowerScope,
    /// Units whose batteries are changed.
    pub units: Vec<LabelCode>,
    /// The planned power-off that it needs.
    pub power_off: Option<Uuid>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotReceived {
    pub label: LabelCode,
    pub code: String,
    pub model: PartNo,
    pub bin: BinPath,
    pub quantity: u32,
    pub made_on: Option<NaiveDate>,
    pub shelf_until: Option<NaiveDate>,
    pub order: Option<Uuid>,
}

/// Pieces left the stock: used, or scrapped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotIssued {
    pub lot: LabelCode,
    pub bin: BinPath,
    pub quantity: u32,
    pub to: String,
    pub scrapped: bool,
    /// What they were handed out to.
    pub purpose: Option<Purpose>,
    /// The reservation under which they were taken.
    pub reservation: Option<Uuid>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotCounted {
    pub lot: LabelCode,
    pub bin: BinPath,
    /// Pieces that lie there.
    pub quantity: u32,
    pub note: String,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotMoved {
    pub lot: LabelCode,
    pub from: BinPath,
    pub to: BinPath,
    pub quantity: u32,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotQuarantined {
    pub lot: LabelCode,
    pub quarantined: bool,
    pub reason: String,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderPlaced {
    pub model: PartNo,
    pub storeroom: String,
    pub quantity: u32,
    pub due_on: Option<NaiveDate>,
    pub reason: String,
    /// Number of the order at the supplier or in the plant's books.
    pub number: Option<String>,
    /// Price of one piece that was agreed, cents.
    pub price_cents: Option<i64>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderClosed {
    pub order: Uuid,
    pub reason: String,
}

#[derive(Debug, Clone, PartialEq)]
pub struct SwapStarted {
    pub slot: SlotAddress,
    /// The unit that comes out; none when the slot is empty.
    pub out: Option<LabelCode>,
    /// The unit that goes in.
    pub into: LabelCode,
    /// Verdict and steps as they were when work began.
    pub plan: Plan,
    pub overrides: Vec<Override>,
}

/// A named person took a stop upon themselves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Override {
    pub rule: String,
    pub person: String,
    pub reason: String,
}

#[derive(Debug, Clone, PartialEq)]
pub struct SwapTicked {
    pub swap: Uuid,
    /// Number of the step, counted from 1.
    pub step: u32,
    /// The label that was scanned at the step.
    pub scanned: Option<LabelCode>,
    /// What was read at the step, in its unit.
    pub reading: Option<f64>,
    /// The photo that was taken at the step.
    pub photo: Option<PhotoHash>,
    /// The second person who was there.
    pub second: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SwapFinished {
    pub swap: Uuid,
    /// None when the slot was empty.
    pub removal: Option<Removal>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SwapAbandoned {
    pub swap: Uuid,
    /// What state the plant was left in.
    pub state_left: String,
    /// Where the old unit went, where it had left the slot.
    pub removal: Option<Removal>,
}

/// Something that happened before the register began: it counts as evidence and moves nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PastEvent {
    pub what: PastKind,
    pub on: NaiveDate,
    pub unit: Option<LabelCode>,
    pub model: Option<PartNo>,
    pub slot: Option<SlotAddress>,
    pub lot: Option<LabelCode>,
    pub quantity: Option<u32>,
    pub failure: Option<FailureNote>,
    /// How the battery was found, where one was changed or looked at.
    pub found: Option<CellFound>,
    /// Voltage of that battery, mV.
    pub found_mv: Option<u32>,
    /// Day on which that battery had been fitted, or the unit that failed or came out.
    pub fitted_on: Option<NaiveDate>,
    pub note: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PastKind {
    Failure,
    /// It was taken for failed and tested well.
    NoFaultFound,
    Repair,
    Removed,
    Installed,
    BatteryChanged,
    BatterySeen,
    Inspection,
    Received,
    Issued,
}

/// A remark on anything that has a name in the register.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Noted {
    /// Label, address, tag or part number.
    pub subject: String,
    pub text: String,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeviceWithdrawn {
    pub device: Uuid,
    pub reason: String,
}

impl Body {
    /// The kept photos that it names.
    pub fn photos(&self) -> Vec<&PhotoHash> {
        match self {
            Self::SwapTicked(ticked) => ticked.photo.iter().collect(),
            Self::RailAudited(audited) => {
                let shown = audited.findings.iter().filter_map(|finding| finding.photo.as_ref());
                let mut photos: Vec<_> = audited.photos.iter().chain(shown).collect();
                photos.sort_unstable();
                photos.dedup();
                photos
            }
            Self::AuditSettled(settled) => settled.photo.iter().collect(),
            _ => Vec::new(),
        }
    }
}

impl CellFound {
    pub fn word(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Weak => "weak",
            Self::Spent => "spent",
            Self::NotJudged => "not_judged",
        }
    }
}

impl PowerScope {
    /// Reads `site`, an area code, or a cabinet address such as `+K12`.
    pub fn parse(text: &str) -> Result<Self, AddressRefusal> {
        match text.trim() {
            text if text.eq_ignore_ascii_case("site") => Ok(Self::Site),
            text if text.starts_with('+') => CabinetAddress::parse(text).map(Self::Cabinet),
            code => Ok(Self::Area(code.to_owned())),
        }
    }

    /// Whether a cabinet of an area lies in it.
    pub fn covers(&self, cabinet: &CabinetAddress, area: &str) -> bool {
        match self {
            Self::Site => true,
            Self::Area(code) => code == area,
            Self::Cabinet(address) => address == cabinet,
        }
    }
}

/// Writes what [`PowerScope::parse`] reads.
impl fmt::Display for PowerScope {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Site => f.write_str("site"),
            Self::Area(code) => f.write_str(code),
            Self::Cabinet(address) => address.fmt(f),
        }
    }
}
