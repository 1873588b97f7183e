//! Days and months from today.

use chrono::{Datelike, Duration, NaiveDate};

/// Days of a year.
pub(super) const YEAR_D: f64 = 365.25;

/// Days from today, which is day 0; what is late counts as today.
pub(super) fn days_from(today: NaiveDate, on: NaiveDate) -> f64 {
    (on - today).num_days().max(0) as f64
}

/// First day of a month, so many months later.
pub(super) fn month_after(month: NaiveDate, months: i64) -> NaiveDate {
    let number = i64::from(month.year()) * 12 + i64::from(month.month0()) + months;
    let year = i32::try_from(number.div_euclid(12)).unwrap_or(month.year());
    let of_year = u32::try_from(number.rem_euclid(12)).unwrap_or(0) + 1;
    NaiveDate::from_ymd_opt(year, of_year, 1).unwrap_or(month)
}

/// The day so many days from now; none where it is past all calendars.
pub(super) fn day_after(today: NaiveDate, days: f64) -> Option<NaiveDate> {
    let days = Duration::try_days(days.min(1e6) as i64)?;
    today.checked_add_signed(days)
}
