use super::*;
use crate::spares::Life;

fn near(ours: f64, theirs: f64, within: f64) {
    assert!((ours - theirs).abs() <= within * theirs.abs(), "{ours} in place of {theirs}");
}

/// Ends of a Weibull life at evenly spread chances, so that no luck is in them.
fn ends(life: Life, cells: usize) -> Vec<f64> {
    (0..cells)
        .map(|cell| {
            let share = (cell as f64 + 0.5) / cells as f64;
            life.scale * (-(-share).ln_1p()).powf(1.0 / life.shape)
        })
        .collect()
}

fn failed(ages: &[f64]) -> Vec<Seen> {
    ages.iter().map(|at_y| Seen::Failed { at_y: *at_y }).collect()
}

/// All four kinds of record in one fit.
///
/// Source: the likelihood maximised with 40 digits (mpmath 1.3); lifelines 0.30.3 (MIT),
/// `WeibullFitter.fit_interval_censoring` on the same bounds, gives 6.7686, 3.2514, standard errors
/// 0.5871 and 0.7963, and the log-likelihood -27.366581.
#[test]
fn every_kind_of_record_enters_the_likelihood() {
    let between = [
        (3.0, 4.0),
        (4.0, 5.0),
        (4.0, 5.0),
        (5.0, 6.0),
        (5.0, 6.0),
        (5.0, 6.5),
        (6.0, 7.0),
        (6.0, 7.0),
        (7.0, 8.0),
    ];
    let mut seen: Vec<Seen> = between
        .iter()
        .map(|(from_y, to_y)| Seen::FailedBetween { from_y: *from_y, to_y: *to_y })
        .collect();
    seen.extend([5.0, 7.0].map(|at_y| Seen::FailedBefore { at_y }));
    seen.extend(failed(&[4.5, 6.0]));
    seen.extend([8.0, 8.0, 9.0].map(|at_y| Seen::Outlived { at_y }));
    let fit = fit(&seen).unwrap();
    near(fit.life.scale, 6.768653221108853, 1e-9);
    near(fit.life.shape, 3.251377434908512, 1e-9);
    near(fit.log_likelihood, -27.36658070797845, 1e-11);
    near(fit.ln_scale_error.powi(2), 0.0075230902639753, 1e-7);
    near(fit.ln_covariance, 0.0027344586612788, 1e-7);
    near(fit.ln_shape_error.powi(2), 0.059979681793019, 1e-7);
    near(fit.ln_scale_error * fit.life.scale, 0.587076, 1e-4);
    near(fit.ln_shape_error * fit.life.shape, 0.796289, 1e-4);
    assert_eq!((fit.ended, fit.outlived), (13, 3));
    // At 63.2 % the quantile is the scale, and so are its bounds.
    let [low, best, high] = fit.quantile_y(1.0 - (-1.0f64).exp(), 1.96);
    near(best, fit.life.scale, 1e-12);
    let [[scale_low, scale_high], _] = fit.bounds(1.96);
    near(low, scale_low, 1e-12);
    near(high, scale_high, 1e-12);
}

#[test]
fn too_little_evidence_is_refused() {
    let outlived = [Seen::Outlived { at_y: 5.0 }; 40];
    assert_eq!(fit(&outlived), Err(FitRefusal::TooFew { ended: 0 }));
    assert_eq!(fit(&failed(&[4.0, 5.0])), Err(FitRefusal::TooFew { ended: 2 }));
    assert_eq!(fit(&failed(&[5.0, 5.0, 5.0])), Err(FitRefusal::NoBest));
    assert_eq!(fit(&[Seen::FailedBefore { at_y: 5.0 }; 9]), Err(FitRefusal::NoBest));
    assert_eq!(fit(&failed(&[4.0, 5.0, -1.0])), Err(FitRefusal::Years(-1.0)));
    let backward = Seen::FailedBetween { from_y: 5.0, to_y: 5.0 };
    assert_eq!(fit(&[backward]), Err(FitRefusal::Years(5.0)));
}

#[test]
fn looks_at_a_cell_become_one_record() {
    let fitted_on = day("2020-01-01");
    let look = |on: &str, told| Look { on: day(on), told };
    let lamp = |on: &str, lit| look(on, Told::LowLamp { lit });
    let volts = |on: &str, mv| look(on, Told::Voltage { mv, end_point_mv: 2000 });
    let seen = |looks: &[Look]| evidence(fitted_on, looks);
    let Ok(Seen::FailedBetween { from_y, to_y }) =
        seen(&[lamp("2024-01-01", false), volts("2025-01-01", 1990), volts("2022-01-01", 3600)])
    else {
        panic!("a stretch was expected")
    };
    near(from_y, 4.0, 1e-3);
    near(to_y, 5.0, 1e-3);
    assert!(matches!(seen(&[look("2025-01-01", Told::Spent)]), Ok(Seen::FailedBefore { .. })));
    assert!(matches!(seen(&[look("2025-01-01", Told::Good)]), Ok(Seen::Outlived { .. })));
    let lit_then_good = [lamp("2024-01-01", true), look("2025-01-01", Told::Good)];
    assert!(matches!(seen(&lit_then_good), Err(LookRefusal::GoodAfterLow { .. })));
    assert!(matches!(
        seen(&[look("2019-01-01", Told::Weak)]),
        Err(LookRefusal::BeforeFitting { .. })
    ));
    assert!(matches!(
        seen(&[look("2020-01-01", Told::Weak)]),
        Err(LookRefusal::LowAtFitting { .. })
    ));
    assert_eq!(seen(&[look("2020-01-01", Told::Good)]), Err(LookRefusal::NoLook));
}

#[test]
fn the_blend_moves_from_the_model_to_the_records() {
    let model = Life { scale: 10.0, shape: 4.0 };
    let truth = Life { scale: 6.0, shape: 4.0 };
    let model_lives = ends(model, 25);
    let alone = blend(&[], &model_lives, WORTH_LIVES).unwrap();
    assert_eq!(alone.found, Err(FitRefusal::TooFew { ended: 0 }));
    assert_eq!(alone.found_share, 0.0);
    near(alone.blended.life.scale, alone.model.scale, 1e-9);
    near(alone.model.scale, 10.0, 0.02);
    near(alone.model.shape, 4.0, 0.1);
    let mut last = alone.blended;
    for cells in [5, 20, 200, 5000] {
        let blend = blend(&failed(&ends(truth, cells)), &model_lives, WORTH_LIVES).unwrap();
        assert!(blend.blended.life.scale < last.life.scale, "{blend:?}");
        assert!(blend.blended.life.scale > blend.found.unwrap().life.scale, "{blend:?}");
        near(blend.found_share, cells as f64 / (cells as f64 + WORTH_LIVES), 1e-12);
        last = blend.blended;
    }
    near(last.life.scale, 6.0, 0.01);
    assert!(last.ln_scale_error < 0.005, "{last:?}");
    // Cells that were changed while good speak for a longer life too.
    let outlived = vec![Seen::Outlived { at_y: 9.0 }; 30];
    let blend = blend(&outlived, &model_lives, WORTH_LIVES).unwrap();
    assert!(blend.blended.life.scale > 11.0, "{blend:?}");
}

#[test]
fn the_model_s_own_lives_make_a_life_that_lies_beside_them() {
    let mut battery = plain();
    battery.drain.standby_ua = 12.0;
    battery.spread = Spread::USUAL;
    let lives = Course::of(&battery).lives_y(25);
    assert!(lives.is_sorted());
    let model = blend(&[], &lives, WORTH_LIVES).unwrap().model;
    for slice in [2, 12, 22] {
        let share = (slice as f64 + 0.5) / 25.0;
        let by_fit = model.scale * (-(-share).ln_1p()).powf(1.0 / model.shape);
        near(by_fit, lives[slice], 0.05);
    }
    battery.drain = Drain { standby_ua: 0.0, backup_ua: 0.0 };
    let endless = Course::of(&battery).lives_y(25);
    assert_eq!(blend(&[], &endless, WORTH_LIVES).unwrap_err(), FitRefusal::Model);
}

#[test]
fn advice_weighs_the_loss_against_the_change() {
    let costs = Costs { planned_cents: 5_000.0, loss_cents: 80_000.0, group_cents: 3_000.0 };
    let life = Life { scale: 9.0, shape: 6.0 };
    let best = advice(life, &costs, Some(5.0)).unwrap();
    let age = best.age.every_y.unwrap();
    let present = best.present.unwrap();
    near(best.saving_cents_per_y, present.cents_per_y - best.age.cents_per_y, 1e-12);
    for other in [age * 0.9, age * 1.1, 5.0] {
        assert!(life.age_cost(other, 5_000.0, 80_000.0) >= best.age.cents_per_y);
    }
    // Whoever changes by age wastes less than whoever changes by the calendar.
    assert!(best.block.cents_per_y >= best.age.cents_per_y);
    assert!(best.group.cents_per_y >= best.group_waiting.cents_per_y);
    let dearer = Costs { loss_cents: 800_000.0, ..costs };
    assert!(advice(life, &dearer, None).unwrap().age.every_y.unwrap() < age);
    // Without wear a change gains nothing.
    let random = advice(Life { scale: 9.0, shape: 1.0 }, &costs, Some(5.0)).unwrap();
    assert_eq!((random.age.every_y, random.block.every_y), (None, None));
    assert!(random.saving_cents_per_y > 0.0, "{random:?}");
    let none = Costs { planned_cents: 0.0, ..costs };
    let refusal = advice(life, &none, None).unwrap_err().to_string();
    assert!(refusal.contains("planned_cents is 0"), "{refusal}");
}

proptest! {
    #[test]
    fn a_fit_finds_the_life_that_the_records_were_made_from(
        scale in 0.5..30.0f64,
        shape in 0.8..8.0f64,
        cut in 0.8..1.3f64,
        looks in 6usize..14,
    ) {
        let life = Life { scale, shape };
        let cut_y = scale * cut;
        let step_y = cut_y / looks as f64;
        let seen: Vec<Seen> = ends(life, 400)
            .into_iter()
            .map(|at_y| {
                let before = (at_y / step_y).floor();
                if at_y > cut_y {
                    Seen::Outlived { at_y: cut_y }
                } else if before == 0.0 {
                    Seen::FailedBefore { at_y: step_y }
                } else {
                    Seen::FailedBetween { from_y: before * step_y, to_y: (before + 1.0) * step_y }
                }
            })
            .collect();
        let fit = fit(&seen).unwrap();
        // The ages are rounded to looks, so the fit is off by a part of its standard error.
        let off = [(fit.life.scale / scale).ln().abs(), (fit.life.shape / shape).ln().abs()];
        prop_assert!(off[0] < 0.75 * fit.ln_scale_error + 0.02, "{fit:?}");
        prop_assert!(off[1] < 0.75 * fit.ln_shape_error + 0.02, "{fit:?}");
    }

    #[test]
    fn the_unit_of_time_changes_nothing_but_the_scale(
        ages in prop::collection::vec(0.5..20.0f64, 5..30),
        good in prop::collection::vec(0.5..20.0f64, 0..30),
        times in 0.01..100.0f64,
    ) {
        let records = |by: f64| {
            let mut seen = failed(&ages.iter().map(|age| age * by).collect::<Vec<_>>());
            seen.extend(good.iter().map(|age| Seen::Outlived { at_y: age * by }));
            seen
        };
        let (years, other) = (fit(&records(1.0)), fit(&records(times)));
        prop_assume!(years.is_ok());
        let (years, other) = (years.unwrap(), other.unwrap());
        prop_assert!((other.life.scale / (times * years.life.scale)).ln().abs() < 1e-7);
        prop_assert!((other.life.shape / years.life.shape).ln().abs() < 1e-7);
        prop_assert!((other.ln_shape_error - years.ln_shape_error).abs() < 1e-6);
    }
}
