use super::*;
use chrono::TimeDelta;
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

fn day(no: i32) -> NaiveDate {
    "2026-01-01".parse::<NaiveDate>().unwrap() + TimeDelta::days(no.into())
}

fn no(date: NaiveDate) -> i32 {
    (date - day(0)).num_days() as i32
}

fn battery(group: usize, due: i32, life_d: u32) -> Fitted {
    Fitted {
        group,
        earliest: day(0),
        due_on: day(due),
        life_d,
        change_min: 10,
        change_cost_cents: 3.0,
        change_with: ChangeWith::Either,
        kind: None,
        life_cents_per_d: 1.0,
        loss: Vec::new(),
    }
}

fn problem(groups: usize, days: i32, batteries: Vec<Fitted>) -> Problem {
    let group = Group { visit_cost_cents: 20.0, setup_min: 5, power_offs: Vec::new() };
    Problem {
        today: day(0),
        horizon_until: day(days),
        groups: vec![group; groups],
        batteries,
        crew: (0..days).map(|on| CrewDay { on: day(on), minutes: None }).collect(),
        kinds: Vec::new(),
        agreed: Vec::new(),
    }
}

fn limit_crew(problem: &mut Problem, minutes: u32) {
    problem.crew.iter_mut().for_each(|day| day.minutes = Some(minutes));
}

/// The days of each battery's changes, in order.
fn changes(plan: &Plan, batteries: usize) -> Vec<Vec<i32>> {
    let mut days = vec![Vec::new(); batteries];
    for visit in &plan.visits {
        for change in &visit.changes {
            days[change.battery].push(no(visit.on));
        }
    }
    days
}

fn allowed(problem: &Problem, battery: usize, on: i32) -> bool {
    let fitted = &problem.batteries[battery];
    let off = problem.groups[fitted.group].power_offs.iter();
    let off = off.into_iter().any(|off| (no(off.from)..=no(off.to)).contains(&on));
    let crew = problem.crew.iter().any(|day| no(day.on) == on && day.minutes != Some(0));
    crew && match fitted.change_with {
        ChangeWith::Powered => !off,
        ChangeWith::Unpowered => off,
        ChangeWith::Either => true,
    }
}

/// Every chain of changes of a battery that keeps its due dates, with its own cost.
fn chains(problem: &Problem, battery: usize) -> Vec<(Vec<i32>, f64)> {
    let until = no(problem.horizon_until);
    let fitted = &problem.batteries[battery];
    let mut done = Vec::new();
    let mut open = vec![(Vec::new(), 0.0, no(fitted.earliest).max(0), no(fitted.due_on))];
    while let Some((path, cost, from, due)) = open.pop() {
        if due >= until {
            done.push((path, cost));
            continue;
        }
        for on in (from..=due).filter(|on| allowed(problem, battery, *on)) {
            let early = due - on;
            let step = fitted.loss.iter().filter(|step| step.before_due_d as i32 <= early);
            let loss = step.max_by_key(|step| step.before_due_d).or(fitted.loss.first());
            let cost = cost
                + fitted.change_cost_cents
                + fitted.life_cents_per_d * f64::from(early)
                + loss.map_or(0.0, |step| step.cost_cents);
            let mut path: Vec<i32> = path.clone();
            path.push(on);
            open.push((path, cost, on + 1, on + fitted.life_d as i32));
        }
    }
    done
}

/// Whether all changes together fit into crew and stock.
fn fits(problem: &Problem, changes: &[Vec<i32>]) -> bool {
    let mut on: BTreeMap<i32, Vec<usize>> = BTreeMap::new();
    for (battery, days) in changes.iter().enumerate() {
        days.iter().for_each(|day| on.entry(*day).or_default().push(battery));
    }
    let mut lots: Vec<Vec<(Option<i32>, u32)>> = problem
        .kinds
        .iter()
        .map(|kind| kind.lots.iter().map(|l| (l.shelf_until.map(no), l.quantity)).collect())
        .collect();
    lots.iter_mut().for_each(|lots| lots.sort_by_key(|lot| lot.0.unwrap_or(i32::MAX)));
    on.into_iter().all(|(on, batteries)| {
        let groups: BTreeSet<usize> =
            batteries.iter().map(|b| problem.batteries[*b].group).collect();
        let minutes = groups.iter().map(|g| problem.groups[*g].setup_min).sum::<u32>()
            + batteries.iter().map(|b| problem.batteries[*b].change_min).sum::<u32>();
        let crew = problem.crew.iter().find(|day| no(day.on) == on).unwrap();
        let supplied = batteries.iter().all(|battery| {
            let Some(kind) = problem.batteries[*battery].kind else { return true };
            let lot = lots[kind]
                .iter_mut()
                .find(|(until, left)| *left > 0 && until.is_none_or(|until| until >= on));
            match lot {
                Some(lot) => {
                    lot.1 -= 1;
                    true
                }
                None => problem.kinds[kind].new_from.is_some_and(|from| no(from) <= on),
            }
        });
        supplied && crew.minutes.is_none_or(|most| minutes <= most)
    })
}

fn cost(problem: &Problem, chains: &[&(Vec<i32>, f64)]) -> f64 {
    let visits: BTreeSet<(usize, i32)> = chains
        .iter()
        .enumerate()
        .flat_map(|(b, c)| c.0.iter().map(move |day| (problem.batteries[b].group, *day)))
        .collect();
    chains.iter().map(|chain| chain.1).sum::<f64>()
        + visits.iter().map(|(g, _)| problem.groups[*g].visit_cost_cents).sum::<f64>()
}

/// The least cost over every choice of chains, none where nothing fits.
fn by_trying_all(problem: &Problem) -> Option<f64> {
    let all: Vec<_> = (0..problem.batteries.len()).map(|b| chains(problem, b)).collect();
    if all.iter().any(Vec::is_empty) {
        return None;
    }
    let mut choice = vec![0; all.len()];
    let mut best: Option<f64> = None;
    loop {
        let chosen: Vec<_> = choice.iter().zip(&all).map(|(n, chains)| &chains[*n]).collect();
        let cost = cost(problem, &chosen);
        if best.is_none_or(|best| cost < best) {
            let days: Vec<Vec<i32>> = chosen.iter().map(|chain| chain.0.clone()).collect();
            if fits(problem, &days) {
                best = Some(cost);
            }
        }
        let Some(n) = (0..choice.len()).find(|n| choice[*n] + 1 < all[*n].len()) else {
            return best;
        };
        choice[n] += 1;
        choice[..n].fill(0);
    }
}

/// Says what is wrong with a plan: lateness, crew, power, stock, sums.
fn faults(problem: &Problem, plan: &Plan) -> Vec<String> {
    let mut faults = Vec::new();
    let done = changes(plan, problem.batteries.len());
    for (b, days) in done.iter().enumerate() {
        let fitted = &problem.batteries[b];
        let (mut from, mut due) = (no(fitted.earliest), no(fitted.due_on));
        for on in days {
            if *on < from || *on > due || !allowed(problem, b, *on) {
                faults.push(format!("battery {b} on {on}, window {from} to {due}"));
            }
            (from, due) = (on + 1, on + fitted.life_d as i32);
        }
        let told = plan.conflicts.iter().find(|conflict| conflict.battery == b);
        if due < no(problem.horizon_until) && told.is_none_or(|told| no(told.due_on) != due) {
            faults.push(format!("battery {b} is left due on {due}"));
        }
    }
    if !fits(problem, &done) {
        faults.push("crew or stock".to_owned());
    }
    for change in plan.visits.iter().flat_map(|visit| &visit.changes) {
        let counted = problem.batteries[change.battery].kind.is_some();
        if counted == (change.supply == Supply::NotCounted) {
            faults.push(format!("battery {} from {:?}", change.battery, change.supply));
        }
    }
    if plan.lower_bound_cents > plan.cost.total_cents() + 1e-6 {
        faults.push(format!("bound {} above {:?}", plan.lower_bound_cents, plan.cost));
    }
    faults
}

fn constraint(problem: &Problem) -> Constraint {
    let plan = plan(problem).unwrap();
    assert_eq!(faults(problem, &plan), Vec::<String>::new());
    assert_eq!(plan.conflicts.len(), 1, "{:?}", plan.conflicts);
    plan.conflicts[0].constraint.clone()
}

#[test]
fn batteries_of_a_group_share_the_visit_of_the_first_that_is_due() {
    let problem = problem(2, 100, vec![battery(0, 50, 90), battery(0, 55, 90), battery(1, 55, 90)]);
    let plan = plan(&problem).unwrap();
    assert_eq!(changes(&plan, 3), [[50], [50], [55]]);
    assert_eq!(plan.cost.total_cents(), 2.0 * 20.0 + 3.0 * 3.0 + 5.0);
    assert_eq!(plan.proof, Proof::Exact);
    assert_eq!(plan.visits[0].minutes, 25);
}

#[test]
fn a_battery_is_changed_again_when_its_life_is_over() {
    let problem = problem(1, 100, vec![battery(0, 10, 40)]);
    assert_eq!(changes(&plan(&problem).unwrap(), 1), [[10, 50, 90]]);
}

#[test]
fn each_impossible_wish_is_answered_with_what_stands_in_its_way() {
    let mut late = problem(1, 100, vec![battery(0, -1, 200)]);
    assert_eq!(constraint(&late), Constraint::Overdue);
    assert_eq!(plan(&late).unwrap().conflicts[0].soonest, Some(day(0)));

    late.batteries[0] = battery(0, 9, 200);
    late.crew.retain(|crew| no(crew.on) > 9);
    assert_eq!(constraint(&late), Constraint::NoDay);
    assert_eq!(plan(&late).unwrap().conflicts[0].soonest, Some(day(10)));

    let mut crew = problem(1, 100, vec![battery(0, 50, 200)]);
    limit_crew(&mut crew, 0);
    assert_eq!(constraint(&crew), Constraint::ZeroCrew);
    limit_crew(&mut crew, 14);
    assert_eq!(constraint(&crew), Constraint::CrewTooSmall { needed_min: 15, most_min: 14 });

    let mut power = problem(1, 100, vec![battery(0, 50, 200)]);
    power.batteries[0].change_with = ChangeWith::Unpowered;
    power.groups[0].power_offs = vec![PowerOff { from: day(60), to: day(62) }];
    assert_eq!(constraint(&power), Constraint::NeedsPowerOff);
    power.batteries[0].change_with = ChangeWith::Powered;
    power.groups[0].power_offs = vec![PowerOff { from: day(0), to: day(50) }];
    assert_eq!(constraint(&power), Constraint::NeedsPower);

    let mut stock = problem(1, 100, vec![battery(0, 50, 200)]);
    stock.batteries[0].kind = Some(0);
    stock.batteries[0].earliest = day(40);
    let old = Lot { quantity: 5, shelf_until: Some(day(39)) };
    stock.kinds = vec![Kind { lots: vec![old], new_from: Some(day(51)) }];
    assert_eq!(constraint(&stock), Constraint::NoStock { until: Some(day(51)) });
}

#[test]
fn a_later_change_that_cannot_be_is_told_and_the_first_is_planned() {
    let mut problem = problem(1, 100, vec![battery(0, 30, 40)]);
    problem.batteries[0].change_with = ChangeWith::Unpowered;
    problem.groups[0].power_offs = vec![PowerOff { from: day(20), to: day(22) }];
    let plan = plan(&problem).unwrap();
    assert_eq!(changes(&plan, 1), [[22]]);
    assert_eq!(plan.conflicts[0].due_on, day(62));
    assert_eq!(plan.conflicts[0].constraint, Constraint::NeedsPowerOff);
}

#[test]
fn a_crew_too_small_for_all_names_who_is_left_and_the_days() {
    let mut problem = problem(3, 100, (0..3).map(|group| battery(group, 1, 200)).collect());
    limit_crew(&mut problem, 20);
    let plan = plan(&problem).unwrap();
    assert_eq!(faults(&problem, &plan), Vec::<String>::new());
    assert_eq!(plan.visits.len(), 2);
    let days = vec![day(0), day(1)];
    assert_eq!(plan.conflicts[0].constraint, Constraint::CrewFull { days });
}

#[test]
fn the_first_expired_goes_out_first_and_then_what_is_bought() {
    let mut problem =
        problem(1, 100, vec![battery(0, 10, 200), battery(0, 30, 200), battery(0, 60, 200)]);
    problem.groups[0].visit_cost_cents = 0.0;
    problem.batteries.iter_mut().for_each(|battery| battery.kind = Some(0));
    let lot = |until: i32| Lot { quantity: 1, shelf_until: Some(day(until)) };
    problem.kinds = vec![Kind { lots: vec![lot(50), lot(20)], new_from: Some(day(55)) }];
    let plan = plan(&problem).unwrap();
    let supply: Vec<Supply> = plan.visits.iter().map(|visit| visit.changes[0].supply).collect();
    assert_eq!(supply, [Supply::Lot(1), Supply::Lot(0), Supply::Bought]);
}

#[test]
fn an_agreed_visit_stays_although_another_day_were_cheaper() {
    let mut problem = problem(1, 100, vec![battery(0, 50, 200)]);
    problem.agreed = vec![AgreedVisit { on: day(20), group: 0, batteries: vec![0] }];
    let kept = plan(&problem).unwrap();
    assert_eq!(changes(&kept, 1), [[20]]);
    assert_eq!(kept.moved, []);

    problem.batteries[0].due_on = day(10);
    let moved = plan(&problem).unwrap();
    let because = MoveReason::DueBefore;
    let expected = Moved { battery: 0, agreed_on: day(20), now_on: Some(day(10)), because };
    assert_eq!(moved.moved, [expected]);

    problem.batteries[0].due_on = day(50);
    problem.crew.retain(|crew| no(crew.on) != 20);
    assert_eq!(plan(&problem).unwrap().moved[0].because, MoveReason::NoCrewThatDay);
}

#[test]
fn an_agreed_visit_gives_way_to_what_cannot_wait() {
    let mut problem = problem(2, 100, vec![battery(0, 50, 200), battery(1, 20, 200)]);
    problem.batteries[1].earliest = day(20);
    limit_crew(&mut problem, 20);
    problem.agreed = vec![AgreedVisit { on: day(20), group: 0, batteries: vec![0] }];
    let plan = plan(&problem).unwrap();
    assert_eq!(changes(&plan, 2), [[50], [20]]);
    assert_eq!(plan.moved[0].because, MoveReason::GivesWay);
    assert_eq!(plan.conflicts, []);
}

#[test]
fn figures_without_sense_are_refused_by_name() {
    let mut problem = problem(1, 100, vec![battery(3, 50, 0)]);
    problem.groups[0].visit_cost_cents = f64::NAN;
    problem.groups[0].power_offs = vec![PowerOff { from: day(9), to: day(8) }];
    problem.crew.push(problem.crew[5]);
    problem.horizon_until = day(0);
    let refusal = plan(&problem).unwrap_err().to_string();
    for part in ["horizon", "2026-01-06", "visit_cost_cents", "power-off", "group 3", "life_d"] {
        assert!(refusal.contains(part), "{part} is not in {refusal}");
    }
}

prop_compose! {
    /// Two groups, up to three batteries, at most two changes each within ten days.
    fn small()(
        batteries in prop::collection::vec(
            (0usize..2, 0i32..9, 5u32..14, 0i32..5, 0u8..6, 0u8..3, 0u8..2), 1..4),
        shut in prop::collection::btree_set(0i32..10, 0..5),
        visit_cents in 0u32..25,
        off in (0i32..9, 0i32..3),
    ) -> Problem {
        let made = batteries.into_iter().map(|(group, due, life, early, value, with, risky)| {
            let mut fitted = battery(group, due, life);
            fitted.earliest = day(due - early);
            fitted.life_cents_per_d = f64::from(value) / 2.0;
            // Most do not care about power, else hardly any problem could be solved.
            fitted.change_with = [ChangeWith::Either, ChangeWith::Powered, ChangeWith::Either][usize::from(with)];
            if risky == 1 {
                let step = |before_due_d, cost_cents| LossStep { before_due_d, cost_cents };
                fitted.loss = vec![step(0, 9.0), step(2, 4.0)];
            }
            fitted
        });
        let mut problem = problem(2, 10, made.collect());
        problem.crew.retain(|crew| !shut.contains(&no(crew.on)));
        problem.groups[0].visit_cost_cents = f64::from(visit_cents);
        problem.groups[1].power_offs = vec![PowerOff { from: day(off.0), to: day(off.0 + off.1) }];
        problem
    }
}

/// The bound closes a day on which a battery's cheapest chain lies; another chain that costs the
/// same joins the visits of others.
#[test]
fn a_day_that_the_bound_closes_does_not_end_the_search() {
    let of = |earliest: i32, due: i32, life_d: u32| Fitted {
        earliest: day(earliest),
        life_cents_per_d: 0.0,
        ..battery(0, due, life_d)
    };
    let mut batteries = vec![of(3, 4, 7), of(3, 5, 5), of(7, 7, 5)];
    batteries[1].change_with = ChangeWith::Powered;
    let step = |before_due_d, cost_cents| LossStep { before_due_d, cost_cents };
    batteries[1].loss = vec![step(0, 9.0), step(2, 4.0)];
    let mut problem = problem(1, 10, batteries);
    problem.groups[0].power_offs = vec![PowerOff { from: day(4), to: day(4) }];
    let plan = plan(&problem).unwrap();
    assert_eq!(plan.cost.total_cents(), by_trying_all(&problem).unwrap());
    assert_eq!(changes(&plan, 3), [vec![3], vec![3, 7], vec![7]]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn without_limits_the_plan_is_the_best_of_all(problem in small()) {
        let plan = plan(&problem).unwrap();
        prop_assert_eq!(faults(&problem, &plan), Vec::<String>::new());
        match by_trying_all(&problem) {
            Some(best) => {
                prop_assert_eq!(&plan.conflicts, &[]);
                prop_assert!((plan.cost.total_cents() - best).abs() < 1e-6, "{best} {plan:?}");
                prop_assert_eq!(plan.proof, Proof::Exact);
            }
            None => prop_assert!(!plan.conflicts.is_empty()),
        }
    }

    #[test]
    fn with_limits_the_plan_is_the_best_of_all_and_its_bound_is_one(
        mut problem in small(),
        minutes in prop::sample::select(vec![15u32, 20, 25, 30, 40]),
        lots in prop::collection::vec((0u32..3, 0i32..10), 0..3),
        new_from in prop::option::of(0i32..8),
        counted in any::<bool>(),
    ) {
        limit_crew(&mut problem, minutes);
        if counted {
            let lot = |(quantity, until)| Lot { quantity, shelf_until: Some(day(until)) };
            let lots = lots.into_iter().map(lot).collect();
            problem.kinds = vec![Kind { lots, new_from: new_from.map(day) }];
            problem.batteries.iter_mut().for_each(|battery| battery.kind = Some(0));
        }
        let plan = plan(&problem).unwrap();
        prop_assert_eq!(faults(&problem, &plan), Vec::<String>::new());
        match by_trying_all(&problem) {
            Some(best) => {
                prop_assert_eq!(&plan.conflicts, &[]);
                prop_assert!((plan.cost.total_cents() - best).abs() < 1e-6, "{best} {plan:?}");
                prop_assert!(plan.lower_bound_cents < best + 1e-6);
            }
            None => prop_assert!(!plan.conflicts.is_empty()),
        }
    }

}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]

    #[test]
    fn many_batteries_are_never_late_nor_over_capacity(
        batteries in prop::collection::vec((0usize..8, 0i32..300, 150u32..400, 0i32..150), 20..50),
        minutes in 35u32..90,
    ) {
        let made = batteries.into_iter().map(|(group, due, life, early)| {
            let mut fitted = battery(group, due, life);
            fitted.earliest = day(due - early);
            fitted.life_cents_per_d = 0.25;
            fitted
        });
        let mut problem = problem(8, 400, made.collect());
        problem.crew.retain(|crew| no(crew.on) % 7 < 5);
        limit_crew(&mut problem, minutes);
        let plan = plan(&problem).unwrap();
        prop_assert_eq!(faults(&problem, &plan), Vec::<String>::new());
    }
}
