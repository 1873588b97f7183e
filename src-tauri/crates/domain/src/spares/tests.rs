mod interval;

pub(crate) use interval::Interval;

use super::*;
use proptest::prelude::*;

#[test]
fn tails_agree_with_high_precision_figures() {
    // Own figures: regularised incomplete gamma function to 40 digits with mpmath 1.3.
    for (mean, k, above) in [
        (3.0, 37, 1.3928075347428e-28),
        (12.0, 39, 1.5587113102365e-10),
        (1000.0, 1252, 7.6565535708962e-15),
    ] {
        let ratio: f64 = poisson_above(k, mean) / above;
        assert!((ratio - 1.0).abs() < 1e-10, "{mean} {k}: {}", poisson_above(k, mean));
    }
    assert_eq!((poisson_cdf(0, 0.0), poisson_above(0, 0.0)), (1.0, 0.0));
    assert!(poisson_cdf(3, f64::NAN).is_nan() && fill_rate(-1.0, 0).is_nan());
}

#[test]
fn what_cannot_be_is_refused() {
    for mean in [f64::NAN, f64::INFINITY, -1e-9, 2e6] {
        assert!(matches!(to_hold(mean, 0.9), Err(DemandRefusal::Mean(_))), "{mean}");
    }
    for protection in [f64::NAN, 1.0, -0.1, 95.0] {
        assert!(matches!(to_hold(1.0, protection), Err(DemandRefusal::Protection(_))));
    }
}

#[test]
fn extremes_have_an_answer() {
    assert_eq!(to_hold(0.0, 0.999).unwrap(), ToHold { stock: 0, achieved: 1.0 });
    assert_eq!(to_hold(1e-12, 0.999).unwrap().stock, 0);
    assert_eq!(to_hold(1e6, 0.0).unwrap().stock, 0);
    // Far out in the tail P(X <= k) rounds to 1 long before it is covered.
    assert!(to_hold(1.0, 1.0 - f64::EPSILON).unwrap().stock >= 17);
    let large = to_hold(1e6, 0.95).unwrap().stock;
    // Normal limit: 1e6 + 1.645 · 1e3, give or take one step of the correction.
    assert!((1_001_644..=1_001_647).contains(&large), "{large}");
}

#[test]
fn advice_counts_what_is_coming_and_never_orders_below_nothing() {
    assert_eq!(
        advice(2, 1, 4, 1),
        Advice {
            order_now: 2,
            reason: "Hold 5: 4 against failures and 1 for planned changes; 2 usable and 1 on \
                     order: order 2."
                .to_owned(),
            held: "Hold 5: 4 against failures and 1 for planned changes; 2 usable and 1 on order"
                .to_owned(),
            limited_by: Vec::new(),
        }
    );
    assert_eq!(advice(7, 0, 4, 0).order_now, 0);
    assert!(advice(7, 0, 4, 0).reason.contains("3 to spare"));
    let standing = Standing { usable: 1, stand_ins: 2, instead: 1, ..Standing::default() };
    let told = advise(standing, OrderRule::base_stock(3), &BuyingLimits::none());
    assert_eq!(
        (told.order_now, told.reason.as_str()),
        (
            1,
            "Hold 4: 3 against failures and 1 in place of models that are no longer sold; 1 usable, \
             none on order and 2 free to stand in: order 1."
        )
    );
    let only = Standing { instead: 3, ..Standing::default() };
    let told = advise(only, OrderRule::base_stock(0), &BuyingLimits::none()).reason;
    assert!(told.starts_with("Hold 3 in place of models"), "{told}");
    assert_eq!(advice(u64::MAX, 9, u64::MAX, 9).order_now, 0);
}

proptest! {
    #[test]
    fn the_stock_to_hold_is_the_smallest_that_covers(
        mean in 0.0..500.0f64,
        protection in 0.0..0.99999f64,
    ) {
        let hold = to_hold(mean, protection).unwrap();
        prop_assert!(hold.achieved >= protection - 1e-12);
        if let Some(less) = hold.stock.checked_sub(1) {
            prop_assert!(poisson_cdf(less, mean) < protection + 1e-12);
        }
        prop_assert!(to_hold(mean + 1.0, protection).unwrap().stock >= hold.stock);
    }

    #[test]
    fn shelf_and_debt_balance_and_each_piece_helps(mean in 0.001..300.0f64, stock in 0u64..400) {
        let owed = expected_backorders(mean, stock);
        let sum = expected_on_hand(mean, stock) - owed - (stock as f64 - mean);
        prop_assert!(sum.abs() < 1e-9);
        prop_assert!(expected_backorders(mean, stock + 1) <= owed + 1e-9);
        prop_assert!(fill_rate(mean, stock) <= poisson_cdf(stock, mean));
        prop_assert!(variance_of_backorders(mean, stock) >= 0.0);
    }

    #[test]
    fn a_quantile_is_reached_with_its_probability(
        shape in 0.2..200.0f64,
        exposure in 1e-3..1e9f64,
        probability in 0.001..0.999f64,
    ) {
        let belief = RateBelief { shape, exposure };
        let rate = belief.quantile(probability);
        prop_assert!((belief.probability_below(rate) - probability).abs() < 1e-9);
        let later = belief.after(0, exposure);
        prop_assert!(later.mean() < belief.mean());
    }

    #[test]
    fn no_neighbour_of_the_best_reorder_point_is_cheaper(
        order in 1.0..200.0f64,
        holding in 0.5..20.0f64,
        owing in 1.0..500.0f64,
        demand in 0.1..50.0f64,
        lead_time in 0.0..2.0f64,
    ) {
        let costs = LotCosts { order, holding, owing };
        let best = reorder(costs, demand, lead_time).unwrap();
        for point in best.point - 2..=best.point + 2 {
            for quantity in best.quantity.saturating_sub(2).max(1)..=best.quantity + 2 {
                let other = reorder_cost(costs, demand, lead_time, point, quantity).unwrap();
                prop_assert!(other >= best.cost * (1.0 - 1e-9), "{point} {quantity} {best:?}");
            }
        }
        prop_assert!((0.0..=1.0 + 1e-9).contains(&best.fill_rate));
    }

    #[test]
    fn each_purchase_saves_no_more_than_the_one_before(
        models in prop::collection::vec((0.01..20.0f64, 1.0..1000.0f64), 1..6),
        steps in 0usize..60,
    ) {
        let candidates: Vec<_> =
            models.iter().map(|(mean, price)| Candidate { mean: *mean, price: *price }).collect();
        let purchases = buying_order(&candidates, steps);
        prop_assert_eq!(purchases.len(), steps);
        for pair in purchases.windows(2) {
            prop_assert!(pair[1].gain <= pair[0].gain);
            prop_assert!(pair[1].backorders <= pair[0].backorders);
        }
    }

    #[test]
    fn an_empty_central_store_is_only_a_longer_way(
        demands in prop::collection::vec(0.1..6.0f64, 1..4),
        depot_time in 0.01..0.5f64,
        order_time in 0.0..0.2f64,
        stock in 0u64..5,
    ) {
        let sites: Vec<Site> = demands
            .iter()
            .map(|demand| Site {
                demand: *demand, repaired_here: 0.0, repair_time: 0.0, order_time, stock,
            })
            .collect();
        for (site, owes) in sites.iter().zip(two_levels(&sites, 0, depot_time).sites) {
            let alone = expected_backorders(site.demand * (depot_time + order_time), stock);
            prop_assert!((owes.exact - alone).abs() < 1e-9, "{owes:?}");
            prop_assert!((owes.metric - alone).abs() < 1e-9);
        }
        let full = two_levels(&sites, 1000, depot_time);
        for (site, owes) in sites.iter().zip(full.sites) {
            let alone = expected_backorders(site.demand * order_time, stock);
            prop_assert!((owes.exact - alone).abs() < 1e-9, "{owes:?}");
        }
    }

    #[test]
    fn steady_demand_is_forecast_as_it_is(
        demand in 0.1..100.0f64,
        periods in 2usize..60,
        alpha in 0.01..=1.0f64,
    ) {
        let demands = vec![demand; periods];
        let seen = forecast(&demands, alpha, alpha).unwrap();
        for figure in [seen.croston, seen.tsb, seen.ses] {
            prop_assert!((figure - demand).abs() < 1e-9 * demand);
        }
        prop_assert_eq!(demand_measures(&demands).map(|(adi, _)| adi), Some(1.0));
        prop_assert_eq!(steadiness(&demands, 0.5, 1.0).map(|(_, class)| class), Some(Class::First));
    }

    #[test]
    fn classes_run_down_the_ranks(values in prop::collection::vec(0.0..1e6f64, 1..40)) {
        prop_assume!(values.iter().sum::<f64>() > 0.0);
        for by in [RankedBy::ShareBefore, RankedBy::ShareAfter, RankedBy::Count] {
            let ranked = rank(&values, 0.8, 0.95, by);
            prop_assert!(ranked.windows(2).all(|pair| pair[0].value >= pair[1].value));
            prop_assert!(ranked.windows(2).all(|pair| pair[0].class <= pair[1].class));
            prop_assert!((ranked.last().unwrap().share - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn the_best_age_costs_no_more_than_waiting(
        scale in 1.0..1e5f64,
        shape in 0.3..8.0f64,
        planned in 0.1..10.0f64,
        failure in 0.1..100.0f64,
    ) {
        let life = Life { scale, shape };
        let best = life.age_replacement(planned, failure);
        prop_assert!(best.cost <= best.cost_to_failure * (1.0 + 1e-9), "{best:?}");
        if shape <= 1.0 || failure <= planned {
            prop_assert_eq!(best.age, None);
        }
        let dearer = life.age_replacement(planned, failure * 2.0);
        if let (Some(age), Some(sooner)) = (best.age, dearer.age) {
            prop_assert!(sooner <= age * (1.0 + 1e-9));
        }
    }
}

#[test]
fn what_was_never_asked_for_has_no_forecast() {
    assert_eq!(forecast(&[], 0.1, 0.1), None);
    assert_eq!(forecast(&[0.0; 12], 0.1, 0.1), None);
    assert_eq!(demand_measures(&[0.0; 12]), None);
    assert_eq!(steadiness(&[], 0.5, 1.0), None);
    assert_eq!(RateBelief::from_mtbf(250.0, 600.0), None);
    assert!(buying_order(&[], 5).is_empty());
}
