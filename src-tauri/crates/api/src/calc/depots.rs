use super::{Calc, Entry, at_least_zero, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<TwoLevels>()]
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
