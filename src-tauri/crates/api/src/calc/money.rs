use super::{Calc, Entry, at_least_zero, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![
        entry::<MoneyCurve>(),
        entry::<BestPurchases>(),
        entry::<LeastMoney>(),
        entry::<StockWorth>(),
        entry::<SurplusStock>(),
    ]
}

/// Most models and pieces of a formula.
const MOST: usize = 10_000;
const MOST_PIECES: u64 = 1_000_000;

/// A model that competes for money.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Model {
    /// Pieces asked for in the lead time, on average, up to 10000.
    mean: f64,
    /// Variance of that: negative binomial where it is above the mean; null for Poisson.
    variance: Option<f64>,
    /// Price of one piece.
    price_cents: u64,
    /// Pieces held and on order (0).
    #[serde(default)]
    held: u64,
    /// Places in which it is installed (0).
    #[serde(default)]
    places: u64,
    /// What a place without a unit costs in an hour, cents (0).
    #[serde(default)]
    missing_cents_h: f64,
}

/// What money is to make small.
#[derive(Clone, Copy, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
enum Aim {
    Backorders,
    MissingCost,
}

impl From<Aim> for domain::Aim {
    fn from(aim: Aim) -> Self {
        match aim {
            Aim::Backorders => Self::Backorders,
            Aim::MissingCost => Self::MissingCost,
        }
    }
}

pub(super) fn demand(mean: f64, variance: Option<f64>) -> Result<domain::Pmf, String> {
    let variance = variance.unwrap_or(mean);
    if !(0.0..=10_000.0).contains(&mean) || !(0.0..=1e7).contains(&variance) {
        return Err(format!(
            "mean is {mean} and variance {variance}: give a mean from 0 to 10000 and a variance up \
             to 10000000"
        ));
    }
    domain::Pmf::negative_binomial(mean, variance).map_err(|no| no.to_string())
}

fn buyable(models: &[Model]) -> Result<Vec<domain::Buyable>, String> {
    let pieces: f64 = models.iter().map(|it| it.mean + it.variance.unwrap_or(it.mean).sqrt()).sum();
    if models.len() > MOST || pieces > 100_000.0 {
        return Err(format!(
            "{} models with {pieces} pieces are too many: give up to {MOST} models and 100000 pieces",
            models.len()
        ));
    }
    let one = |model: &Model| {
        if model.held > MOST_PIECES || model.places > MOST_PIECES {
            return Err("held and places go up to 1000000: check them".to_owned());
        }
        Ok(domain::Buyable {
            price_cents: model.price_cents,
            held: model.held,
            stand_ins: 0,
            lent: 0,
            demand: demand(model.mean, model.variance)?,
            places: model.places,
            missing_cents_h: model.missing_cents_h,
        })
    };
    models.iter().map(one).collect()
}

#[derive(Serialize, JsonSchema)]
struct Point {
    /// Money spent in all.
    spent_cents: u64,
    /// Pieces owed at a moment, on average.
    backorders: f64,
    /// Share of places with a working unit.
    availability: f64,
    /// What places without a unit cost in an hour, on average, cents.
    missing_cents_h: f64,
}

impl Point {
    fn of(point: &domain::MoneyPoint) -> Self {
        Self {
            spent_cents: point.spent_cents,
            backorders: point.backorders,
            availability: point.availability,
            missing_cents_h: point.missing_cents_h,
        }
    }
}

/// What each sum of money buys over all models, the best next piece each time, from what is held.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct MoneyCurve {
    models: Vec<Model>,
    /// What is to become small.
    aim: Aim,
    /// Pieces to buy at most.
    steps: usize,
    /// Where the money ends; null for no end.
    budget_cents: Option<i64>,
}

#[derive(Serialize, JsonSchema)]
struct Curve {
    /// What is held now.
    start: Point,
    steps: Vec<Step>,
    /// Whether further purchases would still save something.
    more: bool,
}

#[derive(Serialize, JsonSchema)]
struct Step {
    /// Model of which one more is bought, counted from 0.
    model: usize,
    /// Pieces of it afterwards.
    stock: u64,
    /// What the piece saves of the aim's figure.
    saves: f64,
    /// What is reached.
    after: Point,
}

impl Calc for MoneyCurve {
    const NAME: &'static str = "money-curve";
    type Reply = Curve;

    fn reckon(self) -> Result<Curve, String> {
        let models = buyable(&self.models)?;
        let steps = self.steps.min(MOST);
        let curve = domain::money_curve(&models, self.aim.into(), steps, self.budget_cents);
        let curve = curve.map_err(|no| no.to_string())?;
        let step = |step: &domain::CurveStep| Step {
            model: step.model,
            stock: step.stock,
            saves: step.saves,
            after: Point::of(&step.after),
        };
        Ok(Curve {
            start: Point::of(&curve.start),
            steps: curve.steps.iter().map(step).collect(),
            more: curve.more,
        })
    }
}

/// The purchases within a budget that are best over all models at once, with proof.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BestPurchases {
    models: Vec<Model>,
    /// What is to become small.
    aim: Aim,
    /// Money to spend.
    budget_cents: i64,
}

/// The cheapest purchases after which pieces owed, or their cost, are at most a wanted figure.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LeastMoney {
    models: Vec<Model>,
    /// What is to become small.
    aim: Aim,
    /// The figure to reach: pieces owed, or what they cost in an hour.
    wanted: f64,
}

#[derive(Serialize, JsonSchema)]
struct Optimum {
    best: Bought,
    /// No choice is better than this: a figure of the aim, or cents in least-money.
    bound: f64,
    /// vertex: the curve stops here; search: proved; gap: better ones may exist, down to the bound.
    proof: Proof,
    /// The same by the best next piece each time.
    greedy: Bought,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
enum Proof {
    Vertex,
    Search,
    Gap,
}

#[derive(Serialize, JsonSchema)]
struct Bought {
    /// Pieces to buy of each model.
    buy: Vec<u64>,
    /// What is reached.
    after: Point,
}

impl Bought {
    fn of(bought: domain::Bought) -> Self {
        Self { after: Point::of(&bought.after), buy: bought.buy }
    }
}

impl Optimum {
    fn of(optimum: domain::Optimum) -> Self {
        Self {
            best: Bought::of(optimum.best),
            bound: optimum.bound,
            proof: match optimum.proof {
                domain::Proof::Vertex => Proof::Vertex,
                domain::Proof::Search => Proof::Search,
                domain::Proof::Gap => Proof::Gap,
            },
            greedy: Bought::of(optimum.greedy),
        }
    }
}

impl Calc for BestPurchases {
    const NAME: &'static str = "best-purchases";
    type Reply = Optimum;

    fn reckon(self) -> Result<Optimum, String> {
        let models = buyable(&self.models)?;
        let (aim, effort) = (self.aim.into(), domain::USUAL_EFFORT);
        let best = domain::best_for_budget(&models, aim, self.budget_cents, effort);
        best.map(Optimum::of).map_err(|no| no.to_string())
    }
}

impl Calc for LeastMoney {
    const NAME: &'static str = "least-money";
    type Reply = Optimum;

    fn reckon(self) -> Result<Optimum, String> {
        let models = buyable(&self.models)?;
        let effort = domain::USUAL_EFFORT;
        let least = domain::least_money(&models, self.aim.into(), self.wanted, effort);
        least.map(Optimum::of).map_err(|no| no.to_string())
    }
}

/// What the present stock is worth: what it saves, and the cheapest stock that saves as much.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct StockWorth {
    models: Vec<Model>,
    /// By what the stock is judged.
    aim: Aim,
}

#[derive(Serialize, JsonSchema)]
struct Worth {
    /// Without any stock.
    without: Point,
    /// With what is held, and what it costs.
    with: Point,
    /// Money in pieces that save nothing.
    idle_cents: u64,
    /// The cheapest stock that saves as much, bought from nothing.
    cheapest: Optimum,
}

impl Calc for StockWorth {
    const NAME: &'static str = "stock-worth";
    type Reply = Worth;

    fn reckon(self) -> Result<Worth, String> {
        let models = buyable(&self.models)?;
        let worth = domain::worth_of_stock(&models, self.aim.into(), domain::USUAL_EFFORT);
        let worth = worth.map_err(|no| no.to_string())?;
        Ok(Worth {
            without: Point::of(&worth.without),
            with: Point::of(&worth.with),
            idle_cents: worth.idle_cents,
            cheapest: Optimum::of(worth.cheapest),
        })
    }
}

/// How many pieces of a stock will hardly be used in some years, and whether all of it is dead.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct SurplusStock {
    /// Pieces held and on order.
    held: u64,
    /// Of these, what the level and known demand keep; null for none.
    kept: Option<u64>,
    /// Price of one piece.
    price_cents: u64,
    /// Pieces asked for in the years that are looked at, on average.
    mean: f64,
    /// Variance of that: negative binomial where it is above the mean; null for Poisson.
    variance: Option<f64>,
    /// Places in which it is installed.
    installed: u64,
    /// Years since one was last used; null where no use is known.
    idle_y: Option<f64>,
    /// Years that the record goes back.
    recorded_y: f64,
    /// Chance of being used below which a piece is surplus, 0 to below 1.
    bound: f64,
    /// Years without use after which a stock is dead.
    dead_after_y: f64,
}

#[derive(Serialize, JsonSchema)]
struct Surplus {
    /// Pieces that are not kept, of which each will be used with less than that chance.
    pieces: u64,
    /// What they cost.
    surplus_cents: u64,
    /// Chance that the last piece is used; null where nothing is held.
    last_is_used: Option<f64>,
    /// Why all of it is dead; null where it is not.
    dead: Option<Dead>,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
enum Dead {
    NothingInstalled,
    NotUsed,
    NeverUsed,
}

impl Calc for SurplusStock {
    const NAME: &'static str = "surplus-stock";
    type Reply = Surplus;

    fn reckon(self) -> Result<Surplus, String> {
        let stock = domain::ShelfStock {
            held: self.held,
            kept: self.kept.unwrap_or(0),
            price_cents: self.price_cents,
            demand: demand(at_least_zero("mean", self.mean)?, self.variance)?,
            installed: self.installed,
            idle_y: self.idle_y,
            recorded_y: self.recorded_y,
        };
        let found = domain::surplus(&stock, self.bound, self.dead_after_y);
        let found = found.map_err(|no| no.to_string())?;
        Ok(Surplus {
            pieces: found.pieces,
            surplus_cents: found.cents,
            last_is_used: found.last_is_used,
            dead: found.dead.map(|why| match why {
                domain::DeadWhy::NothingInstalled => Dead::NothingInstalled,
                domain::DeadWhy::NotUsed { .. } => Dead::NotUsed,
                domain::DeadWhy::NeverUsed { .. } => Dead::NeverUsed,
            }),
        })
    }
}
