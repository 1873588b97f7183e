use super::{Battery, Course, remaining_mah, start_of};
use chrono::{Days, Months, NaiveDate};

/// Chance of being spent at which a battery is due where the site states none: 1 in 100.
pub const SPENT_CHANCE: f64 = 0.01;

/// What the site and the maker ask of a battery.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Power-off that the memory must outlast, h.
    pub hold_up_required_h: f64,
    /// Chance of not outlasting it at which the battery is due, such as [`SPENT_CHANCE`].
    pub spent_chance: f64,
    /// Longest time in service, years from fitting.
    pub site_age_limit_y: Option<f64>,
    /// Longest age, years from making.
    pub maker_age_limit_y: Option<f64>,
}

/// The day by which a battery must be changed, and what decides it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Due {
    pub on: NaiveDate,
    pub reason: DueReason,
    pub range: DueRange,
}

/// Days on which the charge no longer covers the power-off asked for, each with its chance; limits
/// of age are not in them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DueRange {
    /// With the chance at which it is due.
    pub early_on: NaiveDate,
    /// With a chance of 10 %.
    pub tenth_on: NaiveDate,
    /// With a chance of 50 %.
    pub middle_on: NaiveDate,
    /// With a chance of 90 %.
    pub late_on: NaiveDate,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum DueReason {
    /// The charge may no longer cover the power-off that the site asks for.
    Charge,
    SiteAge,
    MakerAge,
    /// As likely as not, nothing is left today.
    Spent,
}

/// Days after fitting at which the search ends: a hundred years, longer than any cell lasts.
const HORIZON_D: f64 = 36_525.0;

/// Returns the day by which the battery must be changed: the first on which, by its end, the chance
/// that the charge no longer covers the power-off that the site asks for is above the site's, or an
/// age limit when that comes first.
///
/// Never before the day of fitting, and often before `today`: such a battery is overdue. A hundred
/// years after fitting at the latest. The reason is [`DueReason::Spent`] where nothing is left at
/// the start of `today`, with figures as often exceeded as not. Age limits run in whole calendar
/// months, rounded down.
pub fn due(battery: &Battery<'_>, limits: &Limits, today: NaiveDate) -> Due {
    let course = Course::of(battery);
    let with = |chance| uncovered_on(battery, &course, limits, chance);
    let range = DueRange {
        early_on: with(limits.spent_chance),
        tenth_on: with(0.1),
        middle_on: with(0.5),
        late_on: with(0.9),
    };
    let (on, mut reason) = capped(battery, limits, range.early_on);
    let fitted = battery.fitted.fitted_on <= today;
    if fitted && remaining_mah(battery, start_of(today)).remaining_mah <= 0.0 {
        reason = DueReason::Spent;
    }
    Due { on, reason, range }
}

/// Returns only the day by which each battery must be changed and what decides it, for long lists;
/// never [`DueReason::Spent`]. The batteries and their limits stand in the same order.
pub fn due_days(batteries: &[Battery<'_>], limits: &[Limits]) -> Vec<(NaiveDate, DueReason)> {
    let pairs = batteries.iter().zip(limits);
    pairs
        .map(|(battery, limits)| {
            let course = Course::of(battery);
            let early_on = uncovered_on(battery, &course, limits, limits.spent_chance);
            capped(battery, limits, early_on)
        })
        .collect()
}

fn capped(battery: &Battery<'_>, limits: &Limits, early_on: NaiveDate) -> (NaiveDate, DueReason) {
    let fitted_on = battery.fitted.fitted_on;
    let mut due = (early_on, DueReason::Charge);
    let ages = [
        (limits.site_age_limit_y, fitted_on, DueReason::SiteAge),
        (limits.maker_age_limit_y, battery.made_on(), DueReason::MakerAge),
    ];
    for (limit_y, since, reason) in ages {
        let Some(limit_y) = limit_y else { continue };
        let on = years_after(since, limit_y).max(fitted_on);
        if on < due.0 {
            due = (on, reason);
        }
    }
    due
}

fn uncovered_on(battery: &Battery<'_>, course: &Course, limits: &Limits, chance: f64) -> NaiveDate {
    let days = course.days_until(chance, limits.hold_up_required_h);
    // The day on which it happens, which the battery does not cover to its end.
    let days = days.min(HORIZON_D).floor() as u64;
    battery.fitted.fitted_on.checked_add_days(Days::new(days)).unwrap_or(NaiveDate::MAX)
}

pub(super) fn years_after(since: NaiveDate, years: f64) -> NaiveDate {
    // A limit that is no number or below zero is over at once; the cast caps one that is too long.
    let months = (years * 12.0 + 1e-9).floor().max(0.0) as u32;
    since.checked_add_months(Months::new(months)).unwrap_or(NaiveDate::MAX)
}
