//! The cheapest visits of one group, by branch and bound over the days.
//!
//! The bound is that of [`Split`]; a day is branched on where some batteries would use a visit that
//! others pay for. A day whose visit would lift the bound above the best plan known is closed.

use super::chain::Queues;
use super::split::{Case, DayState, Scratch, Split};

/// The visits of a group.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Solved {
    /// For each chain the places of its changes in the days of the case.
    pub paths: Vec<Vec<usize>>,
    pub cost: f64,
    /// Equal to the cost where the search came to its end.
    pub bound: f64,
}

/// How much is tried.
#[derive(Debug, Clone, Copy)]
pub(super) struct Effort {
    /// Rounds of the split before the first branch.
    pub rounds: usize,
    /// Branches looked at.
    pub nodes: usize,
    /// Plans that the improvement by hand may look at, each time.
    pub tries: usize,
}

/// Places that a visit is moved to, half of them later than it is and half of them earlier.
const NEAR: usize = 40;

struct Node {
    states: Vec<DayState>,
    split: Split,
}

/// Solves the case; none where a battery has no chain at all.
///
/// Where every cost is a whole number of cents, a bound above the best cost less one is proof.
pub(super) fn search(case: &Case<'_>, effort: Effort, scratch: &mut Scratch) -> Option<Solved> {
    let mut states = vec![DayState::Free; case.days.len()];
    let mut split = Split::new(case);
    for round in 0..effort.rounds {
        let before = split.bound();
        if !split.round(case, &states, round % 2 == 1, scratch) {
            return None;
        }
        if round > 1 && split.bound() - before <= 1e-6 * before {
            break;
        }
    }
    let root_bound = split.bound();
    let mut best = start(case, &split, &states, effort, scratch)?;
    let step = if whole(case) { 1.0 - 1e-6 } else { 1e-9 * best.cost.max(1.0) };
    close_dear(&mut split, case, &mut states, best.cost - step);
    let mut open = vec![Node { states, split }];
    let mut nodes = 0;
    while let Some(mut node) = open.pop() {
        if node.split.bound() > best.cost - step {
            continue;
        }
        if nodes >= effort.nodes {
            open.push(node);
            break;
        }
        nodes += 1;
        let rounds = if nodes == 1 { 0 } else { 3 };
        let feasible = (0..rounds).all(|round| {
            node.split.bound() > best.cost - step
                || node.split.round(case, &node.states, round % 2 == 1, scratch)
        });
        if !feasible || node.split.bound() > best.cost - step {
            continue;
        }
        let used = look(case, &node, effort, scratch, &mut best);
        close_dear(&mut node.split, case, &mut node.states, best.cost - step);
        if node.split.bound() > best.cost - step {
            continue;
        }
        let closed = |day: &usize| node.states[*day] == DayState::Closed;
        if used.iter().flatten().any(closed) {
            // The chains that were looked at are no more; others may still be cheaper.
            open.push(node);
        } else if let Some(day) = contested(case, &node, &used) {
            branch(case, node, day, &mut open);
        }
    }
    let left = open.iter().map(|node| node.split.bound()).fold(best.cost, f64::min);
    best.bound = left.max(root_bound).min(best.cost);
    Some(best)
}

fn branch(case: &Case<'_>, node: Node, day: usize, open: &mut Vec<Node>) {
    for state in [DayState::Closed, DayState::Open] {
        let mut child = Node { states: node.states.clone(), split: node.split.clone() };
        child.states[day] = state;
        child.split.decide(case, day, state);
        open.push(child);
    }
}

fn whole(case: &Case<'_>) -> bool {
    let whole = |cents: &f64| cents.fract() == 0.0 || cents.is_infinite();
    case.visit.iter().all(whole)
        && case.change.iter().flatten().all(whole)
        && case.chains.iter().all(|c| whole(&c.per_d) && c.loss.iter().all(|(_, l)| whole(l)))
}

/// Closes the days on which a visit would cost more than the best plan leaves room for.
fn close_dear(split: &mut Split, case: &Case<'_>, states: &mut [DayState], below: f64) {
    let bound = split.bound();
    for (day, state) in states.iter_mut().enumerate() {
        if *state == DayState::Free && bound + split.spare[day] > below {
            *state = DayState::Closed;
            split.decide(case, day, DayState::Closed);
        }
    }
}

/// The day where most of a visit's cost is paid by those who do not use it.
fn contested(case: &Case<'_>, node: &Node, used: &[Vec<usize>]) -> Option<usize> {
    let mut unpaid: Vec<(usize, f64)> = Vec::new();
    for (i, path) in used.iter().enumerate() {
        for day in path.iter().filter(|day| node.states[**day] == DayState::Free) {
            let share = node.split.paid[i][*day];
            match unpaid.iter_mut().find(|(known, _)| known == day) {
                Some((_, left)) => *left -= share,
                None => unpaid.push((*day, case.visit[*day] - share)),
            }
        }
    }
    let most = unpaid.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    (most.1 > 1e-9).then_some(most.0)
}

/// Finds each battery's chain under the split, and keeps the plan made of them if it is the best.
fn look(
    case: &Case<'_>,
    node: &Node,
    effort: Effort,
    scratch: &mut Scratch,
    best: &mut Solved,
) -> Vec<Vec<usize>> {
    let used = chains(case, &node.split, &node.states, scratch);
    let mut visits: Vec<usize> = used.iter().flatten().copied().collect();
    visits.sort_unstable();
    visits.dedup();
    if let Some(found) = with_visits(case, &visits, &mut scratch.queues)
        && found.cost < best.cost * 1.02
    {
        let found = polish(case, found, effort.tries / 4, &mut scratch.queues);
        if found.cost < best.cost {
            *best = found;
        }
    }
    used
}

fn chains(
    case: &Case<'_>,
    split: &Split,
    states: &[DayState],
    scratch: &mut Scratch,
) -> Vec<Vec<usize>> {
    let mut open: Vec<bool> = states.iter().map(|state| *state == DayState::Open).collect();
    let mut used = Vec::with_capacity(case.chains.len());
    for (i, chain) in case.chains.iter().enumerate() {
        let Scratch { at, to_go, queues, .. } = &mut *scratch;
        split.costs(case, states, i, at);
        // Of chains that cost the same the one on days that are in use already is the better.
        for (at, open) in at.iter_mut().zip(&open) {
            *at += if *open { 0.0 } else { 1e-7 };
        }
        chain.backward(&case.days, at, to_go, queues);
        let path = chain.path(&case.days, at, to_go).unwrap_or_default();
        for day in &path {
            open[*day] = true;
        }
        used.push(path);
    }
    used
}

/// A first plan: each battery in turn pays its share and what nobody else would, or nothing where
/// somebody goes already.
fn start(
    case: &Case<'_>,
    split: &Split,
    states: &[DayState],
    effort: Effort,
    scratch: &mut Scratch,
) -> Option<Solved> {
    let mut best: Option<Solved> = None;
    for full in [false, true] {
        let mut open = vec![false; case.days.len()];
        for (i, chain) in case.chains.iter().enumerate() {
            let Scratch { at, to_go, queues, .. } = &mut *scratch;
            split.costs(case, states, i, at);
            for (day, at) in at.iter_mut().enumerate() {
                let share = split.paid[i][day];
                *at += match (open[day], full) {
                    (true, _) => -share,
                    (false, true) => case.visit[day] - share,
                    (false, false) => split.spare[day],
                };
            }
            chain.backward(&case.days, at, to_go, queues);
            for day in chain.path(&case.days, at, to_go)? {
                open[day] = true;
            }
        }
        let visits: Vec<usize> = (0..open.len()).filter(|day| open[*day]).collect();
        if let Some(found) = with_visits(case, &visits, &mut scratch.queues) {
            let found = polish(case, found, effort.tries, &mut scratch.queues);
            if best.as_ref().is_none_or(|best| found.cost < best.cost) {
                best = Some(found);
            }
        }
    }
    best
}

/// The cheapest chains that use these days only; days that nobody uses cost nothing.
pub(super) fn with_visits(
    case: &Case<'_>,
    visits: &[usize],
    queues: &mut Queues,
) -> Option<Solved> {
    let days: Vec<i32> = visits.iter().map(|day| case.days[*day]).collect();
    let mut used = vec![false; visits.len()];
    let mut paths = Vec::with_capacity(case.chains.len());
    let (mut cost, mut to_go) = (0.0, Vec::new());
    for (chain, change) in case.chains.iter().zip(&case.change) {
        let at: Vec<f64> = visits.iter().map(|day| change[*day]).collect();
        chain.backward(&days, &at, &mut to_go, queues);
        let path = chain.path(&days, &at, &to_go)?;
        cost += chain.value(&days, &at, &to_go);
        for place in &path {
            used[*place] = true;
        }
        paths.push(path.into_iter().map(|place| visits[place]).collect());
    }
    cost += visits.iter().zip(&used).filter(|(_, u)| **u).map(|(d, _)| case.visit[*d]).sum::<f64>();
    Some(Solved { paths, cost, bound: f64::NEG_INFINITY })
}

/// Leaves out visits and moves them between their neighbours as long as that is cheaper.
fn polish(case: &Case<'_>, mut plan: Solved, tries: usize, queues: &mut Queues) -> Solved {
    let mut left = tries;
    loop {
        let mut visits: Vec<usize> = plan.paths.iter().flatten().copied().collect();
        visits.sort_unstable();
        visits.dedup();
        let better = neighbours(&visits, case.days.len()).take(left).find_map(|other| {
            left -= 1;
            let found = with_visits(case, &other, queues)?;
            (found.cost < plan.cost - 1e-9).then_some(found)
        });
        match better {
            Some(better) => plan = better,
            None => return plan,
        }
    }
}

fn neighbours(visits: &[usize], days: usize) -> impl Iterator<Item = Vec<usize>> + '_ {
    let without = (0..visits.len()).map(|out| {
        let mut other = visits.to_vec();
        other.remove(out);
        other
    });
    let moved = (0..visits.len()).flat_map(move |n| {
        let from = if n == 0 { 0 } else { visits[n - 1] + 1 };
        let to = visits.get(n + 1).copied().unwrap_or(days);
        // Near days first, later ones before earlier ones.
        let places = (1..days).flat_map(move |by| [visits[n] + by, visits[n].wrapping_sub(by)]);
        places
            .take((2 * (to - from)).min(NEAR))
            .filter(move |place| (from..to).contains(place))
            .map(move |place| {
                let mut other = visits.to_vec();
                other[n] = place;
                other
            })
    });
    without.chain(moved)
}
