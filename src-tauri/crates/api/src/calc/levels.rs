use super::{Calc, Entry, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<StockLevel>(), entry::<RepairWithYield>()]
}

/// Service of a level, or the least level for a wanted service, exactly, for five ways of ordering
/// and for single demands, demands in groups and an uncertain rate. What is missing waits.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct StockLevel {
    /// Demand a year of 365 days, pieces.
    demand_per_y: f64,
    /// Time until what is ordered is there; zero is allowed.
    lead_time_d: f64,
    /// Shape of the gamma distribution of an uncertain rate: negative-binomial demand.
    rate_shape: Option<f64>,
    /// Variance of demand over its mean where pieces are asked for in groups of logarithmic size:
    /// negative-binomial demand as well.
    group_spread: Option<f64>,
    /// Way of ordering: each piece as it is used, lots of `pieces` at the point or below, up to the
    /// level where `pieces` are lacking, up to it at each review, or at a review where `pieces` are
    /// lacking (`one_for_one`).
    manner: Option<Manner>,
    /// Pieces of a lot, or that must be lacking before an order (1).
    pieces: Option<u64>,
    /// Time between reviews.
    every_d: Option<f64>,
    /// Level to look at: the highest position of stock and orders.
    level: Option<u64>,
    /// Wanted measure, in place of a level.
    measure: Option<Measure>,
    /// Wanted probability or share, or the most pieces owed or hours a year.
    target: Option<f64>,
}

#[derive(Deserialize, JsonSchema, Clone, Copy)]
#[serde(rename_all = "snake_case")]
enum Manner {
    OneForOne,
    Lots,
    UpTo,
    Review,
    ReviewPoint,
}

#[derive(Deserialize, JsonSchema, Clone, Copy)]
#[serde(rename_all = "snake_case")]
pub(super) enum Measure {
    NoStockOut,
    FillRate,
    Backorders,
    DownTimeH,
}

#[derive(Serialize, JsonSchema)]
struct Level {
    /// The highest position of stock and orders, pieces.
    level: u64,
    /// Position at which, or below which, an order is placed.
    point: i64,
    #[serde(flatten)]
    service: Service,
    /// Orders in a year.
    orders_per_y: f64,
}

#[derive(Serialize, JsonSchema)]
pub(super) struct Service {
    /// Probability that nothing is owed at a random moment.
    no_stock_out: f64,
    /// Share of pieces asked for that are served at once.
    fill_rate: f64,
    /// Pieces owed, on average.
    backorders: f64,
    /// Hours a year that places stand empty: pieces owed times 8760.
    down_time_h: f64,
    /// Pieces on the shelf, on average.
    on_hand: f64,
}

impl From<domain::Service> for Service {
    fn from(service: domain::Service) -> Self {
        let domain::Service { no_stock_out, fill_rate, backorders, down_time_h, on_hand } = service;
        Self { no_stock_out, fill_rate, backorders, down_time_h, on_hand }
    }
}

pub(super) fn flow(
    demand_per_y: f64,
    rate_shape: Option<f64>,
    group_spread: Option<f64>,
) -> Result<domain::Flow, String> {
    let pieces_a_d = demand_per_y / 365.0;
    let flow = match (rate_shape, group_spread) {
        (None, None) => domain::Flow::poisson(pieces_a_d),
        (Some(shape), None) => domain::Flow::at_an_uncertain_rate(pieces_a_d, shape),
        (None, Some(spread)) => domain::Flow::in_logarithmic_groups(pieces_a_d, spread),
        (Some(_), Some(_)) => {
            return Err(
                "give rate_shape or group_spread, not both: they are two reasons for a wide \
                        demand"
                    .to_owned(),
            );
        }
    };
    flow.map_err(|no| no.to_string())
}

pub(super) fn wanted(measure: Measure, target: f64) -> Result<domain::Target, String> {
    let measure = match measure {
        Measure::NoStockOut => domain::Measure::NoStockOut,
        Measure::FillRate => domain::Measure::FillRate,
        Measure::Backorders => domain::Measure::Backorders,
        Measure::DownTimeH => domain::Measure::DownTimeH,
    };
    domain::Target::new(measure, target).map_err(|no| no.to_string())
}

impl Calc for StockLevel {
    const NAME: &'static str = "stock-level";
    type Reply = Level;

    fn reckon(self) -> Result<Level, String> {
        let width = self.pieces.unwrap_or(1);
        let every_d = || self.every_d.ok_or("give every_d, the time between reviews".to_owned());
        let manner = match self.manner.unwrap_or(Manner::OneForOne) {
            Manner::OneForOne => domain::Manner::OneForOne,
            Manner::Lots => domain::Manner::Lots { quantity: width },
            Manner::UpTo => domain::Manner::UpTo { width },
            Manner::Review => domain::Manner::Review { every_d: every_d()? },
            Manner::ReviewPoint => domain::Manner::ReviewPoint { every_d: every_d()?, width },
        };
        let flow = flow(self.demand_per_y, self.rate_shape, self.group_spread)?;
        let ordering =
            domain::Ordering::new(&flow, self.lead_time_d, manner).map_err(|no| no.to_string())?;
        let found = match (self.level, self.measure, self.target) {
            (Some(level), None, None) => ordering.at(level),
            (None, Some(measure), Some(target)) => ordering.level_for(wanted(measure, target)?),
            _ => return Err("give a level, or a measure with its target".to_owned()),
        };
        Ok(Level {
            level: found.policy.up_to,
            point: found.policy.point(),
            service: found.service.into(),
            orders_per_y: found.orders_a_y,
        })
    }
}

/// How places fare whose failed units come back repaired, or are condemned and bought anew, with
/// given spares or the fewest for a wanted service. Exact for a finite number of places.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct RepairWithYield {
    /// Places that need a unit, 1 to 100000.
    places: u32,
    /// Failure rate of a working unit.
    failure_rate_per_h: f64,
    /// Share of failed units that come back repaired, 0 to 1.
    yield_share: f64,
    /// Mean time from failure until a repaired unit is back.
    turn_round_h: f64,
    /// Mean time from failure until a bought unit is there in place of a condemned one.
    purchase_h: f64,
    /// Units beside the places, up to 100000.
    spares: Option<u32>,
    /// Wanted measure, in place of spares.
    measure: Option<Measure>,
    /// Wanted probability or share, or the most pieces owed or hours a year.
    target: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Fares {
    /// Units beside the places.
    spares: u32,
    #[serde(flatten)]
    service: Service,
    /// Share of places with a working unit.
    availability: f64,
    /// Units in repair, on average.
    in_repair: f64,
    /// Units on order in place of condemned ones, on average.
    on_order: f64,
    /// Units to buy in a year.
    bought_per_y: f64,
    /// Pieces owed, on average, if demand did not fall as places stand empty.
    endless_backorders: f64,
    /// Whether that makes a tenth of difference or more.
    finite_matters: bool,
}

impl Calc for RepairWithYield {
    const NAME: &'static str = "repair-with-yield";
    type Reply = Fares;

    fn reckon(self) -> Result<Fares, String> {
        let terms = domain::Repairing {
            yield_share: self.yield_share,
            turn_round_h: self.turn_round_h,
            purchase_h: self.purchase_h,
        };
        let rate_per_h = self.failure_rate_per_h;
        let found = match (self.spares, self.measure, self.target) {
            (Some(spares), None, None) => domain::repairing(self.places, spares, rate_per_h, terms)
                .map(|fares| (spares, fares)),
            (None, Some(measure), Some(target)) => {
                domain::spares_for(self.places, rate_per_h, terms, wanted(measure, target)?)
            }
            _ => return Err("give spares, or a measure with its target".to_owned()),
        };
        let (spares, fares) = found.map_err(|no| no.to_string())?;
        Ok(Fares {
            spares,
            service: fares.service.into(),
            availability: fares.places.availability,
            in_repair: fares.in_repair,
            on_order: fares.on_order,
            bought_per_y: fares.bought_a_y,
            endless_backorders: fares.endless.backorders,
            finite_matters: fares.finite_matters,
        })
    }
}
