//! The problem as days from the start of the horizon, and which battery may be changed when.

use super::chain::Chain;
use super::{ChangeWith, Fitted, Kind, PlanRefusal, Problem};
use chrono::{NaiveDate, TimeDelta};

/// Crew time of a day on which it does not count, minutes.
const PLENTY_MIN: i64 = i64::MAX / 4;

/// Longest horizon and longest life that are reckoned with: a century.
const LONGEST_D: i64 = 36_525;

pub(super) struct Model<'a> {
    pub problem: &'a Problem,
    /// First day after the horizon.
    pub until: i32,
    /// Days with crew time within the horizon, rising. A *place* is a place in this list.
    pub days: Vec<i32>,
    pub minutes: Vec<i64>,
    /// For each day of the horizon how many places lie on it or before.
    places_through: Vec<usize>,
    /// For each group, whether it is without power; empty where it always has power.
    off: Vec<Vec<bool>>,
    /// For each kind and place, whether a battery that may be fitted can be there at all.
    supplied: Vec<Vec<bool>>,
    /// None for a battery that needs no change, or cannot be served even once.
    pub chains: Vec<Option<Chain>>,
    /// Batteries of each group that have a chain.
    pub members: Vec<Vec<usize>>,
}

impl<'a> Model<'a> {
    pub fn new(problem: &'a Problem) -> Result<Self, PlanRefusal> {
        let findings = findings(problem);
        if !findings.is_empty() {
            return Err(PlanRefusal(findings));
        }
        let until = day_no(problem.today, problem.horizon_until);
        let mut crew: Vec<(i32, i64)> = problem
            .crew
            .iter()
            .map(|day| (day_no(problem.today, day.on), day.minutes.map_or(PLENTY_MIN, i64::from)))
            .filter(|(day, minutes)| (0..until).contains(day) && *minutes > 0)
            .collect();
        crew.sort_unstable();
        let (days, minutes): (Vec<i32>, Vec<i64>) = crew.into_iter().unzip();
        let places_through =
            (0..until).map(|day| days.partition_point(|known| *known <= day)).collect();
        let mut model = Self {
            problem,
            until,
            minutes,
            places_through,
            off: Vec::new(),
            supplied: Vec::new(),
            chains: problem.batteries.iter().map(|b| chain(problem, b, until)).collect(),
            members: vec![Vec::new(); problem.groups.len()],
            days,
        };
        model.off = problem.groups.iter().map(|group| model.off_days(group)).collect();
        model.supplied = problem.kinds.iter().map(|kind| model.supplied_days(kind)).collect();
        Ok(model)
    }

    pub fn gather_members(&mut self) {
        for members in &mut self.members {
            members.clear();
        }
        for (battery, chain) in self.chains.iter().enumerate() {
            if chain.is_some() {
                self.members[self.problem.batteries[battery].group].push(battery);
            }
        }
    }

    pub fn date(&self, day: i32) -> NaiveDate {
        let delta = TimeDelta::days(day.into());
        self.problem.today.checked_add_signed(delta).unwrap_or(NaiveDate::MAX)
    }

    pub fn day(&self, date: NaiveDate) -> i32 {
        day_no(self.problem.today, date)
    }

    /// Returns how many places lie on the day or before it.
    pub fn through(&self, day: i32) -> usize {
        match usize::try_from(day) {
            Err(_) => 0,
            Ok(day) => self.places_through.get(day).copied().unwrap_or(self.days.len()),
        }
    }

    pub fn place(&self, date: NaiveDate) -> Option<usize> {
        self.days.binary_search(&self.day(date)).ok()
    }

    /// Minutes of a visit that changes this battery only.
    pub fn alone_min(&self, battery: usize) -> i64 {
        let fitted = &self.problem.batteries[battery];
        i64::from(self.problem.groups[fitted.group].setup_min) + i64::from(fitted.change_min)
    }

    pub fn has_power(&self, battery: usize, place: usize) -> bool {
        let group = self.problem.batteries[battery].group;
        !self.off[group].get(place).copied().unwrap_or(false)
    }

    pub fn power_suits(&self, battery: usize, place: usize) -> bool {
        match self.problem.batteries[battery].change_with {
            ChangeWith::Either => true,
            ChangeWith::Powered => self.has_power(battery, place),
            ChangeWith::Unpowered => !self.has_power(battery, place),
        }
    }

    pub fn supplied(&self, battery: usize, place: usize) -> bool {
        self.problem.batteries[battery].kind.is_none_or(|kind| self.supplied[kind][place])
    }

    /// Whether the battery could be changed there if nobody else needed anything.
    pub fn allowed(&self, battery: usize, place: usize) -> bool {
        self.minutes[place] >= self.alone_min(battery)
            && self.power_suits(battery, place)
            && self.supplied(battery, place)
    }

    fn off_days(&self, group: &super::Group) -> Vec<bool> {
        if group.power_offs.is_empty() {
            return Vec::new();
        }
        let mut off = vec![false; self.days.len()];
        for power_off in &group.power_offs {
            let (from, to) = (self.day(power_off.from), self.day(power_off.to));
            let range = self.through(from.saturating_sub(1))..self.through(to);
            off.get_mut(range).into_iter().flatten().for_each(|off| *off = true);
        }
        off
    }

    fn supplied_days(&self, kind: &Kind) -> Vec<bool> {
        let last = kind
            .lots
            .iter()
            .filter(|lot| lot.quantity > 0)
            .map(|lot| lot.shelf_until.map_or(i32::MAX, |until| self.day(until)))
            .max()
            .unwrap_or(i32::MIN);
        let new_from = kind.new_from.map_or(i32::MAX, |from| self.day(from));
        self.days.iter().map(|day| *day <= last || *day >= new_from).collect()
    }
}

fn chain(problem: &Problem, battery: &Fitted, until: i32) -> Option<Chain> {
    let due = day_no(problem.today, battery.due_on);
    let earliest = day_no(problem.today, battery.earliest).max(0);
    let mut steps: Vec<(i32, f64)> = battery
        .loss
        .iter()
        .map(|step| (i64::from(step.before_due_d).min(LONGEST_D) as i32, step.cost_cents))
        .collect();
    steps.sort_by_key(|step| step.0);
    match steps.first_mut() {
        Some(first) => first.0 = 0,
        None => steps.push((0, 0.0)),
    }
    (due < until).then_some(Chain {
        first: (earliest, due),
        due,
        life: i64::from(battery.life_d).min(2 * LONGEST_D) as i32,
        until,
        change_cents: battery.change_cost_cents,
        per_d: battery.life_cents_per_d,
        loss: steps,
    })
}

fn day_no(from: NaiveDate, date: NaiveDate) -> i32 {
    (date - from).num_days().clamp(-4 * LONGEST_D, 4 * LONGEST_D) as i32
}

/// Names every figure that makes no sense, in sentences.
fn findings(problem: &Problem) -> Vec<String> {
    let mut findings = Vec::new();
    let horizon_d = (problem.horizon_until - problem.today).num_days();
    if !(1..=LONGEST_D).contains(&horizon_d) {
        findings.push(format!(
            "the horizon goes from {} to {}: let it end a day to a century after it begins",
            problem.today, problem.horizon_until
        ));
    }
    let mut days: Vec<NaiveDate> = problem.crew.iter().map(|day| day.on).collect();
    days.sort_unstable();
    for twice in days.windows(2).filter(|pair| pair[0] == pair[1]) {
        findings.push(format!("the crew of {} is stated twice: state it once", twice[0]));
    }
    for (n, group) in problem.groups.iter().enumerate() {
        cents(&mut findings, &format!("group {n}: visit_cost_cents"), group.visit_cost_cents);
        for off in group.power_offs.iter().filter(|off| off.to < off.from) {
            findings.push(format!(
                "group {n}: the power-off from {} ends before that, on {}: turn the days round",
                off.from, off.to
            ));
        }
    }
    for (n, battery) in problem.batteries.iter().enumerate() {
        battery_findings(problem, n, battery, &mut findings);
    }
    for (n, visit) in problem.agreed.iter().enumerate() {
        let known = |battery: &usize| {
            problem.batteries.get(*battery).is_some_and(|known| known.group == visit.group)
        };
        for battery in visit.batteries.iter().filter(|battery| !known(battery)) {
            findings.push(format!(
                "agreed visit {n} on {}: there is no battery {battery} in group {}",
                visit.on, visit.group
            ));
        }
    }
    findings
}

fn battery_findings(problem: &Problem, n: usize, battery: &Fitted, findings: &mut Vec<String>) {
    if battery.group >= problem.groups.len() {
        findings.push(format!("battery {n}: there is no group {}", battery.group));
    }
    if let Some(kind) = battery.kind.filter(|kind| *kind >= problem.kinds.len()) {
        findings.push(format!("battery {n}: there is no kind {kind}"));
    }
    if battery.life_d == 0 {
        findings.push(format!("battery {n}: life_d is 0: give a day at least"));
    }
    cents(findings, &format!("battery {n}: change_cost_cents"), battery.change_cost_cents);
    cents(findings, &format!("battery {n}: life_cents_per_d"), battery.life_cents_per_d);
    let mut steps = battery.loss.clone();
    steps.sort_by_key(|step| step.before_due_d);
    for step in &steps {
        cents(findings, &format!("battery {n}: loss cost_cents"), step.cost_cents);
    }
    for pair in steps.windows(2).filter(|pair| pair[0].cost_cents < pair[1].cost_cents) {
        findings.push(format!(
            "battery {n}: a loss costs more {} days before the due date than {} days before it: \
             the risk falls the earlier a battery is changed",
            pair[1].before_due_d, pair[0].before_due_d
        ));
    }
}

/// Dearer than any site: sums of such figures are still exact to a cent.
const DEAREST_CENTS: f64 = 1e9;

fn cents(findings: &mut Vec<String>, name: &str, value: f64) {
    if !(0.0..=DEAREST_CENTS).contains(&value) {
        findings.push(format!("{name} is {value}: give a number from zero to {DEAREST_CENTS}"));
    }
}
