//! One group taken out of the problem, with the days that can matter to it.

use super::model::Model;
use super::search::{Effort, Solved, search};
use super::split::{Case, Scratch};

/// The changes of the batteries of a group: for each, the places in the model's days.
pub(super) type Changes = Vec<(usize, Vec<usize>)>;

/// A group's visits as they would be if nobody else needed the crew or the stock.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct GroupPlan {
    pub changes: Changes,
    /// At the prices that it was made with, cents.
    pub cost: f64,
    pub bound: f64,
}

/// Work that the search of one group may take: days × batteries × branches. Few small groups need it.
const ONE_SEARCH: usize = 20_000_000;

/// Work that the searches of all large groups may take.
const ALL_SEARCHES: usize = 120_000_000;

/// Days × batteries up to which a group counts as small.
const SMALL: usize = 10_000;

/// Plans the group; none where a battery has no chain on the places that it `may` use of those it
/// is allowed on.
///
/// `prices` are what a minute of the crew costs on each place besides, cents.
pub(super) fn plan_group(
    model: &Model<'_>,
    group: usize,
    may: impl Fn(usize, usize) -> bool,
    prices: Option<&[f64]>,
    thorough: bool,
    scratch: &mut Scratch,
) -> Option<GroupPlan> {
    let members = &model.members[group];
    if members.is_empty() {
        return Some(GroupPlan { changes: Vec::new(), cost: 0.0, bound: 0.0 });
    }
    let may = |battery: usize, place: usize| model.allowed(battery, place) && may(battery, place);
    let places = places_that_matter(model, members, &may, prices);
    let case = case(model, group, &places, &may, prices);
    let effort = effort(model, case.days.len() * members.len(), thorough);
    let Solved { paths, cost, bound } = search(&case, effort, scratch)?;
    let changes = members
        .iter()
        .zip(paths)
        .map(|(battery, path)| (*battery, path.into_iter().map(|t| places[t]).collect()))
        .collect();
    Some(GroupPlan { changes, cost, bound })
}

/// The larger the group and the more there are, the less is tried.
fn effort(model: &Model<'_>, size: usize, thorough: bool) -> Effort {
    let size = size.max(1);
    let fair = (ALL_SEARCHES / model.members.len().max(1)).min(ONE_SEARCH);
    let work = if size <= SMALL { ONE_SEARCH } else { fair };
    let tries = |most: usize| (most * SMALL / size).clamp(4, most);
    if thorough {
        let rounds = if size <= SMALL { 12 } else { 6 };
        Effort { rounds, nodes: (work / size).min(20_000), tries: tries(400) }
    } else {
        Effort { rounds: 4, nodes: (work / 100 / size).min(20), tries: tries(60) }
    }
}

fn case<'m>(
    model: &'m Model<'_>,
    group: usize,
    places: &[usize],
    may: &impl Fn(usize, usize) -> bool,
    prices: Option<&[f64]>,
) -> Case<'m> {
    let stated = &model.problem.groups[group];
    let price = |place: usize| prices.map_or(0.0, |prices| prices[place]);
    let visit =
        |place: &usize| stated.visit_cost_cents + price(*place) * f64::from(stated.setup_min);
    let members = &model.members[group];
    let change = |battery: &usize| {
        let minutes = f64::from(model.problem.batteries[*battery].change_min);
        let cost = model.problem.batteries[*battery].change_cost_cents;
        let at = |place: &usize| match may(*battery, *place) {
            true => cost + price(*place) * minutes,
            false => f64::INFINITY,
        };
        places.iter().map(at).collect()
    };
    Case {
        days: places.iter().map(|place| model.days[*place]).collect(),
        visit: places.iter().map(visit).collect(),
        chains: members.iter().filter_map(|battery| model.chains[*battery].as_ref()).collect(),
        change: members.iter().map(change).collect(),
    }
}

/// Finds places such that some cheapest plan of the group uses no other.
///
/// A visit that is put off to the next usable day costs no more, as long as every change in it stays
/// allowed, within its due date and within its step of the loss, and the crew is no dearer: what is not thrown away now makes
/// the later windows end later. So a visit can wait for the last place before one of these limits,
/// and the limits follow from the first due dates and from earlier visits.
fn places_that_matter(
    model: &Model<'_>,
    members: &[usize],
    may: &impl Fn(usize, usize) -> bool,
    prices: Option<&[f64]>,
) -> Vec<usize> {
    let count = model.days.len();
    let usable: Vec<usize> =
        (0..count).filter(|place| members.iter().any(|battery| may(*battery, *place))).collect();
    let mut matters = vec![false; count];
    let mut waiting = Vec::new();
    let add = |matters: &mut Vec<bool>, waiting: &mut Vec<usize>, place: Option<usize>| {
        if let Some(place) = place.filter(|place| !std::mem::replace(&mut matters[*place], true)) {
            waiting.push(place);
        }
    };
    if let Some(prices) = prices {
        let dearer = usable.windows(2).filter(|pair| prices[pair[1]] > prices[pair[0]]);
        dearer.for_each(|pair| add(&mut matters, &mut waiting, Some(pair[0])));
    }
    // For each battery and number of places, the last of them on which it can be changed.
    let mut lasts: Vec<Vec<Option<usize>>> = Vec::new();
    for battery in members {
        let (mut last, mut row) = (None, Vec::with_capacity(count + 1));
        row.push(None);
        let mut previous = None;
        for place in usable.iter().copied() {
            let allowed = may(*battery, place);
            if !allowed {
                add(&mut matters, &mut waiting, previous.take());
            }
            previous = allowed.then_some(place);
            row.resize(place + 1, last);
            last = if allowed { Some(place) } else { last };
            row.push(last);
        }
        add(&mut matters, &mut waiting, previous);
        row.resize(count + 1, last);
        lasts.push(row);
    }
    let chains: Vec<_> = members.iter().filter_map(|b| model.chains[*b].as_ref()).collect();
    for (chain, lasts) in chains.iter().zip(&lasts) {
        for (early_d, _) in &chain.loss {
            let limit = chain.first.1.min(chain.due - early_d);
            let place = lasts[model.through(limit)].filter(|p| model.days[*p] >= chain.first.0);
            add(&mut matters, &mut waiting, place);
        }
    }
    while let Some(from) = waiting.pop() {
        for (chain, lasts) in chains.iter().zip(&lasts) {
            let due = model.days[from] + chain.life;
            if due >= chain.until {
                continue;
            }
            for (early_d, _) in &chain.loss {
                let place = lasts[model.through(due - early_d)].filter(|place| *place > from);
                add(&mut matters, &mut waiting, place);
            }
        }
    }
    (0..count).filter(|place| matters[*place]).collect()
}

/// What the changes of all groups cost, cents.
pub(super) fn cost_of_all(model: &Model<'_>, changes: &[Changes]) -> f64 {
    changes.iter().enumerate().map(|(group, changes)| cost_of(model, group, changes)).sum()
}

/// What the changes of a group cost, cents: visits, changes, life and risk.
pub(super) fn cost_of(model: &Model<'_>, group: usize, changes: &Changes) -> f64 {
    let mut visits: Vec<usize> = changes.iter().flat_map(|(_, path)| path.clone()).collect();
    visits.sort_unstable();
    visits.dedup();
    let visit_cents = model.problem.groups[group].visit_cost_cents * visits.len() as f64;
    let of_battery = |(battery, path): &(usize, Vec<usize>)| {
        let chain = model.chains[*battery].as_ref();
        let change_cents = chain.map_or(0.0, |chain| chain.change_cents) * path.len() as f64;
        change_cents + chain.map_or(0.0, |chain| chain.early_sum(&model.days, path))
    };
    visit_cents + changes.iter().map(of_battery).sum::<f64>()
}
