use super::depots::Target;
use super::money::demand;
use super::{Calc, Entry, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<StandIns>(), entry::<FewestWithStandIns>()]
}

/// Service of models of which some may stand in for others, one way, with and without that.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct StandIns {
    models: Vec<Model>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Model {
    /// Pieces asked for in its lead time by its own places, on average.
    mean: f64,
    /// Variance of that: negative binomial where it is above the mean; null for Poisson.
    variance: Option<f64>,
    /// Pieces on the shelf and on order, less those owed (0).
    #[serde(default)]
    stock: u64,
    /// Models that may stand in for it, in the order in which they are asked (none).
    #[serde(default)]
    stand_ins: Vec<StandIn>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct StandIn {
    /// Which of the models, counted from 0.
    model: usize,
    /// Pieces of it that stay on its shelf for its own places (0).
    #[serde(default)]
    reserved: u64,
}

fn group(models: &[Model]) -> Result<Vec<domain::Substitutable>, String> {
    if models.len() > 100 {
        return Err(format!("{} models are too many: give up to 100", models.len()));
    }
    let one = |model: &Model| {
        if model.stock > domain::LARGEST_STOCK {
            return Err(format!("stock is {}: give up to 100000 pieces", model.stock));
        }
        if model.mean > 1000.0 {
            return Err(format!("mean is {}: give up to 1000 pieces", model.mean));
        }
        let stand_in = |it: &StandIn| domain::StandIn { model: it.model, reserved: it.reserved };
        Ok(domain::Substitutable {
            stock: model.stock,
            demand: demand(model.mean, model.variance)?,
            stand_ins: model.stand_ins.iter().map(stand_in).collect(),
        })
    };
    models.iter().map(one).collect()
}

#[derive(Serialize, JsonSchema)]
struct Served {
    models: Vec<Substituted>,
}

#[derive(Serialize, JsonSchema)]
struct Substituted {
    /// Each model for itself.
    without: Service,
    /// With stand-ins, each figure by the order of service that is worse for this model.
    with: Service,
    /// With stand-ins, each figure by the order of service that is better for this model.
    with_at_best: Service,
    /// Whether the whole group was reckoned exactly; else each model with its neighbours.
    exact: bool,
}

#[derive(Serialize, JsonSchema)]
struct Service {
    /// Chance that no place waits.
    no_stock_out: f64,
    /// Share of demands served at once, stand-ins included.
    fill_rate: f64,
    /// Places that wait, on average.
    backorders: f64,
    /// Hours a year that places stand empty.
    down_time_h: f64,
    /// Places that hold a stand-in, on average.
    stand_ins: f64,
}

impl Service {
    fn of(service: &domain::PlaceService) -> Self {
        Self {
            no_stock_out: service.no_stock_out,
            fill_rate: service.fill_rate,
            backorders: service.backorders,
            down_time_h: service.down_time_h,
            stand_ins: service.stand_ins,
        }
    }
}

impl Calc for StandIns {
    const NAME: &'static str = "stand-ins";
    type Reply = Served;

    fn reckon(self) -> Result<Served, String> {
        let found = domain::substitution(&group(&self.models)?).map_err(|no| no.to_string())?;
        let models = found
            .iter()
            .map(|it| Substituted {
                without: Service::of(&it.without),
                with: Service::of(&it.with),
                with_at_best: Service::of(&it.with_at_best),
                exact: it.exact,
            })
            .collect();
        Ok(Served { models })
    }
}

/// How many fewer pieces meet the same targets when stand-ins count.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct FewestWithStandIns {
    models: Vec<Model>,
    /// One for each model.
    targets: Vec<Target>,
}

#[derive(Serialize, JsonSchema)]
struct Fewest {
    /// Least stock of each model for itself.
    without: Vec<u64>,
    /// Stocks that meet the same targets with stand-ins.
    with: Vec<u64>,
    /// Pieces that are saved.
    fewer: u64,
    /// Whether no choice needs fewer.
    proven: bool,
}

impl Calc for FewestWithStandIns {
    const NAME: &'static str = "fewest-with-stand-ins";
    type Reply = Fewest;

    fn reckon(self) -> Result<Fewest, String> {
        let models = group(&self.models)?;
        let pieces: f64 = self.models.iter().map(|model| model.mean).sum();
        let most = if models.len() > 2 { 10.0 } else { 40.0 };
        if models.len() > 6 || pieces > most {
            return Err(format!(
                "{pieces} pieces of {} models are too many to search: give up to 6 models, and 40 \
                 pieces for two of them or 10 for more",
                models.len()
            ));
        }
        let targets: Result<Vec<_>, String> = self.targets.iter().map(Target::sound).collect();
        let found = domain::fewest_pieces(&models, &targets?).map_err(|no| no.to_string())?;
        Ok(Fewest {
            without: found.without,
            with: found.with,
            fewer: found.fewer,
            proven: found.proven,
        })
    }
}
