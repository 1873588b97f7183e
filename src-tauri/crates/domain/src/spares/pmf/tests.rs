use super::super::{DemandRefusal, expected_backorders, poisson_above, poisson_cdf};
use super::Pmf;
use proptest::prelude::*;

fn close(got: f64, wanted: f64, relative: f64) {
    // What is cut off above may be missing.
    let off = ((got - wanted).abs() - 1e-20).max(0.0) / wanted.abs();
    assert!(off <= relative, "{got} in place of {wanted}, off by {off}");
}

/// Own figures: mass functions and regularised incomplete gamma and beta functions to 60 digits
/// with mpmath 1.3, rounded to the nearest
/// double.
#[test]
fn masses_and_tails_agree_with_high_precision_figures() {
    for (mean, k, at, above) in [
        (3.0, 0, 0.049787068367863944, 0.950212931632136),
        (12.0, 39, 3.689348967921583e-10, 1.5587113102364608e-10),
        (700.0, 0, 9.85967654375977e-305, 1.0),
        (1000.0, 1252, 1.9663855925115126e-15, 7.65655357089618e-15),
        (0.37, 5, 3.991520976845042e-05, 2.5978166990705956e-06),
        (1e4, 9200, 2.1647867277382134e-17, 0.9999999999999998),
        (1e4, 10_000, 0.003989389558962826, 0.4973404187809924),
        (1e4, 10_700, 1.534372814302423e-13, 2.14682043322949e-12),
    ] {
        let demand = Pmf::poisson(mean).unwrap();
        close(demand.at(k), at, 2e-12);
        close(demand.above(k), above, 2e-12);
    }
    close(Pmf::poisson(1e4).unwrap().cdf(9200), 2.668737397397166e-16, 2e-12);
    for (mean, variance, k, at, above) in [
        (2.0, 5.0, 0, 0.29472251989123094, 0.7052774801087691),
        (2.0, 5.0, 10, 0.00439346961774999, 0.007054163167679568),
        (0.2, 1.7, 4, 0.004006071688588461, 0.013173725531183855),
        (100.0, 101.0, 150, 7.312841572686994e-07, 1.4050018679989273e-06),
        (1e4, 2e4, 10_500, 6.109891277838652e-06, 0.0002332444224937675),
        (1e4, 10_001.0, 9600, 1.2259345772236046e-06, 0.999970922690193),
    ] {
        let demand = Pmf::negative_binomial(mean, variance).unwrap();
        close(demand.at(k), at, 2e-12);
        close(demand.above(k), above, 2e-12);
    }
    for (n, p, k, at, above) in [
        (20, 0.3, 12, 0.0038592819309011877, 0.0012788796042202202),
        (5000, 0.02, 140, 2.3796305055617174e-05, 5.365069513153609e-05),
    ] {
        let demand = Pmf::binomial(n, p).unwrap();
        close(demand.at(k), at, 2e-12);
        close(demand.above(k), above, 2e-12);
    }
}

/// Own figures: m·P(X >= s) − s·P(X > s) to 60 digits with mpmath 1.3.
#[test]
fn what_is_owed_agrees_with_high_precision_figures() {
    for (mean, stock, owed) in [
        (3.0, 5, 0.13462055627216654),
        (12.0, 20, 0.02340248830017034),
        (1000.0, 1100, 0.008225346078638868),
    ] {
        close(Pmf::poisson(mean).unwrap().expected_above(stock), owed, 2e-12);
    }
}

/// P(X <= k) counts and not P(X < k): for a mean of 3 a stock of 3 covers 65 %, not 42 %.
#[test]
fn a_stock_covers_demands_up_to_itself() {
    let demand = Pmf::poisson(3.0).unwrap();
    close(demand.cdf(3), 0.6472318887822313, 1e-12);
    assert_eq!(demand.quantile(0.647), 3);
    assert_eq!(demand.quantile(0.65), 4);
    let tenths = Pmf::of(vec![9.0, 1.0]).unwrap();
    assert_eq!((tenths.quantile(0.9), tenths.quantile(0.9001)), (0, 1));
    assert_eq!((tenths.quantile(0.0), tenths.quantile(1.0), tenths.quantile(7.0)), (0, 1, 1));
}

#[test]
fn sums_and_mixtures_are_what_they_should_be() {
    let sum = Pmf::poisson(1.3).unwrap().plus(&Pmf::poisson(700.0).unwrap());
    let whole = Pmf::poisson(701.3).unwrap();
    for k in [560, 640, 701, 760, 850] {
        close(sum.at(k), whole.at(k), 1e-11);
        close(sum.above(k), whole.above(k), 1e-11);
    }
    let shifted = Pmf::certain(4).plus(&Pmf::binomial(3, 0.5).unwrap());
    assert_eq!(shifted.weights(), [0.0, 0.0, 0.0, 0.0, 0.125, 0.375, 0.375, 0.125]);
    let mixed = Pmf::mixed(&[
        (3.0, Pmf::certain(0)),
        (1.0, Pmf::certain(2)),
        (0.0, Pmf::certain(50)),
        (f64::NAN, Pmf::certain(9)),
        (-1.0, Pmf::certain(9)),
    ]);
    assert_eq!(mixed.weights(), [0.75, 0.0, 0.25]);
    assert_eq!(Pmf::mixed(&[]), Pmf::certain(0));
}

#[test]
fn ends_have_an_answer() {
    let none = Pmf::poisson(0.0).unwrap();
    assert_eq!(none, Pmf::certain(0));
    assert_eq!((none.mean(), none.variance(), none.quantile(0.999)), (0.0, 0.0, 0));
    assert_eq!((none.at(1), none.cdf(u64::MAX), none.above(u64::MAX)), (0.0, 1.0, 0.0));
    assert_eq!((none.expected_above(0), none.expected_below(3)), (0.0, 3.0));
    close(Pmf::poisson(1e-12).unwrap().above(0), 1e-12, 1e-9);
    let large = Pmf::poisson(1e6).unwrap();
    close(large.mean(), 1e6, 1e-12);
    close(large.variance(), 1e6, 1e-9);
    assert_eq!(Pmf::certain(u64::MAX).quantile(0.5), 1_000_000);
    assert_eq!(Pmf::binomial(7, 1.0).unwrap(), Pmf::certain(7));
    assert_eq!(Pmf::binomial(0, 0.5).unwrap(), Pmf::certain(0));
    close(Pmf::binomial(u64::MAX, 1e-19).unwrap().mean(), 1.844674407370955, 1e-12);
    assert_eq!(Pmf::negative_binomial(2.0, 1.0), Pmf::poisson(2.0));
    close(Pmf::negative_binomial(0.01, 900.0).unwrap().mean(), 0.01, 1e-9);
}

#[test]
fn what_is_no_demand_is_refused() {
    for mean in [f64::NAN, f64::INFINITY, -1e-9, 2e6] {
        assert!(matches!(Pmf::poisson(mean), Err(DemandRefusal::Mean(_))), "{mean}");
        assert!(matches!(Pmf::negative_binomial(mean, 1.0), Err(DemandRefusal::Mean(_))));
    }
    for variance in [f64::NAN, f64::INFINITY, -1e-9, 2.1e5] {
        let refusal = Pmf::negative_binomial(2.0, variance);
        assert!(matches!(refusal, Err(DemandRefusal::Variance(_))), "{variance}");
    }
    for chance in [f64::NAN, -0.1, 1.1] {
        assert!(matches!(Pmf::binomial(3, chance), Err(DemandRefusal::Chance(_))), "{chance}");
    }
    assert!(matches!(Pmf::binomial(3_000_000, 0.9), Err(DemandRefusal::Mean(_))));
    for weights in [vec![], vec![0.0, 0.0], vec![1.0, f64::NAN], vec![f64::MAX; 3], vec![2.0, -1.0]]
    {
        assert_eq!(Pmf::of(weights), Err(DemandRefusal::Weights));
    }
}

proptest! {
    #[test]
    fn poisson_agrees_with_the_gamma_function(mean in 0.0..5000.0f64, at in 0.0..2.0f64) {
        let demand = Pmf::poisson(mean).unwrap();
        let k = (mean * at) as u64;
        prop_assert!((demand.cdf(k) - poisson_cdf(k, mean)).abs() < 1e-10);
        prop_assert!((demand.above(k) - poisson_above(k, mean)).abs() < 1e-10);
        let owed = expected_backorders(mean, k);
        prop_assert!((demand.expected_above(k) - owed).abs() < 1e-7);
    }

    #[test]
    fn moments_are_kept_and_stock_balances(
        mean in 0.0..400.0f64,
        spread in 1.0..20.0f64,
        stock in 0u64..600,
    ) {
        let demand = Pmf::negative_binomial(mean, mean * spread).unwrap();
        prop_assert!((demand.weights().iter().sum::<f64>() - 1.0).abs() < 1e-12);
        prop_assert!((demand.mean() - mean).abs() < 1e-9);
        prop_assert!((demand.variance() - mean * spread).abs() < 1e-6);
        let balance = demand.expected_below(stock) - demand.expected_above(stock);
        prop_assert!((balance - (stock as f64 - mean)).abs() < 1e-8);
        let needed = demand.quantile(0.97);
        prop_assert!(demand.cdf(needed) >= 0.97 - 1e-12);
        prop_assert!(needed == 0 || demand.cdf(needed - 1) < 0.97);
    }
}
