use super::super::{DemandRefusal, Pattern, demand_measures};
use super::*;

fn history(demands: &[f64]) -> History {
    History::new(demands.to_vec()).unwrap()
}

/// Draws that are the same in every run (xorshift).
struct Draws(u64);

impl Draws {
    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn poisson(&mut self, mean: f64) -> f64 {
        let limit = (-mean).exp();
        let (mut product, mut count) = (self.next(), 0.0);
        while product > limit {
            product *= self.next();
            count += 1.0;
        }
        count
    }
}

/// Items that ask for single pieces at rates of their own.
fn plant(items: usize, months: usize, seed: u64) -> Vec<History> {
    let mut draws = Draws(seed);
    (0..items)
        .map(|_| {
            let rate = 0.1 + 1.5 * draws.next() * draws.next();
            history(&(0..months).map(|_| draws.poisson(rate)).collect::<Vec<f64>>())
        })
        .collect()
}

#[test]
fn the_interval_counts_from_the_start_and_ends_with_the_last_demand() {
    // By hand: intervals 3, 2, 3 and sizes 5, 3, 4. Months over demands would give 10/3, leaving
    // the first interval out 5/2, and the variance of a population 1/24.
    let (adi, cv2) = demand_measures(&[0.0, 0.0, 5.0, 0.0, 3.0, 0.0, 0.0, 4.0, 0.0, 0.0]).unwrap();
    assert_eq!((adi, cv2), (8.0 / 3.0, 1.0 / 16.0));
}

#[test]
fn each_method_starts_as_stated() {
    let demands = [0.0, 0.0, 4.0, 0.0, 2.0, 0.0];
    let level = |method| month_by(method, &history(&demands));
    let near = |got: f64, by_hand: f64| assert!((got - by_hand).abs() < 1e-12, "{got} {by_hand}");
    // Size 4, then 3.8; interval 3 (not 1, not the mean of both), then 2.9.
    near(level(Method::Croston), 3.8 / 2.9);
    near(level(Method::Sba), 0.95 * 3.8 / 2.9);
    near(level(Method::Sbj), (1.0 - 0.1 / 1.9) * 3.8 / 2.9);
    // The chance of demand starts with the first month, in which nothing was asked for.
    let chance = (0.1 * 0.9 * 0.9 + 0.1) * 0.9;
    near(level(Method::Tsb), 3.8 * chance);
    near(level(Method::TsbQuick), 3.6 * chance);
    near(level(Method::Smoothing), (0.4 * 0.9 * 0.9 + 0.2) * 0.9);
    near(level(Method::Average3), 2.0 / 3.0);
    near(level(Method::Average12), 1.0);
    near(level(Method::Naive), 0.0);
    // All factors do as well on two values: the middle of the range from 0.1 to 0.3.
    near(level(Method::CrostonOptimised), 3.6 / 2.8);
}

#[test]
fn nothing_and_sudden_ends_of_a_search_have_an_answer() {
    let flat = history(&[7.0; 30]);
    for method in Method::ALL {
        let month = month_by(method, &flat);
        let wanted = match method {
            Method::Zero => 0.0,
            Method::Sba => 7.0 * 0.95,
            Method::Sbj => 7.0 * (1.0 - 0.1 / 1.9),
            _ => 7.0,
        };
        assert!((month - wanted).abs() < 1e-9, "{method:?} {month}");
        assert_eq!(month_by(method, &history(&[0.0; 9])), 0.0, "{method:?}");
    }
}

#[test]
fn what_is_no_history_is_refused() {
    assert_eq!(History::new(vec![]), Err(HistoryRefusal::Empty));
    for odd in [-1.0, f64::NAN, f64::INFINITY, 2e6] {
        let refusal = History::new(vec![1.0, odd]).unwrap_err();
        assert!(matches!(refusal, HistoryRefusal::Demand { period: 2, .. }), "{refusal}");
        assert!(refusal.to_string().contains("period 2"), "{refusal}");
    }
    assert_eq!(History::new(vec![0.0; 1201]), Err(HistoryRefusal::Long(1201)));
    let one = [history(&[1.0])];
    for (months, refusal) in [(0, RulesRefusal::Horizon(0)), (121, RulesRefusal::Horizon(121))] {
        assert_eq!(outlooks(&one, &ForecastRules::over(months)), Err(refusal));
    }
    let rules = ForecastRules { methods: vec![], ..ForecastRules::over(6) };
    assert_eq!(outlooks(&one, &rules), Err(RulesRefusal::Methods));
    assert_eq!(outlooks(&[], &ForecastRules::over(6)), Ok(vec![]));
}

#[test]
fn thin_histories_have_an_outlook_and_say_what_it_rests_on() {
    let rules = ForecastRules::over(6);
    let alone = |demands: &[f64]| outlooks(&[history(demands)], &rules).unwrap().remove(0);
    // Half a demand in as long as nothing was asked for: 24 months, so 0.125 in six.
    let never = alone(&[0.0; 24]);
    assert!(never.measures.is_none() && never.reason().contains("Nothing was ever asked for"));
    let six = never.over(6.0).unwrap();
    assert!((0.01..0.3).contains(&six.mean()), "{}", six.mean());
    assert!(six.at(0) > 0.8 && never.over(0.0).unwrap().at(0) == 1.0);
    // Shorter than the horizon, and than the season: no test, and it says so.
    for demands in [&[2.0][..], &[0.0, 3.0, 0.0], &[1.0, 0.0, 2.0, 1.0, 0.0, 1.0, 1.0]] {
        let short = alone(demands);
        assert_eq!(short.tests, 0);
        assert!(short.reason().contains("too short"), "{}", short.reason());
        let mean = short.over(6.0).unwrap().mean();
        let plain = 6.0 * demands.iter().sum::<f64>() / demands.len() as f64;
        assert!((0.3 * plain..2.0 * plain).contains(&mean), "{mean} beside {plain}");
    }
    // One demand long ago is neither forgotten nor expected again at once.
    let mut once = vec![0.0; 40];
    once[3] = 5.0;
    let mean = alone(&once).over(6.0).unwrap().mean();
    assert!((0.02..1.5).contains(&mean), "{mean}");
}

#[test]
fn times_ahead_that_cannot_be_are_refused() {
    let outlook = outlooks(&plant(1, 40, 9), &ForecastRules::over(6)).unwrap().remove(0);
    for months in [-1.0, f64::NAN, 1201.0] {
        assert!(matches!(outlook.over(months), Err(DemandRefusal::Months(_))), "{months}");
    }
    let large = outlooks(&[history(&[9e5; 30])], &ForecastRules::over(6)).unwrap().remove(0);
    assert!(matches!(large.over(60.0), Err(DemandRefusal::Mean(_))));
}

#[test]
fn a_person_may_choose_with_a_reason() {
    let outlook = outlooks(&plant(1, 40, 5), &ForecastRules::over(6)).unwrap().remove(0);
    assert_eq!(outlook.by(Method::Sba, "  "), Err(ChoiceRefusal::NoReason));
    let chosen = outlook.by(Method::Zero, "the pump was taken out").unwrap();
    assert_eq!(chosen.over(6.0).unwrap().at(0), 1.0);
    assert!(chosen.reason().contains("because the pump was taken out."), "{}", chosen.reason());
    let chosen = outlook.by(Method::HistoricAverage, "steady work").unwrap();
    let whole = &plant(1, 40, 5)[0];
    let mean = chosen.over(6.0).unwrap().mean();
    assert!((mean - 6.0 * month_by(Method::HistoricAverage, whole)).abs() < 1e-6, "{mean}");
}

#[test]
fn weights_sum_to_one_and_follow_the_tests() {
    // Demand ends after two years: what goes by the whole past must not weigh much.
    let mut draws = Draws(77);
    let ended: Vec<History> = (0..40)
        .map(|_| {
            let demands = (0..48).map(|month| if month < 24 { draws.poisson(3.0) } else { 0.0 });
            history(&demands.collect::<Vec<f64>>())
        })
        .collect();
    for outlook in outlooks(&ended, &ForecastRules::over(6)).unwrap() {
        let whole: f64 = outlook.methods.iter().map(|tested| tested.weight).sum();
        assert!((whole - 1.0).abs() < 1e-9);
        let weight =
            |method| outlook.methods.iter().find(|tested| tested.method == method).unwrap().weight;
        assert!(weight(Method::HistoricAverage) < 0.05);
        assert!(outlook.over(6.0).unwrap().mean() < 1.0);
        assert!(outlook.methods.windows(2).all(|pair| pair[0].weight >= pair[1].weight));
    }
}

#[test]
fn months_to_come_are_not_looked_at() {
    let whole = plant(60, 60, 3);
    let cut: Vec<History> = whole.iter().map(|whole| history(&whole.demands()[..40])).collect();
    let question = |origins: Vec<usize>| Question {
        origins,
        rules: ForecastRules::over(6),
        methods: vec![None],
        chances: vec![0.9],
    };
    let with_future = judge(&whole, &question(vec![34])).unwrap();
    let without = judge(&cut, &question(vec![34])).unwrap();
    assert_eq!(with_future, without);
    assert_eq!(judge(&cut, &question(vec![34, 50])).unwrap().left_out, 60);
}

#[test]
fn stated_chances_turn_out_on_items_of_a_known_kind() {
    // Own figures: 400 items of Poisson demand at rates of their own, 1,200 forecasts; two points
    // is what the project promises, and twice the deviation of 1,200 draws at 0.9.
    let judgement = judge(
        &plant(400, 60, 11),
        &Question {
            origins: vec![36, 45, 54],
            rules: ForecastRules::over(6),
            methods: vec![None, Some(Method::Zero), Some(Method::Naive), Some(Method::Smoothing)],
            chances: vec![0.5, 0.8, 0.9, 0.95],
        },
    )
    .unwrap();
    for at in &judgement.judged[0].at {
        assert!((at.covered_wide - at.stated).abs() < 0.02, "{at:?}");
        assert!(at.stated >= at.chance, "{at:?}");
    }
    for tenth in judgement.tenths.unwrap() {
        assert!((tenth - 0.1).abs() < 0.025, "{tenth}");
    }
    // The mean absolute error likes to foresee nothing; what counts does not.
    let [blend, zero, naive, smoothing] = &judgement.judged[..] else { panic!() };
    assert!(zero.absolute < smoothing.absolute && zero.mase < smoothing.mase);
    assert!(blend.root_square < zero.root_square && blend.root_square < naive.root_square);
    for other in [zero, naive, smoothing] {
        assert!(
            blend.at[2].pinball_wide < other.at[2].pinball_poisson.min(other.at[2].pinball_wide)
        );
    }
}

#[test]
fn a_season_is_found() {
    let mut draws = Draws(21);
    let seasonal: Vec<History> = (0..30)
        .map(|_| {
            let demands =
                (0..60).map(|month| draws.poisson(if month % 12 < 3 { 30.0 } else { 4.0 }));
            history(&demands.collect::<Vec<f64>>())
        })
        .collect();
    // The next three months are the strong ones: 90 pieces; without a season some 32.
    for outlook in outlooks(&seasonal, &ForecastRules::over(3)).unwrap() {
        let mean = outlook.over(3.0).unwrap().mean();
        assert!((50.0..110.0).contains(&mean), "{mean}");
        assert_eq!(outlook.methods[0].method, Method::Season);
    }
}

#[test]
fn errors_and_quantiles_cost_as_defined() {
    // Hyndman and Koehler 2006 and the quantile loss, by hand.
    let past = [2.0, 0.0, 0.0, 3.0, 0.0, 1.0, 0.0, 0.0];
    let came = [0.0, 2.0, 0.0, 1.0];
    let (absolute, squared) = error_scales(&past).unwrap();
    let off = errors(0.75, &came);
    assert!((absolute - 10.0 / 7.0).abs() < 1e-12);
    assert!((off.absolute / absolute - 0.525).abs() < 1e-12);
    assert!(((off.squared / squared).sqrt() - 0.4477955262542641).abs() < 1e-12);
    assert_eq!((off.mean, off.of_total), (0.0, 0.0));
    assert_eq!(error_scales(&[3.0]), None);
    assert_eq!(error_scales(&[3.0, 3.0]), None);
    assert_eq!((pinball(0.9, 2.0, 4.0), pinball(0.75, 2.0, 0.0)), (1.8, 0.5));
}

#[test]
fn patterns_have_a_title() {
    assert_eq!(Pattern::Lumpy.title(), "Lumpy");
    assert_eq!(
        Method::ALL.len(),
        Method::ALL.map(Method::title).iter().collect::<std::collections::BTreeSet<_>>().len()
    );
}

#[test]
fn items_that_are_alike_are_foreseen_alike_though_their_pasts_differ() {
    let mut draws = Draws(21);
    let mut item = || history(&(0..36).map(|_| draws.poisson(0.7)).collect::<Vec<f64>>());
    let alike: Vec<History> = (0..200).map(|_| item()).collect();
    let spread = |means: Vec<f64>| {
        let mean = means.iter().sum::<f64>() / 200.0;
        (mean, (means.iter().map(|one| (one - mean).powi(2)).sum::<f64>() / 200.0).sqrt())
    };
    let outlooks = outlooks(&alike, &ForecastRules::over(6)).unwrap();
    let blend = spread(outlooks.iter().map(|item| item.over(6.0).unwrap().mean()).collect());
    // The mean of all months is the best that one item can say of itself: 0.7 a month in 36 is off
    // by sqrt(0.7 / 36) a month, 0.84 in six. Only the others show that items are closer together.
    let average = |item: &History| 6.0 * month_by(Method::HistoricAverage, item);
    let (_, of_average) = spread(alike.iter().map(average).collect());
    assert!((of_average - 0.84).abs() < 0.1, "{of_average}");
    assert!(blend.1 < of_average, "{blend:?} {of_average}");
    assert!((blend.0 - 4.2).abs() < 0.4, "{blend:?}");
}

#[test]
fn the_least_root_lies_at_nothing_where_mostly_nothing_comes_and_at_the_mean_where_it_is_certain() {
    assert_eq!(least_root(&[0.8, 0.1, 0.1], 6.0, 1.0), 0.0);
    let certain = least_root(&[0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0], 6.0, 1.0);
    assert!((certain - 1.0).abs() < 1e-12, "{certain}");
    // By hand: nothing or two demands of one piece in two months, equally likely. A month of f is off
    // by f where nothing comes, and by 1 - f where one comes in each: all from 0 to 1/2 do as well.
    let even = least_root(&[0.5, 0.0, 0.5], 2.0, 1.0);
    assert!((0.0..=0.5).contains(&even), "{even}");
}

/// Parts carried up side by side, against each part's own distribution.
#[test]
fn a_mixture_is_the_sum_of_its_parts() {
    let methods = Method::ALL.to_vec();
    let kinds = parts::kinds(&methods);
    let weights = vec![1.0 / kinds.len() as f64; kinds.len()];
    for demands in [
        vec![0.0, 1.0, 0.0, 0.0, 2.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0],
        vec![0.0, 0.0, 40.0, 0.0, 0.0, 0.0, 0.0, 120.0, 0.0, 0.0, 0.0, 3.0],
        vec![900.0, 850.0, 1020.0, 700.0, 990.0, 940.0, 1100.0, 880.0, 905.0, 930.0, 870.0, 910.0],
    ] {
        let states = states::states(&demands, &[demands.len()], 12);
        let kin = states::kin(&[states[0].seen]);
        let ahead = states[0].foresee(&kin, &ahead::Months::of(6.0));
        let parts = mixture::heavy(&kinds, &weights, 0.0);
        let list = mixture::Mixture::of(&ahead, &parts).list();
        let apart = |pieces| -> (f64, f64) {
            let each = kinds.iter().map(|kind| ahead.spread(kind).chances(pieces));
            let (at, upto) = each.fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
            (at / kinds.len() as f64, upto / kinds.len() as f64)
        };
        let mut upto = 0.0;
        for (pieces, listed) in list.iter().enumerate() {
            upto += listed;
            if pieces > 60 && pieces % 97 > 0 {
                continue;
            }
            let (at, below) = apart(pieces as u64);
            assert!((listed - at).abs() < 1e-9, "{pieces}: {listed} {at}");
            assert!((upto - below).abs() < 1e-8, "{pieces}: {upto} {below}");
            let mut mixture = mixture::Mixture::default();
            let (alone, alone_upto) = mixture.chances(&ahead, &parts, pieces as u64);
            assert!((alone - at).abs() < 1e-9 && (alone_upto - below).abs() < 1e-9, "{pieces}");
        }
        assert!((upto - 1.0).abs() < 1e-6, "{upto}");
    }
}

/// The searches of all moments together, against each by itself.
#[test]
fn factors_of_all_moments_are_those_of_each() {
    let mut draws = Draws(5);
    for _ in 0..50 {
        let demands: Vec<f64> = (0..40).map(|_| draws.poisson(0.8)).collect();
        let ends: Vec<usize> = vec![9, 12, 15, 20, 33, 40];
        let mut together = smoothing::Smoother::default();
        let levels = together.best(&demands, &ends, smoothing::WIDE).to_vec();
        for (end, level) in ends.iter().zip(levels) {
            let mut alone = smoothing::Smoother::default();
            assert_eq!(alone.best(&demands[..*end], &[*end], smoothing::WIDE), [level]);
        }
    }
}

#[test]
fn exponentials_side_by_side_are_those_of_the_standard_library() {
    let powers: Vec<f64> = (-70_000..=70_000).map(|n| f64::from(n) * 0.01).collect();
    let mut found = powers.clone();
    exponential::exponentials(&mut found);
    for (power, found) in powers.iter().zip(found) {
        let off = (found / power.exp() - 1.0).abs();
        assert!(off <= 2.0 * f64::EPSILON, "{power}: {off}");
    }
    let mut beyond = [f64::MIN, -701.0, 701.0, f64::MAX, 0.0];
    exponential::exponentials(&mut beyond);
    let last = 700_f64.exp();
    for (found, wanted) in beyond.into_iter().zip([1.0 / last, 1.0 / last, last, last, 1.0]) {
        assert!((found / wanted - 1.0).abs() < 1e-12, "{found} {wanted}");
    }
}
