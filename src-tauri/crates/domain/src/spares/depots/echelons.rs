use super::network::own_mean;
use super::waiting::{Central, Tails, Way};
use super::{Network, NetworkRefusal, Reckoning};
use crate::in_parallel;
use crate::spares::levels::HOURS_A_YEAR;
use crate::spares::poisson::DemandRefusal;

/// How a store serves. The four measures are not the same number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StoreService {
    pub stock: u64,
    /// Pieces on their way, on average.
    pub on_way: f64,
    /// Chance that nothing is owed: P(W <= stock).
    pub no_stock_out: f64,
    /// Share of demands served at once: P(W <= stock - 1).
    pub fill_rate: f64,
    /// Pieces owed at a moment, on average.
    pub backorders: f64,
    /// Hours a year that places stand empty.
    pub down_time_h: f64,
}

/// How a central store and its stores serve.
#[derive(Debug, Clone, PartialEq)]
pub struct NetworkService {
    pub reckoning: Reckoning,
    /// The central store towards all that ask it, stores included. What it owes to a store is not
    /// down time: that store may have a piece.
    pub central: StoreService,
    /// Pieces owed to places that the central store serves itself.
    pub central_places: f64,
    pub sites: Vec<StoreService>,
    /// Pieces owed to places, over all stores.
    pub backorders: f64,
    /// Hours a year that places stand empty.
    pub down_time_h: f64,
}

/// One model in two echelons, ready for questions: chances of the pieces on their way to each
/// store, for each stock of the central store.
///
/// Source: exact by binomial split of what the central store owes, Simon 1971 and Graves 1985,
/// Management Science 31(10):1247-1256; METRIC, Sherbrooke 1968, Operations Research 16(1):122-141;
/// VARI-METRIC, Slay 1984 and Sherbrooke 1986. For a rate that is uncertain but one for all places
/// the split is as exact: given what was asked in all, who asked is by chance whatever the rate.
/// Demand in batches, or rates that are uncertain store by store, have no such split.
pub struct Echelons {
    pub(super) network: Network,
    pub(super) reckoning: Reckoning,
    pub(super) central: Central,
    pub(super) tails: Vec<Tails>,
    /// Share of what the central store owes that is owed to places it serves itself.
    pub(super) central_share: f64,
}

impl Echelons {
    /// Reckons with a network; `reckoning` none takes [`Network::affordable`].
    ///
    /// Fails where a figure makes no sense, with which one.
    pub fn of(network: &Network, reckoning: Option<Reckoning>) -> Result<Self, NetworkRefusal> {
        network.check()?;
        let reckoning = reckoning.unwrap_or_else(|| network.affordable());
        let central_mean = network.central_mean();
        let central = Central::of(central_mean, network.rate_shape)
            .map_err(|no| too_many(central_mean, no))?;
        let mut tails = Vec::with_capacity(network.sites.len());
        for site in &network.sites {
            let way = Way {
                central_mean,
                own_mean: own_mean(site),
                share: network.share(site),
                shape: network.rate_shape,
            };
            let of_site = Tails::reckon(&way, &central, reckoning);
            tails.push(of_site.map_err(|no| too_many(way.own_mean, no))?);
        }
        let asked = network.asked_centrally();
        let central_share = if asked > 0.0 { network.central_demand / asked } else { 0.0 };
        Ok(Self { network: network.clone(), reckoning, central, tails, central_share })
    }

    /// The reckoning by which every answer is made.
    pub fn reckoning(&self) -> Reckoning {
        self.reckoning
    }

    /// Returns how the stores serve with the stocks that the network states.
    pub fn present(&self) -> Result<NetworkService, NetworkRefusal> {
        let stocks: Vec<u64> = self.network.sites.iter().map(|site| site.stock).collect();
        self.service(self.network.central_stock, &stocks)
    }

    /// Returns how the stores serve with other stocks.
    pub fn service(
        &self,
        central_stock: u64,
        stocks: &[u64],
    ) -> Result<NetworkService, NetworkRefusal> {
        if stocks.len() != self.tails.len() {
            let sites = self.tails.len();
            return Err(NetworkRefusal::Stocks { given: stocks.len(), sites });
        }
        let central_places = self.central_places(central_stock as usize);
        let sites: Vec<StoreService> = self
            .tails
            .iter()
            .zip(stocks)
            .map(|(tails, stock)| service(*stock, &tails.row(central_stock as usize)))
            .collect();
        let backorders = central_places + sites.iter().map(|site| site.backorders).sum::<f64>();
        let asked: Vec<f64> =
            (0..self.central.depth() as u64).map(|x| self.central.demand.above(x)).collect();
        Ok(NetworkService {
            reckoning: self.reckoning,
            central: service(central_stock, &asked),
            central_places,
            sites,
            backorders,
            down_time_h: backorders * HOURS_A_YEAR,
        })
    }

    /// Pieces owed to places that the central store serves itself.
    pub(super) fn central_places(&self, central_stock: usize) -> f64 {
        self.central_share * self.central.demand.expected_above(central_stock as u64)
    }
}

/// Reads the measures off the chances of more than 0, 1, 2 … pieces on their way.
fn service(stock: u64, above: &[f64]) -> StoreService {
    let more_than = |k: usize| above.get(k).copied().unwrap_or(0.0);
    let s = stock.min(above.len() as u64) as usize;
    let backorders: f64 = above[s..].iter().rev().sum();
    StoreService {
        stock,
        on_way: above.iter().rev().sum(),
        no_stock_out: 1.0 - more_than(s),
        fill_rate: if s == 0 { 0.0 } else { 1.0 - more_than(s - 1) },
        backorders,
        down_time_h: backorders * HOURS_A_YEAR,
    }
}

fn too_many(pieces: f64, _: DemandRefusal) -> NetworkRefusal {
    NetworkRefusal::Pieces { pieces }
}

/// Asks the same of many models, on as many threads as there are processors. The answers come in
/// order; a network that makes no sense gives its refusal.
pub fn over_networks<T: Send>(
    networks: &[Network],
    ask: impl Fn(usize, &Echelons) -> T + Sync,
) -> Vec<Result<T, NetworkRefusal>> {
    let numbered: Vec<(usize, &Network)> = networks.iter().enumerate().collect();
    in_parallel(&numbered, |(number, network)| {
        Echelons::of(network, None).map(|echelons| ask(*number, &echelons))
    })
}
