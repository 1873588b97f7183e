mod learning;
mod spreads;

use super::*;
use chrono::TimeDelta;
use proptest::prelude::*;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn at(text: &str) -> DateTime<Utc> {
    start_of(day(text))
}

fn plain() -> Battery<'static> {
    Battery {
        cell: Cell { capacity_mah: 1000.0, self_discharge_pct_a_20c: 1.0, cells: 1 },
        drain: Drain { standby_ua: 2.0, backup_ua: 100.0 },
        climate: Climate { cabinet: at_c(20.0), shelf: at_c(20.0) },
        fitted: Fitted { made_on: Some(day("2020-01-01")), fitted_on: day("2020-01-01") },
        power_offs: &[],
        spread: Spread::NONE,
    }
}

const TEN_DAYS: Limits = Limits {
    hold_up_required_h: 240.0,
    spent_chance: SPENT_CHANCE,
    site_age_limit_y: None,
    maker_age_limit_y: None,
};

fn at_c(temperature_c: f64) -> Pace {
    Pace::constant(HeatLaw::DoublingPer10K, temperature_c).unwrap()
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs()).max(1.0)
}

#[test]
fn without_drain_a_year_leaves_what_first_order_loss_leaves() {
    let mut battery = plain();
    battery.drain.standby_ua = 0.0;
    let balance = remaining_mah(&battery, at("2020-12-31"));
    assert!(close(balance.remaining_mah, 1000.0 * (-0.01f64).exp()), "{balance:?}");
}

#[test]
fn without_self_discharge_hold_up_is_charge_over_drain() {
    let mut battery = plain();
    battery.cell.self_discharge_pct_a_20c = 0.0;
    battery.drain.standby_ua = 0.0;
    assert!(close(hold_up_h(&battery, at("2020-01-01")), 10_000.0));
    battery.drain.backup_ua = 0.0;
    assert_eq!(hold_up_h(&battery, at("2020-01-01")), f64::INFINITY);
}

#[test]
fn shelf_age_costs_charge_and_an_unknown_one_counts_two_years() {
    let mut battery = plain();
    battery.climate.shelf = at_c(30.0);
    battery.fitted.made_on = Some(day("2018-01-01"));
    let known = remaining_mah(&battery, at("2020-01-01"));
    assert!(close(known.shelf_loss_mah, 1000.0 * -(-0.02f64 * 730.0 / 365.0).exp_m1()));
    battery.fitted.made_on = None;
    assert!(close(remaining_mah(&battery, at("2020-01-01")).remaining_mah, known.remaining_mah));
}

#[test]
fn power_offs_that_overlap_count_once_and_change_the_drain() {
    let off = |from: &str, to: &str| Off { from: at(from), to: at(to) };
    let offs = [
        off("2020-02-05", "2020-02-11"),
        off("2020-02-01", "2020-02-06"),
        off("2020-03-02", "2020-03-01"),
        off("2019-01-01", "2019-06-01"),
    ];
    let mut battery = plain();
    battery.power_offs = &offs;
    let balance = remaining_mah(&battery, at("2020-03-01"));
    assert!(close(balance.backup_mah, 0.1 * 24.0 * 10.0), "{balance:?}");
    assert!(close(balance.standby_mah, 0.002 * 24.0 * 50.0), "{balance:?}");
}

#[test]
fn a_limit_of_age_comes_first_where_it_is_sooner() {
    let mut battery = plain();
    battery.fitted.made_on = Some(day("2019-02-28"));
    battery.fitted.fitted_on = day("2020-02-29");
    let by_charge = due(&battery, &TEN_DAYS, day("2020-03-01"));
    assert_eq!(by_charge.reason, DueReason::Charge);
    let site = Limits { site_age_limit_y: Some(5.0), ..TEN_DAYS };
    let decided = |limits: &Limits| {
        let due = due(&battery, limits, day("2020-03-01"));
        (due.on, due.reason)
    };
    assert_eq!(decided(&site), (day("2025-02-28"), DueReason::SiteAge));
    let maker = Limits { maker_age_limit_y: Some(5.5), ..site };
    assert_eq!(decided(&maker), (day("2024-08-28"), DueReason::MakerAge));
}

#[test]
fn an_empty_or_senseless_battery_is_spent_at_once() {
    let today = day("2021-01-01");
    let mut none = plain();
    none.cell.cells = 0;
    let mut senseless = plain();
    senseless.drain.backup_ua = f64::NAN;
    assert_eq!(senseless.findings(today).len(), 1);
    let mut drained = plain();
    drained.drain.standby_ua = 1e6;
    for battery in [none, senseless, drained] {
        let due = due(&battery, &TEN_DAYS, today);
        assert_eq!((due.on, due.reason), (day("2020-01-01"), DueReason::Spent));
    }
}

#[test]
fn a_designation_without_measures_is_refused() {
    for text in
        ["", "CR", "CR20", "LR6", "SR44", "CR1/2AA", "CR2032X", "2032", "C\u{df}2032", "CR203245"]
    {
        assert!(matches!(designation(text), Err(DesignationRefusal::Form(_))), "{text}");
    }
    assert!(matches!(designation("XR2032"), Err(DesignationRefusal::System { letter: 'X', .. })));
    let cylinder = designation(" er14505 ").unwrap();
    assert_eq!((cylinder.diameter_mm, cylinder.height_mm), (14.0, 50.5));
}

#[test]
fn batteries_of_a_cabinet_share_a_visit_and_none_is_late() {
    let due_at = |id, cabinet, due_on| DueAt { id, cabinet, due_on: day(due_on) };
    let batteries = [
        due_at(1, "K12", "2026-03-31"),
        due_at(2, "K12", "2026-03-01"),
        due_at(3, "K12", "2026-04-01"),
        due_at(4, "K07", "2025-06-01"),
        due_at(5, "K07", "2026-01-31"),
    ];
    let visit = |on, cabinet, ids| Visit { on: day(on), cabinet, ids };
    assert_eq!(
        visits(&batteries, day("2026-01-01"), 30),
        [
            visit("2026-01-01", "K07", vec![4, 5]),
            visit("2026-03-01", "K12", vec![2, 1]),
            visit("2026-04-01", "K12", vec![3]),
        ]
    );
}

prop_compose! {
    fn stretches()(parts in prop::collection::vec((0i64..4000, 1i64..2000), 0..6)) -> Vec<Off> {
        let start = at("2020-01-01");
        parts.into_iter().map(|(day_no, hours)| {
            let from = start + TimeDelta::days(day_no);
            Off { from, to: from + TimeDelta::hours(hours) }
        }).collect()
    }
}

proptest! {
    #[test]
    fn the_balance_adds_up_at_any_time(
        offs in stretches(),
        capacity_mah in 1.0..20_000.0f64,
        pct in 0.0..20.0f64,
        cabinet_c in -20.0..80.0f64,
        standby_ua in 0.0..50.0f64,
        hours in -20_000i64..200_000,
    ) {
        let mut battery = plain();
        battery.cell = Cell { capacity_mah, self_discharge_pct_a_20c: pct, cells: 1 };
        battery.climate.cabinet = at_c(cabinet_c);
        battery.drain.standby_ua = standby_ua;
        battery.power_offs = &offs;
        let b = remaining_mah(&battery, at("2020-01-01") + TimeDelta::hours(hours));
        let parts =
            [b.remaining_mah, b.shelf_loss_mah, b.self_discharge_mah, b.standby_mah, b.backup_mah];
        prop_assert!(parts.iter().all(|part| *part >= 0.0), "{b:?}");
        let sum: f64 = parts.iter().sum();
        prop_assert!((sum - b.capacity_mah).abs() <= 1e-8 * b.capacity_mah, "{b:?}");
    }

    #[test]
    fn the_day_before_is_covered_and_the_day_itself_is_not(
        offs in stretches(),
        cabinet_c in 10.0..60.0f64,
        required_h in 1.0..2_000.0f64,
    ) {
        let limits = Limits { hold_up_required_h: required_h, ..TEN_DAYS };
        let mut battery = plain();
        battery.climate.cabinet = at_c(cabinet_c);
        battery.power_offs = &offs;
        let on = due(&battery, &limits, day("2020-01-01")).on;
        prop_assert!(hold_up_h(&battery, start_of(on.succ_opt().unwrap())) < required_h);
        if on > battery.fitted.fitted_on {
            prop_assert!(hold_up_h(&battery, start_of(on)) >= required_h);
        }
    }

    #[test]
    fn every_battery_is_in_one_visit_and_never_late(
        due_in in prop::collection::vec((0u8..4, -300i64..900), 0..40),
        window_d in 0u32..400,
    ) {
        let today = day("2026-01-01");
        let batteries: Vec<_> = due_in
            .iter()
            .enumerate()
            .map(|(id, (cabinet, days))| {
                DueAt { id, cabinet: *cabinet, due_on: today + TimeDelta::days(*days) }
            })
            .collect();
        let plan = visits(&batteries, today, window_d);
        let mut seen: Vec<usize> = plan.iter().flat_map(|visit| visit.ids.clone()).collect();
        seen.sort_unstable();
        prop_assert_eq!(seen, (0..batteries.len()).collect::<Vec<_>>());
        for visit in &plan {
            for id in &visit.ids {
                prop_assert_eq!(batteries[*id].cabinet, visit.cabinet);
                prop_assert!(visit.on <= batteries[*id].due_on.max(today));
            }
        }
    }

    #[test]
    fn no_fewer_days_serve_every_window(
        windows in prop::collection::vec((0i64..7, 0i64..4), 0..7),
    ) {
        let windows: Vec<_> = windows.into_iter().map(|(from, long)| (from, from + long)).collect();
        let serves = |days: &[i64]| {
            windows.iter().all(|(from, to)| days.iter().any(|day| (from..=to).contains(&day)))
        };
        let days = fewest_days(&windows);
        prop_assert!(serves(&days));
        // Every set of days of the span is tried, as bits of a number.
        let least = (0u32..1 << 10)
            .filter(|set| (set.count_ones() as usize) < days.len())
            .find(|set| {
                serves(&(0..10).filter(|day| set >> day & 1 == 1).collect::<Vec<i64>>())
            });
        prop_assert_eq!(least, None);
    }
}
