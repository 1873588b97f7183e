use super::*;
use crate::spares::{LotCosts, Pmf, reorder_for};
use proptest::prelude::*;

fn terms(order_cost_cents: f64, price_cents: i64, breaks: &[PriceBreak]) -> LotTerms {
    LotTerms {
        order_cost_cents,
        holding_pct_a: 20.0,
        prices: Prices::new(price_cents, breaks).unwrap(),
        limits: BuyingLimits::none(),
    }
}

fn lead(mean: f64) -> ToCover {
    ToCover::one_by_one(Pmf::poisson(mean).unwrap())
}

#[test]
fn lots_serve_as_their_positions_do() {
    let groups = Pmf::of(vec![0.0, 2.0, 1.0]).unwrap();
    for cover in [
        lead(3.0),
        ToCover::at_an_uncertain_rate(Pmf::negative_binomial(3.0, 9.0).unwrap()),
        ToCover::in_groups(Pmf::negative_binomial(3.0, 9.0).unwrap(), &groups),
    ] {
        let lots = Lots::of(&cover);
        for (point, quantity) in [(-1, 1), (3, 1), (-4, 9), (2, 5), (40, 7)] {
            let whole = lots.service(point, quantity);
            let up_to = (point + quantity as i64) as u64;
            let behind = cover.in_lots(quantity).service(up_to);
            for (a, b) in [
                (whole.no_stock_out, behind.no_stock_out),
                (whole.fill_rate, behind.fill_rate),
                (whole.backorders, behind.backorders),
                (whole.down_time_h, behind.down_time_h),
                (whole.on_hand, behind.on_hand),
            ] {
                assert!((a - b).abs() < 1e-9 * a.max(1.0), "{point} {quantity}: {a} {b}");
            }
        }
    }
}

/// Own figures: the four measures by summing over positions with scipy 1.16, nbinom(2, 0.5) and
/// positions 3 to 7.
#[test]
fn lots_of_negative_binomial_demand_agree_with_a_sum() {
    let cover = ToCover::one_by_one(Pmf::negative_binomial(2.0, 4.0).unwrap());
    let service = Lots::of(&cover).service(2, 5);
    assert!((service.no_stock_out - 0.917_187_5).abs() < 1e-12, "{service:?}");
    assert!((service.fill_rate - 0.858_593_75).abs() < 1e-12, "{service:?}");
    assert!((service.backorders - 0.189_843_75).abs() < 1e-12, "{service:?}");
    assert!((service.on_hand - 3.189_843_75).abs() < 1e-12, "{service:?}");
}

/// Without limits, of one price, the search by quantities finds what the search by positions does.
#[test]
fn both_searches_find_the_cheapest_lots() {
    for (mean, spread) in [(0.4, 1.0), (3.0, 1.0), (3.0, 4.0), (40.0, 2.0)] {
        let demand = Pmf::negative_binomial(mean, mean * spread).unwrap();
        let cover = ToCover::one_by_one(demand);
        for (order, an_hour) in [(500.0, 0.5), (20_000.0, 3.0), (3.0, 100.0)] {
            let terms = terms(order, 4500, &[]);
            let aim = LotAim::MissingCents { an_hour };
            let best = best_lots(&cover, mean * 4.0, &terms, aim).unwrap();
            let costs = LotCosts { order, holding: 900.0, owing: an_hour * 8760.0 };
            let reorder = reorder_for(&cover, costs, mean * 4.0).unwrap();
            let cost = best.cost_cents_a_y - 4500.0 * mean * 4.0;
            assert!((cost / reorder.cost - 1.0).abs() < 1e-9, "{best:?} {reorder:?}");
            assert_eq!((best.point, best.quantity), (reorder.point, reorder.quantity));
        }
    }
}

#[test]
fn a_dearer_stop_and_a_lower_price_ask_for_more() {
    let cover = lead(2.0);
    let best = |an_hour, breaks: &[PriceBreak]| {
        let terms = terms(2000.0, 10_000, breaks);
        best_lots(&cover, 8.0, &terms, LotAim::MissingCents { an_hour }).unwrap()
    };
    let (cheap, dear) = (best(1.0, &[]), best(1000.0, &[]));
    assert!(dear.service.backorders < cheap.service.backorders && dear.point > cheap.point);
    let broken = best(1.0, &[PriceBreak { from: 12, price_cents: 8000 }]);
    assert_eq!((broken.quantity, broken.price_cents), (12, 8000));
    assert!(cheap.quantity < 12);
}

/// Each quantity and the lowest point that keeps the target are tried, and the cheapest taken.
#[test]
fn kept_lots_are_the_cheapest_that_are_ordered_in_time() {
    let demand = Pmf::negative_binomial(3.0, 6.0).unwrap();
    let cover = ToCover::one_by_one(demand.clone());
    let breaks = [PriceBreak { from: 18, price_cents: 85 }];
    let mut terms = terms(150.0, 100, &breaks);
    terms.limits = BuyingLimits::new(Some(4), Some(3)).unwrap();
    for (measure, value) in
        [(Measure::NoStockOut, 0.9), (Measure::FillRate, 0.9), (Measure::Backorders, 2.5)]
    {
        let target = Target::new(measure, value).unwrap();
        let best = best_lots(&cover, 12.0, &terms, LotAim::Keep(target)).unwrap();
        let mut cheapest = (f64::INFINITY, 0, 0);
        for quantity in (6..400u64).step_by(3) {
            // Stock at a random moment: any position of the lot, less what is asked for.
            let figures = |point: i64| {
                let (mut on_hand, mut owed, mut served) = (0.0, 0.0, 0.0);
                for position in point + 1..=point + quantity as i64 {
                    for (asked, chance) in demand.weights().iter().enumerate() {
                        let net = (position - asked as i64) as f64;
                        on_hand += chance * net.max(0.0) / quantity as f64;
                        owed += chance * (-net).max(0.0) / quantity as f64;
                        served += chance * f64::from(net > 0.0) / quantity as f64;
                    }
                }
                let within = (0..=point.max(-1)).map(|k| demand.at(k as u64)).sum::<f64>();
                (on_hand, owed, served, within)
            };
            let met = |point: i64| match (measure, figures(point)) {
                (Measure::NoStockOut, (.., within)) => within >= value,
                (Measure::FillRate, (_, _, served, _)) => served >= value,
                (_, (_, owed, ..)) => owed <= value,
            };
            let point = (0..).find(|point| met(*point)).unwrap();
            let price = if quantity >= 18 { 85.0 } else { 100.0 };
            let shelf = 0.2 * price * figures(point).0;
            let cost = 12.0 * price + 150.0 * 12.0 / quantity as f64 + shelf;
            if cost < cheapest.0 {
                cheapest = (cost, quantity, point);
            }
        }
        assert_eq!((best.quantity, best.point), (cheapest.1, cheapest.2), "{measure:?}");
        assert!((best.cost_cents_a_y / cheapest.0 - 1.0).abs() < 1e-9, "{measure:?}");
    }
}

#[test]
fn a_lot_names_what_makes_it() {
    let cover = lead(2.0);
    let target = Target::new(Measure::NoStockOut, 0.95).unwrap();
    let bounds = |terms: &LotTerms| {
        let quantity = best_lots(&cover, 24.0, terms, LotAim::Keep(target)).unwrap().quantity;
        (quantity, lot_bounds(&cover, 24.0, terms, LotAim::Keep(target)).unwrap())
    };
    // Harris: sqrt(2 · 200 · 24 / 20) = 21.9.
    let plain = terms(200.0, 100, &[]);
    assert_eq!(bounds(&plain), (22, vec![]));
    let broken = terms(200.0, 100, &[PriceBreak { from: 60, price_cents: 70 }]);
    let reached = LimitedBy::PriceBreak { from: 60, price_cents: 70 };
    assert_eq!(bounds(&broken), (60, vec![LotBound { by: reached, without: 22 }]));
    // A break that the lot would pass anyway draws nothing.
    let passed = terms(200.0, 100, &[PriceBreak { from: 10, price_cents: 95 }]);
    assert_eq!(bounds(&passed).1, vec![]);
    let limited =
        |min, pack| LotTerms { limits: BuyingLimits::new(min, pack).unwrap(), ..plain.clone() };
    let pack = LotBound { by: LimitedBy::PackSize(25), without: 22 };
    assert_eq!(bounds(&limited(Some(2), Some(25))), (25, vec![pack]));
    let least = LotBound { by: LimitedBy::MinOrder(40), without: 22 };
    assert_eq!(bounds(&limited(Some(40), None)), (40, vec![least]));
    let limits = BuyingLimits::none().with_shelf_life(9);
    let short = LotBound { by: LimitedBy::ShelfLife(9), without: 22 };
    assert_eq!(bounds(&LotTerms { limits, ..plain }), (9, vec![short]));
}

#[test]
fn lots_that_cannot_be_are_refused() {
    let cover = lead(2.0);
    let aim = LotAim::Meet(Target::new(Measure::FillRate, 0.95).unwrap());
    for (order, holding, demand) in
        [(0.0, 20.0, 8.0), (9.0, f64::NAN, 8.0), (9.0, 20.0, -1.0), (9.0, 20.0, f64::INFINITY)]
    {
        let terms = LotTerms { holding_pct_a: holding, ..terms(order, 100, &[]) };
        let refusal = best_lots(&cover, demand, &terms, aim).unwrap_err().to_string();
        assert!(refusal.contains("above zero"), "{refusal}");
    }
    let missing = LotAim::MissingCents { an_hour: 0.0 };
    assert!(best_lots(&cover, 8.0, &terms(9.0, 100, &[]), missing).is_err());
    let limits = BuyingLimits::new(None, Some(50)).unwrap().with_shelf_life(20);
    let refusal = best_lots(&cover, 8.0, &LotTerms { limits, ..terms(9.0, 100, &[]) }, aim);
    assert!(matches!(
        refusal,
        Err(LevelRefusal::Prices(PriceRefusal::NoLot { least: 50, most: 0 }))
    ));
}

proptest! {
    #[test]
    fn nothing_that_may_be_bought_is_cheaper(
        mean in 0.05..12.0f64,
        spread in 1.0..4.0f64,
        order in 10.0..20_000.0f64,
        pack in 1u64..5,
        least in 1u64..8,
        break_from in 2u64..30,
        lower in 50i64..100,
        fill_rate in 0.3..0.999f64,
        owed in 0.01..2.0f64,
    ) {
        let cover = ToCover::one_by_one(Pmf::negative_binomial(mean, mean * spread).unwrap());
        let mut terms = terms(order, 100, &[PriceBreak { from: break_from, price_cents: lower }]);
        terms.limits = BuyingLimits::new(Some(least), Some(pack)).unwrap();
        let lots = Lots::of(&cover);
        for target in [
            Target::new(Measure::FillRate, fill_rate).unwrap(),
            Target::new(Measure::NoStockOut, fill_rate).unwrap(),
            Target::new(Measure::Backorders, owed).unwrap(),
        ] {
            let best = best_lots(&cover, mean * 4.0, &terms, LotAim::Meet(target)).unwrap();
            prop_assert!(target.met_by(&best.service));
            prop_assert!(best.quantity >= least && best.quantity.is_multiple_of(pack));
            for quantity in (1..=2 * best.quantity + 40).filter(|q| *q >= least && q % pack == 0) {
                let point = lots.point_for(quantity, target);
                let service = lots.service(point, quantity);
                prop_assert!(
                    point == -(quantity as i64) || !target.met_by(&lots.service(point - 1, quantity))
                );
                let price = terms.prices.at(quantity) as f64;
                let cost = price * mean * 4.0
                    + order * mean * 4.0 / quantity as f64
                    + 0.2 * price * service.on_hand;
                prop_assert!(cost >= best.cost_cents_a_y * (1.0 - 1e-9), "{quantity} {best:?}");
            }
        }
    }
}
