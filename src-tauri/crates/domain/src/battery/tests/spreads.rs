use super::*;

/// A battery as they stand in a plant, by shares of the ranges that are met.
fn fitted(shares: [f64; 8], spread: Spread, offs: &[Off]) -> Battery<'_> {
    let of = |part: usize, low: f64, high: f64| low + shares[part] * (high - low);
    let mut battery = plain();
    battery.cell.capacity_mah = of(0, 800.0, 8000.0);
    battery.cell.self_discharge_pct_a_20c = of(1, 0.3, 4.0);
    battery.drain = Drain { standby_ua: of(2, 0.5, 30.0), backup_ua: of(3, 20.0, 300.0) };
    battery.climate = Climate { cabinet: at_c(of(4, 15.0, 50.0)), shelf: at_c(of(5, 10.0, 30.0)) };
    let shelf = TimeDelta::days((of(6, 0.0, 1500.0)) as i64);
    battery.fitted.made_on = Some(battery.fitted.fitted_on - shelf);
    battery.spread = spread;
    battery.power_offs = offs;
    battery
}

/// Uniform numbers from a fixed beginning (Steele, Lea and Flood's SplitMix64, from memory).
struct Draws(u64);

impl Draws {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((mixed ^ (mixed >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Box and Muller.
    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.next()).ln()).sqrt();
        radius * (2.0 * std::f64::consts::PI * self.next()).cos()
    }
}

/// Draws a battery whose figures are off by chance. The temperature is moved itself, so that what
/// the course takes for straight is not taken so here.
fn drawn<'a>(
    battery: &Battery<'a>,
    law: HeatLaw,
    [cabinet_c, shelf_c]: [f64; 2],
    draws: &mut Draws,
) -> Battery<'a> {
    let spread = battery.spread;
    let mut off = |pct: f64| {
        let sigma = (1.0 + (pct / 100.0) * (pct / 100.0)).ln().sqrt();
        (sigma * draws.normal()).exp()
    };
    let mut moved = *battery;
    moved.cell.capacity_mah *= off(spread.capacity_pct);
    moved.cell.self_discharge_pct_a_20c *= off(spread.self_discharge_pct);
    moved.drain.standby_ua *= off(spread.standby_pct);
    moved.drain.backup_ua *= off(spread.backup_pct);
    let warmer_k = spread.temperature_k * draws.normal();
    let pace = |temperature_c: f64| Pace::constant(law, temperature_c + warmer_k).unwrap();
    moved.climate = Climate { cabinet: pace(cabinet_c), shelf: pace(shelf_c) };
    moved
}

/// Chances on the lines against a count of draws, each of which is a plain charge balance. The
/// margin is four standard errors of the count and 2 % of the chance for the slope of Arrhenius.
#[test]
fn chances_agree_with_random_draws() {
    const DRAWS: usize = 20_000;
    let usual = Spread::USUAL;
    let wide = Spread {
        capacity_pct: 15.0,
        self_discharge_pct: 60.0,
        standby_pct: 40.0,
        backup_pct: 30.0,
        temperature_k: 4.0,
    };
    let arrhenius = HeatLaw::Arrhenius { activation_ev: 0.6 };
    let off = |from: &str, to: &str| Off { from: at(from), to: at(to) };
    let offs = [off("2021-05-01", "2021-05-20"), off("2024-02-01", "2024-03-01")];
    let cases = [
        (HeatLaw::DoublingPer10K, usual, [35.0, 20.0], 1200.0, &offs[..0]),
        (HeatLaw::DoublingPer10K, wide, [30.0, 20.0], 2400.0, &offs[..]),
        (arrhenius, usual, [45.0, 22.0], 1200.0, &offs[..]),
        (arrhenius, wide, [25.0, 20.0], 900.0, &offs[..0]),
    ];
    let mut draws = Draws(7);
    for (law, spread, temperatures, capacity_mah, offs) in cases {
        let mut battery = fitted([0.0, 0.2, 0.3, 0.4, 0.0, 0.0, 0.5, 0.0], spread, offs);
        battery.cell.capacity_mah = capacity_mah;
        let pace = |temperature_c| Pace::constant(law, temperature_c).unwrap();
        battery.climate = Climate { cabinet: pace(temperatures[0]), shelf: pace(temperatures[1]) };
        let course = Course::of(&battery);
        let made: Vec<Battery<'_>> =
            (0..DRAWS).map(|_| drawn(&battery, law, temperatures, &mut draws)).collect();
        for wanted in [0.01, 0.1, 0.5, 0.9] {
            let days = course.days_until(wanted, 240.0);
            let then = at("2020-01-01") + TimeDelta::seconds((days * 86_400.0) as i64);
            let chance = course.chance_uncovered(then, 240.0);
            assert!((chance - wanted).abs() < 0.005 * wanted, "{chance} in place of {wanted}");
            let lost = made.iter().filter(|battery| hold_up_h(battery, then) < 240.0).count();
            let counted = lost as f64 / DRAWS as f64;
            let error = (wanted * (1.0 - wanted) / DRAWS as f64).sqrt();
            assert!(
                (counted - wanted).abs() < 4.0 * error + 0.02 * wanted,
                "{law:?} {spread:?}: {wanted} on the lines, {counted} of the draws"
            );
            // The same border, asked for the power-off.
            let hold_up_h = course.hold_up_h(then, wanted);
            let chance = course.chance_uncovered(then, hold_up_h);
            assert!((chance - wanted).abs() < 0.005 * wanted, "{chance} at {hold_up_h} h");
        }
    }
}

/// Days against nested quadrature.
///
/// Source: NumPy and SciPy, capacity in closed form and 80 × 80 × 80 Gauss-Hermite nodes over the
/// others, the day by Brent's method.
#[test]
fn days_agree_with_nested_quadrature() {
    let mut battery = plain();
    battery.climate = Climate { cabinet: at_c(30.0), shelf: at_c(20.0) };
    battery.spread = Spread::USUAL;
    let cases = [
        // Capacity, stand-by and back-up drain, shelf age, power-off, chance, days.
        (2400.0, 9.0, 110.0, 365, 72.0, 0.001, 5437.46),
        (2400.0, 9.0, 110.0, 365, 72.0, 0.01, 6075.01),
        (2400.0, 9.0, 110.0, 365, 72.0, 0.5, 8494.67),
        (2400.0, 9.0, 110.0, 365, 720.0, 0.01, 5821.93),
        (2400.0, 9.0, 110.0, 365, 720.0, 0.5, 8163.70),
        (1400.0, 1.0, 160.0, 200, 1440.0, 0.001, 8719.18),
        (1400.0, 1.0, 160.0, 200, 1440.0, 0.01, 10629.86),
        (1400.0, 1.0, 160.0, 200, 1440.0, 0.5, 18182.39),
    ];
    for (capacity_mah, standby_ua, backup_ua, shelf_d, hold_up_h, chance, days) in cases {
        battery.cell = Cell { capacity_mah, self_discharge_pct_a_20c: 1.0, cells: 1 };
        battery.drain = Drain { standby_ua, backup_ua };
        battery.fitted.made_on = Some(battery.fitted.fitted_on - TimeDelta::days(shelf_d));
        let ours = Course::of(&battery).days_until(chance, hold_up_h);
        assert!((ours - days).abs() < 0.5, "{ours} in place of {days}");
    }
}

#[test]
fn a_year_by_months_costs_more_than_its_mean_and_the_phase_of_the_year_little() {
    let months = [14.0, 15.0, 18.0, 22.0, 27.0, 32.0, 35.0, 35.0, 31.0, 25.0, 19.0, 15.0];
    let pace = Pace::monthly(HeatLaw::DoublingPer10K, &months).unwrap();
    assert!(pace.factor() > at_c(pace.mean_c()).factor() * 1.05);
    // Day by day with the month's own factor, from the worst day to begin on.
    let mut battery = plain();
    battery.climate.cabinet = pace;
    let due = Course::of(&battery).days_until(0.5, 240.0);
    let day_by_day = |first_month: usize| {
        let mut left = 1000.0;
        for day in 0.. {
            let month = (first_month + (day as f64 / 30.4375) as usize) % 12;
            let loss = self_discharge_per_h(1.0, months[month]) * 24.0;
            let needed = 0.1 * 240.0;
            if left < needed {
                return f64::from(day);
            }
            left -= left * loss + 0.048;
        }
        unreachable!("it never ends")
    };
    for month in 0..12 {
        let exact = day_by_day(month);
        assert!((exact - due).abs() < 45.0, "{exact} in place of {due}");
    }
}

#[test]
fn logged_temperatures_weigh_by_time_and_must_cover_a_year() {
    let read = |on: &str, temperature_c| Reading { at: at(on), temperature_c };
    let law = HeatLaw::DoublingPer10K;
    // Half a year at 20 °C and half at 40 °C, with a crowd of readings on one warm day.
    let mut log = vec![read("2025-01-01", 20.0), read("2025-07-02", 20.0)];
    log.extend([read("2025-07-03", 40.0), read("2025-12-31", 40.0)]);
    for hour in 0..20 {
        log.push(Reading { at: at("2025-10-01") + TimeDelta::hours(hour), temperature_c: 40.0 });
    }
    let pace = Pace::logged(law, &log).unwrap();
    assert!((pace.factor() - 2.5).abs() < 0.02, "{pace:?}");
    let short = Pace::logged(law, &log[..2]).unwrap_err();
    assert_eq!(short, HeatRefusal::ShortLog { covered_d: 182 });
    assert_eq!(Pace::logged(law, &[]), Err(HeatRefusal::NoReading));
    assert_eq!(Pace::constant(law, 200.0), Err(HeatRefusal::Temperature(200.0)));
    let ice = HeatLaw::Arrhenius { activation_ev: 0.0 };
    assert_eq!(Pace::constant(ice, 20.0), Err(HeatRefusal::ActivationEnergy(0.0)));
}

#[test]
fn what_is_wrong_is_named() {
    let today = day("2026-01-01");
    let off = |from: &str, to: &str| Off { from: at(from), to: at(to) };
    let offs = [
        off("2025-03-01", "2025-03-04"),
        off("2025-03-03", "2025-03-06"),
        off("2025-05-02", "2025-05-01"),
        off("2025-03-05", "2025-03-05"),
    ];
    let mut battery = plain();
    battery.power_offs = &offs;
    battery.fitted.fitted_on = day("2026-02-01");
    battery.fitted.made_on = Some(day("2026-03-01"));
    battery.spread.backup_pct = -1.0;
    let findings = battery.findings(today);
    let told: Vec<String> = findings.iter().map(ToString::to_string).collect();
    for (part, stops) in [
        ("backup_spread_pct is -1", true),
        ("fitted on 2026-02-01, which is after today, 2026-01-01", true),
        ("made on 2026-03-01", true),
        ("from 2025-05-02 00:00:00 UTC ends before", false),
        ("from 2025-03-01 00:00:00 UTC and from 2025-03-03 00:00:00 UTC overlap", false),
        ("from 2025-03-03 00:00:00 UTC and from 2025-03-05 00:00:00 UTC overlap", false),
    ] {
        let at = told.iter().position(|text| text.contains(part));
        let at = at.unwrap_or_else(|| panic!("{part:?} is not in {told:?}"));
        assert_eq!(findings[at].stops(), stops, "{part}");
    }
    assert_eq!(told.len(), 6, "{told:?}");
    assert_eq!(Drain::of_catalogue(9.0, None), Err(Finding::NoDrain));
    assert_eq!(typical_capacity_mah("cr2032 "), Ok((220.0, 235.0)));
    assert!(matches!(typical_capacity_mah("CR9999"), Err(CapacityRefusal::Unknown(_))));
    assert!(matches!(typical_capacity_mah("AA"), Err(CapacityRefusal::Designation(_))));
}

#[test]
fn every_figure_opens_to_what_it_was_reckoned_from() {
    let offs = [Off { from: at("2021-02-01"), to: at("2021-02-03") }];
    let mut battery = fitted([0.2; 8], Spread::USUAL, &offs);
    battery.fitted.made_on = None;
    let limits = Limits { site_age_limit_y: Some(5.0), ..TEN_DAYS };
    let due = due(&battery, &limits, day("2022-01-01"));
    let told = explain(&battery, &limits, &due, at("2022-01-01"));
    let number = |figure: &Figure| match figure.value {
        FigureValue::Number(number) => number,
        FigureValue::Day(on) => panic!("{on} is no number"),
    };
    let left = &told[1];
    let sum: f64 = left.parts.iter().map(number).sum();
    assert!((sum - number(left)).abs() < 1e-9, "{left:?}");
    assert!(left.parts.iter().all(|part| !part.parts.is_empty()));
    assert_eq!(told[0].value, FigureValue::Day(due.on));
    let days: Vec<FigureValue> = told[0].parts.iter().map(|part| part.value).collect();
    assert!(days.contains(&told[0].value), "{days:?}");
}

#[test]
fn the_likeliest_loss_is_changed_first() {
    let off = Off { from: at("2026-06-01"), to: at("2026-06-11") };
    let offs = [off];
    let battery = |capacity_mah: f64| {
        let mut battery = fitted([0.0, 0.2, 0.3, 0.2, 0.5, 0.5, 0.2, 0.0], Spread::USUAL, &offs);
        battery.cell.capacity_mah = capacity_mah;
        battery
    };
    let list: Vec<Readiness> =
        [3000.0, 600.0, 700.0].map(|mah| readiness(&battery(mah), &off, SPENT_CHANCE)).to_vec();
    assert_eq!(what_first(&list), [1, 2, 0]);
    assert!(list[0].survives && !list[1].survives, "{list:?}");
    for line in &list {
        assert!(close(line.needed_h, 240.0));
        assert!(line.early_hold_up_h < line.hold_up_h, "{line:?}");
        assert_eq!(line.survives, line.margin_h >= 0.0, "{line:?}");
    }
}

prop_compose! {
    fn spreads()(
        capacity_pct in 0.0..20.0f64,
        self_discharge_pct in 0.0..80.0f64,
        standby_pct in 0.0..50.0f64,
        backup_pct in 0.0..50.0f64,
        temperature_k in 0.0..6.0f64,
    ) -> Spread {
        Spread { capacity_pct, self_discharge_pct, standby_pct, backup_pct, temperature_k }
    }
}

proptest! {
    #[test]
    fn heat_drain_age_and_power_offs_never_put_the_day_off(
        shares in prop::array::uniform8(0.0..1.0f64),
        spread in spreads(),
        offs in stretches(),
        more in 1.0..2.0f64,
        hotter_k in 0.0..20.0f64,
        required_h in 0.0..2_000.0f64,
        chance in 0.001..0.999f64,
    ) {
        let battery = fitted(shares, spread, &[]);
        let days = |battery: &Battery<'_>| Course::of(battery).days_until(chance, required_h);
        let first = days(&battery);
        // Each of two days is good to a ten-thousandth (see the nested quadrature), and so their
        // order is to two.
        let last = first * (1.0 + 2e-4) + 0.05;
        let cabinet_c = battery.climate.cabinet.mean_c();
        let mut worse = [battery; 6];
        worse[0].climate.cabinet = at_c(cabinet_c + hotter_k);
        worse[1].drain.standby_ua *= more;
        worse[2].drain.backup_ua *= more;
        worse[3].cell.capacity_mah /= more;
        worse[4].fitted.made_on = battery.fitted.made_on.map(|on| on - TimeDelta::days(400));
        worse[5].cell.self_discharge_pct_a_20c *= more;
        for (which, changed) in worse.iter().enumerate() {
            let then = days(changed);
            prop_assert!(then <= last, "{which}: {then} after {first}");
        }
        // Only where the back-up drain is the larger does a power-off cost more than it spares.
        if battery.drain.backup_ua >= 8.0 * battery.drain.standby_ua {
            let mut changed = battery;
            changed.power_offs = &offs;
            let then = days(&changed);
            prop_assert!(then <= last, "{then} after {first}");
        }
    }

    #[test]
    fn more_spread_never_puts_an_early_day_off(
        shares in prop::array::uniform8(0.0..1.0f64),
        spread in spreads(),
        more in 1.0..2.0f64,
        required_h in 0.0..500.0f64,
        chance in 0.001..0.05f64,
    ) {
        let battery = fitted(shares, spread, &[]);
        let days = |spread: Spread| {
            Course::of(&Battery { spread, ..battery }).days_until(chance, required_h)
        };
        let first = days(spread);
        let mut wider = [spread; 5];
        wider[0].capacity_pct *= more;
        wider[1].self_discharge_pct *= more;
        wider[2].standby_pct *= more;
        wider[3].backup_pct *= more;
        wider[4].temperature_k *= more;
        for (which, wider) in wider.into_iter().enumerate() {
            let then = days(wider);
            prop_assert!(then <= first + 0.5, "{which}: {then} after {first}");
        }
    }

    #[test]
    fn days_and_hours_keep_the_order_of_their_chances(
        shares in prop::array::uniform8(0.0..1.0f64),
        spread in spreads(),
        offs in stretches(),
        required_h in 0.0..2_000.0f64,
        after_d in 0i64..4000,
    ) {
        let battery = fitted(shares, spread, &offs);
        let course = Course::of(&battery);
        let chances = [0.001, 0.01, 0.1, 0.5, 0.9, 0.99];
        let days = chances.map(|chance| course.days_until(chance, required_h));
        prop_assert!(days.is_sorted(), "{days:?}");
        let from = at("2020-01-01") + TimeDelta::days(after_d);
        let hours = chances.map(|chance| course.hold_up_h(from, chance));
        prop_assert!(hours.is_sorted(), "{hours:?}");
        // Both questions run over lines of their own, which differ a little where spreads are wide.
        let believed = spread.standby_pct.max(spread.backup_pct) < 35.0
            && spread.self_discharge_pct < 60.0
            && (0.5..15.0).contains(&spread.capacity_pct);
        for (chance, days) in chances.into_iter().zip(days) {
            if believed && days > 0.0 && days < 30_000.0 {
                let then = at("2020-01-01") + TimeDelta::milliseconds((days * 86_400_000.0) as i64);
                let back = course.chance_uncovered(then, required_h);
                let within = 0.15 * chance.min(1.0 - chance);
                prop_assert!((back - chance).abs() < within, "{back} for {chance}");
            }
        }
        let limits = Limits { hold_up_required_h: required_h, ..TEN_DAYS };
        let range = due(&battery, &limits, day("2020-01-01")).range;
        prop_assert!(range.early_on <= range.tenth_on && range.tenth_on <= range.middle_on);
        prop_assert!(range.middle_on <= range.late_on);
    }

    #[test]
    fn without_spread_the_chance_is_a_step_on_the_day_of_the_balance(
        shares in prop::array::uniform8(0.0..1.0f64),
        offs in stretches(),
        required_h in 1.0..2_000.0f64,
    ) {
        let battery = fitted(shares, Spread::NONE, &offs);
        let course = Course::of(&battery);
        let days = course.days_until(0.01, required_h);
        prop_assume!(days < 30_000.0);
        let then = |days: f64| at("2020-01-01") + TimeDelta::seconds((days * 86_400.0) as i64);
        prop_assert!(hold_up_h(&battery, then(days + 0.01)) <= required_h);
        prop_assert_eq!(course.chance_uncovered(then(days + 0.01), required_h), 1.0);
        if days > 0.01 {
            prop_assert!(hold_up_h(&battery, then(days - 0.01)) >= required_h);
            prop_assert_eq!(course.chance_uncovered(then(days - 0.01), required_h), 0.0);
        }
    }
}
