use super::*;
use crate::spares::ageing::Life;
use crate::spares::draw::Draw;
use crate::spares::rates::RateBelief;
use crate::spares::wear::{AgeGroup, ageing_course};
use crate::spares::{PopulationChange, failures_in, single_order, single_order_cost};
use proptest::prelude::*;
use std::sync::LazyLock;

fn near(got: f64, wanted: f64, off: f64) {
    assert!((got - wanted).abs() <= off, "{got} in place of {wanted}, {off} allowed");
}

/// Nothing bounds a purchase.
static ANY: LazyLock<BuyingLimits> = LazyLock::new(BuyingLimits::none);

const YEAR_D: f64 = 365.25;
const YEAR_H: f64 = YEAR_D * 24.0;

fn plain<'a>(population: &'a Population, years: f64) -> LastBuyQuestion<'a> {
    LastBuyQuestion {
        arrives_d: 0.0,
        horizon_d: years * YEAR_D,
        stock: 0,
        on_order: &[],
        harvest: &[],
        in_repair: &[],
        failing: Failing::Never,
        population,
        planned: &[],
        repair_yield: 0.0,
        costs: LastBuyCosts { left: 600.0, short: 4000.0, discount_a_y: 0.0 },
        limits: &ANY,
    }
}

/// Units in each year, all at the stated temperature.
fn by_year(units: &[f64]) -> Population {
    let mut population = Population::steady(units[0]);
    for (year, pair) in units.windows(2).enumerate() {
        let change = pair[1] - pair[0];
        let day = (year + 1) as f64 * YEAR_D;
        population.changes.push(PopulationChange { day, units: change, weighted: change });
    }
    population
}

#[test]
fn a_known_rate_gives_the_simple_form() {
    // Figures: Poisson newsvendor by a statistics library, as in the public last-purchase cases.
    let population = by_year(&[40.0, 38.0, 35.0, 30.0, 22.0, 14.0, 8.0]);
    let belief = RateBelief { shape: 1e9, exposure: 1e9 / 0.035 * YEAR_H };
    let asked = LastBuyQuestion { failing: Failing::AtRate(belief), ..plain(&population, 7.0) };
    let buy = last_buy(&asked).unwrap();
    near(buy.demand_mean, 6.545, 1e-9);
    assert_eq!(buy.bought, 9);
    near(buy.cost, 2672.365615158757, 1e-4);
    assert_eq!((buy.shortfall.quantile(0.95), buy.shortfall.quantile(0.99)), (11, 13));
    let simple = single_order(6.545, 600.0, 4000.0).unwrap();
    assert_eq!(simple.0, 9);
    for point in &buy.curve {
        near(point.cost, single_order_cost(6.545, 600.0, 4000.0, point.bought), 1e-3);
        assert!(point.cost >= buy.cost);
    }
    assert!(buy.curve.iter().any(|point| point.bought == 9));
}

#[test]
fn an_uncertain_rate_asks_for_more_than_its_mean() {
    let population = Population::steady(40.0);
    let exposure = 40.0 * 5.0 * YEAR_H;
    let belief = RateBelief { shape: 2.0, exposure: exposure / 3.0 };
    let asked = LastBuyQuestion { failing: Failing::AtRate(belief), ..plain(&population, 5.0) };
    let buy = last_buy(&asked).unwrap();
    near(buy.demand_mean, 6.0, 1e-9);
    let exact = Pmf::negative_binomial(6.0, 24.0).unwrap();
    assert_eq!(buy.bought, exact.quantile(4000.0 / 4600.0));
    let point = buy.curve.iter().find(|point| point.bought == buy.bought).unwrap();
    near(point.short, exact.expected_above(buy.bought), 1e-9);
    near(point.left, exact.expected_below(buy.bought), 1e-9);
    near(point.run_out, exact.above(buy.bought), 1e-9);
    let known = RateBelief { shape: 2e6, exposure: exposure / 3.0 * 1e6 };
    let sure = last_buy(&LastBuyQuestion { failing: Failing::AtRate(known), ..asked }).unwrap();
    assert!(buy.bought > sure.bought);
    // The mixture over points agrees with the closed form: nothing that comes changes nothing.
    let nothing = [Arrival { day: 100.0, pieces: 0 }];
    let mixed = last_buy(&LastBuyQuestion { harvest: &nothing, ..asked }).unwrap();
    assert_eq!(mixed.bought, buy.bought);
    for k in 0..60 {
        near(mixed.shortfall.above(k), exact.above(k), 1e-6);
    }
    let months = buy.nothing_bought.out_by.iter().zip(&mixed.nothing_bought.out_by);
    for ((day, out), (_, of_points)) in months {
        near(*out, *of_points, 1e-5);
        let mean = 6.0 * day / (5.0 * YEAR_D);
        near(
            *out,
            1.0 - Pmf::negative_binomial(mean, mean + mean * mean / 2.0).unwrap().at(0),
            1e-9,
        );
    }
    assert!(buy.demand_by.iter().all(|(day, by)| (by - 6.0 * day / (5.0 * YEAR_D)).abs() < 1e-5));
    let (first, out) = buy.nothing_bought.out_by[0];
    near(buy.nothing_bought.out_at(first / 2.0), out / 2.0, 1e-12);
    near(buy.nothing_bought.out_at(1e5), buy.nothing_bought.out_by.last().unwrap().1, 0.0);
    near(buy.with_bought.out_by.last().unwrap().1, point.run_out, 1e-6);
}

#[test]
fn what_is_set_free_later_helps_only_later() {
    let population = Population::default();
    let planned = |day, pieces| PlannedPieces { day, pieces, chance: 1.0 };
    let planned = [planned(100.0, 3), planned(300.0, 3)];
    let harvest = [Arrival { day: 200.0, pieces: 2 }];
    let asked = LastBuyQuestion { planned: &planned, harvest: &harvest, ..plain(&population, 1.0) };
    // Three by day 100, and of the next three the harvest gives two: four.
    let buy = last_buy(&asked).unwrap();
    assert_eq!((buy.bought, buy.cost, buy.harvested), (4, 0.0, 2));
    let many = [Arrival { day: 200.0, pieces: 9 }];
    let buy = last_buy(&LastBuyQuestion { harvest: &many, ..asked }).unwrap();
    // Nine more than enough later leave six over, and day 100 as bare as before.
    assert_eq!((buy.bought, buy.cost), (3, 6.0 * 600.0));
    let early = [Arrival { day: -3.0, pieces: 9 }];
    assert_eq!(last_buy(&LastBuyQuestion { harvest: &early, ..asked }).unwrap().bought, 0);
    // After the horizon nothing counts.
    let late = [Arrival { day: 400.0, pieces: 9 }];
    let buy = last_buy(&LastBuyQuestion { harvest: &late, ..asked }).unwrap();
    assert_eq!((buy.bought, buy.harvested), (6, 0));
    let buy = last_buy(&LastBuyQuestion { stock: 2, ..asked }).unwrap();
    assert_eq!(buy.bought, 2);
    // The date on which cover runs out: the fourth month with nothing, never with what is bought.
    let ahead = last_buy(&asked).unwrap();
    let out = ahead.nothing_bought.day_at(0.5).unwrap();
    assert!((91.0..=122.0).contains(&out), "{out}");
    assert_eq!(ahead.with_bought.day_at(1e-9), None);
    assert_eq!(ahead.out_before_arrival, 0.0);
    let slow = LastBuyQuestion { arrives_d: 150.0, ..asked };
    assert_eq!(last_buy(&slow).unwrap().out_before_arrival, 1.0);
}

struct Seen {
    short: f64,
    discounted: f64,
    left: f64,
    out: f64,
    out_by_two: f64,
}

/// Follows a stock day by day, with a rate drawn for each run.
fn simulated(asked: &LastBuyQuestion, belief: RateBelief, stock: u64, runs: u32) -> Seen {
    let mut seen = Seen { short: 0.0, discounted: 0.0, left: 0.0, out: 0.0, out_by_two: 0.0 };
    for run in 0..runs {
        let mut draw = Draw::new(4, u64::from(run));
        let rate = draw.gamma(belief.shape) / belief.exposure * (1.0 - asked.repair_yield);
        let mut events: Vec<(f64, i64)> =
            asked.harvest.iter().map(|it| (it.day, -(it.pieces as i64))).collect();
        for it in asked.in_repair {
            let back = (0..it.pieces).filter(|_| draw.share() < asked.repair_yield).count();
            events.push((it.day, -(back as i64)));
        }
        for it in asked.planned {
            if draw.share() < it.chance {
                events.push((it.day, it.pieces as i64));
            }
        }
        // One failure after the other, along the hours of the population.
        let mut wanted_h = draw.wait() / rate;
        for day in 0..asked.horizon_d as u32 {
            let by_h = asked.population.hours_until(f64::from(day) + 1.0).1;
            while wanted_h < by_h {
                events.push((f64::from(day) + 0.5, 1));
                wanted_h += draw.wait() / rate;
            }
        }
        events.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut stock, mut short, mut first) = (stock as i64, 0, f64::INFINITY);
        for (day, pieces) in events {
            stock -= pieces;
            if stock < 0 {
                short -= stock;
                let worth = (1.0 - asked.costs.discount_a_y).powf((day / YEAR_D).floor() + 0.5);
                seen.discounted -= stock as f64 * worth;
                stock = 0;
                first = first.min(day);
            }
        }
        seen.short += short as f64;
        seen.left += stock as f64;
        seen.out += f64::from(u8::from(short > 0));
        seen.out_by_two += f64::from(u8::from(first <= 24.0 * DAYS_PER_MONTH));
    }
    let runs = f64::from(runs);
    Seen {
        short: seen.short / runs,
        discounted: seen.discounted / runs,
        left: seen.left / runs,
        out: seen.out / runs,
        out_by_two: seen.out_by_two / runs,
    }
}

#[test]
fn an_event_simulation_agrees() {
    let population = by_year(&[60.0, 50.0, 30.0, 10.0]);
    let belief = RateBelief { shape: 2.5, exposure: 4e5 };
    let harvest = [Arrival { day: 370.0, pieces: 1 }, Arrival { day: 800.0, pieces: 3 }];
    let planned = [PlannedPieces { day: 500.0, pieces: 2, chance: 0.4 }];
    let in_repair = [Arrival { day: 60.0, pieces: 5 }];
    let asked = LastBuyQuestion {
        failing: Failing::AtRate(belief),
        harvest: &harvest,
        in_repair: &in_repair,
        planned: &planned,
        repair_yield: 0.3,
        costs: LastBuyCosts { left: 900.0, short: 2500.0, discount_a_y: 0.08 },
        ..plain(&population, 4.0)
    };
    let buy = last_buy(&asked).unwrap();
    const RUNS: u32 = 6_000;
    let seen = simulated(&asked, belief, buy.bought, RUNS);
    let point = buy.curve.iter().find(|point| point.bought == buy.bought).unwrap();
    let error = |chance: f64| 4.0 * (chance * (1.0 - chance) / f64::from(RUNS)).sqrt();
    near(point.run_out, seen.out, error(seen.out));
    // Both spread by about as much as the demand does.
    let mean_error = 4.0 * buy.demand_deviation / f64::from(RUNS).sqrt();
    near(point.short, seen.short, mean_error);
    near(point.left, seen.left, mean_error);
    let cost = 900.0 * seen.left + 2500.0 * seen.discounted;
    near(buy.cost, cost, mean_error * (900.0 + 2500.0));
    let (day, out) = buy.with_bought.out_by[23];
    near(day, 24.0 * DAYS_PER_MONTH, 1e-9);
    near(out, seen.out_by_two, error(seen.out_by_two));
    assert!(buy.bought > 0 && (0.1..0.6).contains(&point.run_out), "{point:?}");
}

/// Certain units come back with a chance: what is missing is a sum over a few cases.
#[test]
fn units_in_repair_come_back_with_their_chance() {
    let population = Population::default();
    let planned = [PlannedPieces { day: 100.0, pieces: 3, chance: 1.0 }];
    let in_repair = [Arrival { day: 50.0, pieces: 2 }, Arrival { day: 150.0, pieces: 7 }];
    let asked = LastBuyQuestion {
        planned: &planned,
        in_repair: &in_repair,
        repair_yield: 0.8,
        stock: 1,
        ..plain(&population, 0.3)
    };
    let buy = last_buy(&asked).unwrap();
    near(buy.repaired_mean, 1.6, 1e-12);
    for (missing, chance) in [(1, 0.64), (2, 0.32), (3, 0.04)] {
        near(buy.shortfall.at(missing), chance, 1e-12);
    }
    // One lies there: two missing by 0.04, one by 0.32. P(X <= q) >= 4000/4600 = 0.87.
    assert_eq!(buy.bought, 1);
    near(buy.nothing_bought.out_by.last().unwrap().1, 0.36, 1e-12);
    near(buy.with_bought.out_by.last().unwrap().1, 0.04, 1e-12);
    near(buy.cost, 600.0 * (2.0 + 1.6 - 3.0 + 0.04) + 4000.0 * 0.04, 1e-9);
}

#[test]
fn packs_and_the_least_order_take_the_cheapest_that_may_be_bought() {
    let population = Population::steady(40.0);
    let belief = RateBelief { shape: 3.0, exposure: 6e5 };
    let failing = Failing::AtRate(belief);
    let base = LastBuyQuestion { failing, ..plain(&population, 10.0) };
    let free = last_buy(&base).unwrap();
    assert_eq!((free.bought, free.curve[0].bought), (free.unlimited, 0));
    let demand = failures_in(belief, 40.0 * 10.0 * YEAR_H).unwrap();
    let cost =
        |q: u64| -> f64 { 600.0 * demand.expected_below(q) + 4000.0 * demand.expected_above(q) };
    for (least, pack) in [(1, 7), (20, 1), (50, 6), (2000, 10), (1, 400)] {
        let limits = BuyingLimits::new(Some(least), Some(pack)).unwrap();
        let buy = last_buy(&LastBuyQuestion { limits: &limits, ..base }).unwrap();
        let may = (0..4000).filter(|q| *q == 0 || (*q >= least && q % pack == 0));
        let best = may.min_by(|a, b| cost(*a).total_cmp(&cost(*b))).unwrap();
        assert_eq!((buy.bought, buy.unlimited), (best, free.bought), "{least} {pack}");
        near(buy.cost, cost(best), 1e-6);
        assert!(buy.curve.iter().any(|point| point.bought == best));
    }
}

#[test]
fn money_that_loses_worth_buys_less() {
    let population = Population::steady(40.0);
    let belief = RateBelief { shape: 2.0, exposure: 5e5 };
    let at = |discount_a_y| {
        let costs = LastBuyCosts { left: 600.0, short: 2000.0, discount_a_y };
        let failing = Failing::AtRate(belief);
        last_buy(&LastBuyQuestion { failing, costs, ..plain(&population, 10.0) }).unwrap()
    };
    let (none, hardly, much) = (at(0.0), at(1e-9), at(0.3));
    assert_eq!(none.bought, hardly.bought);
    near(none.cost, hardly.cost, 0.1);
    assert!(much.bought < none.bought && much.cost < none.cost);
}

#[test]
fn wearing_units_and_repaired_ones_are_counted() {
    let population = Population::default();
    let lives = [(0.4, Life { scale: 6.0, shape: 4.0 }), (0.6, Life { scale: 9.0, shape: 3.0 })];
    let groups = [AgeGroup { until_d: Some(1000.0), ..AgeGroup::present(10, 4.0, 1.0) }];
    let failing = Failing::Wearing { lives: &lives, groups: &groups };
    let asked = LastBuyQuestion { failing, ..plain(&population, 5.0) };
    let buy = last_buy(&asked).unwrap();
    let mean: f64 = lives
        .iter()
        .map(|(w, life)| w * ageing_course(*life, &groups, &[1000.0]).unwrap()[0])
        .sum();
    near(buy.demand_mean, mean, 1e-6);
    near(buy.shortfall.mean(), mean, 1e-6);
    near(buy.shortfall.variance().sqrt(), buy.demand_deviation, 1e-6);
    let mended = last_buy(&LastBuyQuestion { repair_yield: 1.0, ..asked }).unwrap();
    assert_eq!((mended.bought, mended.demand_mean), (0, 0.0));
}

#[test]
fn what_makes_no_sense_is_refused_by_name() {
    let population = Population::steady(3.0);
    let base = plain(&population, 3.0);
    let refusal = |asked: LastBuyQuestion| last_buy(&asked).unwrap_err().to_string();
    for wrong in [-1.0, f64::NAN, f64::INFINITY] {
        assert!(refusal(LastBuyQuestion { horizon_d: wrong, ..base }).contains("horizon"));
        assert!(refusal(LastBuyQuestion { arrives_d: wrong, ..base }).contains("arrive"));
        assert!(refusal(LastBuyQuestion { repair_yield: wrong, ..base }).contains("yield"));
        let costs = LastBuyCosts { left: wrong, ..base.costs };
        assert!(refusal(LastBuyQuestion { costs, ..base }).contains("left over"));
        let costs = LastBuyCosts { short: wrong, ..base.costs };
        assert!(refusal(LastBuyQuestion { costs, ..base }).contains("missing piece"));
        let costs = LastBuyCosts { discount_a_y: wrong, ..base.costs };
        assert!(refusal(LastBuyQuestion { costs, ..base }).contains("discount"));
        let failing = Failing::AtRate(RateBelief { shape: 1.0, exposure: wrong });
        assert!(refusal(LastBuyQuestion { failing, ..base }).contains("rate"));
        let none = Population::steady(wrong);
        assert!(refusal(LastBuyQuestion { population: &none, ..base }).contains("population"));
    }
    assert!(refusal(LastBuyQuestion { horizon_d: 0.0, ..base }).contains("horizon"));
    let nan = [Arrival { day: f64::NAN, pieces: 1 }];
    assert!(refusal(LastBuyQuestion { harvest: &nan, ..base }).contains("come"));
    let planned = [PlannedPieces { day: 1.0, pieces: 1, chance: 1.5 }];
    assert!(refusal(LastBuyQuestion { planned: &planned, ..base }).contains("planned"));
    let failing = Failing::AtRate(RateBelief { shape: 1e6, exposure: 1.0 });
    assert!(refusal(LastBuyQuestion { failing, ..base }).contains("less far ahead"));
    assert!(refusal(LastBuyQuestion { stock: u64::MAX, ..base }).contains("less far ahead"));
    // Nothing that fails and nothing planned: nothing to buy.
    let buy = last_buy(&base).unwrap();
    assert_eq!((buy.bought, buy.cost, buy.curve[0].run_out), (0, 0.0, 0.0));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn the_cost_is_convex_and_the_best_is_the_least(
        units in 1.0..60.0f64,
        shape in 0.4..20.0f64,
        stock in 0u64..4,
        pieces in 0u64..4,
        day in 0.0..1500.0f64,
        short in 100.0..1e5f64,
    ) {
        let population = Population::steady(units);
        let harvest = [Arrival { day, pieces }];
        let asked = LastBuyQuestion {
            failing: Failing::AtRate(RateBelief { shape, exposure: shape * 3e5 }),
            stock,
            harvest: &harvest,
            costs: LastBuyCosts { left: 500.0, short, discount_a_y: 0.0 },
            ..plain(&population, 4.0)
        };
        let buy = last_buy(&asked).unwrap();
        let costs: Vec<f64> = buy.curve.iter().map(|point| point.cost).collect();
        prop_assert!(costs.iter().all(|cost| *cost >= buy.cost - 1e-9));
        // Without the case of none, which stands apart.
        let near_best = &costs[usize::from(buy.curve.len() > 1 && buy.curve[1].bought > 1)..];
        for three in near_best.windows(3) {
            prop_assert!(three[0] + three[2] >= 2.0 * three[1] - 1e-6 * three[1].abs());
        }
        let outs = &buy.with_bought.out_by;
        prop_assert!(outs.windows(2).all(|pair| pair[1].1 >= pair[0].1 - 1e-12));
        let more = last_buy(&LastBuyQuestion { stock: stock + 1, ..asked }).unwrap();
        prop_assert_eq!(more.bought, buy.bought.saturating_sub(1));
    }
}
