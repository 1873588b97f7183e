use super::aggregate::{adida_and_imapa, between};
use super::croston::{Demands, croston_best, less_bias, less_bias_for_poisson};
use super::smoothing::{Smoother, WIDE};

/// A way to foresee the mean demand of a month.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Method {
    /// Nothing will be asked for any more.
    Zero,
    /// As in the last month.
    Naive,
    /// Mean of all months.
    HistoricAverage,
    /// Mean of the last 3, 6 or 12 months, or of what there is.
    Average3,
    Average6,
    Average12,
    /// Simple exponential smoothing with 0.1, 0.3, or the factor of least squared error.
    Smoothing,
    SmoothingQuick,
    SmoothingOptimised,
    /// Croston with 0.1, and with factors of least squared error from 0.1 to 0.3.
    Croston,
    CrostonOptimised,
    /// Croston less its bias: Syntetos and Boylan; Shale, Boylan and Johnston.
    Sba,
    Sbj,
    /// Teunter, Syntetos and Babai: size and chance of demand both smoothed with 0.1.
    Tsb,
    /// The same, sizes smoothed with 0.2.
    TsbQuick,
    /// Sums over the mean interval, smoothed.
    Adida,
    /// Such sums of all lengths up to the mean interval.
    Imapa,
    /// Means of the same months of the years before, drawn towards the mean of all.
    Season,
    /// Negative-binomial counts whose mean evolves.
    EvolvingCounts,
    /// The same for an item whose demand may have ended unseen.
    ZeroInflated,
}

/// How many methods there are.
pub(super) const COUNT: usize = 20;

impl Method {
    pub const ALL: [Self; COUNT] = [
        Self::Zero,
        Self::Naive,
        Self::HistoricAverage,
        Self::Average3,
        Self::Average6,
        Self::Average12,
        Self::Smoothing,
        Self::SmoothingQuick,
        Self::SmoothingOptimised,
        Self::Croston,
        Self::CrostonOptimised,
        Self::Sba,
        Self::Sbj,
        Self::Tsb,
        Self::TsbQuick,
        Self::Adida,
        Self::Imapa,
        Self::Season,
        Self::EvolvingCounts,
        Self::ZeroInflated,
    ];

    /// What people read.
    pub fn title(self) -> &'static str {
        match self {
            Self::Zero => "no more demand",
            Self::Naive => "as last month",
            Self::HistoricAverage => "mean of all months",
            Self::Average3 => "mean of 3 months",
            Self::Average6 => "mean of 6 months",
            Self::Average12 => "mean of 12 months",
            Self::Smoothing => "smoothing 0.1",
            Self::SmoothingQuick => "smoothing 0.3",
            Self::SmoothingOptimised => "smoothing, fitted",
            Self::Croston => "Croston",
            Self::CrostonOptimised => "Croston, fitted",
            Self::Sba => "Croston after Syntetos and Boylan",
            Self::Sbj => "Croston after Shale, Boylan and Johnston",
            Self::Tsb => "chance and size smoothed 0.1 (TSB)",
            Self::TsbQuick => "chance smoothed 0.1, size 0.2 (TSB)",
            Self::Adida => "sums over the mean interval (ADIDA)",
            Self::Imapa => "sums of several lengths (IMAPA)",
            Self::Season => "same months of earlier years",
            Self::EvolvingCounts => "counts with evolving mean",
            Self::ZeroInflated => "counts that may have ended",
        }
    }
}

/// Factors that the methods of fixed factor take.
pub(super) const ALPHA: f64 = 0.1;
/// Years that no shape at all counts for in the shape of a season.
const SEASON_WORTH: f64 = 2.0;
const ALPHA_QUICK: f64 = 0.3;
const ALPHA_SIZE: f64 = 0.2;

/// Levels of the methods that only carry a state on, after each period of a history.
#[derive(Debug, Clone, Copy, Default)]
struct Carried {
    periods: f64,
    total: f64,
    smooth: f64,
    quick: f64,
    chance: f64,
    size: f64,
    size_quick: f64,
    interval: f64,
    since: f64,
    asked: bool,
}

impl Carried {
    fn take(&mut self, demand: f64) {
        let asked = f64::from(demand > 0.0);
        self.since += 1.0;
        if self.periods == 0.0 {
            (self.smooth, self.quick, self.chance) = (demand, demand, asked);
        } else {
            self.smooth += ALPHA * (demand - self.smooth);
            self.quick += ALPHA_QUICK * (demand - self.quick);
            self.chance += ALPHA * (asked - self.chance);
        }
        if demand > 0.0 {
            if self.asked {
                self.size += ALPHA * (demand - self.size);
                self.size_quick += ALPHA_SIZE * (demand - self.size_quick);
                self.interval += ALPHA * (self.since - self.interval);
            } else {
                (self.size, self.size_quick, self.interval) = (demand, demand, self.since);
                self.asked = true;
            }
            self.since = 0.0;
        }
        self.periods += 1.0;
        self.total += demand;
    }
}

/// Mean demand of a month by each method after each of some numbers of periods, which rise.
///
/// Two methods that are distributions rather than levels, the evolving counts, are left at the mean
/// of all months here; [`super::ahead`] knows them.
///
/// Sources: where each method is made; start values as the PyPI package statsforecast 2.1 has them.
pub(super) fn levels(demands: &[f64], origins: &[usize]) -> Vec<[f64; COUNT]> {
    let mut carried = Carried::default();
    let mut sums = Vec::with_capacity(demands.len() + 1);
    sums.push(0.0);
    let mut levels = Vec::with_capacity(origins.len());
    let mut wanted = origins.iter().zip(searched(demands, origins)).peekable();
    for (at, demand) in demands.iter().enumerate() {
        carried.take(*demand);
        sums.push(carried.total);
        while let Some((_, searched)) = wanted.next_if(|(origin, _)| **origin == at + 1) {
            levels.push(level_of(&carried, *demand, &searched, &sums));
        }
    }
    levels
}

/// Levels of the methods that look for factors of their own.
#[derive(Debug, Clone, Copy)]
struct Searched {
    smoothing: f64,
    croston: f64,
    adida: f64,
    imapa: f64,
}

fn searched(demands: &[f64], origins: &[usize]) -> Vec<Searched> {
    let mut smoother = Smoother::default();
    let found = Demands::of(demands);
    let counts = found.counts(origins);
    let between: Vec<usize> =
        counts.iter().map(|count| between(&found.intervals[..*count])).collect();
    let sums = adida_and_imapa(demands, origins, &between, &mut smoother);
    let croston = croston_best(&found, &counts, &mut smoother);
    let smoothing = smoother.best(demands, origins, WIDE);
    let rest = croston.into_iter().zip(sums);
    let each = |(smoothing, (croston, (adida, imapa))): (&f64, (f64, (f64, f64)))| Searched {
        smoothing: *smoothing,
        croston,
        adida,
        imapa,
    };
    smoothing.iter().zip(rest).map(each).collect()
}

fn level_of(carried: &Carried, last: f64, searched: &Searched, sums: &[f64]) -> [f64; COUNT] {
    let past = sums.len() - 1;
    let recent = |months: usize| {
        let months = months.min(past);
        (sums[past] - sums[past - months]) / months as f64
    };
    let croston_plain = if carried.asked { carried.size / carried.interval } else { 0.0 };
    Method::ALL.map(|method| match method {
        Method::Zero => 0.0,
        Method::Naive => last,
        Method::Average3 => recent(3),
        Method::Average6 => recent(6),
        Method::Average12 => recent(12),
        Method::Smoothing => carried.smooth,
        Method::SmoothingQuick => carried.quick,
        Method::SmoothingOptimised => searched.smoothing,
        Method::Croston => croston_plain,
        Method::CrostonOptimised => searched.croston,
        Method::Sba => croston_plain * less_bias(ALPHA),
        Method::Sbj => croston_plain * less_bias_for_poisson(ALPHA),
        Method::Tsb => carried.size * carried.chance,
        Method::TsbQuick => carried.size_quick * carried.chance,
        Method::Adida => searched.adida,
        Method::Imapa => searched.imapa,
        Method::HistoricAverage
        | Method::Season
        | Method::EvolvingCounts
        | Method::ZeroInflated => carried.total / carried.periods,
    })
}

/// Demand of each of the months of a season to come: the last season's mean in the shape of the
/// same months of earlier years, drawn towards no shape at all.
///
/// A month of the season that was never seen has the mean.
pub(super) fn season_ahead(demands: &[f64], season: usize) -> Vec<f64> {
    let past = demands.len();
    let total: f64 = demands.iter().sum();
    if total <= 0.0 {
        return vec![0.0; season];
    }
    let mean = total / past as f64;
    let lately = &demands[past.saturating_sub(season)..];
    let level = lately.iter().sum::<f64>() / lately.len() as f64;
    let mut seen = vec![(0.0, 0.0); season];
    let mut month = (season - past % season) % season;
    for demand in demands {
        let (sum, count) = &mut seen[month];
        *sum += demand;
        *count += 1.0;
        month = if month + 1 == season { 0 } else { month + 1 };
    }
    let shaped =
        |(sum, count): (f64, f64)| level * (sum / mean + SEASON_WORTH) / (count + SEASON_WORTH);
    seen.into_iter().map(shaped).collect()
}
