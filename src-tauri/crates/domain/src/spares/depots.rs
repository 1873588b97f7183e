//! A central store and the stores that it supplies.
//!
//! [`two_levels`] sets three reckonings side by side; [`Echelons`] answers everything else of one
//! model: service by its measures, the best split of a number of spares, the least number for a
//! target, loans between stores.

mod echelons;
mod loans;
mod lots;
mod network;
mod split;
#[cfg(test)]
mod tests;
mod waiting;

pub use echelons::{Echelons, NetworkService, StoreService, over_networks};
pub use loans::LoanService;
pub use network::{LARGEST_STOCK, Network, NetworkRefusal, Reckoning};
pub use split::Split;

use super::base_stock::{expected_backorders, variance_of_backorders};
use super::poisson::poisson_above;
use statrs::distribution::{Binomial, Discrete};

/// A site that is supplied by a central store, with times in one unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Site {
    /// Failures in a unit of time.
    pub demand: f64,
    /// Share of them repaired at the site.
    pub repaired_here: f64,
    /// Time of a repair at the site.
    pub repair_time: f64,
    /// Time from the central store to the site.
    pub order_time: f64,
    pub stock: u64,
}

/// Pieces owed at a site, by three reckonings of the central store's delay.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SiteBackorders {
    /// Pieces on their way to the site, mean and variance.
    pub mean: f64,
    pub variance: f64,
    /// METRIC: Poisson with that mean; too low where the central store is short.
    pub metric: f64,
    /// VARI-METRIC: negative binomial with that mean and variance.
    pub vari_metric: f64,
    /// Exact.
    pub exact: f64,
}

/// The central store and its sites.
#[derive(Debug, Clone, PartialEq)]
pub struct TwoLevels {
    pub depot_demand: f64,
    pub depot_mean: f64,
    pub depot_backorders: f64,
    pub depot_variance: f64,
    pub sites: Vec<SiteBackorders>,
}

/// Returns the pieces owed at each site of a central store that holds `depot_stock` and gets a
/// piece back after `depot_time`.
///
/// Source: METRIC, Sherbrooke 1968, Operations Research 16(1):122-141; VARI-METRIC, Slay 1984 and
/// Sherbrooke 1986; exact by binomial split of the central store's backorders, Simon 1971 and
/// Graves 1985, Management Science 31(10):1247-1256.
pub fn two_levels(sites: &[Site], depot_stock: u64, depot_time: f64) -> TwoLevels {
    let sent = |site: &Site| site.demand * (1.0 - site.repaired_here);
    let depot_demand: f64 = sites.iter().map(sent).sum();
    let depot_mean = depot_demand * depot_time;
    let depot_backorders = expected_backorders(depot_mean, depot_stock);
    let depot_variance = variance_of_backorders(depot_mean, depot_stock);
    let reckon = |site: &Site| {
        let share = if depot_demand > 0.0 { sent(site) / depot_demand } else { 0.0 };
        let own =
            site.demand * site.repaired_here * site.repair_time + sent(site) * site.order_time;
        let mean = own + share * depot_backorders;
        let variance =
            own + share * (1.0 - share) * depot_backorders + share * share * depot_variance;
        SiteBackorders {
            mean,
            variance,
            metric: expected_backorders(mean, site.stock),
            vari_metric: spread_backorders(mean, variance, site.stock),
            exact: split_backorders(own, share, depot_mean, depot_stock, site.stock),
        }
    };
    let sites = sites.iter().map(reckon).collect();
    TwoLevels { depot_demand, depot_mean, depot_backorders, depot_variance, sites }
}

/// Backorders of a negative binomial pipeline; Poisson where the variance is no more than the mean.
fn spread_backorders(mean: f64, variance: f64, stock: u64) -> f64 {
    if variance <= mean * (1.0 + 1e-9) {
        return expected_backorders(mean, stock);
    }
    let stays = mean / variance;
    let size = mean * mean / (variance - mean);
    let mut probability = stays.powf(size);
    let mut held = 0.0;
    for pieces in 0..stock {
        held += (stock - pieces) as f64 * probability;
        probability *= (size + pieces as f64) / (pieces + 1) as f64 * (1.0 - stays);
    }
    mean - stock as f64 + held
}

/// Backorders where the site gets each piece owed by the central store with probability `share`.
fn split_backorders(own: f64, share: f64, depot_mean: f64, depot_stock: u64, stock: u64) -> f64 {
    let most = (depot_mean + 12.0 * depot_mean.sqrt() + 30.0) as u64;
    let mut delayed = vec![0.0; most as usize + 1];
    for owed in 0..=most {
        let exactly = if owed == 0 {
            1.0 - poisson_above(depot_stock, depot_mean)
        } else {
            poisson_above(depot_stock + owed - 1, depot_mean)
                - poisson_above(depot_stock + owed, depot_mean)
        };
        if let Ok(split) = Binomial::new(share, owed) {
            for waits in 0..=owed {
                delayed[waits as usize] += exactly * split.pmf(waits);
            }
        }
    }
    delayed
        .iter()
        .enumerate()
        .map(|(waits, probability)| {
            let waits = waits as u64;
            let owed = match stock.checked_sub(waits) {
                Some(left) => expected_backorders(own, left),
                None => own + (waits - stock) as f64,
            };
            probability * owed
        })
        .sum()
}
