use super::{Asking, Coming, arrivals};
use crate::calc::Calc;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares::{self as domain, BuyingLimits, OrderRule};

/// Stock month by month by many draws from a seed, with orders on the way; beside it the same with
/// something changed.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct StockProjection {
    /// Months to look ahead.
    months: u32,
    /// Pieces on the shelf.
    stock: u64,
    #[serde(default)]
    on_order: Vec<Coming>,
    #[serde(default)]
    harvest: Vec<Coming>,
    /// Order when the position comes down to this; without it nothing is ordered.
    reorder_at: Option<i64>,
    /// Pieces to order up to.
    order_up_to: Option<u64>,
    /// Mean lead time.
    lead_time_d: f64,
    /// Standard deviation of the lead time (0).
    #[serde(default)]
    lead_time_spread_d: f64,
    /// Days between two looks at the shelf (0).
    #[serde(default)]
    review_d: f64,
    asking: Asking,
    what_if: Option<Changed>,
    /// Number from which all draws follow (1).
    seed: Option<u64>,
    /// Draws, up to 100000 (10000).
    runs: Option<u32>,
}

/// What is changed.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Changed {
    /// Times for the lead time (1).
    lead_time_factor: Option<f64>,
    /// Whether nothing arrives any more.
    #[serde(default)]
    supplier_lost: bool,
    /// Times for the failure rate (1).
    failures_factor: Option<f64>,
    /// Times for the number of units (1).
    units_factor: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
pub(in crate::calc) struct Projected {
    months: Vec<Month>,
    changed: Vec<Month>,
    /// Largest standard error of a chance.
    largest_error: f64,
}

#[derive(Serialize, JsonSchema)]
struct Month {
    /// Its end, days from now.
    ends_d: f64,
    /// Stock less debt at its end, not exceeded with 5, 25, 50, 75 and 95 %.
    stock: [i64; 5],
    /// Stock less debt at its end, on average.
    mean: f64,
    /// Pieces on the shelf at its end, on average.
    on_hand: f64,
    /// Pieces owed at its end, on average.
    owed: f64,
    /// Chance that a piece is owed at some time in it.
    stock_out: f64,
    /// Chance that this has happened by its end.
    stock_out_by: f64,
    /// Pieces ordered in it, on average.
    ordered: f64,
}

impl From<&domain::MonthAhead> for Month {
    fn from(month: &domain::MonthAhead) -> Self {
        let fan = month.stock;
        Self {
            ends_d: month.ends_d,
            stock: [fan.p05, fan.p25, fan.p50, fan.p75, fan.p95],
            mean: fan.mean,
            on_hand: month.on_hand,
            owed: month.owed,
            stock_out: month.stock_out,
            stock_out_by: month.stock_out_by,
            ordered: month.ordered,
        }
    }
}

impl Calc for StockProjection {
    const NAME: &'static str = "stock-projection";
    type Reply = Projected;

    fn reckon(self) -> Result<Projected, String> {
        let asked = self.asking.asked()?;
        let rule = match (self.reorder_at, self.order_up_to) {
            (None, None) => None,
            (Some(point), Some(up_to)) if point < i64::try_from(up_to).unwrap_or(i64::MAX) => {
                Some(OrderRule::UpTo { point, up_to })
            }
            _ => return Err("give reorder_at and a larger order_up_to, or neither".to_owned()),
        };
        let runs = domain::Runs {
            seed: self.seed.unwrap_or(1),
            runs: self.runs.unwrap_or(domain::USUAL_RUNS).min(100_000),
        };
        let shelf = [domain::ShelfLot { pieces: self.stock, expires_d: None }];
        let question = domain::ProjectionQuestion {
            months: self.months,
            shelf: &shelf,
            owed: 0,
            on_order: &arrivals(&self.on_order),
            harvest: &arrivals(&self.harvest),
            rule,
            limits: &BuyingLimits::none(),
            lead_time: domain::LeadTime {
                mean_d: self.lead_time_d,
                deviation_d: self.lead_time_spread_d,
            },
            review_d: self.review_d,
            shelf_life_d: None,
            repair: None,
            no_fault_back_d: None,
            failing: asked.failing,
            no_fault_found: asked.no_fault_found,
            population: &asked.population,
            planned: &asked.planned,
            month: asked.month.as_ref(),
        };
        let project = |what_if: &domain::WhatIf| {
            domain::project(&question, what_if, runs).map_err(|no| no.to_string())
        };
        let present = project(&domain::WhatIf::default())?;
        let changed = match self.what_if {
            None => Vec::new(),
            Some(it) => {
                project(&domain::WhatIf {
                    lead_time_factor: it.lead_time_factor.unwrap_or(1.0),
                    supplier_lost: it.supplier_lost,
                    failures_factor: it.failures_factor.unwrap_or(1.0),
                    units_factor: it.units_factor.unwrap_or(1.0),
                })?
                .months
            }
        };
        Ok(Projected {
            months: present.months.iter().map(Month::from).collect(),
            changed: changed.iter().map(Month::from).collect(),
            largest_error: present.largest_error,
        })
    }
}
