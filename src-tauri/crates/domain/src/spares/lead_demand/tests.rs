use super::slices::{gamma_points, slices_for};
use super::*;
use crate::spares::ageing_demand;
use crate::spares::draw::Draw;
use crate::spares::rates::gamma_below;
use proptest::prelude::*;

fn near(got: f64, wanted: f64, relative: f64) {
    assert!((got / wanted - 1.0).abs() <= relative, "{got} in place of {wanted}");
}

const NONE: RateBelief = RateBelief { shape: 0.0, exposure: 1.0 };

fn question(population: &Population, mean_d: f64, deviation_d: f64) -> LeadQuestion<'_> {
    LeadQuestion {
        lead_time: LeadTime { mean_d, deviation_d },
        review_d: 0.0,
        failing: Failing::AtRate(RateBelief { shape: 2.5, exposure: 1e6 }),
        no_fault_found: NONE,
        population,
        planned: &[],
        month: None,
    }
}

#[test]
fn failures_of_one_uncertain_rate_are_negative_binomial_together() {
    let population = Population::steady(40.0);
    let demand = lead_demand(&question(&population, 90.0, 0.0)).unwrap();
    // Figures: scipy 1.17, nbinom with n = 2.5 and p = 1e6 / (1e6 + 86400).
    for (k, at) in [
        (0, 0.8128784451642708),
        (1, 0.1616179530149877),
        (2, 0.022493220264972528),
        (5, 3.033618067773722e-5),
    ] {
        near(demand.pmf.at(k), at, 1e-10);
    }
    let mean = 2.5 * 40.0 * 90.0 * 24.0 / 1e6;
    near(demand.pmf.mean(), mean, 1e-12);
    near(demand.pmf.variance(), mean * (1.0 + 86_400.0 / 1e6), 1e-9);
    // Forty independent beliefs would spread far less: the rate is one and shared.
    let apart = failures_in(RateBelief { shape: 2.5, exposure: 1e6 }, 2160.0).unwrap();
    assert!(demand.pmf.variance() > 1.05 * 40.0 * apart.variance());
    let kinds: Vec<_> = demand.parts.iter().map(|part| part.kind).collect();
    assert_eq!(kinds, [DemandKind::Failures]);
    assert!(demand.shared_variance.abs() < 1e-12);
    near(demand.hours_h, 86_400.0, 1e-12);
}

#[test]
fn a_spread_lead_time_gives_the_closed_form() {
    // Poisson at a known rate over a gamma time is negative binomial of the time's own shape.
    for (mean_d, deviation_d) in
        [(90.0, 20.0), (30.0, 30.0), (60.0, 90.0), (120.0, 5.0), (8.0, 25.0)]
    {
        for per_d in [0.01, 0.1, 1.0] {
            let points = gamma_points(
                mean_d,
                deviation_d,
                &[17.0, 50.0],
                slices_for(per_d * deviation_d, per_d * mean_d),
            );
            let parts =
                points.iter().map(|(weight, days)| (*weight, Pmf::poisson(days * per_d).unwrap()));
            let mixed = Pmf::mixed(&parts.collect::<Vec<_>>());
            let mean = mean_d * per_d;
            let variance = mean + (deviation_d * per_d).powi(2);
            let exact = Pmf::negative_binomial(mean, variance).unwrap();
            near(mixed.mean(), mean, 1e-9);
            near(mixed.variance(), variance, 1e-7);
            let mut worst = 0.0f64;
            for k in 0..exact.weights().len() as u64 {
                let off = mixed.above(k) - exact.above(k);
                worst = worst.max(off.abs());
            }
            assert!(worst < 1e-4, "{mean_d} {deviation_d} {per_d}: {worst}");
        }
    }
}

#[test]
fn points_of_a_gamma_distribution_keep_chance_mean_and_variance() {
    for shape in [0.05, 0.5, 1.0, 2.5, 40.0, 1e4] {
        let points = gamma_points(shape, f64::sqrt(shape), &[0.3, 2.0, 45.0], 24);
        let sum = |power: i32| points.iter().map(|(w, x)| w * x.powi(power)).sum::<f64>();
        near(sum(0), 1.0, 1e-10);
        near(sum(1), shape, 1e-8);
        near(sum(2), shape * (shape + 1.0), 1e-7);
        let below: f64 = points.iter().filter(|(_, x)| *x < 2.0).map(|(w, _)| w).sum();
        assert!((below - gamma_below(shape, 2.0)).abs() < 1e-9, "{shape}");
    }
    assert_eq!(gamma_points(5.0, 0.0, &[], 24), [(1.0, 5.0)]);
    assert_eq!(gamma_points(0.0, 3.0, &[], 24), [(1.0, 0.0)]);
}

#[test]
fn planned_pieces_count_until_the_order_arrives() {
    let population = Population::default();
    let at = |day, chance| PlannedPieces { day, pieces: 3, chance };
    let planned = [at(-5.0, 1.0), at(30.0, 1.0), at(30.1, 1.0)];
    let mut asked = question(&population, 30.0, 0.0);
    asked.failing = Failing::Never;
    asked.planned = &planned;
    // On the day itself counts, the day after does not, overdue does.
    assert_eq!(lead_demand(&asked).unwrap().pmf, Pmf::certain(6));
    asked.review_d = 7.0;
    assert_eq!(lead_demand(&asked).unwrap().pmf, Pmf::certain(9));
    let maybe = [at(10.0, 0.25)];
    asked.planned = &maybe;
    let demand = lead_demand(&asked).unwrap();
    near(demand.pmf.at(3), 0.25, 1e-12);
    near(demand.parts[0].variance, 9.0 * 0.25 * 0.75, 1e-12);
    // With a spread lead time it counts with the chance that the order comes later.
    let late = [at(40.0, 1.0)];
    asked = LeadQuestion { planned: &late, ..question(&population, 30.0, 10.0) };
    asked.failing = Failing::Never;
    let after = 1.0 - gamma_below(9.0, 40.0 / (100.0 / 30.0));
    near(lead_demand(&asked).unwrap().pmf.at(3), after, 1e-7);
}

#[test]
fn a_lead_time_of_zero_asks_for_nothing_but_what_is_due_today() {
    let population = Population::steady(1000.0);
    let today = [PlannedPieces { day: 0.0, pieces: 2, chance: 1.0 }];
    let month = Pmf::poisson(40.0).unwrap();
    let mut asked = question(&population, 0.0, 0.0);
    asked.month = Some(&month);
    assert_eq!(lead_demand(&asked).unwrap().pmf, Pmf::certain(0));
    asked.planned = &today;
    assert_eq!(lead_demand(&asked).unwrap().pmf, Pmf::certain(2));
}

#[test]
fn the_population_may_grow_shrink_and_vanish() {
    let change = |day, units| PopulationChange { day, units, weighted: 2.0 * units };
    let population = Population {
        units: 10.0,
        weighted: 20.0,
        changes: vec![change(50.0, -100.0), change(20.0, 5.0), change(-3.0, 1.0)],
    };
    let hours = population.hours_until(100.0);
    near(hours.0, 24.0 * (11.0 * 20.0 + 16.0 * 30.0), 1e-12);
    near(hours.1, 2.0 * hours.0, 1e-12);
    assert_eq!(population.hours_until(0.0), (0.0, 0.0));
    near(
        population.scaled(1.1, 3.0).hours_until(40.0).1,
        3.3 * population.hours_until(40.0).1,
        1e-12,
    );
    let steady = lead_demand(&question(&Population::steady(10.0), 100.0, 0.0)).unwrap();
    let growing = Population {
        changes: vec![PopulationChange { day: 50.0, units: 10.0, weighted: 10.0 }],
        ..Population::steady(10.0)
    };
    let more = lead_demand(&question(&growing, 100.0, 0.0)).unwrap();
    near(more.pmf.mean(), 1.5 * steady.pmf.mean(), 1e-9);
}

#[test]
fn wearing_units_ask_by_their_ages() {
    let population = Population::steady(20.0);
    let lives = [(0.3, Life { scale: 5.0, shape: 4.0 }), (0.7, Life { scale: 8.0, shape: 3.0 })];
    let groups = [AgeGroup::present(12, 4.0, 1.5), AgeGroup::present(8, 1.0, 1.0)];
    let mut asked = question(&population, 120.0, 0.0);
    asked.failing = Failing::Wearing { lives: &lives, groups: &groups };
    let demand = lead_demand(&asked).unwrap();
    let by_life =
        lives.map(|(weight, life)| (weight, ageing_demand(life, &groups, 120.0).unwrap()));
    let exact = Pmf::mixed(&by_life);
    for k in 0..20 {
        assert!((demand.pmf.at(k) - exact.at(k)).abs() < 1e-12, "{k}");
    }
    assert_eq!(demand.parts.len(), 1);
    assert_eq!(demand.parts[0].kind, DemandKind::WearOut);
    // Old units fail many times as often as the same ones when new.
    let new = [AgeGroup::present(12, 0.0, 1.5), AgeGroup::present(8, 0.0, 1.0)];
    let failing = Failing::Wearing { lives: &lives, groups: &new };
    let young = lead_demand(&LeadQuestion { failing, ..asked }).unwrap();
    assert!(demand.pmf.mean() > 20.0 * young.pmf.mean());
    // A spread lead time keeps the mean where the hazard hardly changes, and adds to the variance.
    let lead_time = LeadTime { mean_d: 120.0, deviation_d: 40.0 };
    let spread = lead_demand(&LeadQuestion { lead_time, ..asked }).unwrap();
    near(spread.pmf.mean(), demand.pmf.mean(), 0.02);
    assert!(spread.pmf.variance() > 1.05 * demand.pmf.variance());
}

#[test]
fn broken_months_keep_the_kind_of_demand() {
    let poisson = over_months(&Pmf::poisson(2.0).unwrap(), 2.75).unwrap();
    let exact = Pmf::poisson(5.5).unwrap();
    for k in 0..40 {
        assert!((poisson.at(k) - exact.at(k)).abs() < 1e-9, "{k}");
    }
    let lumpy = Pmf::negative_binomial(3.0, 30.0).unwrap();
    let part = over_months(&lumpy, 0.4).unwrap();
    let exact = Pmf::negative_binomial(1.2, 12.0).unwrap();
    for k in 0..60 {
        assert!((part.at(k) - exact.at(k)).abs() < 1e-7, "{k}");
    }
    // Two pieces each month, no more and no less, have no root: each falls into the part or not.
    let half = over_months(&Pmf::certain(2), 1.5).unwrap();
    assert_eq!((half.at(2), half.at(3), half.at(4)), (0.25, 0.5, 0.25));
    assert_eq!(over_months(&lumpy, 0.0).unwrap(), Pmf::certain(0));
    assert!(over_months(&lumpy, -1.0).is_err() && over_months(&lumpy, f64::NAN).is_err());
}

/// A thousand kinds of luck: rate, lead time and all that happens within it are drawn.
#[test]
fn an_event_simulation_agrees() {
    let population = Population {
        units: 60.0,
        weighted: 75.0,
        changes: vec![PopulationChange { day: 70.0, units: 30.0, weighted: 60.0 }],
    };
    let belief = RateBelief { shape: 1.5, exposure: 2e5 };
    let no_fault_found = RateBelief { shape: 3.0, exposure: 9e5 };
    let planned = [
        PlannedPieces { day: 60.0, pieces: 2, chance: 1.0 },
        PlannedPieces { day: 85.0, pieces: 3, chance: 0.6 },
    ];
    let asked = LeadQuestion {
        lead_time: LeadTime { mean_d: 80.0, deviation_d: 25.0 },
        review_d: 5.0,
        failing: Failing::AtRate(belief),
        no_fault_found,
        population: &population,
        planned: &planned,
        month: None,
    };
    let demand = lead_demand(&asked).unwrap();
    const RUNS: usize = 60_000;
    let mut counts = vec![0u32; 200];
    let mut draw = Draw::new(20_240, 1);
    for _ in 0..RUNS {
        let rate = draw.gamma(belief.shape) / belief.exposure;
        let other = draw.gamma(no_fault_found.shape) / no_fault_found.exposure;
        let until_h = (draw.spread(80.0, 25.0) + 5.0) * 24.0;
        let mut pieces = 0;
        for (per_h, per_h_later) in [(75.0 * rate, 135.0 * rate), (60.0 * other, 90.0 * other)] {
            let mut at_h = 0.0;
            loop {
                let now = if at_h < 1680.0 { per_h } else { per_h_later };
                let next = at_h + draw.wait() / now;
                // The rate changes on the day the new units come, so the wait begins anew there.
                at_h = if at_h < 1680.0 && next > 1680.0 { 1680.0 } else { next };
                if at_h >= until_h {
                    break;
                }
                pieces += usize::from(at_h == next);
            }
        }
        pieces += if until_h >= 60.0 * 24.0 { 2 } else { 0 };
        pieces += if until_h >= 85.0 * 24.0 && draw.share() < 0.6 { 3 } else { 0 };
        counts[pieces.min(199)] += 1;
    }
    let mut above = RUNS as u32;
    for (k, count) in counts.iter().enumerate() {
        above -= count;
        let (seen, exact) = (f64::from(above) / RUNS as f64, demand.pmf.above(k as u64));
        // Four standard errors: one run of the test in some hundred would fail by chance, and the
        // seed is fixed.
        let off = 4.0 * (exact * (1.0 - exact) / RUNS as f64).sqrt() + 3.0 / RUNS as f64;
        assert!((seen - exact).abs() < off, "P(X > {k}): {seen} and {exact}");
    }
    assert_eq!(demand.parts.len(), 3);
    assert!(demand.shared_variance > 0.1, "{demand:?}");
}

#[test]
fn what_makes_no_sense_is_refused_by_name() {
    let population = Population::steady(10.0);
    let base = question(&population, 30.0, 5.0);
    let refusal = |asked: &LeadQuestion| lead_demand(asked).unwrap_err().to_string();
    for wrong in [-1.0, f64::NAN, f64::INFINITY] {
        let lead_time = LeadTime { mean_d: wrong, deviation_d: 0.0 };
        assert!(refusal(&LeadQuestion { lead_time, ..base }).contains("the lead time is"));
        let lead_time = LeadTime { mean_d: 30.0, deviation_d: wrong };
        assert!(refusal(&LeadQuestion { lead_time, ..base }).contains("spreads by"));
        assert!(refusal(&LeadQuestion { review_d: wrong, ..base }).contains("two looks"));
        let belief = RateBelief { shape: wrong, exposure: 1.0 };
        let failing = Failing::AtRate(belief);
        assert!(refusal(&LeadQuestion { failing, ..base }).contains("a rate is believed"));
        let no_fault_found = belief;
        assert!(refusal(&LeadQuestion { no_fault_found, ..base }).contains("a rate is believed"));
        let none = Population::steady(wrong);
        assert!(refusal(&LeadQuestion { population: &none, ..base }).contains("population"));
        let planned = [PlannedPieces { day: 3.0, pieces: 1, chance: wrong }];
        assert!(refusal(&LeadQuestion { planned: &planned, ..base }).contains("planned demand"));
    }
    let unsure = Failing::AtRate(RateBelief { shape: 0.5, exposure: 1.0 });
    assert!(refusal(&LeadQuestion { failing: unsure, ..base }).contains("so unsure"));
    let endless = Failing::AtRate(RateBelief { shape: 1e9, exposure: 1e-3 });
    assert!(refusal(&LeadQuestion { failing: endless, ..base }).contains("demand"));
}

proptest! {
    #[test]
    fn more_time_and_more_units_ask_for_more(
        units in 0.0..200.0f64,
        mean_d in 0.0..400.0f64,
        spread in 0.0..1.5f64,
        shape in 0.3..20.0f64,
    ) {
        let population = Population::steady(units);
        let mut asked = question(&population, mean_d, spread * mean_d);
        asked.failing = Failing::AtRate(RateBelief { shape, exposure: 5e5 });
        let demand = lead_demand(&asked).unwrap();
        let mean = units * mean_d * 24.0 * shape / 5e5;
        prop_assert!((demand.pmf.mean() - mean).abs() < 1e-6 * (1.0 + mean));
        let more = Population::steady(units + 5.0);
        let larger = lead_demand(&LeadQuestion { population: &more, ..asked }).unwrap();
        for k in [0, 1, 5] {
            prop_assert!(larger.pmf.above(k) >= demand.pmf.above(k) - 1e-12);
        }
    }
}
