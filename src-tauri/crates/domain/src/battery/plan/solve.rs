//! From the problem to the plan: groups alone, then together, then prices where the crew is short.

use super::agreed::Agreed;
use super::conflicts::{alone, cut, new_from};
use super::exact::by_conflict;
use super::fill::{Filled, Unplaced, fill};
use super::group::{Changes, GroupPlan, cost_of_all, plan_group};
use super::model::Model;
use super::prices::Prices;
use super::split::Scratch;
use super::{Conflict, Constraint, Plan, PlanRefusal, Problem, Proof, report};
use crate::in_parallel_with;

/// A plan so near its bound is good enough to stop at, as a share of the bound.
const NEAR_ENOUGH: f64 = 0.001;

/// Work on prices, in days × batteries of the groups that are planned anew.
const PRICE_WORK: usize = 4_000_000;

/// Rounds on prices at most.
const PRICE_ROUNDS: usize = 60;

/// Attempts after which a battery that finds no room is left out whole.
const PATIENCE: usize = 3;

/// Plans the visits of the whole horizon.
///
/// No battery in the plan is changed after its due date, before its first sensible day, without
/// crew, against its need of power or with a cell past its shelf date. A battery that cannot be
/// served is in [`Plan::conflicts`] and its late change is not in the plan. Equal problems give
/// equal plans.
///
/// Groups that do not meet in crew or stock are planned exactly, as far as the search comes to its
/// end (branch and bound over visit days; the problem is hard in general, being joint replenishment
/// with deadlines). Where they meet, the plan comes with a bound.
///
/// Fails where a figure makes no sense, naming every such figure.
pub fn plan(problem: &Problem) -> Result<Plan, PlanRefusal> {
    let mut model = Model::new(problem)?;
    let mut conflicts = alone(&mut model);
    let mut agreed = Agreed::hold(&mut model);
    let mut free: Vec<Option<GroupPlan>> = vec![None; problem.groups.len()];
    let mut attempt = 0;
    loop {
        model.gather_members();
        let plans = complete(&model, free);
        let together = together(&model, &agreed, &plans);
        if together.unplaced.is_empty() {
            return Ok(finish(&model, &agreed, together, conflicts));
        }
        let unplaced = together.unplaced;
        free = plans.into_iter().map(Some).collect();
        for battery in make_room(&mut model, &mut agreed, &unplaced, &mut conflicts, attempt) {
            free[problem.batteries[battery].group] = None;
        }
        attempt += 1;
    }
}

struct Together {
    changes: Vec<Changes>,
    bound: f64,
    unplaced: Vec<Unplaced>,
}

/// Plans each group that has no plan yet as if it were alone.
fn complete(model: &Model<'_>, known: Vec<Option<GroupPlan>>) -> Vec<GroupPlan> {
    each(known.len(), |group, scratch| match &known[group] {
        Some(plan) => plan.clone(),
        None => plan_group(model, group, |_, _| true, None, true, scratch).unwrap_or_default(),
    })
}

fn together(model: &Model<'_>, agreed: &Agreed, plans: &[GroupPlan]) -> Together {
    let order = order(model, agreed);
    let mut scratch = Scratch::default();
    let (mut best, mut unplaced) = fill(model, plans, &order, &mut scratch);
    let bounds: Vec<f64> = plans.iter().map(|plan| plan.bound).collect();
    let mut bound = bounds.iter().sum();
    if !unplaced.is_empty() || !exact_already(best.cost(model), bound) {
        let found = by_conflict(model, plans, &mut scratch);
        bound = found.bound;
        if let Some(changes) = found.changes {
            let cost = cost_of_all(model, &changes);
            if !unplaced.is_empty() || cost < best.cost(model) {
                unplaced.clear();
                best.replace(changes);
            }
        }
    }
    if unplaced.is_empty() && !near(best.cost(model), bound) {
        settle_down(model, &mut best, &bounds, &mut scratch);
        if !near(best.cost(model), bound) {
            bound = with_prices(model, plans, bound, &order, &mut best, &mut scratch);
        }
    }
    Together { changes: best.changes, bound, unplaced }
}

fn exact_already(cost: f64, bound: f64) -> bool {
    cost - bound <= 1e-7 * cost.max(1.0)
}

fn near(cost: f64, bound: f64) -> bool {
    cost - bound <= NEAR_ENOUGH * bound
}

fn settle_down(
    model: &Model<'_>,
    plan: &mut Filled<'_, '_>,
    bounds: &[f64],
    scratch: &mut Scratch,
) {
    let floor: f64 = bounds.iter().sum();
    for _ in 0..4 {
        let gained = plan.replan(model, bounds, scratch);
        let cost = plan.cost(model);
        if gained <= NEAR_ENOUGH / 4.0 * cost || near(cost, floor) {
            return;
        }
    }
}

/// Looks for prices of the crew's minutes that prove more, and for cheaper plans with their help.
/// Returns the best bound.
fn with_prices<'m, 'p>(
    model: &'m Model<'p>,
    plans: &[GroupPlan],
    mut bound: f64,
    order: &[usize],
    best: &mut Filled<'m, 'p>,
    scratch: &mut Scratch,
) -> f64 {
    let bounds: Vec<f64> = plans.iter().map(|plan| plan.bound).collect();
    let mut cost = best.cost(model);
    let mut prices = Prices::none(model);
    let mut priced = plans.to_vec();
    let mut work = 0;
    for _ in 0..PRICE_ROUNDS {
        if near(cost, bound) || !prices.follow(model, &priced, cost - bound) {
            break;
        }
        // Dearer minutes change nothing for a group whose cheapest plan needs none of them.
        let touched: Vec<bool> = plans.iter().map(|plan| prices.touch(plan)).collect();
        let members = touched.iter().zip(&model.members).filter(|(touched, _)| **touched);
        work += members.map(|(_, members)| members.len() * model.days.len()).sum::<usize>();
        if work > PRICE_WORK {
            break;
        }
        let at = Some(prices.cents_per_min.as_slice());
        priced = each(plans.len(), |group, scratch| match touched[group] {
            true => plan_group(model, group, |_, _| true, at, false, scratch).unwrap_or_default(),
            false => plans[group].clone(),
        });
        let value = priced.iter().map(|plan| plan.bound).sum::<f64>() - prices.worth(model);
        if value > bound {
            bound = value;
        } else {
            prices.slow_down();
        }
        let (mut other, unplaced) = fill(model, &priced, order, scratch);
        if !unplaced.is_empty() {
            continue;
        }
        settle_down(model, &mut other, &bounds, scratch);
        let other_cost = other.cost(model);
        if other_cost < cost {
            cost = other_cost;
            *best = other;
        }
    }
    bound
}

/// The groups with agreed visits first, then those that are due first.
fn order(model: &Model<'_>, agreed: &Agreed) -> Vec<usize> {
    let key = |group: &usize| {
        let members = &model.members[*group];
        let held = members.iter().any(|battery| agreed.holds(*battery));
        let due = members.iter().filter_map(|b| model.chains[*b].as_ref()).map(|c| c.first.1).min();
        (!held, due, *group)
    };
    let mut order: Vec<usize> = (0..model.members.len()).collect();
    order.sort_by_cached_key(key);
    order
}

/// Lets an agreed visit go for a battery that found no room, or else leaves out its late change.
/// Returns the batteries for which something is different now.
fn make_room(
    model: &mut Model<'_>,
    agreed: &mut Agreed,
    unplaced: &[Unplaced],
    conflicts: &mut Vec<Conflict>,
    attempt: usize,
) -> Vec<usize> {
    for lacking in unplaced {
        let freed = agreed.give_way(model, lacking.window_from, lacking.due);
        if !freed.is_empty() {
            return freed;
        }
    }
    for lacking in unplaced {
        let Unplaced { battery, window_from, due, for_stock } = *lacking;
        let places = model.through(window_from.saturating_sub(1))..model.through(due);
        let days = places
            .filter(|place| model.allowed(battery, *place))
            .map(|place| model.date(model.days[place]))
            .collect();
        let constraint = match for_stock {
            true => Constraint::StockTaken { until: new_from(model, battery) },
            false => Constraint::CrewFull { days },
        };
        let (window_from, due_on) = (model.date(window_from), model.date(due));
        conflicts.retain(|known| known.battery != battery);
        conflicts.push(Conflict { battery, window_from, due_on, constraint, soonest: None });
        cut(model, battery, if attempt < PATIENCE { due } else { i32::MIN });
    }
    let mut different = agreed.hold_again(model);
    different.extend(unplaced.iter().map(|lacking| lacking.battery));
    different
}

fn finish(
    model: &Model<'_>,
    agreed: &Agreed,
    together: Together,
    mut conflicts: Vec<Conflict>,
) -> Plan {
    let visits = report::visits(model, &together.changes);
    let mut first_on = vec![None; model.problem.batteries.len()];
    for visit in &visits {
        for change in &visit.changes {
            first_on[change.battery].get_or_insert(visit.on);
        }
    }
    conflicts.sort_by_key(|conflict| (conflict.due_on, conflict.battery));
    let cost = report::cost(model, &together.changes);
    let total = cost.total_cents();
    let exact = exact_already(total, together.bound);
    Plan {
        visits,
        cost,
        lower_bound_cents: together.bound.min(total),
        proof: if exact { Proof::Exact } else { Proof::Bound },
        moved: agreed.moved(model, &first_on),
        conflicts,
    }
}

/// Works on all groups; the answers come in order.
fn each<T: Send>(count: usize, work: impl Fn(usize, &mut Scratch) -> T + Sync) -> Vec<T> {
    let groups: Vec<usize> = (0..count).collect();
    in_parallel_with(&groups, Scratch::default, |scratch, group| work(*group, scratch))
}
