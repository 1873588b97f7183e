use super::{Battery, hold_up_h, remaining_mah, start_of};
use chrono::{Days, Months, NaiveDate};

/// What the site and the maker ask of a battery.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Power-off that the memory must outlast, h.
    pub hold_up_required_h: f64,
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
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum DueReason {
    /// The charge no longer covers the power-off that the site asks for.
    Charge,
    SiteAge,
    MakerAge,
    /// Nothing is left today.
    Spent,
}

/// Days after fitting at which the search ends: a hundred years, longer than any cell lasts.
const HORIZON_D: u64 = 36_525;

/// Returns the day by which the battery must be changed: the first on which, by its end, the
/// pessimistic charge no longer covers the power-off that the site asks for, or an age limit when
/// that comes first.
///
/// Never before the day of fitting, and often before `today`: such a battery is overdue. A hundred
/// years after fitting at the latest. The reason is [`DueReason::Spent`] where nothing is left at
/// the start of `today`. Age limits run in whole calendar months, rounded down.
pub fn due(battery: &Battery<'_>, limits: &Limits, today: NaiveDate) -> Due {
    let fitted_on = battery.fitted.fitted_on;
    let mut due = Due { on: uncovered_on(battery, limits), reason: DueReason::Charge };
    let ages = [
        (limits.site_age_limit_y, fitted_on, DueReason::SiteAge),
        (limits.maker_age_limit_y, battery.made_on(), DueReason::MakerAge),
    ];
    for (limit_y, since, reason) in ages {
        let Some(limit_y) = limit_y else { continue };
        let on = years_after(since, limit_y).max(fitted_on);
        if on < due.on {
            due = Due { on, reason };
        }
    }
    let fitted = fitted_on <= today;
    if fitted && remaining_mah(battery, start_of(today)).remaining_mah <= 0.0 {
        due.reason = DueReason::Spent;
    }
    due
}

/// Bisects the days after fitting, since charge and so hold-up only ever fall.
fn uncovered_on(battery: &Battery<'_>, limits: &Limits) -> NaiveDate {
    let day = |after_d: u64| {
        battery.fitted.fitted_on.checked_add_days(Days::new(after_d)).unwrap_or(NaiveDate::MAX)
    };
    let covers_through = |after_d: u64| {
        let hold_up_h = hold_up_h(battery, start_of(day(after_d + 1)));
        hold_up_h > 0.0 && hold_up_h >= limits.hold_up_required_h
    };
    let (mut low, mut high) = (0, HORIZON_D);
    while low < high {
        let middle = low + (high - low) / 2;
        if covers_through(middle) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    day(low)
}

fn years_after(since: NaiveDate, years: f64) -> NaiveDate {
    // A limit that is no number or below zero is over at once; the cast caps one that is too long.
    let months = (years * 12.0 + 1e-9).floor().max(0.0) as u32;
    since.checked_add_months(Months::new(months)).unwrap_or(NaiveDate::MAX)
}
