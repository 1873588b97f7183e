use super::*;
use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;

fn day(number: i64) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + TimeDelta::days(number)
}

fn stay(unit: usize, from: i64, to: i64, end: StayEnd) -> Stay {
    Stay { unit, from: Some(day(from)), to: day(to), end, factor: 1.0 }
}

fn near(got: f64, wanted: f64, relative: f64) {
    assert!((got / wanted - 1.0).abs() <= relative, "{got} in place of {wanted}");
}

fn members(seen: &[(u64, f64)]) -> Vec<FamilyMember> {
    seen.iter()
        .map(|(failures, exposure)| FamilyMember { failures: *failures, exposure: *exposure })
        .collect()
}

/// Ten pumps of a power station, failures and thousand hours. Data: Gaver and O'Muircheartaigh 1987,
/// Technometrics 29:1-15, from memory.
const PUMPS: [(u64, f64); 10] = [
    (5, 94.3),
    (1, 15.7),
    (5, 62.9),
    (14, 126.0),
    (3, 5.24),
    (19, 31.4),
    (1, 1.05),
    (1, 1.05),
    (4, 2.1),
    (22, 10.5),
];

#[test]
fn a_family_is_pooled_by_the_likelihood_of_the_negative_binomial() {
    // Figures: the same likelihood climbed by scipy 1.17 (Nelder-Mead, 1e-13); the paper's own
    // method of maximum likelihood gives 0.82 and 1.26 (from memory).
    let prior = family_prior(&members(&PUMPS)).unwrap();
    near(prior.belief.shape, 0.8229650844338912, 1e-5);
    near(prior.belief.exposure, 1.2616533138600823, 1e-5);
    near(prior.log_likelihood, 95.28924720358637, 1e-10);
    assert_eq!((prior.members, prior.failures, prior.shape), (10, 75, ShapeFound::Best));

    let thin = [(0, 1.2e6), (1, 0.8e6), (0, 2.5e6), (4, 1.1e6), (2, 3e6), (0, 0.4e6), (9, 2e6)];
    let prior = family_prior(&members(&thin)).unwrap();
    near(prior.belief.shape, 0.6686613188125015, 1e-5);
    near(prior.belief.exposure, 445127.7085842291, 1e-5);
}

#[test]
fn a_family_that_cannot_be_pooled_says_why() {
    let two = members(&[(3, 10.0), (5, 20.0), (0, 0.0)]);
    assert_eq!(family_prior(&two), Err(FamilyRefusal::TooFew { members: 2 }));
    let none = members(&[(0, 10.0), (0, 20.0), (0, 5.0)]);
    assert_eq!(family_prior(&none), Err(FamilyRefusal::NoFailure));
    assert_eq!(family_prior(&[]), Err(FamilyRefusal::TooFew { members: 0 }));
    for wrong in [-1.0, f64::NAN, f64::INFINITY] {
        let seen = members(&[(1, 1.0), (1, wrong), (1, 1.0)]);
        assert!(matches!(family_prior(&seen), Err(FamilyRefusal::Exposure(_))), "{wrong}");
    }
}

#[test]
fn models_that_do_not_differ_are_worth_no_more_than_their_failures() {
    let alike = family_prior(&members(&[(4, 40.0), (2, 20.0), (3, 30.0), (1, 10.0)])).unwrap();
    assert_eq!(alike.shape, ShapeFound::HeldAtFailures);
    near(alike.belief.shape, 10.0, 1e-12);
    near(alike.belief.mean(), 0.1, 1e-6);
    let apart = family_prior(&members(&[(0, 1e9), (0, 1e9), (0, 1e9), (900, 1e3)])).unwrap();
    assert_eq!(apart.shape, ShapeFound::HeldAtLeast);
    assert_eq!(apart.belief.shape, LEAST_FAMILY_SHAPE);
}

#[test]
fn rates_are_stated_in_three_ways_that_agree() {
    near(StatedRate::Fit(850.0).fit().unwrap(), 850.0, 1e-15);
    near(StatedRate::MtbfH(250_000.0).fit().unwrap(), 4000.0, 1e-15);
    let parts = StatedRate::Parts(vec![
        PartsLine { count: 12, fit: 5.0 },
        PartsLine { count: 2, fit: 120.0 },
        PartsLine { count: 9, fit: 0.0 },
    ]);
    near(parts.fit().unwrap(), 300.0, 1e-15);
    for wrong in [0.0, -5.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(StatedRate::Fit(wrong).fit(), Err(RateRefusal::Stated(_))), "{wrong}");
        assert!(matches!(StatedRate::MtbfH(wrong).fit(), Err(RateRefusal::Mtbf(_))), "{wrong}");
    }
    assert!(matches!(StatedRate::Parts(vec![]).fit(), Err(RateRefusal::Stated(_))));
    let below = StatedRate::Parts(vec![PartsLine { count: 1, fit: -1.0 }]);
    assert_eq!(below.fit(), Err(RateRefusal::Part(-1.0)));
}

#[test]
fn heat_moves_a_rate_from_the_stated_temperature_to_the_place() {
    let heat = RateHeat::new(40.0, 0.7).unwrap();
    near(heat.factor_at(40.0).unwrap(), 1.0, 1e-12);
    // From 40 to 55 °C and not back. Own arithmetic, k = 8.617333262e-5 eV/K, 0 °C = 273.15 K.
    let by_hand = (0.7 / 8.617333262e-5 * (1.0 / 313.15 - 1.0 / 328.15f64)).exp();
    near(heat.factor_at(55.0).unwrap(), by_hand, 1e-12);
    assert!(by_hand > 3.0);
    // Half a year at 20, half at 60 °C is worse than a year at 40 °C.
    let swings = heat.factor_over([(20.0, 6.0), (60.0, 6.0)]).unwrap();
    let halves = (heat.factor_at(20.0).unwrap() + heat.factor_at(60.0).unwrap()) / 2.0;
    near(swings, halves, 1e-12);
    assert!(swings > 1.5, "{swings}");
    let warmer = heat.factor_at(30.0).unwrap() * heat.warmer(30.0, 5.0).unwrap();
    near(warmer, heat.factor_at(35.0).unwrap(), 1e-12);
    assert!(RateHeat::new(f64::NAN, 0.4).is_err() && RateHeat::new(40.0, 0.0).is_err());
    assert!(heat.factor_at(500.0).is_err() && heat.warmer(140.0, 20.0).is_err());
}

#[test]
fn hours_come_from_stays_only_and_say_what_was_left_out() {
    let mut unknown = stay(3, 0, 900, StayEnd::Failure);
    unknown.from = None;
    let mut hot = stay(1, 0, 100, StayEnd::Failure);
    hot.factor = 2.5;
    let stays = [
        hot,
        stay(1, 50, 200, StayEnd::Failure),
        stay(1, 100, 300, StayEnd::NoFaultFound),
        unknown,
        stay(2, 400, 100, StayEnd::Failure),
        stay(2, 500, 900, StayEnd::Running),
        stay(4, 10, 20, StayEnd::Other),
        Stay { factor: f64::NAN, ..stay(5, 0, 10, StayEnd::Failure) },
    ];
    let record = Record::of(&stays);
    assert_eq!((record.stays, record.units), (4, 3));
    assert_eq!((record.failures, record.no_fault_found), (1, 1));
    assert_eq!((record.running, record.other_ends), (1, 1));
    near(record.hours_h, 24.0 * (100.0 + 200.0 + 400.0 + 10.0), 1e-12);
    near(record.weighted_h, 24.0 * (250.0 + 200.0 + 400.0 + 10.0), 1e-12);
    let why: Vec<_> = record.left_out.iter().map(|out| (out.stay, out.why)).collect();
    assert_eq!(
        why,
        [
            (1, LeftOutWhy::Overlaps),
            (3, LeftOutWhy::NoStart),
            (4, LeftOutWhy::Backwards),
            (7, LeftOutWhy::Heat),
        ]
    );
    assert_eq!(Record::of(&[]), Record::default());
}

#[test]
fn a_rate_learns_from_failures_and_from_quiet_hours() {
    let stated = StatedRate::Fit(1000.0);
    let seen = |failures, hours_h: f64| Record {
        failures,
        hours_h,
        weighted_h: hours_h,
        ..Record::default()
    };
    let before = learned_rate(Some(&stated), 0.5, None, Record::default()).unwrap();
    near(before.fit, 1000.0, 1e-12);
    assert_eq!((before.prior_from, before.record_share), (PriorFrom::Stated, 0.0));
    // Of a constrained non-informative prior 5 and 95 % lie at χ²(1) quantiles over 2, times 2 here:
    // 0.003932 and 3.841 of the mean.
    near(before.low_fit, 1000.0 * 0.003932140, 1e-6);
    near(before.high_fit, 1000.0 * 3.841458821, 1e-6);
    let quiet = learned_rate(Some(&stated), 0.5, None, seen(0, 5e6)).unwrap();
    near(quiet.fit, 0.5 / 5.5e6 * 1e9, 1e-12);
    let busy = learned_rate(Some(&stated), 0.5, None, seen(3, 1e6)).unwrap();
    near(busy.fit, 3.5 / 1.5e6 * 1e9, 1e-12);
    near(busy.record_share, 2.0 / 3.0, 1e-12);
    // A firm belief moves less.
    let firm = learned_rate(Some(&stated), 20.0, None, seen(3, 1e6)).unwrap();
    assert!(firm.fit < busy.fit && firm.fit > 1000.0);
    let unknown = learned_rate(None, 0.5, None, seen(3, 1e6)).unwrap();
    assert_eq!(unknown.prior_from, PriorFrom::NothingKnown);
    near(unknown.fit, 3500.0, 1e-12);
}

#[test]
fn hours_in_a_hot_place_count_more_so_that_the_same_failures_mean_a_lower_rate() {
    let heat = RateHeat::new(40.0, 0.4).unwrap();
    let factor = heat.factor_at(55.0).unwrap();
    let stays = [Stay { factor, ..stay(0, 0, 1000, StayEnd::Failure) }];
    let stated = StatedRate::MtbfH(400_000.0);
    let hot = learned_rate(Some(&stated), 0.5, None, Record::of(&stays)).unwrap();
    let mild_stays = [stay(0, 0, 1000, StayEnd::Failure)];
    let mild = learned_rate(Some(&stated), 0.5, None, Record::of(&mild_stays)).unwrap();
    assert!(factor > 1.8 && hot.fit < mild.fit);
    near(hot.belief.exposure, 200_000.0 + 24_000.0 * factor, 1e-12);
}

#[test]
fn no_fault_found_is_demand_and_no_failure() {
    let stated = StatedRate::Fit(1000.0);
    let record = Record { no_fault_found: 4, hours_h: 1e6, weighted_h: 2e6, ..Record::default() };
    let learned = learned_rate(Some(&stated), 0.5, None, record).unwrap();
    // The failure rate falls by quiet hours as if the units had stayed.
    near(learned.fit, 0.5 / 2.5e6 * 1e9, 1e-12);
    near(learned.no_fault_found.fit, 4.0 / 1.5e6 * 1e9, 1e-12);
    assert!(learned.no_fault_found.low_fit < learned.no_fault_found.fit);
    assert!(learned.no_fault_found.high_fit > learned.no_fault_found.fit);
    let none = learned_rate(Some(&stated), 0.5, None, Record::default()).unwrap().no_fault_found;
    assert_eq!((none.fit, none.low_fit), (0.0, 0.0));
    assert!(none.high_fit > 0.0);
}

#[test]
fn a_thin_model_leans_on_its_family_in_multiples_of_what_is_stated() {
    let record = |failures, weighted_h: f64| Record {
        failures,
        hours_h: weighted_h,
        weighted_h,
        ..Record::default()
    };
    let records = [record(8, 4e6), record(5, 3e6), record(14, 5e6), record(0, 1e4)];
    let models: Vec<_> =
        [1000.0, 800.0, 1500.0, 500.0].into_iter().map(Some).zip(&records).collect();
    let pooled = pool(&models).unwrap();
    assert_eq!(pooled.by, PooledBy::Multiples);
    let thin = StatedRate::Fit(500.0);
    let learned = learned_rate(Some(&thin), 0.5, Some(pooled), records[3].clone()).unwrap();
    assert_eq!(learned.prior_from, PriorFrom::Family);
    // The others fail about twice as often as stated, so this one is believed to as well.
    near(learned.fit, 1000.0, 0.1);
    let alone = learned_rate(Some(&thin), 0.5, None, records[3].clone()).unwrap();
    assert!(learned.high_fit / learned.low_fit < alone.high_fit / alone.low_fit);

    let unstated: Vec<_> =
        [None, Some(800.0), Some(1500.0), Some(500.0)].into_iter().zip(&records).collect();
    let pooled = pool(&unstated).unwrap();
    assert_eq!(pooled.by, PooledBy::PerHour);
    let learned = learned_rate(None, 0.5, Some(pooled), Record::default()).unwrap();
    near(learned.fit, pooled.prior.belief.mean() * 1e9, 1e-12);
}

#[test]
fn what_is_no_rate_is_refused() {
    let stated = StatedRate::Fit(1000.0);
    for worth in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let refusal = learned_rate(Some(&stated), worth, None, Record::default()).unwrap_err();
        assert!(matches!(refusal, RateRefusal::Worth(_)), "{worth}");
    }
    let nothing = learned_rate(None, 0.5, None, Record::default()).unwrap_err();
    assert_eq!(nothing, RateRefusal::NothingKnown);
    assert!(nothing.to_string().contains("days of installation"));
    let many = Record { failures: 3_000_000, weighted_h: 1e9, hours_h: 1e9, ..Record::default() };
    let refusal = learned_rate(Some(&stated), 0.5, None, many).unwrap_err();
    assert!(matches!(refusal, RateRefusal::TooMany(_)));
}

proptest! {
    #[test]
    fn a_pooled_model_lies_between_its_own_record_and_the_family(
        seen in prop::collection::vec((0u64..30, 1.0..1000.0f64), 3..12),
    ) {
        let members = members(&seen);
        prop_assume!(members.iter().any(|member| member.failures > 0));
        let prior = family_prior(&members).unwrap();
        prop_assert!(prior.belief.shape >= LEAST_FAMILY_SHAPE);
        prop_assert!(prior.belief.shape <= (prior.failures as f64).max(LEAST_FAMILY_SHAPE));
        for member in &members {
            let own = member.failures as f64 / member.exposure;
            let both = prior.belief.after(member.failures, member.exposure).mean();
            let ends = [own.min(prior.belief.mean()), own.max(prior.belief.mean())];
            prop_assert!(both >= ends[0] * (1.0 - 1e-9) && both <= ends[1] * (1.0 + 1e-9));
        }
    }

    #[test]
    fn the_unit_of_exposure_changes_nothing_but_the_exposure(
        seen in prop::collection::vec((0u64..30, 1.0..1000.0f64), 3..12),
        times in 1e-9..1e9f64,
    ) {
        prop_assume!(seen.iter().any(|(failures, _)| *failures > 0));
        let scaled: Vec<_> = seen.iter().map(|(failures, it)| (*failures, it * times)).collect();
        let one = family_prior(&members(&seen)).unwrap();
        let other = family_prior(&members(&scaled)).unwrap();
        prop_assert!((one.belief.shape / other.belief.shape - 1.0).abs() < 1e-4);
        let exposure = one.belief.exposure * times;
        prop_assert!((exposure / other.belief.exposure - 1.0).abs() < 1e-4);
    }
}
