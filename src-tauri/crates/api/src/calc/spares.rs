use super::{Calc, Entry, at_least_zero, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![
        entry::<ExpectedFailures>(),
        entry::<SparesToHold>(),
        entry::<FillRate>(),
        entry::<OrderAdvice>(),
        entry::<Acceleration>(),
    ]
}

/// Failures to expect of a population in a time, such as a lead time: N·λ·L.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ExpectedFailures {
    /// Units at work.
    installed: u32,
    /// Failure rate of one unit.
    failure_rate_fit: f64,
    /// Time that is asked for.
    lead_time_d: f64,
    /// Share of the time that they are at work, 0 to 1 (1).
    #[serde(default = "always")]
    duty: f64,
}

fn always() -> f64 {
    1.0
}

#[derive(Serialize, JsonSchema)]
struct Failures {
    /// Mean number of failures.
    expected_failures: f64,
}

impl Calc for ExpectedFailures {
    const NAME: &'static str = "expected-failures";
    type Reply = Failures;

    fn reckon(self) -> Result<Failures, String> {
        if !(0.0..=1.0).contains(&self.duty) {
            return Err(format!("duty is {}: give a share from 0 to 1", self.duty));
        }
        let rate_fit = at_least_zero("failure_rate_fit", self.failure_rate_fit)?;
        let lead_time_d = at_least_zero("lead_time_d", self.lead_time_d)?;
        let all_day = domain::expected_failures(self.installed, rate_fit, lead_time_d);
        Ok(Failures { expected_failures: all_day * self.duty })
    }
}

/// Stock to hold without resupply: the smallest k with P(X <= k) >= protection, X being Poisson.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct SparesToHold {
    /// Mean demand in the time that the stock must last, pieces.
    mean: f64,
    /// Wanted probability that demand stays within the stock, below 1.
    protection: f64,
}

#[derive(Serialize, JsonSchema)]
struct ToHold {
    /// Pieces to hold.
    stock: u64,
    /// P(X <= stock).
    achieved: f64,
    /// P(X <= stock - 1); null where the stock is none.
    one_less: Option<f64>,
}

impl Calc for SparesToHold {
    const NAME: &'static str = "spares-to-hold";
    type Reply = ToHold;

    fn reckon(self) -> Result<ToHold, String> {
        let hold =
            domain::to_hold(self.mean, self.protection).map_err(|refusal| refusal.to_string())?;
        let less = hold.stock.checked_sub(1);
        Ok(ToHold {
            stock: hold.stock,
            achieved: hold.achieved,
            one_less: less.map(|less| domain::poisson_cdf(less, self.mean)),
        })
    }
}

/// Service of a base stock: one piece is ordered for each one used; Poisson demand (Palm's theorem).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct FillRate {
    /// Mean number of pieces on their way: demand rate times lead time.
    mean: f64,
    /// Pieces on the shelf and on their way, less those owed.
    stock: u64,
}

#[derive(Serialize, JsonSchema)]
struct Service {
    /// Share of demands served at once, P(X <= stock - 1).
    fill_rate: f64,
    /// Probability that nothing is owed, P(X <= stock).
    no_backorder: f64,
    /// Pieces owed, on average.
    backorders: f64,
    /// Pieces on the shelf, on average.
    on_hand: f64,
    /// Variance of the pieces owed.
    backorder_variance: f64,
}

impl Calc for FillRate {
    const NAME: &'static str = "fill-rate";
    type Reply = Service;

    fn reckon(self) -> Result<Service, String> {
        let mean = mean_demand(self.mean)?;
        Ok(Service {
            fill_rate: domain::fill_rate(mean, self.stock),
            no_backorder: domain::poisson_cdf(self.stock, mean),
            backorders: domain::expected_backorders(mean, self.stock),
            on_hand: domain::expected_on_hand(mean, self.stock),
            backorder_variance: domain::variance_of_backorders(mean, self.stock),
        })
    }
}

/// Takes a mean that the tails are exact for.
pub(super) fn mean_demand(mean: f64) -> Result<f64, String> {
    if (0.0..=domain::LARGEST_MEAN).contains(&mean) {
        Ok(mean)
    } else {
        Err(domain::DemandRefusal::Mean(mean).to_string())
    }
}

/// What to order now to have what should be held, and why.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct OrderAdvice {
    /// Pieces on the shelf that may be used.
    usable: u32,
    /// Pieces on order.
    on_order: u32,
    /// Pieces to hold against failures.
    to_hold: u32,
    /// Planned changes in the lead time, pieces.
    planned: u32,
}

#[derive(Serialize, JsonSchema)]
struct Advice {
    /// Pieces to order.
    order_now: u64,
    /// Why, in a sentence.
    reason: String,
}

impl Calc for OrderAdvice {
    const NAME: &'static str = "order-advice";
    type Reply = Advice;

    fn reckon(self) -> Result<Advice, String> {
        let advice = domain::advice(
            self.usable.into(),
            self.on_order.into(),
            self.to_hold.into(),
            self.planned.into(),
        );
        Ok(Advice { order_now: advice.order_now, reason: advice.reason })
    }
}

/// How many times faster an item ages at one temperature than at another (Arrhenius model).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Acceleration {
    /// Activation energy of the failure.
    activation_ev: f64,
    /// Temperature in use.
    use_c: f64,
    /// Temperature under stress.
    stress_c: f64,
}

#[derive(Serialize, JsonSchema)]
struct Faster {
    /// Rate under stress over rate in use.
    factor: f64,
}

impl Calc for Acceleration {
    const NAME: &'static str = "arrhenius-acceleration";
    type Reply = Faster;

    fn reckon(self) -> Result<Faster, String> {
        let activation_ev = at_least_zero("activation_ev", self.activation_ev)?;
        let factor = domain::acceleration(activation_ev, self.use_c, self.stress_c);
        if factor.is_finite() {
            Ok(Faster { factor })
        } else {
            Err("the factor has no end: give temperatures above -273.15 °C and an activation \
                 energy of about 0.3 to 1.5 eV"
                .to_owned())
        }
    }
}
