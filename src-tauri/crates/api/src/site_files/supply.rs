//! What a line of `models.json` says of parts, prices and its maker's last day.

use super::catalogue::Misfit;
use chrono::NaiveDate;
use serde::Deserialize;
use slotkeep_domain::model::{PartsLine, PriceBreak};

#[derive(Deserialize)]
pub(super) struct PartsJson {
    title: String,
    count: u32,
    fit: f64,
}

#[derive(Deserialize)]
pub(super) struct PriceBreakJson {
    from: u32,
    price_cents: i64,
}

pub(super) fn parts(read: PartsJson) -> PartsLine {
    PartsLine { title: read.title, count: read.count, fit: read.fit }
}

pub(super) fn price_break(read: PriceBreakJson) -> PriceBreak {
    PriceBreak { from: read.from, price_cents: read.price_cents }
}

/// The schema knows the form of a day, not the length of months.
pub(super) fn day(text: &str) -> Result<NaiveDate, Misfit> {
    text.parse().map_err(|_| ("last_order_on".to_owned(), "a date such as 2027-06-30".to_owned()))
}
