use super::{RowFault, Stored, stored};
use chrono::{DateTime, NaiveDate, Utc};
use slotkeep_domain::journal::{
    AgreedVisit, BatteryChanged, BatterySeen, BinCounted, Body, CellFound, ChosenLevel,
    DeviceWithdrawn, FailureNote, LotCounted, LotIssued, LotMoved, LotQuarantined, LotReceived,
    Noted, OrderClosed, OrderPlaced, Override, PastEvent, PastKind, PlaceRemoved,
    PopulationPlanned, PopulationSettled, PowerOffPlanned, PowerOffSettled, PowerScope, Purpose,
    Removable, Removal, ReservationEnded, Reserved, ReservedWhat, SpareChosen, SwapAbandoned,
    SwapFinished, SwapStarted, SwapTicked, TemperatureLogged, UnitDescribed, UnitInstalled,
    UnitMoved, UnitRegistered, UnitRemoved, UnitTested, VisitsAgreed,
};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::model::PartNo;
use slotkeep_domain::photo::PhotoHash;
use slotkeep_domain::place::{BinPath, CabinetAddress, Criticality, SlotAddress};
use slotkeep_domain::swap::Plan;
use slotkeep_domain::unit::{Condition, FittedBattery, UnitPlace};
use uuid::Uuid;

stored! {
    PlaceRemoved as PlaceRemovedRow { what: Removable, reason: String }
    UnitRegistered as UnitRegisteredRow {
        label: LabelCode, model: PartNo, serial: String, revision: Option<String>,
        firmware: Option<String>, place: UnitPlace, since: Option<DateTime<Utc>>,
        condition: Condition, received_on: Option<NaiveDate>, battery: Option<FittedBattery>,
        order: Option<Uuid>,
    }
    UnitDescribed as UnitDescribedRow {
        unit: LabelCode, revision: Option<String>, firmware: Option<String>,
        battery: Option<FittedBattery>,
    }
    UnitInstalled as UnitInstalledRow { unit: LabelCode, slot: SlotAddress }
    Removal as RemovalRow {
        to: UnitPlace, condition: Condition, failure: Option<FailureNote>, note: String,
    }
    UnitRemoved as UnitRemovedRow { unit: LabelCode, slot: SlotAddress, removal: Removal }
    UnitMoved as UnitMovedRow {
        unit: LabelCode, to: UnitPlace, condition: Condition, reason: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        purpose: Option<Purpose>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reservation: Option<Uuid>,
    }
    BatteryChanged as BatteryChangedRow {
        unit: LabelCode, lot: LabelCode, bin: BinPath, powered: bool, memory_saved: bool,
        found: CellFound, found_mv: Option<u32>,
    }
    BatterySeen as BatterySeenRow { unit: LabelCode, low_lamp: bool, mv: Option<u32> }
    PowerOffPlanned as PowerOffPlannedRow {
        scope: PowerScope, from: DateTime<Utc>, to: DateTime<Utc>, reason: String,
    }
    PowerOffSettled as PowerOffSettledRow {
        planned: Uuid, happened: Option<(DateTime<Utc>, DateTime<Utc>)>, reason: String,
    }
    TemperatureLogged as TemperatureLoggedRow { cabinet: CabinetAddress, temperature_c: f64 }
    VisitsAgreed as VisitsAgreedRow { visits: Vec<AgreedVisit>, horizon_until: NaiveDate }
    LotReceived as LotReceivedRow {
        label: LabelCode, code: String, model: PartNo, bin: BinPath, quantity: u32,
        made_on: Option<NaiveDate>, shelf_until: Option<NaiveDate>, order: Option<Uuid>,
    }
    LotIssued as LotIssuedRow {
        lot: LabelCode, bin: BinPath, quantity: u32, to: String, scrapped: bool,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        purpose: Option<Purpose>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reservation: Option<Uuid>,
    }
    LotCounted as LotCountedRow { lot: LabelCode, bin: BinPath, quantity: u32, note: String }
    LotMoved as LotMovedRow { lot: LabelCode, from: BinPath, to: BinPath, quantity: u32 }
    LotQuarantined as LotQuarantinedRow { lot: LabelCode, quarantined: bool, reason: String }
    OrderPlaced as OrderPlacedRow {
        model: PartNo, storeroom: String, quantity: u32, due_on: Option<NaiveDate>,
        reason: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        number: Option<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        price_cents: Option<i64>,
    }
    OrderClosed as OrderClosedRow { order: Uuid, reason: String }
    UnitTested as UnitTestedRow { unit: LabelCode, fault_found: bool, note: String }
    SpareChosen as SpareChosenRow {
        model: PartNo, storeroom: Option<String>, method: Option<String>,
        level: Option<ChosenLevel>, class: Option<Criticality>, reason: String,
    }
    PopulationPlanned as PopulationPlannedRow {
        model: PartNo, on: NaiveDate, installed_change: i32, from_stock: u32, harvested: u32,
        reason: String,
    }
    PopulationSettled as PopulationSettledRow { planned: Uuid, happened: bool, reason: String }
    Reserved as ReservedRow { what: ReservedWhat, purpose: Purpose, until: Option<NaiveDate> }
    ReservationEnded as ReservationEndedRow { reservation: Uuid, used: bool, reason: String }
    BinCounted as BinCountedRow {
        bin: BinPath, lots: Vec<(LabelCode, u32)>, units_found: Vec<LabelCode>,
        units_missing: Vec<LabelCode>, note: String,
    }
    SwapStarted as SwapStartedRow {
        slot: SlotAddress, out: Option<LabelCode>, into: LabelCode, plan: Plan,
        overrides: Vec<Override>,
    }
    SwapTicked as SwapTickedRow {
        swap: Uuid, step: u32, scanned: Option<LabelCode>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reading: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        photo: Option<PhotoHash>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        second: Option<String>,
    }
    SwapFinished as SwapFinishedRow { swap: Uuid, removal: Option<Removal> }
    SwapAbandoned as SwapAbandonedRow {
        swap: Uuid, state_left: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        removal: Option<Removal>,
    }
    PastEvent as PastEventRow {
        what: PastKind, on: NaiveDate, unit: Option<LabelCode>, model: Option<PartNo>,
        slot: Option<SlotAddress>, lot: Option<LabelCode>, quantity: Option<u32>,
        failure: Option<FailureNote>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        found: Option<CellFound>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        found_mv: Option<u32>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        fitted_on: Option<NaiveDate>,
        note: String,
    }
    Noted as NotedRow { subject: String, text: String }
    DeviceWithdrawn as DeviceWithdrawnRow { device: Uuid, reason: String }
}

fn write<T: Stored>(body: &T) -> Result<String, RowFault> {
    serde_json::to_string(&body.to_row()).map_err(|why| RowFault::new("entry", why))
}

fn read<T: Stored>(text: &str) -> Result<T, RowFault> {
    let row = serde_json::from_str(text).map_err(|why| RowFault::new("entry", why))?;
    T::from_row(row)
}

/// The one table of entry kinds: the name in the file, and the variant.
macro_rules! kinds {
    ($($kind:literal = $variant:ident),* $(,)?) => {
        /// Writes what an entry says: its kind and its body as JSON.
        pub fn encode(body: &Body) -> Result<(&'static str, String), RowFault> {
            Ok(match body {
                $(Body::$variant(body) => ($kind, write(body)?),)*
            })
        }

        /// Name of the kind of an entry, e.g. `unit-moved`.
        pub fn kind_of(body: &Body) -> &'static str {
            match body {
                $(Body::$variant(_) => $kind,)*
            }
        }

        /// Reads what an entry says.
        pub fn decode(kind: &str, text: &str) -> Result<Body, RowFault> {
            Ok(match kind {
                $($kind => Body::$variant(read(text)?),)*
                other => return Err(RowFault::new("kind of entry", format!("{other:?}"))),
            })
        }
    };
}

kinds! {
    "site-set" = SiteSet,
    "key-scheme-set" = KeySchemeSet,
    "area-set" = AreaSet,
    "cabinet-set" = CabinetSet,
    "rail-set" = RailSet,
    "slot-set" = SlotSet,
    "model-set" = ModelSet,
    "storeroom-set" = StoreroomSet,
    "bin-set" = BinSet,
    "loop-set" = LoopSet,
    "person-set" = PersonSet,
    "place-removed" = PlaceRemoved,
    "unit-registered" = UnitRegistered,
    "unit-described" = UnitDescribed,
    "unit-installed" = UnitInstalled,
    "unit-removed" = UnitRemoved,
    "unit-moved" = UnitMoved,
    "unit-tested" = UnitTested,
    "battery-changed" = BatteryChanged,
    "battery-seen" = BatterySeen,
    "power-off" = PowerOff,
    "power-off-planned" = PowerOffPlanned,
    "power-off-settled" = PowerOffSettled,
    "temperature-logged" = TemperatureLogged,
    "visits-agreed" = VisitsAgreed,
    "lot-received" = LotReceived,
    "lot-issued" = LotIssued,
    "lot-counted" = LotCounted,
    "lot-moved" = LotMoved,
    "lot-quarantined" = LotQuarantined,
    "order-placed" = OrderPlaced,
    "order-closed" = OrderClosed,
    "spare-chosen" = SpareChosen,
    "population-planned" = PopulationPlanned,
    "population-settled" = PopulationSettled,
    "reserved" = Reserved,
    "reservation-ended" = ReservationEnded,
    "bin-counted" = BinCounted,
    "swap-started" = SwapStarted,
    "procedure-set" = ProcedureSet,
    "swap-ticked" = SwapTicked,
    "swap-finished" = SwapFinished,
    "swap-abandoned" = SwapAbandoned,
    "rail-audited" = RailAudited,
    "audit-settled" = AuditSettled,
    "past-event" = PastEvent,
    "noted" = Noted,
    "device-admitted" = DeviceAdmitted,
    "device-withdrawn" = DeviceWithdrawn,
}
