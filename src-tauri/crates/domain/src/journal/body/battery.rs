//! What people record about batteries, and about the power and heat that they depend on.

use crate::label::LabelCode;
use crate::place::{AddressRefusal, BinPath, CabinetAddress};
use chrono::{DateTime, NaiveDate, Utc};
use std::fmt;
use uuid::Uuid;

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
