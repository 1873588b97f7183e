use crate::key::KeyScheme;
use crate::label::LabelCode;
use crate::loops::Loop;
use crate::model::{Model, PartNo};
use crate::people::{Device, Person};
use crate::photo::PhotoHash;
use crate::place::{
    Area, Bin, BinPath, Cabinet, CabinetAddress, Rail, RailAddress, Site, Slot, SlotAddress,
    Storeroom,
};
use crate::swap::procedure::Procedure;
use chrono::NaiveDate;
use uuid::Uuid;

mod audit;
mod battery;
mod spares;
mod stock;
mod swap;
mod unit;

pub use audit::*;
pub use battery::*;
pub use spares::*;
pub use stock::*;
pub use swap::*;
pub use unit::*;

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
