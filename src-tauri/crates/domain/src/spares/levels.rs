//! Levels: how much stock a wanted service needs, and what service a stock gives.
//!
//! One picture serves every way of ordering. The position (on the shelf and on order, less what is
//! owed) is at its highest the level S, and at a random moment some gap J below it, since not each
//! piece is ordered as it is used. Whatever is ordered now is there after the lead time, in which X
//! pieces are asked for. So the shelf, less what is owed, is S − (J + X), and every figure of
//! service is one of the distribution of J + X ([`ToCover`]). Lead times are known, or their spread
//! is part of X; what cannot be served at once waits.
//!
//! Source: P. H. Zipkin, Foundations of Inventory Management, chapters 6 and 9, from memory.

mod buying;
mod cover;
mod flow;
mod lots;
#[cfg(test)]
mod lots_tests;
mod policy;
#[cfg(test)]
pub(super) mod simulated;
#[cfg(test)]
mod tests;

pub use buying::{
    BuyingLimits, Choice, LimitedBy, PriceBreak, PriceRefusal, Prices, lot_at_breaks,
    used_before_expiry,
};
pub use cover::ToCover;
pub use flow::Flow;
pub use lots::{BestLots, LotAim, LotBound, LotTerms, Lots, best_lots, lot_bounds};
pub use policy::{Manner, Ordering, Performance, Policy};

use super::poisson::DemandRefusal;

/// Hours of a year of 365 days.
pub(super) const HOURS_A_YEAR: f64 = 8760.0;

/// What a stock does for those who need it. These are different numbers, none stands for another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Service {
    /// Probability that what is asked for in a lead time stays within the position at its start,
    /// P(X <= S): at a random moment nothing is owed. With a stock of 1 and a mean of 1 this is
    /// 74 %, though the fill rate is only 37 %.
    pub no_stock_out: f64,
    /// Share of demands that are served from the shelf at once. For single Poisson demands
    /// P(X <= S − 1), since the piece asked for must still be there.
    pub fill_rate: f64,
    /// Pieces owed at a random moment, on average: E[(X − S)+].
    pub backorders: f64,
    /// Hours a year that places stand empty, all places together: backorders · 8760. Each piece
    /// owed is a place that waits.
    pub down_time_h: f64,
    /// Pieces on the shelf at a random moment, on average: E[(S − X)+].
    pub on_hand: f64,
}

/// A measure of service that can be wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Measure {
    NoStockOut,
    FillRate,
    Backorders,
    DownTimeH,
}

/// A wanted service, in one of its four measures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    measure: Measure,
    value: f64,
}

impl Target {
    /// Takes at least this probability or share, or at most this many pieces owed or hours a year.
    ///
    /// Fails with [`LevelRefusal::Probability`] unless a probability or share is from 0 to below 1,
    /// and with [`LevelRefusal::Amount`] unless pieces or hours are above zero: certainty needs
    /// endless stock.
    pub fn new(measure: Measure, value: f64) -> Result<Self, LevelRefusal> {
        match measure {
            Measure::NoStockOut | Measure::FillRate if !(0.0..1.0).contains(&value) => {
                Err(LevelRefusal::Probability { measure: measure.words(), value })
            }
            Measure::Backorders | Measure::DownTimeH if !(value > 0.0 && value.is_finite()) => {
                Err(LevelRefusal::Amount { measure: measure.words(), value })
            }
            _ => Ok(Self { measure, value }),
        }
    }

    pub fn measure(self) -> Measure {
        self.measure
    }

    /// A probability, a share, pieces, or hours a year.
    pub fn value(self) -> f64 {
        self.value
    }

    /// Whether a service is as good as wanted, give or take the last digits of a sum.
    pub fn met_by(self, service: &Service) -> bool {
        let slack = self.value * 1e-12;
        match self.measure {
            Measure::NoStockOut => service.no_stock_out >= self.value - slack,
            Measure::FillRate => service.fill_rate >= self.value - slack,
            Measure::Backorders => service.backorders <= self.value + slack,
            Measure::DownTimeH => service.down_time_h <= self.value + slack,
        }
    }
}

impl Measure {
    /// The measure in words, for sentences.
    pub fn words(self) -> &'static str {
        match self {
            Self::NoStockOut => "probability of no stock-out",
            Self::FillRate => "fill rate",
            Self::Backorders => "pieces owed on average",
            Self::DownTimeH => "hours a year that places stand empty",
        }
    }
}

/// A stock and what it does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// Pieces: the highest position, up to which is ordered.
    pub stock: u64,
    pub service: Service,
}

/// Why there is no level.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LevelRefusal {
    #[error(
        "the wanted {measure} is {value}: give a number from 0 to below 1, such as 0.95; certainty \
         needs endless stock"
    )]
    Probability { measure: &'static str, value: f64 },
    #[error(
        "the wanted {measure} is {value}: give a number above zero; never to owe anything needs \
         endless stock"
    )]
    Amount { measure: &'static str, value: f64 },
    #[error("the {what} is {value}: give a number {wanted}")]
    Figure { what: &'static str, value: f64, wanted: &'static str },
    #[error(
        "{0} pieces are asked for until the order of a review is there: review more often, so that \
         it is 20000 at most"
    )]
    Review(f64),
    #[error("{0}")]
    Prices(#[from] PriceRefusal),
    #[error("{0}")]
    Demand(#[from] DemandRefusal),
}
