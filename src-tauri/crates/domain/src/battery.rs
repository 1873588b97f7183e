//! Back-up batteries: charge left, hold-up time, day to change them and visits that change them.
//!
//! A battery is a primary cell: it starts with its capacity, loses charge by itself at a rate that
//! grows with temperature, and feeds one of two drains: `standby` while the cabinet is powered,
//! `backup` while it is not. [`remaining_mah`] is a closed form of that balance at the figures given;
//! [`Course`] gives its chances, since each of the figures has a spread.

mod capacity;
mod charge;
mod course;
mod designation;
mod due;
mod explain;
mod findings;
mod heat;
mod hold_up;
mod learning;
mod lines;
pub mod plan;
mod policy;
mod readiness;
mod spread;
#[cfg(test)]
mod tests;
mod visits;

pub use capacity::{CapacityRefusal, typical_capacity_mah};
pub use charge::{Balance, remaining_mah, self_discharge_per_h, years_to_empty};
pub use course::Course;
pub use designation::{Designation, DesignationRefusal, designation};
pub use due::{Due, DueRange, DueReason, Limits, SPENT_CHANCE, due, due_days};
pub use explain::{Figure, FigureValue, explain};
pub use findings::{Finding, power_off_findings};
pub use heat::{HeatLaw, HeatRefusal, Pace, REFERENCE_C, Reading, TEMPERATURES_C};
pub use hold_up::hold_up_h;
pub use learning::{
    Blend, FitRefusal, FittedLife, Look, LookRefusal, Seen, Told, WORTH_LIVES, blend, evidence, fit,
};
pub use policy::{Advice, AdviceRefusal, Costs, PolicyCost, advice};
pub use readiness::{Readiness, readiness, what_first};
pub use spread::Spread;
pub use visits::{DueAt, Visit, fewest_days, visits};

use chrono::{DateTime, NaiveDate, NaiveTime, Utc};

/// Shelf age assumed where the day of making is unknown, days.
///
/// Two years. Common practice, no source: cells are mostly sold within that time.
pub const UNKNOWN_SHELF_AGE_D: i64 = 730;

/// Quickest self-discharge that is believed, per cent a year at 20 °C.
const LARGEST_LOSS_PCT_A: f64 = 1000.0;

/// Hours of the year that yearly rates are stated for: 365 days.
pub const HOURS_PER_YEAR: f64 = 8760.0;

/// A cell as the catalogue states it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Capacity of one cell, mAh.
    pub capacity_mah: f64,
    /// Loss of what is left in a year at 20 °C, per cent.
    pub self_discharge_pct_a_20c: f64,
    /// Cells fitted together, in series: all carry the same current, so the fitted battery has the
    /// capacity of one cell. None at all is an empty battery. For cells in parallel state their sum
    /// as the capacity.
    pub cells: u32,
}

/// What the controller takes from the battery.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drain {
    /// With the cabinet powered, µA.
    pub standby_ua: f64,
    /// Without power, to keep the memory, in place of the standby drain, µA.
    pub backup_ua: f64,
}

/// How fast the cell discharges itself where it is and where it was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Climate {
    pub cabinet: Pace,
    pub shelf: Pace,
}

/// When the cell was made and fitted; each day counts from its start in UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fitted {
    /// Unknown counts as [`UNKNOWN_SHELF_AGE_D`] before fitting.
    pub made_on: Option<NaiveDate>,
    pub fitted_on: NaiveDate,
}

/// A stretch without power, recorded or planned. One that ends before it begins counts for nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Off {
    pub from: DateTime<Utc>,
    pub to: DateTime<Utc>,
}

/// A fitted battery with all that its charge depends on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Battery<'a> {
    pub cell: Cell,
    pub drain: Drain,
    pub climate: Climate,
    pub fitted: Fitted,
    /// In any order; stretches that overlap count once.
    pub power_offs: &'a [Off],
    /// How far each figure may be off.
    pub spread: Spread,
}

impl Drain {
    /// Takes the drains of a catalogue line, which may lack one.
    pub fn of_catalogue(standby_ua: f64, backup_ua: Option<f64>) -> Result<Self, Finding> {
        Ok(Self { standby_ua, backup_ua: backup_ua.ok_or(Finding::NoDrain)? })
    }
}

impl Battery<'_> {
    /// Tells whether the figures can be reckoned with. The functions of this module take a battery
    /// of which [`findings`](Battery::findings) stop it for an empty one, which errs towards
    /// changing it.
    fn sound(&self) -> bool {
        let figures = [
            self.cell.capacity_mah,
            self.cell.self_discharge_pct_a_20c,
            self.drain.standby_ua,
            self.drain.backup_ua,
        ];
        self.cell.cells > 0
            && figures.iter().all(|figure| figure.is_finite() && *figure >= 0.0)
            && self.cell.self_discharge_pct_a_20c <= LARGEST_LOSS_PCT_A
            && self.spread.sound()
    }

    /// Share of the charge left that goes in an hour at this pace.
    fn loss_per_h(&self, pace: Pace) -> f64 {
        self.cell.self_discharge_pct_a_20c / 100.0 / HOURS_PER_YEAR * pace.factor()
    }

    fn made_on(&self) -> NaiveDate {
        let assumed = || {
            self.fitted
                .fitted_on
                .checked_sub_signed(chrono::TimeDelta::days(UNKNOWN_SHELF_AGE_D))
                .unwrap_or(NaiveDate::MIN)
        };
        self.fitted.made_on.unwrap_or_else(assumed)
    }
}

fn start_of(day: NaiveDate) -> DateTime<Utc> {
    day.and_time(NaiveTime::MIN).and_utc()
}

fn hours_between(from: DateTime<Utc>, to: DateTime<Utc>) -> f64 {
    (to - from).num_milliseconds() as f64 / 3_600_000.0
}
