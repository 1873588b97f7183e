use super::Seen;
use crate::battery::course::DAYS_PER_YEAR;
use chrono::NaiveDate;

/// A day on which somebody looked at a fitted cell, or took it out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    pub on: NaiveDate,
    pub told: Told,
}

/// What the look told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Told {
    Good,
    /// Near its end. Primary lithium cells keep their voltage until then, so it counts as the end.
    Weak,
    Spent,
    /// The low-battery lamp: lit counts as the end.
    LowLamp {
        lit: bool,
    },
    /// A voltage; at the end point of the cell or below it counts as the end.
    Voltage {
        mv: u32,
        end_point_mv: u32,
    },
}

/// Why the looks at a cell tell nothing of its life.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum LookRefusal {
    #[error("nobody looked at the cell after the day it was fitted: record how it is found")]
    NoLook,
    #[error("the cell was looked at on {on}, before it was fitted on {fitted_on}: correct a day")]
    BeforeFitting { on: NaiveDate, fitted_on: NaiveDate },
    #[error(
        "the cell was found low on {on}, the day it was fitted: look at the lot, or correct a day"
    )]
    LowAtFitting { on: NaiveDate },
    #[error("the cell was low on {low_on} and good on {good_on}: correct one of the two")]
    GoodAfterLow { low_on: NaiveDate, good_on: NaiveDate },
}

/// Returns what the looks at one cell tell of its life, in any order: the stretch between the last
/// good and the first low look; before the first low one where none was good; beyond the last good
/// one where none was low.
pub fn evidence(fitted_on: NaiveDate, looks: &[Look]) -> Result<Seen, LookRefusal> {
    if let Some(early) = looks.iter().find(|look| look.on < fitted_on) {
        return Err(LookRefusal::BeforeFitting { on: early.on, fitted_on });
    }
    let first_low = looks.iter().filter(|look| look.told.low()).map(|look| look.on).min();
    let last_good = looks.iter().filter(|look| !look.told.low()).map(|look| look.on).max();
    let years = |on: NaiveDate| (on - fitted_on).num_days() as f64 / DAYS_PER_YEAR;
    let after_fitting = last_good.filter(|good_on| *good_on > fitted_on);
    match (first_low, after_fitting) {
        (Some(on), _) if on == fitted_on => Err(LookRefusal::LowAtFitting { on }),
        (Some(low_on), Some(good_on)) if good_on >= low_on => {
            Err(LookRefusal::GoodAfterLow { low_on, good_on })
        }
        (Some(low_on), Some(good_on)) => {
            Ok(Seen::FailedBetween { from_y: years(good_on), to_y: years(low_on) })
        }
        (Some(low_on), None) => Ok(Seen::FailedBefore { at_y: years(low_on) }),
        (None, Some(good_on)) => Ok(Seen::Outlived { at_y: years(good_on) }),
        (None, None) => Err(LookRefusal::NoLook),
    }
}

impl Told {
    fn low(self) -> bool {
        match self {
            Self::Good => false,
            Self::Weak | Self::Spent => true,
            Self::LowLamp { lit } => lit,
            Self::Voltage { mv, end_point_mv } => mv <= end_point_mv,
        }
    }
}
