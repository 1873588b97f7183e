use super::Site;

/// Most pieces in a store, and most stores of a network, that are reckoned with.
pub const LARGEST_STOCK: u64 = 100_000;
const MOST_SITES: usize = 10_000;
/// Most pieces on their way, on average.
const LARGEST_PIPELINE: f64 = 10_000.0;
/// Narrowest and widest belief about a rate. Below the first most of the weight lies at no
/// failures at all; above the second negative binomial and Poisson are the same figures.
const SHAPES: std::ops::RangeInclusive<f64> = 0.01..=1e6;
/// Cells of the exact tables up to which they are made: some 20 ms and 40 MB.
const EXACT_CELLS: f64 = 5e6;
/// Pieces on their way to one site, without the central store's delay, up to which the chance of
/// none can be written as a number.
const EXACT_OWN: f64 = 500.0;

/// One model in a central store and the stores that it supplies, with times in one unit.
///
/// Each piece used is ordered at once, one for one, from the store above; orders are served in the
/// order in which they come. The central store is always supplied after its time.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    pub sites: Vec<Site>,
    /// Demand of places that the central store serves itself, in a unit of time.
    pub central_demand: f64,
    pub central_stock: u64,
    /// Time until the central store gets a piece back.
    pub central_time: f64,
    /// Gamma shape of the belief about the failure rate, which is one for all places: what is asked
    /// for in a time is then negative binomial. None where the rate is taken as known: Poisson.
    pub rate_shape: Option<f64>,
}

/// How the central store's delay is reckoned with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reckoning {
    /// Exact: each piece owed by the central store belongs to a site by chance (binomial split).
    /// Holds for Poisson demand and for a rate that is uncertain but one for all places.
    Exact,
    /// VARI-METRIC: negative binomial of the exact mean and variance of the pieces on their way.
    VariMetric,
    /// METRIC: Poisson of the mean alone. Too low where the central store is short.
    Metric,
}

/// Why a network cannot be reckoned with.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NetworkRefusal {
    #[error("{name} is {figure}: give a number of zero or more")]
    Figure { name: String, figure: f64 },
    #[error("the share repaired at store {site} is {share}: give a number from 0 to 1")]
    Share { site: usize, share: f64 },
    #[error("the shape of the rate is {0}: give a number from 0.01 to 1000000, or none")]
    Shape(f64),
    #[error(
        "{pieces} pieces are on their way on average: up to 10000 are reckoned with; check the \
         demands and the times, which must be in one unit"
    )]
    Pieces { pieces: f64 },
    #[error("there are {0} stores: up to 10000 are reckoned with")]
    Sites(usize),
    #[error("{0} pieces of stock are more than is reckoned with: give up to 100000")]
    Stock(u64),
    #[error("{given} stocks were given for {sites} stores: give one for each")]
    Stocks { given: usize, sites: usize },
    #[error(
        "the target of {0} is met by no stock that is reckoned with: ask for less; pieces owed are \
         known down to about 1e-12"
    )]
    Target(f64),
    #[error("the time of a loan is {0}: give a number of zero or more, in the unit of the demands")]
    LoanTime(f64),
}

impl Network {
    /// Says what is wrong, if anything is.
    pub fn check(&self) -> Result<(), NetworkRefusal> {
        if self.sites.len() > MOST_SITES {
            return Err(NetworkRefusal::Sites(self.sites.len()));
        }
        at_least_zero("the demand at the central store", self.central_demand)?;
        at_least_zero("the time of the central store", self.central_time)?;
        if let Some(shape) = self.rate_shape.filter(|shape| !SHAPES.contains(shape)) {
            return Err(NetworkRefusal::Shape(shape));
        }
        for (number, site) in self.sites.iter().enumerate() {
            at_least_zero(&format!("the demand at store {number}"), site.demand)?;
            at_least_zero(&format!("the repair time at store {number}"), site.repair_time)?;
            at_least_zero(&format!("the time to store {number}"), site.order_time)?;
            if !(0.0..=1.0).contains(&site.repaired_here) {
                return Err(NetworkRefusal::Share { site: number, share: site.repaired_here });
            }
        }
        let pieces = self.central_mean() + self.sites.iter().map(own_mean).sum::<f64>();
        if pieces.is_nan() || pieces > LARGEST_PIPELINE {
            return Err(NetworkRefusal::Pieces { pieces });
        }
        let stocks = self.sites.iter().map(|site| site.stock).chain([self.central_stock]);
        match stocks.max().filter(|stock| *stock > LARGEST_STOCK) {
            Some(stock) => Err(NetworkRefusal::Stock(stock)),
            None => Ok(()),
        }
    }

    /// Returns the reckoning that is shown where nobody asks for another: exact while its tables
    /// have at most five million cells (stocks of the central store times pieces on their way to a
    /// store, over all stores) and at most 500 pieces are on their way to a store by itself, else
    /// VARI-METRIC.
    pub fn affordable(&self) -> Reckoning {
        let reach = |mean: f64| {
            let variance = mean + self.rate_shape.map_or(0.0, |shape| mean * mean / shape);
            mean + 9.0 * variance.sqrt() + 15.0 + variance / mean.max(1.0) * 20.0
        };
        let depth = reach(self.central_mean());
        let widths: f64 =
            self.sites.iter().map(|site| reach(own_mean(site) + self.delayed_most(site))).sum();
        let near = self.sites.iter().all(|site| own_mean(site) <= EXACT_OWN);
        if near && depth * widths <= EXACT_CELLS { Reckoning::Exact } else { Reckoning::VariMetric }
    }

    /// Pieces that are asked of the central store in a unit of time.
    pub(super) fn asked_centrally(&self) -> f64 {
        self.central_demand + self.sites.iter().map(sent).sum::<f64>()
    }

    /// Pieces on their way to the central store, on average.
    pub(super) fn central_mean(&self) -> f64 {
        self.asked_centrally() * self.central_time
    }

    /// Share of what is asked of the central store that a site asks.
    pub(super) fn share(&self, site: &Site) -> f64 {
        let all = self.asked_centrally();
        if all > 0.0 { sent(site) / all } else { 0.0 }
    }

    /// Pieces of a site that an empty central store owes, on average.
    fn delayed_most(&self, site: &Site) -> f64 {
        sent(site) * self.central_time
    }
}

/// Demand that a site sends on.
pub(super) fn sent(site: &Site) -> f64 {
    site.demand * (1.0 - site.repaired_here)
}

/// Pieces on their way to a site, on average, when the central store is never short.
pub(super) fn own_mean(site: &Site) -> f64 {
    site.demand * site.repaired_here * site.repair_time + sent(site) * site.order_time
}

fn at_least_zero(name: &str, figure: f64) -> Result<(), NetworkRefusal> {
    if figure.is_finite() && figure >= 0.0 {
        Ok(())
    } else {
        Err(NetworkRefusal::Figure { name: name.to_owned(), figure })
    }
}
