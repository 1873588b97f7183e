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
                .to_owned()
        }
    );
    assert_eq!(advice(7, 0, 4, 0).order_now, 0);
    assert!(advice(7, 0, 4, 0).reason.contains("3 to spare"));
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
}
