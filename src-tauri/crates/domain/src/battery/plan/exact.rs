//! Proof where few things collide: branch on who leaves a day that has too many changes.
//!
//! Each group keeps its cheapest plan until a day has too little crew, or a kind too little stock.
//! Then one of the changes that collide must be elsewhere: for each of them a branch in which it may
//! not be there. The least bound of all open branches is a bound for the whole.

use super::group::{Changes, GroupPlan, cost_of_all, plan_group};
use super::model::Model;
use super::split::Scratch;
use std::collections::{BTreeMap, BTreeSet};

/// Branches looked at. Where so many do not end it, bound and repair serve better.
const BRANCHES: usize = 1_000;

/// Batteries up to which ten times as many are looked at, for these cost next to nothing.
const FEW: usize = 8;

/// Collisions at the start beyond which it is not tried.
const COLLISIONS: usize = 12;

/// Batteries × branches beyond which it ends.
const WORK: usize = 4_000;

pub(super) struct Found {
    /// The best plan without a collision, if one was met.
    pub changes: Option<Vec<Changes>>,
    pub bound: f64,
}

struct Branch {
    bound: f64,
    /// `(battery, place)` pairs that are taken away, in order.
    without: Vec<(usize, usize)>,
    /// Plans of the groups that differ from the start.
    other: BTreeMap<usize, GroupPlan>,
}

/// Looks for the cheapest plan without a collision, the branch with the least bound first.
pub(super) fn by_conflict(model: &Model<'_>, plans: &[GroupPlan], scratch: &mut Scratch) -> Found {
    let floor: f64 = plans.iter().map(|plan| plan.bound).sum();
    let mut open = vec![Branch { bound: floor, without: Vec::new(), other: BTreeMap::new() }];
    let mut best: Option<(f64, Vec<Changes>)> = None;
    let mut settled = f64::INFINITY;
    // The same pairs taken away in another order are the same branch.
    let mut seen = BTreeSet::new();
    let least = |open: &[Branch]| open.iter().map(|b| b.bound).fold(f64::INFINITY, f64::min);
    let more = if model.chains.len() <= FEW { 10 } else { 1 };
    for looked_at in 0..BRANCHES * more {
        let limit = best.as_ref().map_or(f64::INFINITY, |best| best.0) - 1e-7;
        open.retain(|branch| branch.bound < limit);
        let next = (0..open.len()).min_by(|a, b| open[*a].bound.total_cmp(&open[*b].bound));
        let Some(next) = next else { break };
        if looked_at * model.chains.len() > WORK * more {
            break;
        }
        let branch = open.swap_remove(next);
        let plan_of = |group: usize| branch.other.get(&group).unwrap_or(&plans[group]);
        let collisions = collisions(model, plans.len(), &plan_of);
        if looked_at == 0 && collisions.len() > COLLISIONS {
            open.push(branch);
            break;
        }
        let Some(collision) = collisions.into_iter().min_by_key(Vec::len) else {
            let changes: Vec<Changes> =
                (0..plans.len()).map(|group| plan_of(group).changes.clone()).collect();
            let cost = cost_of_all(model, &changes);
            settled = settled.min(branch.bound);
            if cost < limit {
                best = Some((cost, changes));
            }
            continue;
        };
        let new = children(model, &branch, plans, &collision, floor, scratch);
        open.extend(new.into_iter().filter(|child| seen.insert(child.without.clone())));
    }
    let bound = least(&open).min(settled).min(best.as_ref().map_or(f64::INFINITY, |best| best.0));
    // Without any branch left there is no plan at all, and nothing to bound.
    let bound = if bound.is_finite() { bound.max(floor) } else { floor };
    Found { changes: best.map(|best| best.1), bound }
}

fn children(
    model: &Model<'_>,
    branch: &Branch,
    plans: &[GroupPlan],
    collision: &[(usize, usize)],
    floor: f64,
    scratch: &mut Scratch,
) -> Vec<Branch> {
    let mut children = Vec::new();
    for out in collision {
        let group = model.problem.batteries[out.0].group;
        let mut without = branch.without.clone();
        without.push(*out);
        without.sort_unstable();
        let may = |battery: usize, place: usize| !without.contains(&(battery, place));
        let Some(plan) = plan_group(model, group, may, None, true, scratch) else { continue };
        let mut other = branch.other.clone();
        other.insert(group, plan);
        let more = other.iter().map(|(group, plan)| plan.bound - plans[*group].bound).sum::<f64>();
        children.push(Branch { bound: (floor + more).max(branch.bound), without, other });
    }
    children
}

/// Lists the sets of changes of which not all can be: those of a day with too few minutes, and
/// those for which a kind has too few left.
fn collisions<'g>(
    model: &Model<'_>,
    groups: usize,
    plan_of: &impl Fn(usize) -> &'g GroupPlan,
) -> Vec<Vec<(usize, usize)>> {
    let mut on: BTreeMap<usize, Vec<(usize, usize)>> = BTreeMap::new();
    for (battery, path) in (0..groups).flat_map(|group| &plan_of(group).changes) {
        for place in path {
            on.entry(*place).or_default().push((*battery, *place));
        }
    }
    let too_many = |place: usize, changes: &[(usize, usize)]| {
        let mut groups: Vec<usize> =
            changes.iter().map(|(battery, _)| model.problem.batteries[*battery].group).collect();
        groups.sort_unstable();
        groups.dedup();
        let setup = groups.iter().map(|group| i64::from(model.problem.groups[*group].setup_min));
        let minutes =
            changes.iter().map(|(b, _)| i64::from(model.problem.batteries[*b].change_min));
        setup.sum::<i64>() + minutes.sum::<i64>() > model.minutes[place]
    };
    let mut found: Vec<_> =
        on.iter().filter(|(p, c)| too_many(**p, c)).map(|(_, changes)| changes.clone()).collect();
    for (kind, stock) in super::room::stocks(model).into_iter().enumerate() {
        for (after, left) in stock.left_after {
            let counted: Vec<(usize, usize)> = on
                .values()
                .flatten()
                .filter(|(battery, place)| {
                    let day = model.days[*place];
                    let of_kind = model.problem.batteries[*battery].kind == Some(kind);
                    of_kind && after < day && day < stock.new_from
                })
                .copied()
                .collect();
            if counted.len() as i64 > left {
                found.push(counted);
            }
        }
    }
    found
}
