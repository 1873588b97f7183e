//! What was asked for month by month.

use super::spares_days::month_after;
use super::spares_facts::{Facts, Held};
use chrono::{DateTime, Datelike, NaiveDate, Utc};
use slotkeep_domain::spares::{Class, Pattern, demand_measures, pattern, steadiness};
use std::collections::BTreeMap;

/// Longest history that is looked at, months: ten years, since what is older says little.
const LONGEST_MONTHS: i64 = 120;

/// Demand of one month.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Month {
    pub failures: u32,
    pub no_fault_found: u32,
    pub issued: u32,
}

impl Month {
    pub fn total(self) -> u32 {
        self.failures + self.no_fault_found + self.issued
    }
}

/// First month of the histories and number of whole months until now; none where the site has no
/// record yet.
pub(super) fn window(facts: &Facts) -> Option<(NaiveDate, usize)> {
    let this = facts.today.with_day(1)?;
    let first = facts.record_from?.with_day(1)?.max(month_after(this, -LONGEST_MONTHS));
    let months = months_between(first, this);
    Some((first, usize::try_from(months).ok().filter(|months| *months > 0)?))
}

fn months_between(first: NaiveDate, last: NaiveDate) -> i64 {
    i64::from(last.year() - first.year()) * 12 + i64::from(last.month0())
        - i64::from(first.month0())
}

/// Pieces handed out by storeroom, month by month. What names no storeroom counts for the home one.
pub(super) fn issued(facts: &Facts, held: &Held, home: &str) -> BTreeMap<String, Vec<f64>> {
    let mut by_store: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    let Some((first, months)) = window(facts) else { return by_store };
    for issue in &held.issues {
        let free = |code: &str| {
            facts.serving.get(code).is_none_or(|storeroom| facts.serving.is_free(storeroom))
        };
        let room = issue.storeroom.as_deref().filter(|code| !free(code)).unwrap_or(home);
        if let Some(at) = month_of(first, months, issue.at) {
            let demands = by_store.entry(room.to_owned()).or_insert_with(|| vec![0.0; months]);
            demands[at] += f64::from(issue.pieces);
        }
    }
    by_store
}

fn month_of(first: NaiveDate, months: usize, at: DateTime<Utc>) -> Option<usize> {
    let number = months_between(first, at.date_naive());
    usize::try_from(number).ok().filter(|number| *number < months)
}

/// Demand of a model over the whole site, whole months up to the last, oldest first.
pub(super) fn months(facts: &Facts, held: &Held) -> Vec<(NaiveDate, Month)> {
    let Some((first, count)) = window(facts) else { return Vec::new() };
    let mut months = vec![Month::default(); count];
    for at in &held.failed_at {
        if let Some(at) = month_of(first, count, *at) {
            months[at].failures += 1;
        }
    }
    for at in &held.no_fault_at {
        if let Some(at) = month_of(first, count, *at) {
            months[at].no_fault_found += 1;
        }
    }
    for issue in &held.issues {
        if let Some(at) = month_of(first, count, issue.at) {
            months[at].issued += issue.pieces;
        }
    }
    let named = months.into_iter().zip(0..);
    named.map(|(month, at)| (month_after(first, at), month)).collect()
}

/// How a demand comes.
pub(super) struct Shape {
    pub adi: f64,
    pub cv2: f64,
    pub pattern: &'static str,
    pub variation: Option<&'static str>,
}

/// The pattern of a demand and its class by variation; none where nothing was ever asked for.
pub(super) fn shape(facts: &Facts, months: &[(NaiveDate, Month)]) -> Option<Shape> {
    let demands: Vec<f64> = months.iter().map(|(_, month)| f64::from(month.total())).collect();
    let (adi, cv2) = demand_measures(&demands)?;
    let [first, second] = facts.rules.xyz_cv;
    let variation = steadiness(&demands, first, second).map(|(_, class)| match class {
        Class::First => "X",
        Class::Second => "Y",
        Class::Third => "Z",
    });
    let pattern = match pattern(adi, cv2) {
        Pattern::Smooth => "smooth",
        Pattern::Intermittent => "intermittent",
        Pattern::Erratic => "erratic",
        Pattern::Lumpy => "lumpy",
    };
    Some(Shape { adi, cv2, pattern, variation })
}
