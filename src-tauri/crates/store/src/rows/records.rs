use super::{RowFault, Stored, stored};
use chrono::{DateTime, NaiveDate, Utc, Weekday};
use slotkeep_domain::journal::{
    AgreedVisit, CellFound, ChosenLevel, FailureNote, PastKind, PowerOff, PowerScope, Purpose,
};
use slotkeep_domain::key::{KeyScheme, KeySetting};
use slotkeep_domain::label::{LabelCode, SitePrefix};
use slotkeep_domain::lineup::Stand;
use slotkeep_domain::loops::{Clearance, EntityInput, Loop, LossEffect};
use slotkeep_domain::model::{
    BaseKind, BatteryNeed, Cell, ChangeWith, CodePattern, EntityOutput, Feeds, Lifecycle, Model,
    ModelKind, OnRail, PartNo, PartsLine, PriceBreak,
};
use slotkeep_domain::people::{Device, Person, Role};
use slotkeep_domain::place::{
    AbcBy, Area, BatteryRules, Bin, BinPath, BusPosition, ByClass, Cabinet, CabinetAddress, Choice,
    Closed, Criticality, GroupBy, Measure, Rail, RailAddress, RailFeed, RailItem, RailItemKind,
    Site, Slot, SlotAddress, SparesRules, Storeroom, Target, TemperatureReading,
};
use slotkeep_domain::register::{
    AgreedPlan, CellEvidence, Failure, Issue, PlannedOff, PopulationChange, PopulationEnd,
    Reservation, ReservationEnd, Settled, SpareChoice, Stay, StayEnd,
};
use slotkeep_domain::rules::RuleSetting;
use slotkeep_domain::rules::own::OwnRule;
use slotkeep_domain::stock::{Lot, Order};
use slotkeep_domain::swap::Severity;
use slotkeep_domain::unit::{BatteryReading, Condition, FittedBattery, Unit, UnitPlace};
use std::collections::BTreeMap;
use uuid::Uuid;

stored! {
    KeyScheme as KeySchemeRow {
        name: String, title: String, keys: u32, letters: String, intrinsically_safe: bool,
    }
    KeySetting as KeySettingRow { scheme: String, code: String }
    Choice as ChoiceRow { code: String, title: String }
    Site as SiteRow {
        name: String, prefix: SitePrefix, temperature_c: f64, shelf_temperature_c: f64,
        battery_age_limit_y: Option<f64>, protection: f64, hold_up_required_h: f64,
        visit_window_d: u32, battery_rules: BatteryRules,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        spares_rules: Option<SparesRules>,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        rules: Vec<RuleSetting>,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        own_rules: Vec<OwnRule>,
        failure_modes: Vec<Choice>, failure_causes: Vec<Choice>,
        detection_methods: Vec<Choice>,
    }
    RuleSetting as RuleSettingRow {
        name: String, on: bool, severity: Option<Severity>, limits: BTreeMap<String, f64>,
    }
    Closed as ClosedRow { from: NaiveDate, to: NaiveDate, reason: String }
    BatteryRules as BatteryRulesRow {
        spent_chance: f64, visit_cost_cents: i64, change_cost_cents: i64, loss_cost_cents: i64,
        crew_h_per_day: f64, setup_min: u32, weekdays: Vec<Weekday>, closed: Vec<Closed>,
        agreed_d: u32, horizon_y: u32, group_by: GroupBy,
    }
    Target as TargetRow { measure: Measure, value: f64 }
    SparesRules as SparesRulesRow {
        targets: ByClass<Target>, missing_cost_cents_h: ByClass<i64>, order_cost_cents: i64,
        holding_pct_a: f64, review_d: Option<u32>, abc_pct: [f64; 2], abc_by: AbcBy,
        xyz_cv: [f64; 2], lateral: bool, lateral_d: u32, dead_after_y: f64,
    }
    Area as AreaRow { code: String, title: String }
    Cabinet as CabinetRow {
        address: CabinetAddress, label: LabelCode, area: String, title: String, width_mm: f64,
        height_mm: f64, temperature_c: Option<f64>, temperatures_c: Option<[f64; 12]>,
        temperature_spread_k: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        depth_mm: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        stand: Option<Stand>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        room_c: Option<f64>,
    }
    Stand as StandRow { back_to_wall: bool, neighbours: u8, top_covered: bool }
    RailFeed as RailFeedRow {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        fed_by: Option<RailAddress>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        redundant: Option<bool>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        line_m: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        line_mm2: Option<f64>,
    }
    RailItem as RailItemRow {
        x_mm: f64, width_mm: f64, kind: RailItemKind, model: Option<PartNo>,
    }
    Rail as RailRow {
        address: RailAddress, title: String, length_mm: f64, y_mm: f64, items: Vec<RailItem>,
        #[serde(default, skip_serializing_if = "RailFeedRow::is_silent")]
        feed: RailFeed,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bus_left: Option<RailAddress>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bus_right: Option<RailAddress>,
    }
    Slot as SlotRow {
        address: SlotAddress, label: LabelCode, title: String, x_mm: f64, width_mm: f64,
        base: BaseKind, key: Option<KeySetting>, model_wanted: Option<PartNo>,
        min_revision: Option<String>, min_firmware: Option<String>,
        redundant_partner: Option<SlotAddress>, bus_position: BusPosition,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bus_address: Option<u32>,
        hot_swap: bool, criticality: Criticality,
    }
    Storeroom as StoreroomRow {
        code: String, title: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        supplied_by: Option<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        resupply_d: Option<u32>,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        areas: Vec<String>,
    }
    Bin as BinRow { path: BinPath, label: LabelCode, title: String }
    EntityOutput as EntityOutputRow {
        uo_v: f64, io_ma: f64, po_mw: f64, co_nf: Option<f64>, lo_mh: Option<f64>,
        lo_ro_uh_ohm: Option<f64>,
    }
    EntityInput as EntityInputRow {
        ui_v: Option<f64>, ii_ma: Option<f64>, pi_mw: Option<f64>, ci_nf: Option<f64>,
        li_mh: Option<f64>, cable_m: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")] cable_nf: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")] cable_mh: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")] cable_uh_ohm: Option<f64>,
    }
    BatteryNeed as BatteryNeedRow {
        model: PartNo, cells: u32, standby_drain_ua: f64, backup_drain_ua: Option<f64>,
        ride_through_s: Option<u32>, standby_spread_pct: Option<f64>,
        backup_spread_pct: Option<f64>, change_with: Option<ChangeWith>, change_min: Option<u32>,
    }
    Cell as CellRow {
        designation: Option<String>, capacity_mah: f64, self_discharge_pct_a: f64,
        shelf_life_y: Option<f64>, max_age_y: Option<f64>, capacity_spread_pct: Option<f64>,
        self_discharge_spread_pct: Option<f64>, activation_energy_ev: Option<f64>,
    }
    OnRail as OnRailRow {
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        buses: Vec<String>,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        terminates: Vec<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bus_units_max: Option<u32>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bus_current_ma: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bus_supply_ma: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        inrush_ma: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        min_voltage_v: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        through_mohm: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        max_ambient_c: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        safe_distance_mm: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        supply_peak_ma: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        supply_v: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        derating_from_c: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        derating_pct_k: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        feeds: Option<Feeds>,
    }
    Model as ModelRow {
        part_no: PartNo, title: String, kind: ModelKind, base: Option<BaseKind>,
        key: Option<KeySetting>, width_mm: f64, channels: u32, current_24v_ma: Option<f64>,
        supply_rating_ma: Option<f64>, heat_w: Option<f64>, intrinsically_safe: bool,
        entity: Option<EntityOutput>, battery: Option<BatteryNeed>, cell: Option<Cell>,
        failure_rate_fit: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        mtbf_h: Option<f64>,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        parts_count: Vec<PartsLine>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        failure_rate_at_c: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        failure_activation_ev: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        failure_rate_worth: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        family: Option<String>,
        lead_time_d: Option<u32>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        lead_time_spread_d: Option<f64>,
        price_cents: Option<i64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pack_size: Option<u32>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        min_order: Option<u32>,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        price_breaks: Vec<PriceBreak>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        shelf_life_y: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        last_order_on: Option<NaiveDate>,
        lifecycle: Lifecycle, substitutes: Vec<PartNo>, revisions: Vec<String>,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        maker_codes: Vec<String>,
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        code_patterns: Vec<CodePattern>,
        repairable: bool, turn_round_d: Option<u32>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        repair_yield_pct: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        repair_price_cents: Option<i64>,
        counted: bool,
        #[serde(default, skip_serializing_if = "OnRailRow::is_silent")]
        on_rail: OnRail,
    }
    PartsLine as PartsLineRow { title: String, count: u32, fit: f64 }
    PriceBreak as PriceBreakRow { from: u32, price_cents: i64 }
    FittedBattery as FittedBatteryRow {
        model: PartNo, made_on: Option<NaiveDate>, fitted_on: NaiveDate, lot: Option<LabelCode>,
    }
    Unit as UnitRow {
        label: LabelCode, model: PartNo, serial: String, revision: Option<String>,
        firmware: Option<String>, place: UnitPlace, since: DateTime<Utc>,
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        since_unknown: bool,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        last_stay: Option<Uuid>,
        condition: Condition, received_on: Option<NaiveDate>, battery: Option<FittedBattery>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        battery_seen: Option<BatteryReading>,
    }
    BatteryReading as BatteryReadingRow { at: DateTime<Utc>, low_lamp: bool, mv: Option<u32> }
    Lot as LotRow {
        label: LabelCode, code: String, model: PartNo, made_on: Option<NaiveDate>,
        shelf_until: Option<NaiveDate>, quarantined: bool, pieces: BTreeMap<BinPath, u32>,
    }
    Loop as LoopRow {
        tag: String, slot: SlotAddress, channel: u32, service: String, on_loss: Option<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")] effect: Option<LossEffect>,
        #[serde(default, skip_serializing_if = "Option::is_none")] clearance: Option<Clearance>,
        safety_function: bool, entity: Option<EntityInput>,
    }
    Order as OrderRow {
        id: Uuid, model: PartNo, storeroom: String, ordered: u32, received: u32,
        placed_at: DateTime<Utc>, due_on: Option<NaiveDate>, reason: String, closed: bool,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        number: Option<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        price_cents: Option<i64>,
    }
    Person as PersonRow { name: String, roles: Vec<Role> }
    Device as DeviceRow {
        id: Uuid, title: String, person: String, roles: Vec<Role>, pass_digest: String,
        withdrawn: bool,
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        calendar_only: bool,
    }
    PowerOff as PowerOffRow {
        scope: PowerScope, from: DateTime<Utc>, to: DateTime<Utc>, reason: String,
    }
    FailureNote as FailureNoteRow {
        mode: String, cause: Option<String>, detection: Option<String>,
    }
    Failure as FailureRow {
        id: Uuid, what: PastKind, at: DateTime<Utc>, model: PartNo, unit: Option<LabelCode>,
        slot: Option<SlotAddress>, mode: Option<String>, cell: Option<CellEvidence>,
    }
    Stay as StayRow {
        id: Uuid, unit: Option<LabelCode>, model: PartNo, slot: Option<SlotAddress>,
        from: DateTime<Utc>, to: DateTime<Utc>, ended_by: StayEnd,
    }
    Issue as IssueRow {
        id: Uuid, at: DateTime<Utc>, model: PartNo, storeroom: Option<String>, pieces: u32,
    }
    ChosenLevel as ChosenLevelRow { reorder_at: u32, order_up_to: u32 }
    SpareChoice as SpareChoiceRow {
        id: Uuid, model: PartNo, storeroom: Option<String>, method: Option<String>,
        level: Option<ChosenLevel>, class: Option<Criticality>, reason: String,
        chosen_at: DateTime<Utc>, chosen_by: String,
    }
    PopulationEnd as PopulationEndRow { happened: bool, reason: String, at: DateTime<Utc> }
    PopulationChange as PopulationChangeRow {
        id: Uuid, model: PartNo, on: NaiveDate, installed_change: i32, from_stock: u32,
        harvested: u32, reason: String, settled: Option<PopulationEnd>,
    }
    ReservationEnd as ReservationEndRow { used: bool, reason: String, at: DateTime<Utc> }
    Reservation as ReservationRow {
        id: Uuid, model: PartNo, storeroom: String, unit: Option<LabelCode>, pieces: u32,
        purpose: Purpose, until: Option<NaiveDate>, made_at: DateTime<Utc>, made_by: String,
        ended: Option<ReservationEnd>,
    }
    CellEvidence as CellEvidenceRow {
        battery: PartNo, fitted_on: Option<NaiveDate>, found: CellFound, mv: Option<u32>,
    }
    PlannedOff as PlannedOffRow { id: Uuid, off: PowerOff, settled: Option<Settled> }
    TemperatureReading as TemperatureReadingRow {
        id: Uuid, cabinet: CabinetAddress, at: DateTime<Utc>, temperature_c: f64,
    }
    AgreedVisit as AgreedVisitRow {
        on: NaiveDate, scope: PowerScope, units: Vec<LabelCode>, power_off: Option<Uuid>,
    }
    AgreedPlan as AgreedPlanRow {
        id: Uuid, agreed_at: DateTime<Utc>, agreed_by: String, visits: Vec<AgreedVisit>,
        horizon_until: NaiveDate,
    }
}

/// What a later version added to a record, and is not written where it says nothing, so that rows
/// from before read as they did and are written as they were.
macro_rules! silent {
    ($($type:ident as $row:ident),*) => {$(
        impl $row {
            fn is_silent(&self) -> bool {
                serde_json::to_vec(self).is_ok_and(|json| json == b"{}")
            }
        }

        impl Default for $row {
            fn default() -> Self {
                $type::default().to_row()
            }
        }
    )*};
}

silent!(OnRail as OnRailRow, RailFeed as RailFeedRow);

/// One value for each class of criticality.
#[derive(serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ByClassRow<T> {
    vital: T,
    essential: T,
    desirable: T,
}

impl<T: Stored> Stored for ByClass<T> {
    type Row = ByClassRow<T::Row>;
    fn to_row(&self) -> Self::Row {
        ByClassRow {
            vital: self.vital.to_row(),
            essential: self.essential.to_row(),
            desirable: self.desirable.to_row(),
        }
    }
    fn from_row(row: Self::Row) -> Result<Self, RowFault> {
        Ok(Self {
            vital: T::from_row(row.vital)?,
            essential: T::from_row(row.essential)?,
            desirable: T::from_row(row.desirable)?,
        })
    }
}
