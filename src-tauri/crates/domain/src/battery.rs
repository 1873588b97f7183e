//! Back-up batteries: charge left, hold-up time, day to change them and visits that change them.
//!
//! A battery is a primary cell: it starts with its capacity, loses charge by itself at a rate that
//! grows with temperature, and feeds one of two drains: `standby` while the cabinet is powered,
//! `backup` while it is not. Every figure is a closed form of that balance.

mod charge;
mod designation;
mod due;
mod hold_up;
#[cfg(test)]
mod tests;
mod visits;

pub use charge::{Balance, remaining_mah, self_discharge_per_h, years_to_empty};
pub use designation::{Designation, DesignationRefusal, designation};
pub use due::{Due, DueReason, Limits, due};
pub use hold_up::hold_up_h;
pub use visits::{DueAt, Visit, fewest_days, visits};

use chrono::{DateTime, NaiveDate, NaiveTime, Utc};

/// Shelf age assumed where the day of making is unknown, days.
///
/// Two years. Common practice, no source: cells are mostly sold within that time.
pub const UNKNOWN_SHELF_AGE_D: i64 = 730;

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

/// Temperatures that the cell lives at, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Climate {
    pub cabinet_c: f64,
    pub shelf_c: f64,
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
    /// Factor of caution: the capacity is divided by it, the drains and the self-discharge are
    /// multiplied by it. 1 takes the catalogue at its word.
    pub pessimism: f64,
}

impl Battery<'_> {
    /// Tells which figures are no use, in sentences; empty when all are sound.
    ///
    /// The functions of this module take a battery with any finding for an empty one, which errs
    /// towards changing it.
    pub fn findings(&self) -> Vec<String> {
        let at_least_zero = [
            ("capacity_mah", self.cell.capacity_mah),
            ("self_discharge_pct_a_20c", self.cell.self_discharge_pct_a_20c),
            ("standby_ua", self.drain.standby_ua),
            ("backup_ua", self.drain.backup_ua),
        ];
        let mut findings: Vec<String> = at_least_zero
            .into_iter()
            .filter(|(_, value)| !(value.is_finite() && *value >= 0.0))
            .map(|(name, value)| format!("{name} is {value}: give a number of zero or more"))
            .collect();
        let temperatures =
            [("cabinet_c", self.climate.cabinet_c), ("shelf_c", self.climate.shelf_c)];
        findings.extend(
            temperatures.into_iter().filter(|(_, value)| !(-60.0..=150.0).contains(value)).map(
                |(name, value)| format!("{name} is {value}: give a temperature of -60 to 150 °C"),
            ),
        );
        if !(self.pessimism.is_finite() && self.pessimism > 0.0) {
            findings.push(format!("pessimism is {}: give a factor above zero", self.pessimism));
        }
        findings
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
