use chrono::{DateTime, NaiveDate, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// One back-up battery and when it must be changed.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BatteryLine {
    pub unit: super::unit::UnitLine,
    pub cabinet: Option<String>,
    /// Battery that the controller takes.
    pub battery_model: String,
    pub cells: u32,
    /// Whether power must be on or off while it is changed: `powered`, `unpowered` or `either`.
    pub change_with: String,
    /// Day by which it must be changed; none where the register lacks a figure.
    pub due_on: Option<NaiveDate>,
    /// Days on which the charge no longer covers the power-off asked for, without limits of age.
    pub range: Option<DueRange>,
    /// Days from today; negative when overdue.
    pub days_left: Option<i64>,
    /// `charge`, `age_limit`, `maker_age_limit`, `spent`, `low_lamp`, `later_change` or `unknown`.
    pub reason: String,
    /// The reason in a sentence, with what is missing where it is unknown.
    pub message: String,
    /// Hours that the memory outlasts a power-off beginning now, but for the chance that the site
    /// allows; none also where it outlasts it without end.
    pub hold_up_h: Option<f64>,
    /// The same, as often less as more.
    pub hold_up_middle_h: Option<f64>,
    pub hold_up_required_h: f64,
    /// Charge left now, mAh, as often less as more.
    pub remaining_mah: Option<f64>,
    /// `overdue`, `soon` (within 90 days), `later` or `unknown`.
    pub urgency: String,
    /// Where its temperature is from: `logged`, `monthly`, `yearly`, `site` or `shelf`.
    pub climate: Option<String>,
    /// The newest look at it.
    pub seen: Option<SeenLine>,
    /// What the cells found here say of it, beside the due date; only in `battery.list`.
    pub found_here: Option<FoundHere>,
    /// The figures with the sums behind them: due day, charge left, hold-up. Left out in visits.
    pub sum: Vec<SumLine>,
}

/// Days with their chances: 10, 50 and 90 % of such batteries no longer cover the hold-up then.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DueRange {
    pub early_on: NaiveDate,
    pub middle_on: NaiveDate,
    pub late_on: NaiveDate,
}

/// The day that the life of the type gives, as the model and the cells found here blend to it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FoundHere {
    /// From then on as many would be spent as the site allows.
    pub on: NaiveDate,
    /// Age at that day, years from fitting.
    pub at_y: f64,
    /// Share of the evidence that is the cells found here, per cent.
    pub found_share_pct: f64,
    /// Whether that is before the due date.
    pub before_due: bool,
    pub message: String,
}

/// What was seen of a battery that stayed where it is.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SeenLine {
    pub at: DateTime<Utc>,
    pub low_lamp: bool,
    /// Voltage, mV.
    pub mv: Option<u32>,
}

/// A figure, and what it was reckoned from.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SumLine {
    pub what: String,
    /// None for a day, and for what has no end.
    pub value: Option<f64>,
    pub day: Option<NaiveDate>,
    pub unit: String,
    /// How the parts make the figure, in words; empty for what was put in.
    pub rule: String,
    pub parts: Vec<SumLine>,
}

#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BatteriesInput {
    /// Only those of this cabinet.
    pub cabinet: Option<String>,
    /// Only those due within so many days.
    pub within_d: Option<u32>,
}

#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VisitsInput {
    /// Put what is due in a cabinet within so many days of the first together, in place of asking
    /// the planner.
    pub window_d: Option<u32>,
    /// How far to look, in days (730).
    pub horizon_d: Option<u32>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct VisitLine {
    pub on: NaiveDate,
    /// It was agreed for that day; else it is proposed, since nothing was agreed in time.
    pub agreed: bool,
    pub cabinet: String,
    pub cabinet_title: String,
    pub batteries: Vec<BatteryLine>,
    /// Lots to take along: first expired, first out.
    pub take: Vec<TakeLine>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TakeLine {
    pub battery_model: String,
    pub cells: u32,
    /// Label of the lot; none where the shelf has none that is fresh enough.
    pub lot: Option<String>,
    pub lot_code: Option<String>,
    pub bin: Option<String>,
    pub message: String,
}

/// A battery was changed.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChangeInput {
    /// Label or serial number of the controller.
    pub unit: String,
    /// Label or code of the lot.
    pub lot: String,
    /// May be left out where the lot lies in one bin.
    pub bin: Option<String>,
    /// Whether the controller was powered while the battery was out.
    pub powered: bool,
    /// Whether the program was saved before.
    pub memory_saved: bool,
    /// How the old cell was found: `good`, `weak`, `spent` or `not_judged`.
    pub found: Option<String>,
    /// Voltage of the old cell, mV.
    pub found_mv: Option<u32>,
}

/// A battery was looked at and stayed where it is.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SeenInput {
    /// Label or serial number of the controller.
    pub unit: String,
    /// Whether its lamp for a low battery was lit.
    pub low_lamp: bool,
    /// Voltage of the battery, mV, where it was measured.
    pub mv: Option<u32>,
}

/// Where calendar programs read the visits.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CalendarAddress {
    /// Names it in the list of devices, where it can be withdrawn.
    pub device: Uuid,
    /// To be added to the door's address; shown once.
    pub path: String,
    pub message: String,
}
