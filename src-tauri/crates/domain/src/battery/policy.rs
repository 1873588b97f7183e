use crate::spares::{AgeReplacement, BlockReplacement, Life, group_replacement, shares_of};

/// What a change costs, cents.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Costs {
    /// A change before the end, its share of the visit included.
    pub planned_cents: f64,
    /// A lost memory: the change out of turn, and what the loss costs.
    pub loss_cents: f64,
    /// A change in a group of all batteries of the type, where the visit is shared.
    pub group_cents: f64,
}

/// One way of replacing and what it costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PolicyCost {
    /// Age, or time between changes, years; none where it is best to wait for the end.
    pub every_y: Option<f64>,
    /// Cents a year for each battery.
    pub cents_per_y: f64,
}

/// The cheapest ways of replacing a battery type, against the site's present limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Advice {
    /// Each battery at its own age, or at its end when that comes first.
    pub age: PolicyCost,
    /// Each place at fixed times whatever the age of its battery, and at each end.
    pub block: PolicyCost,
    /// All together after whole years, ends of the last year paid singly first.
    pub group: PolicyCost,
    /// The same where ends of the last year wait for the group.
    pub group_waiting: PolicyCost,
    /// Never before the end.
    pub to_failure_cents_per_y: f64,
    /// At the site's present limit; none where the site has none.
    pub present: Option<PolicyCost>,
    /// What the best age saves a year for each battery against the present limit, or against waiting
    /// for the end where there is none.
    pub saving_cents_per_y: f64,
}

/// Why no policy could be reckoned.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum AdviceRefusal {
    #[error("{name} is {value}: give a number above zero")]
    Figure { name: &'static str, value: f64 },
    #[error("a shape of {0} is out of range: give a life whose shape is from 0.1 to 60")]
    Shape(f64),
}

/// Longest time in whole years that a group is planned for.
const LONGEST_GROUP_Y: usize = 60;

/// Returns the cheapest replacement of a type whose life, in years, is Weibull.
///
/// Fails when a cost, the scale or the present limit is not above zero.
///
/// Source: Barlow and Proschan, Mathematical Theory of Reliability, 1965, chapters 3 and 4, for age
/// and block replacement; texts on operations research for the group, in both conventions.
pub fn advice(
    life: Life,
    costs: &Costs,
    present_limit_y: Option<f64>,
) -> Result<Advice, AdviceRefusal> {
    check(life, costs, present_limit_y)?;
    let age = life.age_replacement(costs.planned_cents, costs.loss_cents);
    let AgeReplacement { age: best_age, cost, cost_to_failure } = age;
    let block: BlockReplacement = life.block_replacement(costs.planned_cents, costs.loss_cents);
    let (group, group_waiting) = groups(life, costs, cost_to_failure);
    let present = present_limit_y.map(|limit_y| PolicyCost {
        every_y: Some(limit_y),
        cents_per_y: life.age_cost(limit_y, costs.planned_cents, costs.loss_cents),
    });
    let against = present.map_or(cost_to_failure, |present| present.cents_per_y);
    Ok(Advice {
        age: PolicyCost { every_y: best_age, cents_per_y: cost },
        block: PolicyCost { every_y: block.every, cents_per_y: block.cost },
        group,
        group_waiting,
        to_failure_cents_per_y: cost_to_failure,
        present,
        saving_cents_per_y: against - cost,
    })
}

/// Group replacement in whole years, in both conventions.
fn groups(life: Life, costs: &Costs, to_failure: f64) -> (PolicyCost, PolicyCost) {
    let years = (life.scale * 4.0).ceil().clamp(1.0, LONGEST_GROUP_Y as f64) as usize;
    let shares = shares_of(life, years);
    let plan = group_replacement(1.0, &shares, costs.loss_cents, costs.group_cents);
    let cheapest = |by_years: &[f64]| {
        let best = by_years.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1));
        match best {
            Some((year, cents)) if *cents < to_failure => {
                PolicyCost { every_y: Some((year + 1) as f64), cents_per_y: *cents }
            }
            _ => PolicyCost { every_y: None, cents_per_y: to_failure },
        }
    };
    (cheapest(&plan.cost_group), cheapest(&plan.cost_group_waiting))
}

fn check(life: Life, costs: &Costs, present_limit_y: Option<f64>) -> Result<(), AdviceRefusal> {
    let figures = [
        ("the scale", life.scale),
        ("planned_cents", costs.planned_cents),
        ("loss_cents", costs.loss_cents),
        ("group_cents", costs.group_cents),
        ("the present limit", present_limit_y.unwrap_or(1.0)),
    ];
    for (name, value) in figures {
        if !(value > 0.0 && value < 1e15) {
            return Err(AdviceRefusal::Figure { name, value });
        }
    }
    if !(0.1..=60.0).contains(&life.shape) {
        return Err(AdviceRefusal::Shape(life.shape));
    }
    Ok(())
}
