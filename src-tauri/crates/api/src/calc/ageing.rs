use super::{Calc, Entry, above_zero, at_least_zero, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<AgedFailures>(), entry::<AgeReplacement>(), entry::<GroupReplacement>()]
}

/// Failures to expect of units of known age that wear by a Weibull life.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct AgedFailures {
    /// Age of each unit, in any unit of time.
    ages: Vec<f64>,
    /// Scale of the life, in the same unit.
    scale: f64,
    /// Shape of the life.
    shape: f64,
    /// Time that is asked for, in the same unit.
    time: f64,
}

#[derive(Serialize, JsonSchema)]
struct Aged {
    /// Probability of failing of each.
    probabilities: Vec<f64>,
    /// Units that fail, on average.
    expected_failures: f64,
    /// Variance of that number.
    variance: f64,
}

impl Calc for AgedFailures {
    const NAME: &'static str = "aged-failures";
    type Reply = Aged;

    fn reckon(self) -> Result<Aged, String> {
        let life = life(self.scale, self.shape)?;
        let time = at_least_zero("time", self.time)?;
        let mut probabilities = Vec::with_capacity(self.ages.len());
        for age in self.ages {
            probabilities.push(life.fails_within(at_least_zero("an age", age)?, time));
        }
        Ok(Aged {
            expected_failures: probabilities.iter().sum(),
            variance: probabilities.iter().map(|p| p * (1.0 - p)).sum(),
            probabilities,
        })
    }
}

pub(super) fn life(scale: f64, shape: f64) -> Result<domain::Life, String> {
    let shape = above_zero("shape", shape)?;
    if !(0.05..=100.0).contains(&shape) {
        return Err(format!("shape is {shape}: give a number from 0.05 to 100"));
    }
    Ok(domain::Life { scale: above_zero("scale", scale)?, shape })
}

/// Age at which it costs least to replace a unit that wears by a Weibull life.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct AgeReplacement {
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
struct Age {
    /// Best age; null where it is best to wait for the failure.
    age: Option<f64>,
    /// Cost in a unit of time.
    cost: f64,
    /// Cost in a unit of time when every unit is left to fail.
    cost_to_failure: f64,
}

impl Calc for AgeReplacement {
    const NAME: &'static str = "age-replacement";
    type Reply = Age;

    fn reckon(self) -> Result<Age, String> {
        let planned = above_zero("planned_cost", self.planned_cost)?;
        let failure = above_zero("failure_cost", self.failure_cost)?;
        let best = life(self.scale, self.shape)?.age_replacement(planned, failure);
        Ok(Age { age: best.age, cost: best.cost, cost_to_failure: best.cost_to_failure })
    }
}

/// Replacing all units together every so many periods, against each as it fails.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct GroupReplacement {
    /// Units.
    units: u32,
    /// Share of units that fails in the first, second, … period; together 1.
    lives: Vec<f64>,
    /// Cost of replacing one that failed.
    single_cost: f64,
    /// Cost of replacing one of the group.
    group_cost: f64,
}

#[derive(Serialize, JsonSchema)]
struct Group {
    /// Failures in each period, replacements that fail again included.
    failures: Vec<f64>,
    /// Mean life, periods.
    mean_life: f64,
    /// Cost of a period when each is replaced as it fails.
    cost_single: f64,
    /// Cost of a period when all are replaced after 1, 2, … periods, failures of the last paid singly.
    cost_group: Vec<f64>,
    /// The same when failures of the last period wait for the group.
    cost_group_waiting: Vec<f64>,
    /// Cheapest number of periods by cost_group.
    best_periods: Option<usize>,
    /// Cheapest number of periods by cost_group_waiting.
    best_periods_waiting: Option<usize>,
}

impl Calc for GroupReplacement {
    const NAME: &'static str = "group-replacement";
    type Reply = Group;

    fn reckon(self) -> Result<Group, String> {
        for share in &self.lives {
            at_least_zero("a share of lives", *share)?;
        }
        let sum: f64 = self.lives.iter().sum();
        if (sum - 1.0).abs() > 1e-6 || self.lives.len() > 10_000 {
            return Err(format!("the lives add up to {sum}: give shares that together are 1"));
        }
        let single_cost = at_least_zero("single_cost", self.single_cost)?;
        let group_cost = at_least_zero("group_cost", self.group_cost)?;
        let plan =
            domain::group_replacement(self.units.into(), &self.lives, single_cost, group_cost);
        Ok(Group {
            best_periods: cheapest(&plan.cost_group),
            best_periods_waiting: cheapest(&plan.cost_group_waiting),
            failures: plan.failures,
            mean_life: plan.mean_life,
            cost_single: plan.cost_single,
            cost_group: plan.cost_group,
            cost_group_waiting: plan.cost_group_waiting,
        })
    }
}

fn cheapest(costs: &[f64]) -> Option<usize> {
    let best = costs.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1));
    best.map(|(index, _)| index + 1)
}
