use super::super::{OrderRule, Standing, advise};
use super::*;
use crate::spares::{Pmf, fill_rate, poisson_cdf};
use proptest::prelude::*;

fn close(got: f64, wanted: f64) {
    assert!((got - wanted).abs() < 1e-10, "{got} in place of {wanted}");
}

fn target(measure: Measure, value: f64) -> Target {
    Target::new(measure, value).unwrap()
}

/// Own figures: scipy 1.16, poisson(3) and nbinom(r = 4/3, p = 0.4), summed.
#[test]
fn the_four_measures_are_four_numbers() {
    let failures = ToCover::one_by_one(Pmf::poisson(3.0).unwrap());
    let service = failures.service(3);
    // P(X <= 3), and not P(X < 3), which would be 42 %.
    close(service.no_stock_out, 0.6472318887822313);
    // P(X <= 2): the piece asked for must still be there.
    close(service.fill_rate, 0.42319008112684353);
    close(service.backorders, 0.6721254229661636);
    close(service.down_time_h, 0.6721254229661636 * 8760.0);
    close(service.on_hand, 0.6721254229661636);
    assert!(service.fill_rate < service.no_stock_out);
    assert_eq!(failures.services(5)[3], service);
}

#[test]
fn each_measure_asks_for_its_own_stock() {
    let failures = ToCover::one_by_one(Pmf::poisson(3.0).unwrap());
    // P(X <= 5) = 0.916, P(X <= 6) = 0.966: no stock-out wants 6 and the fill rate one more.
    assert_eq!(failures.level_for(target(Measure::NoStockOut, 0.95)).stock, 6);
    assert_eq!(failures.level_for(target(Measure::FillRate, 0.95)).stock, 7);
    assert_eq!(failures.level_for(target(Measure::Backorders, 0.05)).stock, 7);
    assert_eq!(failures.level_for(target(Measure::Backorders, 0.051)).stock, 6);
    assert_eq!(failures.level_for(target(Measure::DownTimeH, 100.0)).stock, 8);
    for (measure, value) in [
        (Measure::NoStockOut, 0.999),
        (Measure::FillRate, 0.999),
        (Measure::Backorders, 1e-6),
        (Measure::DownTimeH, 0.5),
    ] {
        let wanted = target(measure, value);
        let level = failures.level_for(wanted);
        assert!(wanted.met_by(&level.service));
        assert!(!wanted.met_by(&failures.service(level.stock - 1)));
    }
}

#[test]
fn certainty_and_nonsense_are_refused() {
    for value in [1.0, 1.5, -0.1, f64::NAN, 95.0] {
        for measure in [Measure::NoStockOut, Measure::FillRate] {
            let refusal = Target::new(measure, value).unwrap_err().to_string();
            assert!(refusal.contains(measure.words()) && refusal.contains("0.95"), "{refusal}");
        }
    }
    for value in [0.0, -1.0, f64::INFINITY, f64::NAN] {
        for measure in [Measure::Backorders, Measure::DownTimeH] {
            let refusal = Target::new(measure, value).unwrap_err().to_string();
            assert!(refusal.contains(measure.words()), "{refusal}");
        }
    }
}

#[test]
fn where_nothing_is_asked_for_nothing_is_held() {
    let idle = ToCover::one_by_one(Pmf::certain(0));
    let service = idle.service(0);
    assert_eq!((service.no_stock_out, service.fill_rate, service.backorders), (1.0, 1.0, 0.0));
    assert_eq!(idle.level_for(target(Measure::FillRate, 0.99)).stock, 0);
    let at_once = idle.with_asking(true);
    assert_eq!(at_once.level_for(target(Measure::NoStockOut, 0.99)).stock, 0);
    assert_eq!(at_once.level_for(target(Measure::DownTimeH, 1.0)).stock, 0);
    assert_eq!(at_once.level_for(target(Measure::FillRate, 0.99)).stock, 1);
}

/// A piece of a group finds the pieces of its own group before it, and one that is asked for at an
/// uncertain rate finds what a high rate leaves.
#[test]
fn what_a_piece_finds_depends_on_how_pieces_are_asked_for() {
    let lead = Pmf::negative_binomial(2.0, 5.0).unwrap();
    let single = ToCover::one_by_one(lead.clone()).service(4);
    let uncertain = ToCover::at_an_uncertain_rate(lead.clone()).service(4);
    // The gamma-mixed rate weighted by itself has a shape larger by one: nbinom(7/3, 0.4).
    close(uncertain.fill_rate, Pmf::negative_binomial(3.5, 8.75).unwrap().cdf(3));
    assert!(uncertain.fill_rate < single.fill_rate);
    let pairs = Pmf::certain(2);
    let grouped = ToCover::in_groups(lead.clone(), &pairs).service(4);
    close(grouped.fill_rate, (lead.cdf(3) + lead.cdf(2)) / 2.0);
    assert_eq!(grouped.backorders, single.backorders);
}

fn parts(usable: u64, on_order: u64) -> Standing {
    Standing { usable, on_order, ..Standing::default() }
}

#[test]
fn what_limits_an_order_is_said() {
    let packs = BuyingLimits::new(Some(5), Some(4)).unwrap();
    let advice = advise(parts(1, 1), OrderRule::base_stock(4), &packs);
    assert_eq!(advice.order_now, 8);
    assert_eq!(advice.limited_by, [LimitedBy::MinOrder(5), LimitedBy::PackSize(4)]);
    assert_eq!(
        advice.reason,
        "Hold 4 against failures; 1 usable and 1 on order: order 8, since no order is taken for \
         fewer than 5, in packs of 4."
    );
    let lots = OrderRule::Lots { point: 3, quantity: 10 };
    let standing = Standing { usable: 2, owed: 1, planned: 9, ..Standing::default() };
    let advice = advise(standing, lots, &BuyingLimits::none());
    assert_eq!(advice.order_now, 20);
    assert_eq!(
        advice.reason,
        "Order 10 when 3 or fewer are there, after 9 for planned changes; 2 usable, none on order \
         and 1 owed: order 20."
    );
    assert_eq!(advise(parts(2, 2), lots, &packs).order_now, 0);
    let up_to = OrderRule::UpTo { point: -1, up_to: 2 };
    assert_eq!(advise(parts(0, 0), up_to, &packs).order_now, 0);
    assert_eq!(advise(Standing { owed: 1, ..parts(0, 0) }, up_to, &packs).order_now, 8);
}

#[test]
fn shelf_life_bounds_an_order_but_not_the_protection() {
    let limits = BuyingLimits::new(None, None).unwrap().with_shelf_life(6);
    let lots = OrderRule::Lots { point: 3, quantity: 10 };
    let advice = advise(parts(2, 0), lots, &limits);
    assert_eq!((advice.order_now, &advice.limited_by[..]), (6, &[LimitedBy::ShelfLife(6)][..]));
    assert!(advice.reason.ends_with("since no more than 6 are used before their shelf date."));
    // A pack of 10 is more than may be bought; three are needed, so one pack it is.
    let packs = BuyingLimits::new(None, Some(10)).unwrap().with_shelf_life(6);
    let advice = advise(parts(1, 0), OrderRule::UpTo { point: 3, up_to: 25 }, &packs);
    assert_eq!(advice.order_now, 10);
    assert_eq!(advice.limited_by, [LimitedBy::PackSize(10), LimitedBy::Waste(4)]);
    assert!(
        advice.reason.ends_with("in packs of 10, of which 4 may pass their shelf date unused.")
    );
    let none = BuyingLimits::none().with_shelf_life(0);
    assert_eq!(advise(parts(0, 0), OrderRule::base_stock(2), &none).order_now, 2);
}

#[test]
fn as_many_are_bought_as_are_used_in_time() {
    let used = Pmf::poisson(5.0).unwrap();
    // P(D >= 2) = 0.960 and P(D >= 3) = 0.875.
    assert_eq!(used_before_expiry(&used, 0, 0.9), Ok(2));
    assert_eq!(used_before_expiry(&used, 1, 0.9), Ok(1));
    assert_eq!(used_before_expiry(&used, 7, 0.9), Ok(0));
    assert_eq!(used_before_expiry(&Pmf::certain(4), 0, 1.0), Ok(4));
    for sureness in [0.0, 1.1, f64::NAN] {
        assert!(used_before_expiry(&used, 0, sureness).is_err(), "{sureness}");
    }
}

fn breaks(pairs: &[(u64, i64)]) -> Vec<PriceBreak> {
    pairs
        .iter()
        .map(|(from, price_cents)| PriceBreak { from: *from, price_cents: *price_cents })
        .collect()
}

/// Source: stockpyl 1.0.2 (PyPI), economic_order_quantity_with_all_units_discounts, on the figures
/// of its first example after Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed.: 8 an
/// order, 30 % a year, 1300 a year; 0.75, from 400 0.72, from 800 0.68. Best 800, at 978.60.
#[test]
fn a_price_break_is_taken_where_it_pays() {
    let prices = Prices::new(75, &breaks(&[(400, 72), (800, 68)])).unwrap();
    let any = BuyingLimits::none();
    let best = lot_at_breaks(&prices, &any, 800.0, 30.0, 1300.0).unwrap();
    assert_eq!((best.quantity, best.price_cents), (800, 68));
    close(best.cost_cents_a_y, 97_860.0);
    let short = BuyingLimits::none().with_shelf_life(799);
    assert_eq!(lot_at_breaks(&prices, &short, 800.0, 30.0, 1300.0).unwrap().quantity, 400);
    let packs = BuyingLimits::new(None, Some(900)).unwrap();
    assert_eq!(lot_at_breaks(&prices, &packs, 800.0, 30.0, 1300.0).unwrap().quantity, 900);
    let refusal = lot_at_breaks(&prices, &packs.with_shelf_life(20), 800.0, 30.0, 1300.0);
    assert_eq!(refusal, Err(PriceRefusal::NoLot { least: 900, most: 20 }));
    assert!(lot_at_breaks(&prices, &any, f64::NAN, 30.0, 1300.0).is_err());
}

#[test]
fn ten_that_cost_less_than_nine_are_bought() {
    let prices = Prices::new(1200, &breaks(&[(10, 900)])).unwrap();
    let limits = BuyingLimits::none().with_prices(prices);
    let eight = advise(parts(0, 0), OrderRule::base_stock(8), &limits);
    assert_eq!(eight.order_now, 10);
    assert_eq!(eight.limited_by, [LimitedBy::PriceBreak { from: 10, price_cents: 900 }]);
    assert!(eight.reason.ends_with("since from 10 pieces at 9.00 each they cost no more."));
    assert_eq!(advise(parts(0, 0), OrderRule::base_stock(7), &limits).order_now, 7);
    let short = limits.with_shelf_life(8);
    let advice = advise(parts(0, 0), OrderRule::base_stock(8), &short);
    assert_eq!(advice.order_now, 8);
}

#[test]
fn a_list_of_prices_that_makes_no_sense_is_refused() {
    assert_eq!(Prices::new(0, &[]), Err(PriceRefusal::Price(0)));
    assert_eq!(Prices::new(9, &breaks(&[(5, -1)])), Err(PriceRefusal::Price(-1)));
    let unsorted = Prices::new(9, &breaks(&[(10, 8), (5, 7)]));
    assert_eq!(unsorted, Err(PriceRefusal::Unsorted(5, 10)));
    assert_eq!(Prices::new(9, &breaks(&[(1, 8)])), Err(PriceRefusal::Unsorted(1, 1)));
    let rising = Prices::new(9, &breaks(&[(5, 10)]));
    assert_eq!(rising, Err(PriceRefusal::Rising { from: 5, price_cents: 10 }));
    assert_eq!(BuyingLimits::new(None, Some(0)), Err(PriceRefusal::Pack));
}

proptest! {
    #[test]
    fn levels_are_the_least_that_meet(
        mean in 0.01..80.0f64,
        spread in 1.0..6.0f64,
        probability in 0.0..0.9999f64,
        owed in 1e-6..3.0f64,
    ) {
        let lead = Pmf::negative_binomial(mean, mean * spread).unwrap();
        for cover in [ToCover::one_by_one(lead.clone()), ToCover::at_an_uncertain_rate(lead)] {
            for wanted in [
                target(Measure::NoStockOut, probability),
                target(Measure::FillRate, probability),
                target(Measure::Backorders, owed),
                target(Measure::DownTimeH, owed),
            ] {
                let level = cover.level_for(wanted);
                prop_assert!(wanted.met_by(&level.service), "{wanted:?} {level:?}");
                if let Some(less) = level.stock.checked_sub(1) {
                    prop_assert!(!wanted.met_by(&cover.service(less)) || wanted.value() == 0.0);
                }
            }
        }
    }

    #[test]
    fn poisson_levels_agree_with_the_gamma_function(mean in 0.01..400.0f64, stock in 0u64..500) {
        let service = ToCover::one_by_one(Pmf::poisson(mean).unwrap()).service(stock);
        prop_assert!((service.no_stock_out - poisson_cdf(stock, mean)).abs() < 1e-10);
        prop_assert!((service.fill_rate - fill_rate(mean, stock)).abs() < 1e-10);
    }

    #[test]
    fn an_order_lifts_the_position_above_the_point(
        usable in 0u64..30,
        owed in 0u64..5,
        point in -2i64..20,
        quantity in 1u64..15,
        pack in 1u64..9,
        least in 0u64..12,
        in_time in 0u64..25,
    ) {
        let standing = Standing { usable, owed, ..Standing::default() };
        let limits = BuyingLimits::new(Some(least), Some(pack)).unwrap().with_shelf_life(in_time);
        let up_to = (point + quantity as i64).max(0) as u64;
        for rule in [OrderRule::Lots { point, quantity }, OrderRule::UpTo { point, up_to }] {
            let advice = advise(standing, rule, &limits);
            let after = standing.position() + i128::from(advice.order_now);
            prop_assert!(after > point.into());
            prop_assert!(advice.order_now.is_multiple_of(pack));
            prop_assert!(advice.order_now == 0 || advice.order_now >= least);
            prop_assert_eq!(advice.order_now > 0, standing.position() <= point.into());
        }
    }
}

const MANNERS: [Manner; 5] = [
    Manner::OneForOne,
    Manner::Lots { quantity: 6 },
    Manner::UpTo { width: 4 },
    Manner::Review { every_d: 14.0 },
    Manner::ReviewPoint { every_d: 9.0, width: 3 },
];

fn ordering(flow: &Flow, lead_time_d: f64, manner: Manner) -> Ordering {
    Ordering::new(flow, lead_time_d, manner).unwrap()
}

#[test]
fn negative_binomial_comes_from_groups_and_from_an_uncertain_rate() {
    let groups = Flow::in_logarithmic_groups(0.1, 2.5).unwrap();
    let sizes = groups.sizes().unwrap();
    close(sizes.mean() * groups.demands_a_d(), 0.1);
    let summed = Flow::in_groups(groups.demands_a_d(), sizes).unwrap().in_days(40.0).unwrap();
    let direct = groups.in_days(40.0).unwrap();
    (0..60).for_each(|k| close(summed.at(k), direct.at(k)));
    // Of many and large groups the sum is halved, and starts where nothing is to be seen yet.
    let many = Flow::in_groups(7.0, Pmf::certain(90)).unwrap().in_days(70.0).unwrap();
    close(many.mean() / 44_100.0, 1.0);
    close(many.variance() / (490.0 * 90.0 * 90.0), 1.0);
    let mixed = Flow::at_an_uncertain_rate(0.1, 0.7).unwrap();
    let weighted: f64 = mixed
        .at_known_rates(60.0)
        .unwrap()
        .iter()
        .map(|(weight, known)| weight * known.in_days(60.0).unwrap().at(11))
        .sum();
    close(weighted, mixed.in_days(60.0).unwrap().at(11));
}

/// The mean of Poisson probabilities over a stretch of time has a closed form:
/// (P(N(b) > j) − P(N(a) > j)) / (λ·(b − a)).
#[test]
fn the_mean_over_a_review_agrees_with_its_closed_form() {
    for (rate, from_d, to_d) in [(0.3, 20.0, 41.0), (0.02, 0.0, 30.0), (40.0, 3.0, 12.0)] {
        let flow = Flow::poisson(rate).unwrap();
        let cover = flow.covered_between(from_d, to_d).unwrap();
        let (early, late) = (flow.in_days(from_d).unwrap(), flow.in_days(to_d).unwrap());
        for j in [0, 1, 3, 8, 14, 150, 300, 460] {
            let exact = (late.above(j) - early.above(j)) / (rate * (to_d - from_d));
            close(cover.random().at(j), exact);
            close(cover.found().at(j), exact);
        }
    }
}

/// The same fill rate by counting: what a period adds to what is owed, over its demand.
#[test]
fn the_fill_rate_of_a_review_is_what_is_not_newly_owed() {
    let review = Manner::Review { every_d: 30.0 };
    for flow in [
        Flow::poisson(0.2).unwrap(),
        Flow::in_logarithmic_groups(0.2, 3.0).unwrap(),
        Flow::at_an_uncertain_rate(0.2, 0.6).unwrap(),
    ] {
        for stock in [1, 5, 12, 25] {
            let owed = |days| flow.in_days(days).unwrap().expected_above(stock);
            let counted = 1.0 - (owed(50.0) - owed(20.0)) / (0.2 * 30.0);
            let fill_rate = ordering(&flow, 20.0, review).at(stock).service.fill_rate;
            assert!((fill_rate - counted).abs() < 1e-9, "{flow:?} {stock}: {fill_rate} {counted}");
        }
    }
}

#[test]
fn ways_of_ordering_meet_where_they_are_the_same() {
    let flows = [
        Flow::poisson(0.2).unwrap(),
        Flow::in_logarithmic_groups(0.2, 3.0).unwrap(),
        Flow::at_an_uncertain_rate(0.2, 1.7).unwrap(),
    ];
    for flow in &flows {
        let same = |a: Manner, b: Manner| {
            let (a, b) = (ordering(flow, 25.0, a).at(9), ordering(flow, 25.0, b).at(9));
            close(a.service.no_stock_out, b.service.no_stock_out);
            close(a.service.fill_rate, b.service.fill_rate);
            close(a.service.backorders, b.service.backorders);
            close(a.service.on_hand, b.service.on_hand);
            close(a.orders_a_y, b.orders_a_y);
            assert_eq!(a.policy.point(), b.policy.point());
        };
        same(Manner::OneForOne, Manner::UpTo { width: 1 });
        same(Manner::Lots { quantity: 1 }, Manner::UpTo { width: 1 });
        same(Manner::Review { every_d: 8.0 }, Manner::ReviewPoint { every_d: 8.0, width: 1 });
    }
    // Single pieces leave the same gaps by lots and up to a level; groups do not.
    let gap = |flow, manner| ordering(flow, 25.0, manner).at(9).service.backorders;
    let (lots, up_to) = (Manner::Lots { quantity: 5 }, Manner::UpTo { width: 5 });
    close(gap(&flows[0], lots), gap(&flows[0], up_to));
    close(gap(&flows[2], lots), gap(&flows[2], up_to));
    assert!((gap(&flows[1], lots) - gap(&flows[1], up_to)).abs() > 1e-3);
}

#[test]
fn each_way_of_ordering_finds_its_least_level() {
    for flow in [Flow::poisson(0.2).unwrap(), Flow::at_an_uncertain_rate(0.2, 0.9).unwrap()] {
        for manner in MANNERS {
            let ordering = ordering(&flow, 25.0, manner);
            for wanted in [
                target(Measure::NoStockOut, 0.97),
                target(Measure::FillRate, 0.97),
                target(Measure::Backorders, 0.02),
                target(Measure::DownTimeH, 300.0),
            ] {
                let best = ordering.level_for(wanted);
                assert!(wanted.met_by(&best.service), "{best:?}");
                assert!(!wanted.met_by(&ordering.at(best.policy.up_to - 1).service), "{best:?}");
            }
        }
    }
}

#[test]
fn no_lead_time_and_no_demand_have_a_rule() {
    let wanted = target(Measure::FillRate, 0.9);
    let flow = Flow::poisson(0.2).unwrap();
    let at_once = ordering(&flow, 0.0, Manner::OneForOne);
    assert_eq!(at_once.level_for(wanted).policy.up_to, 1);
    assert_eq!(at_once.level_for(target(Measure::NoStockOut, 0.9)).policy.up_to, 0);
    assert_eq!(at_once.at(0).service.fill_rate, 0.0);
    let idle = Flow::in_groups(3.0, Pmf::certain(0)).unwrap();
    for manner in MANNERS {
        let idle = ordering(&idle, 25.0, manner).level_for(wanted);
        assert_eq!((idle.service.fill_rate, idle.orders_a_y), (1.0, 0.0), "{manner:?}");
        assert_eq!(idle.policy.up_to, 0);
    }
}

#[test]
fn figures_that_make_no_sense_are_refused() {
    for pieces_a_d in [-1.0, f64::NAN, f64::INFINITY, 2e6] {
        assert!(Flow::poisson(pieces_a_d).is_err());
        assert!(Flow::in_logarithmic_groups(pieces_a_d, 2.0).is_err());
        assert!(Flow::in_groups(pieces_a_d, Pmf::certain(2)).is_err());
    }
    for shape in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(Flow::at_an_uncertain_rate(1.0, shape).is_err());
    }
    assert!(Flow::in_logarithmic_groups(1.0, 0.9).is_err());
    assert!(Flow::in_logarithmic_groups(1.0, f64::NAN).is_err());
    let flow = Flow::poisson(2.0).unwrap();
    let refused = |lead_time_d: f64, manner: Manner, words: &str| {
        let refusal = Ordering::new(&flow, lead_time_d, manner).unwrap_err().to_string();
        assert!(refusal.contains(words), "{refusal}");
    };
    for lead_time_d in [-1.0, f64::NAN, f64::INFINITY] {
        refused(lead_time_d, Manner::OneForOne, "lead time");
    }
    for every_d in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        refused(1.0, Manner::Review { every_d }, "between reviews");
        refused(1.0, Manner::ReviewPoint { every_d, width: 3 }, "between reviews");
    }
    refused(1.0, Manner::Review { every_d: 40_000.0 }, "review more often");
    for pieces in [0, 100_001] {
        refused(1.0, Manner::Lots { quantity: pieces }, "from 1 to 100000");
        refused(1.0, Manner::UpTo { width: pieces }, "from 1 to 100000");
        refused(1.0, Manner::ReviewPoint { every_d: 1.0, width: pieces }, "from 1 to 100000");
    }
    refused(1e7, Manner::OneForOne, "mean demand");
}
