use super::knapsack::{Thing, pack};
use super::*;
use crate::spares::draw::Draw;
use proptest::prelude::*;

fn model(mean: f64, price_cents: u64) -> Buyable {
    let demand = Pmf::poisson(mean).unwrap();
    Buyable {
        price_cents,
        held: 0,
        stand_ins: 0,
        lent: 0,
        demand,
        places: 10,
        missing_cents_h: 100.0,
    }
}

/// SP-MA-02, prices in cents.
fn reference() -> Vec<Buyable> {
    let models = [
        (2.333, 195_000),
        (2.583, 135_000),
        (2.107, 65_000),
        (2.928, 35_000),
        (2.295, 215_000),
        (0.428, 235_000),
    ];
    models.map(|(mean, price)| model(mean, price)).to_vec()
}

#[test]
fn between_the_stops_of_the_curve_greed_is_not_best() {
    // SP-MA-02: optimum by HiGHS through scipy.optimize.milp; greedy by marginal analysis.
    for (budget, stock, owed, by_greed, proof) in [
        (330_750, [0, 0, 2, 5, 0, 0], 8.367171844478916, 8.53995898371338, Proof::Search),
        (1_110_750, [1, 2, 3, 6, 1, 0], 4.4820772500454655, 4.558911098691011, Proof::Search),
        (1_950_750, [3, 3, 4, 7, 2, 0], 2.0547233006798034, 2.084731943517958, Proof::Search),
        (640_000, [0, 2, 3, 5, 0, 0], 6.361145408181083, 6.361145408181083, Proof::Vertex),
    ] {
        let found = best_for_budget(&reference(), Aim::Backorders, budget, USUAL_EFFORT).unwrap();
        assert_eq!((found.best.buy.as_slice(), found.proof), (stock.as_slice(), proof));
        assert!((found.best.after.backorders - owed).abs() < 1e-9, "{found:?}");
        assert!((found.greedy.after.backorders - by_greed).abs() < 1e-9, "{found:?}");
        assert!((found.bound - owed).abs() < 1e-9, "{found:?}");
    }
}

#[test]
fn an_effort_too_small_leaves_a_gap_that_holds_the_best() {
    let mut draws = Draw::of(7);
    let models: Vec<Buyable> = (0..200)
        .map(|_| model(0.2 + 3.0 * draws.share(), 10_000 + (90_000.0 * draws.share()) as u64))
        .collect();
    let whole = best_for_budget(&models, Aim::Backorders, 5_000_003, USUAL_EFFORT).unwrap();
    assert_eq!(whole.proof, Proof::Search);
    let short = best_for_budget(&models, Aim::Backorders, 5_000_003, 0).unwrap();
    assert_eq!(short.proof, Proof::Gap);
    let owed = whole.best.after.backorders;
    assert!(short.bound <= owed && owed <= short.best.after.backorders, "{}", short.bound);
    assert!(short.best.after.backorders <= short.greedy.after.backorders);
    assert!(short.best.after.backorders - short.bound < 0.01 * owed);
}

#[test]
fn prices_of_a_few_kinds_do_not_make_the_search_endless() {
    let mut draws = Draw::of(3);
    let models: Vec<Buyable> = (0..1_000)
        .map(|_| model(3.0 * draws.share(), 2_500 * (1 + (40.0 * draws.share()) as u64)))
        .collect();
    for budget in [10_001_234, 33_333_333, 70_000_001] {
        let found = best_for_budget(&models, Aim::Backorders, budget, USUAL_EFFORT).unwrap();
        assert_ne!(found.proof, Proof::Gap, "{budget}");
        assert!(found.best.after.spent_cents <= budget as u64);
    }
}

#[test]
fn many_pieces_that_save_all_but_the_same_have_an_order() {
    let mut draws = Draw::of(11);
    let models: Vec<Buyable> = (0..3_000)
        .map(|_| {
            let price_cents = 1_000 + (1_000.0 * draws.share()) as u64;
            Buyable { missing_cents_h: price_cents as f64, ..model(0.5, price_cents) }
        })
        .collect();
    let curve = money_curve(&models, Aim::MissingCost, usize::MAX, None).unwrap();
    let falls = |pair: &[CurveStep]| pair[1].saves_per_cent <= pair[0].saves_per_cent;
    assert!(curve.steps.windows(2).all(falls));
    let found = best_for_budget(&models, Aim::MissingCost, 1_000_123, USUAL_EFFORT).unwrap();
    assert!(found.bound <= found.best.after.missing_cents_h);
}

#[test]
fn the_curve_starts_from_what_is_held_and_ends_at_the_budget() {
    let mut models = reference();
    models[3].held = 3;
    let curve = money_curve(&models, Aim::Backorders, 5, None).unwrap();
    assert_eq!((curve.steps.len(), curve.more), (5, true));
    assert_eq!(curve.start.spent_cents, 0);
    assert!(curve.start.backorders < 12.674);
    let end = curve.steps[4].after;
    let stocks = models.iter().enumerate().map(|(number, it)| {
        let bought = curve.steps.iter().filter(|step| step.model == number).count() as u64;
        (it, it.held + bought)
    });
    let plainly = MoneyPoint::of(stocks, end.spent_cents);
    assert!((plainly.backorders - end.backorders).abs() < 1e-12);
    assert!((plainly.missing_cents_h - end.missing_cents_h).abs() < 1e-9);
    assert!((end.availability - (1.0 - end.backorders / 60.0)).abs() < 1e-12);
    let short = money_curve(&models, Aim::Backorders, 100, Some(200_000)).unwrap();
    assert!(short.steps.iter().all(|step| step.after.spent_cents <= 200_000));
    let all = money_curve(&models, Aim::Backorders, usize::MAX, None).unwrap();
    assert!(!all.more && all.steps.last().unwrap().after.backorders < 1e-9);
    let nothing = money_curve(&[], Aim::MissingCost, 5, Some(0)).unwrap();
    assert_eq!((nothing.steps.len(), nothing.start.availability), (0, 1.0));
}

#[test]
fn what_is_missed_most_is_bought_first_by_its_cost() {
    let mut models = vec![model(1.0, 1_000), model(1.0, 1_000)];
    models[1].missing_cents_h = 5_000.0;
    let curve = money_curve(&models, Aim::MissingCost, 2, None).unwrap();
    assert!(curve.steps.iter().all(|step| step.model == 1), "{curve:?}");
    models[0].missing_cents_h = 0.0;
    let all = money_curve(&models, Aim::MissingCost, 1_000, None).unwrap();
    assert!(all.steps.iter().all(|step| step.model == 1), "what costs nothing is not bought");
}

#[test]
fn the_worth_of_a_stock_is_what_the_cheapest_equal_one_costs() {
    let mut models = reference();
    // A stop of the curve from nothing: it is its own cheapest equal.
    for (model, held) in models.iter_mut().zip([0, 2, 3, 5, 0, 0]) {
        model.held = held;
    }
    let worth = worth_of_stock(&models, Aim::Backorders, USUAL_EFFORT).unwrap();
    assert_eq!((worth.with.spent_cents, worth.idle_cents), (640_000, 0));
    assert_eq!(worth.cheapest.best.after.spent_cents, 640_000);
    assert_eq!(worth.ratio, Some(1.0));
    assert!((worth.without.backorders - 12.674).abs() < 1e-9);
    // Forty of the dearest do less than the same money could.
    models[5].held = 40;
    let worth = worth_of_stock(&models, Aim::Backorders, USUAL_EFFORT).unwrap();
    assert!(worth.ratio.unwrap() > 5.0, "{worth:?}");
    assert!(worth.idle_cents > 20 * 235_000);
    assert!(worth.cheapest.best.after.backorders <= worth.with.backorders * (1.0 + 1e-12));
    // Pieces that count for another model are in its figures, and their money is in their own.
    let mut models = vec![model(0.8, 300), model(0.5, 100)];
    (models[0].held, models[1].held) = (3, 0);
    let apart = worth_of_stock(&models, Aim::Backorders, USUAL_EFFORT).unwrap();
    (models[0].held, models[0].lent) = (2, 1);
    (models[1].held, models[1].stand_ins) = (1, 1);
    let lent = worth_of_stock(&models, Aim::Backorders, USUAL_EFFORT).unwrap();
    assert_eq!((apart.with.spent_cents, lent.with.spent_cents), (900, 900));
    assert_eq!((apart.idle_cents, lent.idle_cents), (0, 0));
    assert!(lent.with.backorders < apart.with.backorders);
    assert_eq!(lent.cheapest.best.after.spent_cents, 2 * 300 + 100);
    let none: Vec<Buyable> = reference();
    let worth = worth_of_stock(&none, Aim::Backorders, USUAL_EFFORT).unwrap();
    assert_eq!((worth.ratio, worth.cheapest.best.after.spent_cents), (None, 0));
}

#[test]
fn what_makes_no_sense_is_refused() {
    let refused = |models: &[Buyable], budget: i64| {
        best_for_budget(models, Aim::Backorders, budget, USUAL_EFFORT).unwrap_err().to_string()
    };
    assert!(refused(&reference(), -1).contains("budget is -1"));
    for price in [0, DEAREST_CENTS + 1] {
        assert!(refused(&[model(1.0, price)], 5).contains("model 0 has a price"));
    }
    for cents_h in [-1.0, f64::NAN, f64::INFINITY] {
        let mut bad = model(1.0, 5);
        bad.missing_cents_h = cents_h;
        assert!(refused(&[bad], 5).contains("missing unit of model 0"));
    }
    for wanted in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let least = least_money(&reference(), Aim::Backorders, wanted, USUAL_EFFORT);
        assert!(matches!(least, Err(MoneyRefusal::Wanted(_))), "{wanted}");
    }
    assert!(money_curve(&reference(), Aim::Backorders, 5, Some(-5)).is_err());
    let most = best_for_budget(&reference(), Aim::Backorders, i64::MAX, USUAL_EFFORT).unwrap();
    assert_eq!(most.proof, Proof::Vertex);
    let all_dear = vec![model(50.0, DEAREST_CENTS); 20];
    let dear = best_for_budget(&all_dear, Aim::Backorders, i64::MAX, USUAL_EFFORT).unwrap();
    assert_eq!(dear.proof, Proof::Vertex);
}

#[test]
fn pieces_that_will_hardly_be_used_are_surplus() {
    let stock = ShelfStock {
        held: 9,
        kept: 0,
        price_cents: 250,
        demand: Pmf::poisson(3.0).unwrap(),
        installed: 12,
        idle_y: Some(0.5),
        recorded_y: 8.0,
    };
    // Poisson of mean 3: P(X >= 6) = 0.0839, P(X >= 7) = 0.0335, P(X >= 9) = 0.0038.
    let found = surplus(&stock, 0.05, 3.0).unwrap();
    assert_eq!((found.pieces, found.cents, found.dead), (3, 750, None));
    assert!((found.last_is_used.unwrap() - 0.003803).abs() < 1e-6, "{found:?}");
    assert_eq!(surplus(&stock, 0.0, 3.0).unwrap().pieces, 0);
    for (kept, pieces) in [(5, 3), (6, 3), (7, 2), (9, 0), (12, 0)] {
        let found = surplus(&ShelfStock { kept, ..stock.clone() }, 0.05, 3.0).unwrap();
        assert_eq!((found.pieces, found.cents), (pieces, 250 * pieces), "{kept} kept");
    }
    let unused = ShelfStock { idle_y: Some(3.0), ..stock.clone() };
    assert_eq!(surplus(&unused, 0.05, 3.0).unwrap().dead, Some(DeadWhy::NotUsed { years: 3.0 }));
    let never = ShelfStock { idle_y: None, ..stock.clone() };
    assert_eq!(surplus(&never, 0.05, 3.0).unwrap().dead, Some(DeadWhy::NeverUsed { years: 8.0 }));
    let young = ShelfStock { idle_y: None, recorded_y: 1.0, ..stock.clone() };
    assert_eq!(surplus(&young, 0.05, 3.0).unwrap().dead, None);
    let gone = ShelfStock { installed: 0, demand: Pmf::certain(0), ..stock.clone() };
    let found = surplus(&gone, 0.05, 3.0).unwrap();
    assert_eq!((found.pieces, found.dead), (9, Some(DeadWhy::NothingInstalled)));
    let chosen = ShelfStock { kept: 2, ..gone.clone() };
    assert_eq!(surplus(&chosen, 0.05, 3.0).unwrap().pieces, 7);
    let empty = ShelfStock { held: 0, ..gone };
    assert_eq!(surplus(&empty, 0.05, 3.0).unwrap().dead, None);
    for bound in [1.0, -0.1, f64::NAN] {
        assert!(matches!(surplus(&stock, bound, 3.0), Err(MoneyRefusal::Chance(_))));
    }
    for years in [-1.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(surplus(&stock, 0.1, years), Err(MoneyRefusal::Years(_))));
    }
}

/// Tries every purchase within a budget.
fn exhaustive(models: &[Buyable], aim: Aim, budget: u64) -> f64 {
    fn each(models: &[Buyable], aim: Aim, left: u64) -> f64 {
        let Some((model, others)) = models.split_first() else { return 0.0 };
        (0..=left / model.price_cents)
            .map(|buy| {
                let owed = model.demand.expected_above(model.held + buy) * model.weight(aim);
                owed + each(others, aim, left - buy * model.price_cents)
            })
            .fold(f64::INFINITY, f64::min)
    }
    each(models, aim, budget)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_packing_and_its_bound_enclose_the_best(
        made in prop::collection::vec((1u64..40, 0u64..60), 0..12),
        capacity in 0u64..200,
        effort in 0u64..60,
    ) {
        let things: Vec<Thing> =
            made.iter().map(|(weight, profit)| Thing { weight: *weight, profit: *profit }).collect();
        let mut best = 0;
        for chosen in 0u32..1 << things.len() {
            let packed = things.iter().enumerate().filter(|(at, _)| (chosen >> at) & 1 == 1);
            let (weight, profit) =
                packed.fold((0, 0), |sum, (_, it)| (sum.0 + it.weight, sum.1 + it.profit));
            if weight <= capacity {
                best = best.max(profit);
            }
        }
        let found = pack(&things, capacity, USUAL_EFFORT);
        prop_assert_eq!((found.profit, found.bound), (best, best));
        let short = pack(&things, capacity, effort);
        prop_assert!(short.profit <= best && best <= short.bound, "{best} {short:?}");
        for found in [found, short] {
            let packed = || things.iter().zip(&found.packed).filter(|(_, in_it)| **in_it);
            prop_assert!(packed().map(|(it, _)| it.weight).sum::<u64>() <= capacity);
            prop_assert_eq!(packed().map(|(it, _)| it.profit).sum::<u64>(), found.profit);
            prop_assert!(found.greedy_profit <= found.profit);
        }
    }

    #[test]
    fn no_purchase_within_the_budget_is_better(
        made in prop::collection::vec((0.05..3.0f64, 7u64..60, 0u64..3, 0.0..50.0f64), 1..5),
        budget in 0u64..150,
    ) {
        let models: Vec<Buyable> = made
            .iter()
            .map(|(mean, price, held, cents_h)| {
                Buyable { held: *held, missing_cents_h: *cents_h, ..model(*mean, *price) }
            })
            .collect();
        for aim in [Aim::Backorders, Aim::MissingCost] {
            let found = best_for_budget(&models, aim, budget as i64, USUAL_EFFORT).unwrap();
            let least = exhaustive(&models, aim, budget);
            prop_assert!((found.best.after.figure(aim) - least).abs() < 1e-9, "{least} {found:?}");
            prop_assert!(found.best.after.spent_cents <= budget);
            prop_assert!(found.bound <= least + 1e-9);
            prop_assert_ne!(found.proof, Proof::Gap);
            prop_assert!(found.greedy.after.figure(aim) >= least - 1e-9);
            // The way back: the least money for what was reached is no more, and no cent less does.
            let wanted = found.best.after.figure(aim);
            if wanted > 1e-9 {
                let wanted = wanted + 1e-11;
                let back = least_money(&models, aim, wanted, USUAL_EFFORT).unwrap();
                let spent = back.best.after.spent_cents;
                prop_assert!(spent <= found.best.after.spent_cents, "{back:?} {found:?}");
                prop_assert!(back.best.after.figure(aim) <= wanted + 1e-10);
                if let Some(less) = spent.checked_sub(1) {
                    prop_assert!(exhaustive(&models, aim, less) > wanted - 1e-10);
                }
            }
        }
    }
}
