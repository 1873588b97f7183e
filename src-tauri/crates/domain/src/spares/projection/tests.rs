use super::*;
use crate::spares::{
    AgeGroup, LeadQuestion, Life, OrderRule, ageing_course, expected_backorders, expected_on_hand,
    lead_demand, poisson_above,
};

const NONE: RateBelief = RateBelief { shape: 0.0, exposure: 1.0 };
const MONTH_H: f64 = DAYS_PER_MONTH * 24.0;

fn near(got: f64, wanted: f64, off: f64) {
    assert!((got - wanted).abs() <= off, "{got} in place of {wanted}, {off} allowed");
}

/// Four standard errors of a chance by drawing.
fn error(chance: f64, runs: u32) -> f64 {
    4.0 * (chance * (1.0 - chance) / f64::from(runs)).sqrt() + 3.0 / f64::from(runs)
}

fn lots(pieces: u64) -> [ShelfLot; 1] {
    [ShelfLot { pieces, expires_d: None }]
}

fn plain<'a>(
    shelf: &'a [ShelfLot],
    population: &'a Population,
    limits: &'a BuyingLimits,
) -> ProjectionQuestion<'a> {
    ProjectionQuestion {
        months: 12,
        shelf,
        owed: 0,
        on_order: &[],
        harvest: &[],
        rule: None,
        limits,
        lead_time: LeadTime { mean_d: 90.0, deviation_d: 0.0 },
        review_d: 0.0,
        shelf_life_d: None,
        repair: None,
        no_fault_back_d: None,
        failing: Failing::Never,
        no_fault_found: NONE,
        population,
        planned: &[],
        month: None,
    }
}

/// A rate that is known all but for sure, an hour.
fn known(per_h: f64) -> Failing<'static> {
    Failing::AtRate(RateBelief { shape: 1e6, exposure: 1e6 / per_h })
}

#[test]
fn what_is_never_bought_again_runs_down_as_the_exact_demand_says() {
    let population = Population {
        units: 50.0,
        weighted: 65.0,
        changes: vec![crate::spares::PopulationChange { day: 200.0, units: 20.0, weighted: 40.0 }],
    };
    let (shelf, limits) = (lots(6), BuyingLimits::none());
    let belief = RateBelief { shape: 1.7, exposure: 2.5e5 };
    let no_fault_found = RateBelief { shape: 2.0, exposure: 9e5 };
    let planned = [PlannedPieces { day: 130.0, pieces: 2, chance: 0.7 }];
    let asked = ProjectionQuestion {
        failing: Failing::AtRate(belief),
        no_fault_found,
        planned: &planned,
        ..plain(&shelf, &population, &limits)
    };
    let runs = Runs { seed: 11, runs: 40_000 };
    let ahead = project(&asked, &WhatIf::default(), runs).unwrap();
    for month in &ahead.months {
        let lead = LeadQuestion {
            lead_time: LeadTime { mean_d: month.ends_d, deviation_d: 0.0 },
            review_d: 0.0,
            failing: asked.failing,
            no_fault_found,
            population: &population,
            planned: &planned,
            month: None,
        };
        let demand = lead_demand(&lead).unwrap().pmf;
        near(month.stock_out_by, demand.above(6), error(demand.above(6), runs.runs));
        let mean_error = 4.0 * (demand.variance() / f64::from(runs.runs)).sqrt();
        near(month.stock.mean, 6.0 - demand.mean(), mean_error);
        near(month.on_hand, demand.expected_below(6), mean_error);
        near(month.owed, demand.expected_above(6), mean_error);
        // The stock not fallen below with 5 % is six less the demand not exceeded with 95 %, or one
        // beside it where a chance lies on the border.
        assert!((month.stock.p05 - (6 - demand.quantile(0.95) as i64)).abs() <= 1, "{month:?}");
        assert!((month.stock.p50 - (6 - demand.quantile(0.5) as i64)).abs() <= 1, "{month:?}");
    }
    assert!((0.0024..0.0026).contains(&ahead.largest_error));
}

#[test]
fn a_base_stock_settles_to_what_palm_s_theorem_says() {
    let population = Population::steady(20.0);
    let (shelf, limits) = (lots(4), BuyingLimits::none());
    for deviation_d in [0.0, 40.0] {
        let per_month = 1.0;
        let asked = ProjectionQuestion {
            months: 18,
            rule: Some(OrderRule::base_stock(4)),
            lead_time: LeadTime { mean_d: 2.0 * DAYS_PER_MONTH, deviation_d },
            failing: known(per_month / 20.0 / MONTH_H),
            ..plain(&shelf, &population, &limits)
        };
        let runs = Runs { seed: 5, runs: 40_000 };
        let ahead = project(&asked, &WhatIf::default(), runs).unwrap();
        for month in &ahead.months[14..] {
            near(month.owed, expected_backorders(2.0, 4), 0.01);
            near(month.on_hand, expected_on_hand(2.0, 4), 0.04);
            near(month.asked_for, 1.0, 0.025);
            near(month.ordered, 1.0, 0.025);
            near(month.arrived, 1.0, 0.025);
            // P(owed at the end) is P(X > 4); the chance of owing at some time in it is larger.
            assert!(month.stock_out > poisson_above(4, 2.0));
        }
        // In the first months nothing can have arrived.
        near(ahead.months[0].arrived, if deviation_d == 0.0 { 0.0 } else { 0.1 }, 0.1);
    }
}

#[test]
fn repairs_come_back_and_scrapped_units_do_not() {
    let population = Population::steady(10.0);
    let (shelf, limits) = (lots(3), BuyingLimits::none());
    let with = |yield_share| ProjectionQuestion {
        months: 24,
        failing: known(0.1 / MONTH_H),
        repair: Some(RepairTime { turn_round_d: DAYS_PER_MONTH, yield_share }),
        ..plain(&shelf, &population, &limits)
    };
    let runs = Runs { seed: 3, runs: 20_000 };
    // All come back: pieces away are Poisson of mean 1, whatever the months.
    let ahead = project(&with(1.0), &WhatIf::default(), runs).unwrap();
    near(ahead.months[23].owed, expected_backorders(1.0, 3), 0.006);
    near(ahead.months[23].stock.mean, 2.0, 0.03);
    // Of four failures one is lost for good: a quarter a month.
    let ahead = project(&with(0.75), &WhatIf::default(), runs).unwrap();
    near(ahead.months[23].stock.mean, 3.0 - 24.0 * 0.25 - 0.75, 0.08);
}

#[test]
fn what_is_taken_without_a_fault_comes_back() {
    let population = Population::steady(10.0);
    let (shelf, limits) = (lots(3), BuyingLimits::none());
    let asked = ProjectionQuestion {
        no_fault_found: RateBelief { shape: 1e6, exposure: 1e7 * MONTH_H },
        no_fault_back_d: Some(DAYS_PER_MONTH / 2.0),
        ..plain(&shelf, &population, &limits)
    };
    let runs = Runs { seed: 3, runs: 20_000 };
    let ahead = project(&asked, &WhatIf::default(), runs).unwrap();
    near(ahead.months[11].stock.mean, 2.5, 0.03);
    let kept = ProjectionQuestion { no_fault_back_d: None, ..asked };
    let ahead = project(&kept, &WhatIf::default(), runs).unwrap();
    near(ahead.months[11].stock.mean, 3.0 - 12.0, 0.1);
}

#[test]
fn planned_pieces_and_shelf_dates_are_followed_to_the_day() {
    let population = Population::default();
    let limits = BuyingLimits::new(Some(4), Some(2)).unwrap();
    let shelf = [
        ShelfLot { pieces: 5, expires_d: Some(100.0) },
        ShelfLot { pieces: 9, expires_d: Some(-1.0) },
        ShelfLot { pieces: 2, expires_d: None },
    ];
    let planned = [
        PlannedPieces { day: 20.0, pieces: 3, chance: 1.0 },
        PlannedPieces { day: 250.0, pieces: 4, chance: 1.0 },
    ];
    let on_order = [Arrival { day: -4.0, pieces: 1 }];
    let harvest = [Arrival { day: 40.0, pieces: 1 }];
    let asked = ProjectionQuestion {
        on_order: &on_order,
        harvest: &harvest,
        planned: &planned,
        rule: Some(OrderRule::UpTo { point: 1, up_to: 3 }),
        ..plain(&shelf, &population, &limits)
    };
    let runs = Runs { seed: 1, runs: 100 };
    let ahead = project(&asked, &WhatIf::default(), runs).unwrap();
    let stocks: Vec<f64> = ahead.months.iter().map(|month| month.stock.mean).collect();
    // 5 + 2 + 1 overdue; 3 of the lot that expires first are taken, one is harvested, two expire.
    assert_eq!(stocks[..4], [5.0, 6.0, 6.0, 4.0]);
    assert_eq!(ahead.months[3].expired, 2.0);
    // The four of day 250 are within the lead time from day 160 on: the position is 0, so three are
    // wanted; no order is taken for fewer than four.
    assert_eq!(ahead.months[5].ordered, 4.0);
    assert_eq!(stocks[8..], [4.0, 4.0, 4.0, 4.0]);
    assert!(ahead.months.iter().all(|month| month.stock_out == 0.0));
    // Without a supplier the debt of the last day stays.
    let lost = WhatIf { supplier_lost: true, ..WhatIf::default() };
    let alone = project(&asked, &lost, runs).unwrap();
    assert_eq!(alone.months[11].stock.mean, 5.0 + 2.0 - 3.0 + 1.0 - 2.0 - 4.0);
    assert_eq!((alone.months[8].stock_out, alone.months[7].stock_out_by), (1.0, 0.0));
    assert_eq!((alone.months[11].stock_out, alone.months[11].arrived), (1.0, 0.0));
}

#[test]
fn bought_pieces_expire_and_a_slow_look_orders_later() {
    let population = Population::default();
    let (shelf, limits) = (lots(0), BuyingLimits::none());
    let asked = ProjectionQuestion {
        rule: Some(OrderRule::base_stock(3)),
        lead_time: LeadTime { mean_d: 10.0, deviation_d: 0.0 },
        shelf_life_d: Some(50.0),
        ..plain(&shelf, &population, &limits)
    };
    let runs = Runs { seed: 1, runs: 100 };
    let ahead = project(&asked, &WhatIf::default(), runs).unwrap();
    // Three arrive on day 10 and expire on day 60, then every 60 days again: five times in a year
    // (days 60 to 300 and on day 360 the sixth).
    let expired: f64 = ahead.months.iter().map(|month| month.expired).sum();
    assert_eq!(expired, 18.0);
    let slow = ProjectionQuestion { review_d: 100.0, shelf_life_d: Some(30.0), ..asked };
    let ahead = project(&slow, &WhatIf::default(), runs).unwrap();
    let ordered: f64 = ahead.months.iter().map(|month| month.ordered).sum();
    assert_eq!(ordered, 12.0);
}

#[test]
fn consumption_follows_its_forecast() {
    let population = Population::default();
    let (shelf, limits) = (lots(100), BuyingLimits::none());
    let month = Pmf::negative_binomial(3.0, 12.0).unwrap();
    let asked = ProjectionQuestion { month: Some(&month), ..plain(&shelf, &population, &limits) };
    let runs = Runs { seed: 9, runs: 20_000 };
    let ahead = project(&asked, &WhatIf::default(), runs).unwrap();
    near(ahead.months[11].stock.mean, 100.0 - 36.0, 4.0 * (144.0 / 20_000f64).sqrt());
    near(ahead.months[4].asked_for, 3.0, 0.1);
}

#[test]
fn wearing_units_fail_as_their_mean_course_says() {
    let population = Population::steady(12.0);
    let (shelf, limits) = (lots(5), BuyingLimits::none());
    let lives = [(0.5, Life { scale: 5.0, shape: 4.0 }), (0.5, Life { scale: 8.0, shape: 3.0 })];
    let groups = [AgeGroup::present(12, 4.0, 1.2)];
    let asked = ProjectionQuestion {
        months: 24,
        failing: Failing::Wearing { lives: &lives, groups: &groups },
        ..plain(&shelf, &population, &limits)
    };
    let runs = Runs { seed: 4, runs: 20_000 };
    let ahead = project(&asked, &WhatIf::default(), runs).unwrap();
    let day = ahead.months[23].ends_d;
    let means: f64 = lives
        .iter()
        .map(|(weight, life)| weight * ageing_course(*life, &groups, &[day]).unwrap()[0])
        .sum();
    near(ahead.months[23].stock.mean, 5.0 - means, 0.2);
    let warmer = WhatIf { failures_factor: 1.5, ..WhatIf::default() };
    let hot = project(&asked, &warmer, runs).unwrap();
    assert!(hot.months[23].stock.mean < ahead.months[23].stock.mean - 2.0);
}

#[test]
fn a_changed_case_meets_the_same_luck() {
    let population = Population::steady(30.0);
    let (shelf, limits) = (lots(3), BuyingLimits::none());
    let asked = ProjectionQuestion {
        months: 24,
        rule: Some(OrderRule::base_stock(3)),
        lead_time: LeadTime { mean_d: 60.0, deviation_d: 15.0 },
        failing: Failing::AtRate(RateBelief { shape: 3.0, exposure: 8e5 }),
        ..plain(&shelf, &population, &limits)
    };
    let runs = Runs { seed: 21, runs: 2_000 };
    let present = project(&asked, &WhatIf::default(), runs).unwrap();
    assert_eq!(present, project(&asked, &WhatIf::default(), runs).unwrap());
    let other = project(&asked, &WhatIf::default(), Runs { seed: 22, ..runs }).unwrap();
    assert_ne!(present, other);
    let last = |ahead: &Projection| ahead.months[23];
    let both = error(last(&present).stock_out_by, runs.runs) * std::f64::consts::SQRT_2;
    near(last(&other).stock_out_by, last(&present).stock_out_by, both);
    // Even a tenth more units shows, since luck is the same; each run is at least as short.
    let cases = [
        WhatIf { units_factor: 1.1, ..WhatIf::default() },
        WhatIf { failures_factor: 1.1, ..WhatIf::default() },
        WhatIf { lead_time_factor: 2.0, ..WhatIf::default() },
        WhatIf { supplier_lost: true, ..WhatIf::default() },
    ];
    for what_if in cases {
        let changed = project(&asked, &what_if, runs).unwrap();
        assert!(last(&changed).stock_out_by > last(&present).stock_out_by, "{what_if:?}");
        for (changed, present) in changed.months.iter().zip(&present.months) {
            assert!(changed.stock_out_by >= present.stock_out_by - 0.005, "{what_if:?}");
        }
    }
    for month in &present.months {
        let fan = month.stock;
        assert!(fan.p05 <= fan.p25 && fan.p25 <= fan.p50 && fan.p50 <= fan.p75);
        assert!(fan.p75 <= fan.p95 && month.stock_out <= month.stock_out_by);
    }
}

#[test]
fn owed_pieces_are_served_first_and_count_as_a_stock_out() {
    let population = Population::default();
    let (shelf, limits) = (lots(0), BuyingLimits::none());
    let on_order = [Arrival { day: 40.0, pieces: 3 }];
    let asked =
        ProjectionQuestion { owed: 2, on_order: &on_order, ..plain(&shelf, &population, &limits) };
    let ahead = project(&asked, &WhatIf::default(), Runs { seed: 1, runs: 100 }).unwrap();
    let seen: Vec<_> =
        ahead.months[..3].iter().map(|month| (month.stock.p50, month.stock_out)).collect();
    assert_eq!(seen, [(-2, 1.0), (1, 1.0), (1, 0.0)]);
    assert_eq!(ahead.months[11].stock_out_by, 1.0);
    let late = WhatIf { lead_time_factor: 2.0, ..WhatIf::default() };
    let late = project(&asked, &late, Runs { seed: 1, runs: 100 }).unwrap();
    assert_eq!((late.months[1].stock.p50, late.months[2].stock.p50), (-2, 1));
}

#[test]
fn what_makes_no_sense_is_refused_by_name() {
    let population = Population::steady(3.0);
    let (shelf, limits) = (lots(1), BuyingLimits::none());
    let base = plain(&shelf, &population, &limits);
    let usual = Runs { seed: 1, runs: 100 };
    let refusal = |asked: ProjectionQuestion, what_if: WhatIf, runs| {
        project(&asked, &what_if, runs).unwrap_err().to_string()
    };
    let same = WhatIf::default();
    for months in [0, 241] {
        let asked = ProjectionQuestion { months, ..base };
        assert!(refusal(asked, same, usual).contains("months are asked for"));
    }
    assert!(refusal(base, same, Runs { seed: 1, runs: 0 }).contains("runs are asked for"));
    for wrong in [-1.0, f64::NAN, f64::INFINITY] {
        let lead_time = LeadTime { mean_d: wrong, deviation_d: 0.0 };
        let asked = ProjectionQuestion { lead_time, ..base };
        assert!(refusal(asked, same, usual).contains("the lead time is"));
        let what_if = WhatIf { units_factor: wrong, ..same };
        assert!(refusal(base, what_if, usual).contains("factor of units"));
        let asked = ProjectionQuestion { shelf_life_d: Some(wrong), ..base };
        assert!(refusal(asked, same, usual).contains("keeps for"));
        let repair = Some(RepairTime { turn_round_d: 3.0, yield_share: wrong });
        assert!(refusal(ProjectionQuestion { repair, ..base }, same, usual).contains("yield"));
        let none = Population::steady(wrong);
        let asked = ProjectionQuestion { population: &none, ..base };
        assert!(refusal(asked, same, usual).contains("population"));
        let failing = Failing::AtRate(RateBelief { shape: 1.0, exposure: wrong });
        assert!(refusal(ProjectionQuestion { failing, ..base }, same, usual).contains("rate"));
    }
    let nan = [Arrival { day: f64::NAN, pieces: 1 }];
    let asked = ProjectionQuestion { on_order: &nan, ..base };
    assert!(refusal(asked, same, usual).contains("a day of the stock"));
    let asked = ProjectionQuestion { owed: u64::MAX, ..base };
    assert!(refusal(asked, same, usual).contains("any storeroom holds"));
    let asked = ProjectionQuestion { failing: known(100.0), ..base };
    assert!(refusal(asked, same, usual).contains("too many to draw"));
    // A lead time of zero is none: what is taken is there again at once.
    let lead_time = LeadTime { mean_d: 0.0, deviation_d: 0.0 };
    let rule = Some(OrderRule::base_stock(1));
    let asked = ProjectionQuestion { lead_time, rule, failing: known(1e-4), ..base };
    let ahead = project(&asked, &same, usual).unwrap();
    assert!(ahead.months.iter().all(|month| month.stock_out == 0.0 && month.stock.p05 == 1));
}
