//! Units: one physical serialised item, which is in exactly one place.

use crate::label::LabelCode;
use crate::model::PartNo;
use crate::place::{BinPath, SlotAddress};
use chrono::{DateTime, NaiveDate, Utc};
use std::fmt;
use uuid::Uuid;

#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    pub label: LabelCode,
    pub model: PartNo,
    pub serial: String,
    pub revision: Option<String>,
    pub firmware: Option<String>,
    pub place: UnitPlace,
    /// When it came to that place.
    pub since: DateTime<Utc>,
    /// It stood in its slot before the register began, and nobody knows since when: `since` is
    /// then the day on which it was registered.
    pub since_unknown: bool,
    /// The entry that ended its newest stay in a slot.
    pub last_stay: Option<Uuid>,
    pub condition: Condition,
    pub received_on: Option<NaiveDate>,
    pub battery: Option<FittedBattery>,
    /// The newest look at the battery that sits in it.
    pub battery_seen: Option<BatteryReading>,
}

/// What was seen of a battery that stayed where it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BatteryReading {
    pub at: DateTime<Utc>,
    /// Whether the controller's lamp for a low battery was lit.
    pub low_lamp: bool,
    /// Voltage, mV, where it was measured.
    pub mv: Option<u32>,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum UnitPlace {
    Slot(SlotAddress),
    Bin(BinPath),
    Bench,
    Repair,
    Scrapped,
    /// Not found where it should lie, until somebody finds it.
    Lost,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Condition {
    Good,
    Suspect,
    Failed,
    Quarantined,
}

/// The battery that sits in a unit now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FittedBattery {
    pub model: PartNo,
    /// Day the cell was made; shelf age before fitting counts.
    pub made_on: Option<NaiveDate>,
    pub fitted_on: NaiveDate,
    pub lot: Option<LabelCode>,
}

/// Dotted numbers of a firmware name, trailing zeros dropped: 2.10 is later than 2.9.
///
/// None where it is not made of numbers, and so cannot be put in order.
pub fn firmware_order(text: &str) -> Option<Vec<u64>> {
    let text = text.trim().trim_start_matches(['v', 'V']);
    let mut parts = text.split('.').map(|part| part.parse().ok()).collect::<Option<Vec<u64>>>()?;
    while parts.last() == Some(&0) {
        parts.pop();
    }
    Some(parts)
}

impl Unit {
    /// Whether it lies ready for use in a bin of a storeroom.
    pub fn lies_good_in(&self, storeroom: &str) -> bool {
        self.condition == Condition::Good
            && self.place.bin().is_some_and(|bin| bin.storeroom() == storeroom)
    }
}

impl UnitPlace {
    /// Reads what [`fmt::Display`] writes: an address, a bin path or one of the words.
    pub fn parse(text: &str) -> Result<Self, String> {
        let text = text.trim();
        match text.to_ascii_lowercase().as_str() {
            "bench" => return Ok(Self::Bench),
            "repair" => return Ok(Self::Repair),
            "scrapped" => return Ok(Self::Scrapped),
            "lost" => return Ok(Self::Lost),
            _ => {}
        }
        if let Ok(slot) = SlotAddress::parse(text) {
            return Ok(Self::Slot(slot));
        }
        BinPath::parse(text).map(Self::Bin).map_err(|_| {
            format!(
                "{text:?} is not a place; write a slot (+K12.2.07), a bin (ST1/A-03), \
                 bench, repair, scrapped or lost"
            )
        })
    }

    pub fn slot(&self) -> Option<&SlotAddress> {
        match self {
            Self::Slot(slot) => Some(slot),
            _ => None,
        }
    }

    pub fn bin(&self) -> Option<&BinPath> {
        match self {
            Self::Bin(bin) => Some(bin),
            _ => None,
        }
    }
}

impl fmt::Display for UnitPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Slot(slot) => slot.fmt(f),
            Self::Bin(bin) => bin.fmt(f),
            Self::Bench => f.write_str("bench"),
            Self::Repair => f.write_str("repair"),
            Self::Scrapped => f.write_str("scrapped"),
            Self::Lost => f.write_str("lost"),
        }
    }
}

impl Condition {
    pub fn word(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Suspect => "suspect",
            Self::Failed => "failed",
            Self::Quarantined => "quarantined",
        }
    }
}
