use super::*;
use crate::spares::draw::Draw;
use crate::spares::{DemandRefusal, Pmf};
use chrono::{DateTime, TimeDelta};

fn near(got: f64, wanted: f64, relative: f64) {
    assert!((got / wanted - 1.0).abs() <= relative, "{got} in place of {wanted}");
}

fn stay(unit: usize, from: i64, to: i64, end: StayEnd) -> Stay {
    let day = |number| DateTime::UNIX_EPOCH + TimeDelta::days(number);
    Stay { unit, from: Some(day(from)), to: day(to), end, factor: 1.0 }
}

fn life(draw: &mut Draw, life: Life) -> f64 {
    life.scale * draw.wait().powf(1.0 / life.shape)
}

/// Ages of units that were watched for `watched_y`, each replaced when it failed.
fn watched(wanted: Life, places: usize, watched_y: f64, seed: u64) -> Vec<Seen> {
    let mut draw = Draw::new(seed, 0);
    let mut seen = Vec::new();
    for _ in 0..places {
        let mut left_y = watched_y;
        loop {
            let at_y = life(&mut draw, wanted);
            if at_y >= left_y {
                seen.push(Seen::Outlived { at_y: left_y });
                break;
            }
            seen.push(Seen::Failed { at_y });
            left_y -= at_y;
        }
    }
    seen
}

#[test]
fn a_life_goes_on_through_moves_and_ends_at_a_failure() {
    let mut unknown = stay(3, 0, 500, StayEnd::Other);
    unknown.from = None;
    let hot = Stay { factor: 2.0, ..stay(0, 1000, 1500, StayEnd::Failure) };
    let stays = [
        hot,
        stay(0, 0, 365, StayEnd::Other),
        stay(0, 2000, 2100, StayEnd::Running),
        stay(1, 0, 730, StayEnd::NoFaultFound),
        unknown,
        stay(3, 600, 900, StayEnd::Failure),
    ];
    let lives = Lives::of(&stays);
    let day_y = 24.0 / HOURS_PER_YEAR_OF_AGE;
    let wanted = [
        Seen::Failed { at_y: (365.0 + 1000.0) * day_y },
        Seen::Outlived { at_y: 100.0 * day_y },
        Seen::Outlived { at_y: 730.0 * day_y },
    ];
    assert_eq!(lives.seen.len(), 3);
    for (got, wanted) in lives.seen.iter().zip(wanted) {
        let years = |seen: &Seen| match *seen {
            Seen::Failed { at_y } => at_y,
            Seen::Outlived { at_y } => -at_y,
            _ => 0.0,
        };
        near(years(got), years(&wanted), 1e-12);
    }
    assert_eq!((lives.units_left_out, lives.left_out.len()), (1, 1));
    assert_eq!(Lives::of(&[]), Lives::default());
}

#[test]
fn wear_is_claimed_only_where_the_record_shows_it() {
    let few = watched(Life { scale: 10.0, shape: 4.0 }, 2, 8.0, 1);
    assert!(matches!(wear(&few), Err(NoWear::TooFew { .. })));
    let worn = wear(&watched(Life { scale: 10.0, shape: 4.0 }, 40, 15.0, 2)).unwrap();
    near(worn.fitted.life.shape, 4.0, 0.3);
    near(worn.fitted.life.scale, 10.0, 0.1);
    assert!(worn.twice_log_ratio > 20.0);
    let chance = wear(&watched(Life { scale: 10.0, shape: 1.0 }, 40, 15.0, 3));
    assert!(matches!(chance, Err(NoWear::NotShown { .. })), "{chance:?}");
    let early = wear(&watched(Life { scale: 10.0, shape: 0.4 }, 40, 15.0, 4));
    assert!(matches!(early, Err(NoWear::Early { .. })), "{early:?}");
    let same = wear(&[Seen::Failed { at_y: 3.0 }; 6]);
    assert!(matches!(same, Err(NoWear::Fit(_))), "{same:?}");
    assert!(matches!(wear(&[]), Err(NoWear::TooFew { failures: 0 })));
}

#[test]
fn the_ratio_of_likelihoods_is_that_of_two_fits() {
    // Ten failures and ten units still good at 500: NIST/SEMATECH e-Handbook, section 8.2.2.3, with
    // the published log-likelihood of -75.135; that of the constant rate by its closed form.
    let ages = [54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0];
    let mut seen: Vec<Seen> = ages.iter().map(|at_y| Seen::Failed { at_y: *at_y }).collect();
    seen.extend([Seen::Outlived { at_y: 500.0 }; 10]);
    let per_y: f64 = 10.0 / (2771.0 + 5000.0);
    let constant = 10.0 * (per_y.ln() - 1.0);
    let refusal = wear(&seen).unwrap_err();
    let NoWear::NotShown { twice_log_ratio } = refusal else { panic!("{refusal:?}") };
    near(twice_log_ratio, 2.0 * (-75.13461816447486 - constant), 1e-5);
}

#[test]
fn how_unsure_a_life_is_keeps_its_moments() {
    let worn = wear(&watched(Life { scale: 10.0, shape: 4.0 }, 40, 15.0, 2)).unwrap();
    let lives = worn.likely_lives();
    let mean = |of: &dyn Fn(&Life) -> f64| -> f64 {
        lives.iter().map(|(weight, life)| weight * of(life)).sum()
    };
    near(mean(&|_| 1.0), 1.0, 1e-12);
    let (m_scale, m_shape) = (mean(&|life| life.scale.ln()), mean(&|life| life.shape.ln()));
    near(m_scale, worn.fitted.life.scale.ln(), 1e-12);
    near(
        mean(&|life| (life.scale.ln() - m_scale).powi(2)),
        worn.fitted.ln_scale_error.powi(2),
        1e-9,
    );
    near(
        mean(&|life| (life.shape.ln() - m_shape).powi(2)),
        worn.fitted.ln_shape_error.powi(2),
        1e-9,
    );
    let across = mean(&|life| (life.scale.ln() - m_scale) * (life.shape.ln() - m_shape));
    assert!((across - worn.fitted.ln_covariance).abs() < 1e-9);
}

#[test]
fn without_wear_ageing_demand_is_poisson() {
    let life = Life { scale: 4.0, shape: 1.0 };
    let groups = [AgeGroup::present(7, 3.0, 1.0), AgeGroup::present(5, 0.0, 2.0)];
    let demand = ageing_demand(life, &groups, 730.5).unwrap();
    let exact = Pmf::poisson((7.0 * 2.0 + 5.0 * 4.0) / 4.0).unwrap();
    for k in 0..30 {
        assert!((demand.at(k) - exact.at(k)).abs() < 1e-5, "{k}: {}", demand.at(k));
    }
}

#[test]
fn new_units_follow_the_renewal_function() {
    let life = Life { scale: 3.0, shape: 2.5 };
    for years in [0.2, 1.0, 3.0, 9.0] {
        let groups = [AgeGroup::present(1, 0.0, 1.0)];
        let days = years * 365.25;
        let mean = ageing_demand(life, &groups, days).unwrap().mean();
        near(mean, life.renewals(years), 1e-4);
        near(ageing_course(life, &groups, &[days]).unwrap()[0], mean, 1e-9);
    }
}

#[test]
fn ages_heat_and_service_days_decide_what_fails() {
    let life = Life { scale: 8.0, shape: 5.0 };
    let mean = |group: AgeGroup, day| ageing_demand(life, &[group], day).unwrap().mean();
    let old = AgeGroup::present(1, 7.0, 1.0);
    // One unit's first failure is exact; a second one within a year is as good as impossible.
    near(mean(old, 365.25), life.fails_within(7.0, 1.0), 1e-3);
    assert!(mean(old, 365.25) > 20.0 * mean(AgeGroup::present(1, 2.0, 1.0), 365.25));
    near(mean(AgeGroup { factor: 2.0, ..old }, 365.25), mean(old, 730.5), 1e-9);
    near(mean(AgeGroup { until_d: Some(100.0), ..old }, 365.25), mean(old, 100.0), 1e-9);
    near(mean(AgeGroup { from_d: 265.25, ..old }, 365.25), mean(old, 100.0), 1e-9);
    assert_eq!(mean(AgeGroup { from_d: 400.0, ..old }, 365.25), 0.0);
    assert_eq!(ageing_demand(life, &[old], 0.0).unwrap(), Pmf::certain(0));
    assert_eq!(ageing_demand(life, &[], 365.25).unwrap(), Pmf::certain(0));
}

#[test]
fn an_event_simulation_of_ageing_units_agrees() {
    let wanted = Life { scale: 6.0, shape: 3.0 };
    let groups = [
        AgeGroup::present(6, 5.0, 1.0),
        AgeGroup::present(4, 1.0, 1.6),
        AgeGroup { from_d: 300.0, ..AgeGroup::present(5, 0.0, 1.0) },
        AgeGroup { until_d: Some(500.0), ..AgeGroup::present(3, 8.0, 1.2) },
    ];
    let day = 5.0 * 365.25;
    let demand = ageing_demand(wanted, &groups, day).unwrap();
    let mut draw = Draw::new(77, 5);
    const RUNS: usize = 40_000;
    let mut counts = [0u32; 100];
    for _ in 0..RUNS {
        let mut failures = 0;
        for group in &groups {
            let until = group.until_d.unwrap_or(day).min(day);
            let span_y = (until - group.from_d) / 365.25 * group.factor;
            for _ in 0..group.units {
                // The first life is one of those that reach the present age.
                let mut at_y = loop {
                    let at_y = life(&mut draw, wanted);
                    if at_y > group.age_y {
                        break at_y - group.age_y;
                    }
                };
                while at_y <= span_y {
                    failures += 1;
                    at_y += life(&mut draw, wanted);
                }
            }
        }
        counts[failures] += 1;
    }
    let mut above = RUNS as u32;
    for (k, count) in counts.iter().enumerate() {
        above -= count;
        let (seen, exact) = (f64::from(above) / RUNS as f64, demand.above(k as u64));
        let off = 4.0 * (exact * (1.0 - exact) / RUNS as f64).sqrt() + 3.0 / RUNS as f64;
        assert!((seen - exact).abs() < off, "P(X > {k}): {seen} and {exact}");
    }
}

#[test]
fn figures_that_are_none_are_refused() {
    let life = Life { scale: 6.0, shape: 3.0 };
    for wrong in [-1.0, f64::NAN, f64::INFINITY] {
        let groups = [
            AgeGroup::present(1, wrong, 1.0),
            AgeGroup::present(1, 1.0, wrong),
            AgeGroup { from_d: wrong, ..AgeGroup::present(1, 1.0, 1.0) },
        ];
        for group in groups {
            let refusal = ageing_demand(life, &[group], 100.0);
            assert!(matches!(refusal, Err(DemandRefusal::Mean(_))), "{group:?}");
        }
        let sound = [AgeGroup::present(1, 1.0, 1.0)];
        assert!(ageing_demand(life, &sound, wrong).is_err());
        assert!(ageing_demand(Life { scale: wrong, shape: 3.0 }, &sound, 10.0).is_err());
        assert!(ageing_course(life, &sound, &[10.0, wrong]).is_err());
    }
    // A life of seconds asked about for years is refused rather than reckoned for ever.
    let short = Life { scale: 1e-6, shape: 1.0 };
    assert!(ageing_demand(short, &[AgeGroup::present(1, 0.0, 1.0)], 3650.0).is_err());
}

/// Each group by itself and by its own day, summed, beside all of them together and by days that
/// share one grid.
#[test]
fn places_that_count_alike_and_days_that_share_a_grid_change_no_chance() {
    let groups: Vec<AgeGroup> = (0..180u32)
        .map(|at| {
            let age_y = f64::from(at * 37 % 180) / 15.0;
            AgeGroup::present(1 + at % 7, age_y, 0.5 + f64::from(at * 23 % 180) / 120.0)
        })
        .collect();
    let days = [45.0, 160.0, 900.0];
    for shape in [1.1, 2.5, 6.0] {
        let wanted = Life { scale: 9.0, shape };
        let together = ageing_demands(wanted, &groups, &days).unwrap();
        for (day, together) in days.iter().zip(&together) {
            let single = |group: &AgeGroup| ageing_demand(wanted, &[*group], *day).unwrap();
            let apart = groups.iter().map(single).reduce(|sum, next| sum.plus(&next)).unwrap();
            assert!((together.mean() / apart.mean() - 1.0).abs() < 1e-4, "{shape} {day}");
            for k in 0..apart.weights().len() as u64 {
                let off = (together.above(k) - apart.above(k)).abs();
                assert!(off < 1e-4, "shape {shape}, day {day}, P(X > {k}) off by {off}");
            }
        }
    }
}
