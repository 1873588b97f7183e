use super::due::years_after;
use super::{
    Battery, Course, Due, DueReason, HOURS_PER_YEAR, Limits, Pace, REFERENCE_C, hold_up_h,
    hours_between, remaining_mah, start_of,
};
use chrono::{DateTime, NaiveDate, Utc};

/// A figure with what it was reckoned from.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    pub what: &'static str,
    pub value: FigureValue,
    /// Unit of measure; empty for days and ratios.
    pub unit: &'static str,
    /// How the parts make the value, in words; empty for what was put in.
    pub rule: &'static str,
    pub parts: Vec<Figure>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FigureValue {
    /// Infinite where nothing limits it.
    Number(f64),
    Day(NaiveDate),
}

/// Returns the due day, the charge left and the hold-up time at `at`, each with the inputs and the
/// sums behind it down to the catalogue's figures.
pub fn explain(
    battery: &Battery<'_>,
    limits: &Limits,
    due: &Due,
    at: DateTime<Utc>,
) -> Vec<Figure> {
    vec![due_day(battery, limits, due), charge_left(battery, at), hold_up(battery, limits, at)]
}

fn due_day(battery: &Battery<'_>, limits: &Limits, due: &Due) -> Figure {
    let range = &due.range;
    let early = sum(
        "Charge no longer certain to cover the power-off",
        FigureValue::Day(range.early_on),
        "",
        "the first day on which the chance that it does not is above the site's",
        vec![
            given("Must outlast", limits.hold_up_required_h, "h"),
            given("Chance allowed", 100.0 * limits.spent_chance, "%"),
            day("With a chance of 10 %", range.tenth_on),
            day("With a chance of 50 %", range.middle_on),
            day("With a chance of 90 %", range.late_on),
        ],
    );
    let mut parts = vec![early];
    let fitted_on = battery.fitted.fitted_on;
    let ages = [
        ("Site's age limit", limits.site_age_limit_y, "Fitted", fitted_on),
        ("Maker's age limit", limits.maker_age_limit_y, "Made", battery.made_on()),
    ];
    for (what, limit_y, since, since_on) in ages {
        let Some(limit_y) = limit_y else { continue };
        let on = years_after(since_on, limit_y).max(fitted_on);
        let from = vec![day(since, since_on), given("Longest", limit_y, "years")];
        let rule = "the day plus the limit, in whole months; never before fitting";
        parts.push(sum(what, FigureValue::Day(on), "", rule, from));
    }
    let rule = match due.reason {
        DueReason::Spent => "the earliest of these; nothing is left today, as likely as not",
        _ => "the earliest of these",
    };
    sum("Due", FigureValue::Day(due.on), "", rule, parts)
}

fn charge_left(battery: &Battery<'_>, at: DateTime<Utc>) -> Figure {
    let balance = remaining_mah(battery, at);
    let spread = &battery.spread;
    let cell = &battery.cell;
    let loss = |pace: Pace| {
        let per_y = cell.self_discharge_pct_a_20c * pace.factor();
        sum(
            "Self-discharge there, of what is left",
            FigureValue::Number(per_y),
            "% a year",
            "the catalogue's figure times the factor of heat",
            vec![
                given("Self-discharge at 20 °C", cell.self_discharge_pct_a_20c, "% a year"),
                given("Spread of self-discharge", spread.self_discharge_pct, "%"),
                factor(battery, pace),
            ],
        )
    };
    let fitted_at = start_of(battery.fitted.fitted_on);
    let days = |from, to| hours_between(from, to).max(0.0) / 24.0;
    let made_at = start_of(battery.made_on());
    let shelf = vec![
        given("Days on the shelf", days(made_at, fitted_at), "days"),
        loss(battery.climate.shelf),
    ];
    let since =
        vec![given("Days in service", days(fitted_at, at), "days"), loss(battery.climate.cabinet)];
    let powered = vec![
        given("Stand-by drain", battery.drain.standby_ua, "µA"),
        given("Spread of the stand-by drain", spread.standby_pct, "%"),
    ];
    let backup = vec![drain(battery), given("Spread of the back-up drain", spread.backup_pct, "%")];
    let capacity = vec![given("Spread of capacity", spread.capacity_pct, "%")];
    let by_itself = "what is left times the share that goes, day by day";
    let lines = [
        ("Capacity", balance.capacity_mah, "of one cell of those in series", capacity),
        ("Lost on the shelf before fitting", -balance.shelf_loss_mah, by_itself, shelf),
        ("Lost by self-discharge since", -balance.self_discharge_mah, by_itself, since),
        ("Drawn with power on", -balance.standby_mah, "drain times hours with power", powered),
        ("Drawn in power-offs", -balance.backup_mah, "drain times hours without power", backup),
    ];
    let parts = lines
        .into_iter()
        .map(|(what, mah, rule, parts)| sum(what, FigureValue::Number(mah), "mAh", rule, parts));
    let left = FigureValue::Number(balance.remaining_mah);
    sum("Charge left", left, "mAh", "capacity less the losses", parts.collect())
}

fn hold_up(battery: &Battery<'_>, limits: &Limits, at: DateTime<Utc>) -> Figure {
    let careful_h = Course::of(battery).hold_up_h(at, limits.spent_chance);
    let left_mah = remaining_mah(battery, at).remaining_mah;
    let per_y = battery.loss_per_h(battery.climate.cabinet) * HOURS_PER_YEAR * 100.0;
    sum(
        "Outlasts a power-off now by",
        FigureValue::Number(hold_up_h(battery, at)),
        "h",
        "charge left over the back-up drain, self-discharge going on",
        vec![
            given("Charge left", left_mah, "mAh"),
            drain(battery),
            given("Self-discharge in the cabinet", per_y, "% a year"),
            given("But for the chance allowed", careful_h, "h"),
        ],
    )
}

fn factor(battery: &Battery<'_>, pace: Pace) -> Figure {
    sum(
        "Factor of heat",
        FigureValue::Number(pace.factor()),
        "",
        "the mean of the factor over the temperatures, which is 1 at 20 °C",
        vec![
            given("Mean temperature", pace.mean_c(), "°C"),
            given("Temperature of the catalogue's figure", REFERENCE_C, "°C"),
            given("Each K more adds", 100.0 * pace.per_k().exp_m1(), "%"),
            given("Spread of the temperature", battery.spread.temperature_k, "K"),
        ],
    )
}

fn drain(battery: &Battery<'_>) -> Figure {
    given("Back-up drain", battery.drain.backup_ua, "µA")
}

fn given(what: &'static str, value: f64, unit: &'static str) -> Figure {
    sum(what, FigureValue::Number(value), unit, "", Vec::new())
}

fn day(what: &'static str, on: NaiveDate) -> Figure {
    sum(what, FigureValue::Day(on), "", "", Vec::new())
}

fn sum(
    what: &'static str,
    value: FigureValue,
    unit: &'static str,
    rule: &'static str,
    parts: Vec<Figure>,
) -> Figure {
    Figure { what, value, unit, rule, parts }
}
