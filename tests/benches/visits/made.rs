//! Plants made by dice: cabinets fitted out in batches, so that many batteries fall due together.

use chrono::{Datelike, NaiveDate, TimeDelta, Weekday};
use slotkeep_domain::battery::plan::{
    ChangeWith, CrewDay, Fitted, Group, Kind, Lot, PowerOff, Problem,
};

/// 500 batteries over five years, and two hours of crew on each Tuesday and Thursday.
pub fn small_plant(seed: u64) -> Problem {
    Made { dice: Dice(seed), batches: 12, batteries: 500, days: 1826, crew_min: 120 }.problem(false)
}

/// 10,000 batteries over ten years with power-offs and stock, and six hours of crew on each
/// working day.
pub fn large_plant(seed: u64) -> Problem {
    Made { dice: Dice(seed), batches: 40, batteries: 10_000, days: 3653, crew_min: 360 }
        .problem(true)
}

struct Made {
    dice: Dice,
    batches: u64,
    batteries: usize,
    days: i64,
    crew_min: u32,
}

impl Made {
    fn problem(mut self, with_limits: bool) -> Problem {
        let today = NaiveDate::from_ymd_opt(2026, 1, 5).expect("a Monday");
        let date = |day: i64| today + TimeDelta::days(day);
        let mut groups = Vec::new();
        let mut batteries: Vec<Fitted> = Vec::new();
        while batteries.len() < self.batteries {
            let stop = self.dice.below(365) as i64;
            let stops = (0..self.days / 365).map(|year| stop + 365 * year);
            let power_offs = stops.map(|day| PowerOff { from: date(day), to: date(day + 4) });
            groups.push(Group {
                visit_cost_cents: (4_000 + 1_000 * self.dice.below(9)) as f64,
                setup_min: 20,
                power_offs: if with_limits { power_offs.collect() } else { Vec::new() },
            });
            // A batch is spread over the lives of its first batteries.
            let batch = self.dice.below(self.batches) as i64 * 1_500 / self.batches as i64;
            for _ in 0..=self.dice.below(6).min((self.batteries - batteries.len() - 1) as u64) {
                let fitted = self.battery(groups.len() - 1, batch, &date, with_limits);
                batteries.push(fitted);
            }
        }
        let crew = (0..self.days)
            .map(date)
            .filter(|on| !matches!(on.weekday(), Weekday::Sat | Weekday::Sun));
        Problem {
            today,
            horizon_until: date(self.days),
            groups,
            batteries,
            crew: crew.map(|on| CrewDay { on, minutes: Some(self.crew_min) }).collect(),
            kinds: if with_limits { self.kinds(&date) } else { Vec::new() },
            agreed: Vec::new(),
        }
    }

    fn battery(
        &mut self,
        group: usize,
        batch: i64,
        date: &impl Fn(i64) -> NaiveDate,
        with_limits: bool,
    ) -> Fitted {
        let due = batch + 40 + self.dice.below(90) as i64;
        let change_with = match self.dice.below(10) {
            0 if with_limits => ChangeWith::Unpowered,
            1..=4 => ChangeWith::Powered,
            _ => ChangeWith::Either,
        };
        // One that needs the cabinet stopped must live from one yearly stop to the next.
        let slack = if change_with == ChangeWith::Unpowered { 380 } else { 0 };
        Fitted {
            group,
            earliest: date((due - 365).max(0)),
            due_on: date(due + slack),
            life_d: (1_100 + 180 * self.dice.below(8)) as u32,
            change_min: 15,
            change_cost_cents: (3_000 + 500 * self.dice.below(10)) as f64,
            change_with,
            kind: with_limits.then(|| self.dice.below(3) as usize),
            life_cents_per_d: (1 + self.dice.below(5)) as f64,
            loss: Vec::new(),
        }
    }

    /// A year's need on the shelf in two lots, and more after two months.
    fn kinds(&mut self, date: &impl Fn(i64) -> NaiveDate) -> Vec<Kind> {
        let lot = |quantity, until| Lot { quantity, shelf_until: Some(date(until)) };
        let lots = vec![lot(150, 30), lot(150, 400)];
        vec![Kind { lots, new_from: Some(date(60)) }; 3]
    }
}

/// A linear congruential generator (Knuth's MMIX constants): the same plant for the same seed.
struct Dice(u64);

impl Dice {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % limit
    }
}
