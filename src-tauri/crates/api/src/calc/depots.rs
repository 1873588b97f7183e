use super::{Calc, Entry, at_least_zero, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![
        entry::<TwoLevels>(),
        entry::<EchelonService>(),
        entry::<BestSplit>(),
        entry::<FewestSpares>(),
    ]
}

/// Pieces owed at sites that a central store supplies: METRIC, VARI-METRIC and exact.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct TwoLevels {
    sites: Vec<Site>,
    /// Pieces at the central store.
    depot_stock: u64,
    /// Time until the central store gets a piece back, in the unit of the demands.
    depot_time: f64,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Site {
    /// Failures in a unit of time.
    demand: f64,
    /// Share of them repaired at the site, 0 to 1.
    repaired_here: f64,
    /// Time of a repair at the site.
    repair_time: f64,
    /// Time from the central store to the site.
    order_time: f64,
    /// Pieces at the site.
    stock: u64,
}

#[derive(Serialize, JsonSchema)]
struct Levels {
    /// Demand at the central store in a unit of time.
    depot_demand: f64,
    /// Pieces on their way to the central store, on average.
    depot_mean: f64,
    /// Pieces that it owes, on average.
    depot_backorders: f64,
    /// Variance of the pieces that it owes.
    depot_variance: f64,
    /// Pieces owed by all sites, METRIC.
    metric: f64,
    /// Pieces owed by all sites, VARI-METRIC.
    vari_metric: f64,
    /// Pieces owed by all sites, exact.
    exact: f64,
    sites: Vec<SiteOwes>,
}

#[derive(Serialize, JsonSchema)]
struct SiteOwes {
    /// Pieces on their way to the site, on average.
    mean: f64,
    /// Variance of the pieces on their way.
    variance: f64,
    /// Pieces owed, METRIC.
    metric: f64,
    /// Pieces owed, VARI-METRIC.
    vari_metric: f64,
    /// Pieces owed, exact.
    exact: f64,
}

impl Calc for TwoLevels {
    const NAME: &'static str = "two-level-backorders";
    type Reply = Levels;

    fn reckon(self) -> Result<Levels, String> {
        let depot_time = at_least_zero("depot_time", self.depot_time)?;
        let mut sites = Vec::with_capacity(self.sites.len());
        for site in &self.sites {
            if !(0.0..=1.0).contains(&site.repaired_here) || site.stock > 100_000 {
                return Err("give a repaired_here from 0 to 1 and a stock up to 100000".to_owned());
            }
            sites.push(domain::Site {
                demand: at_least_zero("demand", site.demand)?,
                repaired_here: site.repaired_here,
                repair_time: at_least_zero("repair_time", site.repair_time)?,
                order_time: at_least_zero("order_time", site.order_time)?,
                stock: site.stock,
            });
        }
        let pieces: f64 = sites
            .iter()
            .map(|site| site.demand * (site.repair_time + site.order_time + depot_time))
            .sum();
        if pieces.is_nan() || pieces > 1000.0 || sites.len() > 1000 || self.depot_stock > 100_000 {
            return Err(format!(
                "{pieces} pieces on their way are too many to reckon exactly: give up to 1000 \
                 pieces, 1000 sites and a depot_stock of 100000"
            ));
        }
        let levels = domain::two_levels(&sites, self.depot_stock, depot_time);
        let sum = |of: fn(&domain::SiteBackorders) -> f64| levels.sites.iter().map(of).sum();
        Ok(Levels {
            depot_demand: levels.depot_demand,
            depot_mean: levels.depot_mean,
            depot_backorders: levels.depot_backorders,
            depot_variance: levels.depot_variance,
            metric: sum(|site| site.metric),
            vari_metric: sum(|site| site.vari_metric),
            exact: sum(|site| site.exact),
            sites: levels
                .sites
                .iter()
                .map(|site| SiteOwes {
                    mean: site.mean,
                    variance: site.variance,
                    metric: site.metric,
                    vari_metric: site.vari_metric,
                    exact: site.exact,
                })
                .collect(),
        })
    }
}

/// A central store and the stores that it supplies, for one model, with times in one unit.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Network {
    stores: Vec<Store>,
    /// Demand of places that the central store serves itself, in a unit of time (0).
    #[serde(default)]
    central_demand: f64,
    /// Time until the central store gets a piece back, in the unit of the demands.
    central_time: f64,
    /// Gamma shape of the belief about the failure rate, one for all places: negative-binomial
    /// demand. Null where the rate is known: Poisson demand.
    rate_shape: Option<f64>,
    /// How the central store's delay is reckoned with; null for exact while its tables are
    /// affordable, else VARI-METRIC.
    reckoning: Option<Reckoning>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Store {
    /// Failures in a unit of time.
    demand: f64,
    /// Time from the central store to this one.
    order_time: f64,
    /// Share of the failed pieces that are repaired here, 0 to 1 (0).
    #[serde(default)]
    repaired_here: f64,
    /// Time of a repair here (0).
    #[serde(default)]
    repair_time: f64,
}

#[derive(Clone, Copy, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
enum Reckoning {
    Exact,
    VariMetric,
    Metric,
}

impl From<Reckoning> for domain::Reckoning {
    fn from(reckoning: Reckoning) -> Self {
        match reckoning {
            Reckoning::Exact => Self::Exact,
            Reckoning::VariMetric => Self::VariMetric,
            Reckoning::Metric => Self::Metric,
        }
    }
}

impl Network {
    fn echelons(&self) -> Result<domain::Echelons, String> {
        let site = |store: &Store| domain::Site {
            demand: store.demand,
            repaired_here: store.repaired_here,
            repair_time: store.repair_time,
            order_time: store.order_time,
            stock: 0,
        };
        let network = domain::Network {
            sites: self.stores.iter().map(site).collect(),
            central_demand: self.central_demand,
            central_stock: 0,
            central_time: self.central_time,
            rate_shape: self.rate_shape,
        };
        network.check().map_err(|no| no.to_string())?;
        let reckoning = self.reckoning.map(domain::Reckoning::from);
        if self.stores.len() > 1000
            || matches!(reckoning, Some(domain::Reckoning::Exact))
                && network.affordable() != domain::Reckoning::Exact
        {
            return Err(
                "the tables for this would be too large: give up to 1000 stores, and leave \
                        reckoning out to get what is affordable"
                    .to_owned(),
            );
        }
        domain::Echelons::of(&network, reckoning).map_err(|no| no.to_string())
    }
}

/// Service of a central store and the stores that it supplies, by four measures that are not the
/// same number.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct EchelonService {
    network: Network,
    /// Pieces in the central store.
    central_stock: u64,
    /// Pieces in each store.
    stocks: Vec<u64>,
    /// Time of a loan between stores, in the unit of the demands; null where none lends.
    loan_time: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct EchelonServed {
    /// How this was reckoned.
    reckoning: Reckoning,
    /// The central store towards all that ask it.
    central: Served,
    /// Pieces owed to places that the central store serves itself.
    central_places: f64,
    stores: Vec<Served>,
    /// Pieces owed to places, over all stores.
    backorders: f64,
    /// Hours a year that places stand empty.
    down_time_h: f64,
    /// The same where stores lend; null where none does.
    lending: Option<Lending>,
}

#[derive(Serialize, JsonSchema)]
struct Served {
    /// Pieces on their way, on average.
    on_way: f64,
    /// P(on their way <= stock).
    no_stock_out: f64,
    /// Share of demands served at once, P(on their way <= stock - 1).
    fill_rate: f64,
    /// Pieces owed, on average.
    backorders: f64,
    /// Hours a year that places stand empty; of the central store, that it owes a piece.
    down_time_h: f64,
}

impl Served {
    fn of(service: &domain::StoreService) -> Self {
        Self {
            on_way: service.on_way,
            no_stock_out: service.no_stock_out,
            fill_rate: service.fill_rate,
            backorders: service.backorders,
            down_time_h: service.down_time_h,
        }
    }
}

#[derive(Serialize, JsonSchema)]
struct Lending {
    /// Pieces owed to places, those on their way from another store included.
    backorders: f64,
    /// Hours a year that places stand empty.
    down_time_h: f64,
    /// Loans in a unit of time, an approximation.
    loans: f64,
    /// Share of demands that find a piece in their own store, an approximation.
    from_own: f64,
    /// Share served from another store at once, an approximation.
    from_others: f64,
}

impl Calc for EchelonService {
    const NAME: &'static str = "two-echelon-service";
    type Reply = EchelonServed;

    fn reckon(self) -> Result<EchelonServed, String> {
        if let Some(stock) = self.stocks.iter().find(|stock| **stock > domain::LARGEST_STOCK) {
            return Err(domain::NetworkRefusal::Stock(*stock).to_string());
        }
        let echelons = self.network.echelons()?;
        let served =
            echelons.service(self.central_stock, &self.stocks).map_err(|no| no.to_string())?;
        let lend = |time| echelons.with_loans(self.central_stock, &self.stocks, time);
        let lending = self.loan_time.map(lend).transpose().map_err(|no| no.to_string())?;
        Ok(EchelonServed {
            reckoning: match served.reckoning {
                domain::Reckoning::Exact => Reckoning::Exact,
                domain::Reckoning::VariMetric => Reckoning::VariMetric,
                domain::Reckoning::Metric => Reckoning::Metric,
            },
            central: Served::of(&served.central),
            central_places: served.central_places,
            stores: served.sites.iter().map(Served::of).collect(),
            backorders: served.backorders,
            down_time_h: served.down_time_h,
            lending: lending.map(|lent| Lending {
                backorders: lent.backorders,
                down_time_h: lent.down_time_h,
                loans: lent.loans,
                from_own: lent.from_own,
                from_others: lent.from_others,
            }),
        })
    }
}

/// The best split of a number of spares over a central store and the stores that it supplies.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BestSplit {
    network: Network,
    /// Pieces in all.
    total: u64,
}

/// The fewest spares of a central store and its stores that meet a target, and their best split.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct FewestSpares {
    network: Network,
    target: Target,
}

/// A wanted service.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Target {
    /// Which measure; a share is wanted of every store, pieces and hours are over all of them.
    measure: Measure,
    /// A share from 0 to below 1, or pieces owed or hours a year above 0.
    value: f64,
}

#[derive(Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
enum Measure {
    NoStockOut,
    FillRate,
    Backorders,
    DownTimeH,
}

impl Target {
    pub(super) fn sound(&self) -> Result<domain::Target, String> {
        let measure = match self.measure {
            Measure::NoStockOut => domain::Measure::NoStockOut,
            Measure::FillRate => domain::Measure::FillRate,
            Measure::Backorders => domain::Measure::Backorders,
            Measure::DownTimeH => domain::Measure::DownTimeH,
        };
        domain::Target::new(measure, self.value).map_err(|no| no.to_string())
    }
}

#[derive(Serialize, JsonSchema)]
struct Split {
    /// Pieces in all.
    total: u64,
    /// Pieces in the central store.
    central: u64,
    /// Pieces in each store.
    stores: Vec<u64>,
    /// Pieces owed to places, on average.
    backorders: f64,
}

impl Split {
    fn of(split: domain::Split) -> Self {
        Self {
            total: split.total(),
            central: split.central,
            stores: split.sites,
            backorders: split.backorders,
        }
    }
}

impl Calc for BestSplit {
    const NAME: &'static str = "best-split";
    type Reply = Split;

    fn reckon(self) -> Result<Split, String> {
        let split = self.network.echelons()?.best_split(self.total);
        split.map(Split::of).map_err(|no| no.to_string())
    }
}

impl Calc for FewestSpares {
    const NAME: &'static str = "fewest-spares";
    type Reply = Split;

    fn reckon(self) -> Result<Split, String> {
        let target = self.target.sound()?;
        let split = self.network.echelons()?.least(target);
        split.map(Split::of).map_err(|no| no.to_string())
    }
}
