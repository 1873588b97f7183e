use super::{Calc, Entry, above_zero, ageing, at_least_zero, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::battery as domain;
use slotkeep_domain::spares;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<Renewals>(), entry::<BlockReplacement>(), entry::<ReplacementAdvice>()]
}

/// Failures to expect of an item that is replaced at each (renewal function).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Renewals {
    /// Distribution of the life; a gamma life of shape 1 is exponential, of shape 2 Erlang-2.
    law: Law,
    /// Scale of the life, in any unit of time.
    scale: f64,
    /// Shape of the life.
    shape: f64,
    /// Time that is asked for, in the same unit.
    time: f64,
}

#[derive(Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
enum Law {
    Weibull,
    Gamma,
}

#[derive(Serialize, JsonSchema)]
struct Renewed {
    /// Failures until then.
    failures: f64,
}

impl Calc for Renewals {
    const NAME: &'static str = "renewals";
    type Reply = Renewed;

    fn reckon(self) -> Result<Renewed, String> {
        let life = ageing::life(self.scale, self.shape)?;
        let time = at_least_zero("time", self.time)?;
        let failures = match self.law {
            Law::Weibull => life.renewals(time),
            Law::Gamma => spares::gamma_renewals(life.shape, life.scale, time),
        };
        Ok(Renewed { failures })
    }
}

/// Time between changes of all units by the calendar at which it costs least, each failure being
/// replaced at once (block replacement, Barlow and Proschan 1965).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BlockReplacement {
    /// Cost of a planned replacement.
    planned_cost: f64,
    /// Cost of one after a failure.
    failure_cost: f64,
    /// Scale of the life, in any unit of time.
    scale: f64,
    /// Shape of the life.
    shape: f64,
}

#[derive(Serialize, JsonSchema)]
struct Block {
    /// Best time between changes; null where it is best to wait for each failure.
    every: Option<f64>,
    /// Failures to expect in between.
    failures: f64,
    /// Cost in a unit of time.
    cost: f64,
}

impl Calc for BlockReplacement {
    const NAME: &'static str = "block-replacement";
    type Reply = Block;

    fn reckon(self) -> Result<Block, String> {
        let planned = above_zero("planned_cost", self.planned_cost)?;
        let failure = above_zero("failure_cost", self.failure_cost)?;
        let best = ageing::life(self.scale, self.shape)?.block_replacement(planned, failure);
        Ok(Block { every: best.every, failures: best.failures, cost: best.cost })
    }
}

/// The cheapest ways of replacing a battery type of a Weibull life, against the present limit.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ReplacementAdvice {
    /// Scale of the life.
    scale_y: f64,
    /// Shape of the life.
    shape: f64,
    /// Cost of a planned change.
    planned_cents: f64,
    /// Cost of a change after the memory was lost, the loss included.
    loss_cents: f64,
    /// Cost of a change in a group of all.
    group_cents: f64,
    /// Age limit of the site at present.
    present_limit_y: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Advised {
    /// Each at its own age.
    age: Policy,
    /// Each place by the calendar.
    block: Policy,
    /// All together after whole years, ends of the last year paid singly first.
    group: Policy,
    /// The same where ends of the last year wait for the group.
    group_waiting: Policy,
    /// At the present limit; null where there is none.
    present: Option<Policy>,
    /// Never before the end.
    to_failure_cents_per_y: f64,
    /// What the best age saves for each battery.
    saving_cents_per_y: f64,
}

#[derive(Serialize, JsonSchema)]
struct Policy {
    /// Age or time between changes; null where it is best to wait for the end.
    every_y: Option<f64>,
    /// Cost for each battery.
    cost_cents_per_y: f64,
}

impl Policy {
    fn of(policy: domain::PolicyCost) -> Self {
        Self { every_y: policy.every_y, cost_cents_per_y: policy.cents_per_y }
    }
}

impl Calc for ReplacementAdvice {
    const NAME: &'static str = "replacement-advice";
    type Reply = Advised;

    fn reckon(self) -> Result<Advised, String> {
        let life = ageing::life(self.scale_y, self.shape)?;
        let costs = domain::Costs {
            planned_cents: self.planned_cents,
            loss_cents: self.loss_cents,
            group_cents: self.group_cents,
        };
        let advice =
            domain::advice(life, &costs, self.present_limit_y).map_err(|no| no.to_string())?;
        Ok(Advised {
            age: Policy::of(advice.age),
            block: Policy::of(advice.block),
            group: Policy::of(advice.group),
            group_waiting: Policy::of(advice.group_waiting),
            present: advice.present.map(Policy::of),
            to_failure_cents_per_y: advice.to_failure_cents_per_y,
            saving_cents_per_y: advice.saving_cents_per_y,
        })
    }
}
