use super::super::LARGEST_MEAN;

/// Longest history that is reckoned with, periods: a hundred years of months.
pub const LONGEST_HISTORY: usize = 1200;

/// Demand of equal periods, oldest first, each a number of zero or more.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    demands: Vec<f64>,
}

/// Why a history says nothing.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum HistoryRefusal {
    #[error("the history is empty: give the demand of at least one month, 0 where none was asked")]
    Empty,
    #[error(
        "the demand of period {period} is {demand}: give a number from 0 to 1000000; a return \
         belongs to the stock, not to the demand"
    )]
    Demand { period: usize, demand: f64 },
    #[error("the history has {0} periods: give the last 1200 at most")]
    Long(usize),
}

impl History {
    /// Takes the demands of a history.
    ///
    /// Fails where there are none or more than [`LONGEST_HISTORY`], and where one is negative, not
    /// finite or above [`LARGEST_MEAN`]; its period is named, the first one being 1. Zeros alone
    /// are a history.
    pub fn new(demands: Vec<f64>) -> Result<Self, HistoryRefusal> {
        if demands.is_empty() {
            return Err(HistoryRefusal::Empty);
        }
        if demands.len() > LONGEST_HISTORY {
            return Err(HistoryRefusal::Long(demands.len()));
        }
        let odd = demands.iter().position(|demand| !(0.0..=LARGEST_MEAN).contains(demand));
        if let Some(at) = odd {
            return Err(HistoryRefusal::Demand { period: at + 1, demand: demands[at] });
        }
        Ok(Self { demands })
    }

    /// Takes a part of a history that was looked at before.
    pub(super) fn known(demands: &[f64]) -> Self {
        Self { demands: demands.to_vec() }
    }

    pub fn demands(&self) -> &[f64] {
        &self.demands
    }
}
