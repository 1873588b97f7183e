//! Due dates of a million batteries, none like another, beside the same sum done plainly: halving
//! the days, with random draws of the charge balance at each.

use chrono::{DateTime, Days, NaiveDate, NaiveTime, TimeDelta, Utc};
use slotkeep_domain::battery::{
    Battery, Cell, Climate, Drain, DueReason, Fitted, HeatLaw, Limits, Off, Pace, Spread, due_days,
    hold_up_h,
};
use slotkeep_tests::measure::timed;
use std::time::Duration;

const BATTERIES: usize = 1_000_000;
const PLAIN: usize = 40;
const DRAWS: usize = 4_000;

const LIMITS: Limits = Limits {
    hold_up_required_h: 72.0,
    spent_chance: 0.01,
    site_age_limit_y: None,
    maker_age_limit_y: Some(12.0),
};

fn main() {
    let mut draws = Draws(1);
    let offs: Vec<Vec<Off>> = (0..BATTERIES).map(|n| stretches(n % 4, &mut draws)).collect();
    let climates: Vec<[f64; 2]> = (0..200).map(|n| [18.0 + 0.15 * f64::from(n), 21.0]).collect();
    let made: Vec<(usize, Battery<'_>)> = offs
        .iter()
        .map(|offs| {
            let at = (draws.next() * climates.len() as f64) as usize;
            (at, battery(climates[at], offs, &mut draws))
        })
        .collect();
    let batteries: Vec<Battery<'_>> = made.iter().map(|(_, battery)| *battery).collect();
    let limits = vec![LIMITS; BATTERIES];
    let (one, due) = timed(|| due_days(&batteries, &limits));
    let (two, again) = timed(|| on_two_threads(&batteries, &limits));
    assert_eq!(due, again, "the days depend on how the list is cut");
    let (plain, off_d) = timed(|| {
        let some = made.iter().zip(&due).step_by(BATTERIES / PLAIN);
        some.map(|((at, battery), (on, _))| {
            let plainly = plain_due(battery, climates[*at], &mut draws);
            (plainly - *on).num_days() as f64
        })
        .collect::<Vec<f64>>()
    });
    let each = |time: Duration, count: usize| time.as_secs_f64() * 1e6 / count as f64;
    let mean_off = off_d.iter().sum::<f64>() / off_d.len() as f64;
    println!(
        "{BATTERIES} due dates: {} ms on one thread, {} ms on two ({:.2} µs each)",
        one.as_millis(),
        two.as_millis(),
        each(one, BATTERIES)
    );
    println!(
        "the same by halving with {DRAWS} draws: {:.0} µs each on one thread; ratio {:.0}; its days \
         are {mean_off:+.1} off on average, {:.0} at most",
        each(plain, off_d.len()),
        each(plain, off_d.len()) / each(one, BATTERIES),
        off_d.iter().fold(0.0f64, |most, off| most.max(off.abs()))
    );
}

fn on_two_threads(batteries: &[Battery<'_>], limits: &[Limits]) -> Vec<(NaiveDate, DueReason)> {
    let half = batteries.len() / 2;
    let ((first, second), (for_first, for_second)) =
        (batteries.split_at(half), limits.split_at(half));
    std::thread::scope(|scope| {
        let other = scope.spawn(move || due_days(second, for_second));
        let mut due = due_days(first, for_first);
        due.extend(other.join().expect("no panic in a sum"));
        due
    })
}

/// The peer: the first day on which more than one in a hundred of drawn batteries falls short.
fn plain_due(battery: &Battery<'_>, climate: [f64; 2], draws: &mut Draws) -> NaiveDate {
    let drawn: Vec<Battery<'_>> =
        (0..DRAWS).map(|_| off_by_chance(battery, climate, draws)).collect();
    let day = |after: u64| battery.fitted.fitted_on + Days::new(after);
    let (mut low, mut high) = (0, 36_525);
    while low < high {
        let middle = (low + high) / 2;
        let end = at(day(middle + 1));
        let short = drawn.iter().filter(|one| hold_up_h(one, end) < LIMITS.hold_up_required_h);
        if short.count() * 100 <= DRAWS { low = middle + 1 } else { high = middle }
    }
    let oldest = battery.fitted.made_on.map(|made_on| made_on + chrono::Months::new(144));
    day(low).min(oldest.unwrap_or(NaiveDate::MAX))
}

fn off_by_chance<'a>(
    battery: &Battery<'a>,
    [cabinet_c, shelf_c]: [f64; 2],
    draws: &mut Draws,
) -> Battery<'a> {
    let mut off = |pct: f64| ((1.0 + (pct / 100.0).powi(2)).ln().sqrt() * draws.normal()).exp();
    let spread = battery.spread;
    let mut moved = *battery;
    moved.cell.capacity_mah *= off(spread.capacity_pct);
    moved.cell.self_discharge_pct_a_20c *= off(spread.self_discharge_pct);
    moved.drain.standby_ua *= off(spread.standby_pct);
    moved.drain.backup_ua *= off(spread.backup_pct);
    let warmer_k = spread.temperature_k * draws.normal();
    moved.climate = climate([cabinet_c + warmer_k, shelf_c + warmer_k]);
    moved
}

fn battery<'a>(places: [f64; 2], offs: &'a [Off], draws: &mut Draws) -> Battery<'a> {
    let mut of = |low: f64, high: f64| low + draws.next() * (high - low);
    let fitted_on = begin() + TimeDelta::days(of(0.0, 1500.0) as i64);
    Battery {
        cell: Cell {
            capacity_mah: of(1000.0, 4000.0),
            self_discharge_pct_a_20c: of(0.5, 2.5),
            cells: 1,
        },
        drain: Drain { standby_ua: of(3.0, 23.0), backup_ua: of(60.0, 260.0) },
        climate: climate(places),
        fitted: Fitted {
            made_on: Some(fitted_on - TimeDelta::days(of(0.0, 900.0) as i64)),
            fitted_on,
        },
        power_offs: offs,
        spread: Spread::USUAL,
    }
}

fn climate([cabinet_c, shelf_c]: [f64; 2]) -> Climate {
    let pace = |c: f64| Pace::constant(HeatLaw::DoublingPer10K, c).expect("a temperature");
    Climate { cabinet: pace(cabinet_c), shelf: pace(shelf_c) }
}

fn stretches(count: usize, draws: &mut Draws) -> Vec<Off> {
    (0..count)
        .map(|n| {
            let after = 400 * (n as i64 + 1) + (draws.next() * 300.0) as i64;
            let from = at(begin() + TimeDelta::days(after));
            Off { from, to: from + TimeDelta::hours(8 + (draws.next() * 100.0) as i64) }
        })
        .collect()
}

fn begin() -> NaiveDate {
    NaiveDate::from_ymd_opt(2020, 1, 1).expect("a day")
}

fn at(day: NaiveDate) -> DateTime<Utc> {
    day.and_time(NaiveTime::MIN).and_utc()
}

/// Uniform and normal numbers from a fixed beginning (xorshift; Box and Muller).
struct Draws(u64);

impl Draws {
    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.next()).ln()).sqrt();
        radius * (2.0 * std::f64::consts::PI * self.next()).cos()
    }
}
