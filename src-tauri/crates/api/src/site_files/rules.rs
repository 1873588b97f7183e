//! The object `battery_rules` of `site.json`.

use super::catalogue::word;
use super::problem::Problems;
use chrono::{NaiveDate, Weekday};
use serde::Deserialize;
use slotkeep_domain::place::{BatteryRules, Closed, GroupBy};

const NAME: &str = "site.json";

#[derive(Deserialize)]
pub(super) struct RulesJson {
    spent_chance: Option<f64>,
    visit_cost_cents: Option<i64>,
    change_cost_cents: Option<i64>,
    loss_cost_cents: Option<i64>,
    crew_h_per_day: Option<f64>,
    setup_min: Option<u32>,
    weekdays: Option<Vec<String>>,
    #[serde(default)]
    closed: Vec<ClosedJson>,
    agreed_d: Option<u32>,
    horizon_y: Option<u32>,
    group_by: Option<String>,
}

#[derive(Deserialize)]
struct ClosedJson {
    from: String,
    to: String,
    #[serde(default)]
    reason: String,
}

/// Takes the site's rules, and ours for those that it leaves open.
pub(super) fn read(read: RulesJson, problems: &mut Problems) -> BatteryRules {
    let ours = BatteryRules::default();
    let weekdays = read
        .weekdays
        .map(|words| words.iter().filter_map(|text| word(WEEKDAYS, text)).collect::<Vec<_>>());
    let group_by = read.group_by.as_deref().and_then(|text| word(GROUPS, text));
    let mut closed = Vec::new();
    for (at, days) in read.closed.into_iter().enumerate() {
        let pointer = format!("/battery_rules/closed/{at}");
        let mut day = |field: &str, text: &str| match text.parse::<NaiveDate>() {
            Ok(day) => Some(day),
            Err(_) => {
                let path = format!("{pointer}/{field}");
                problems.json(NAME, &path, text, "a date such as 2026-12-21");
                None
            }
        };
        let (Some(from), Some(to)) = (day("from", &days.from), day("to", &days.to)) else {
            continue;
        };
        if to < from {
            let expected = format!("a date not before {from}, the first of these days");
            problems.json(NAME, &format!("{pointer}/to"), to, expected);
        }
        closed.push(Closed { from, to, reason: days.reason });
    }
    BatteryRules {
        spent_chance: read.spent_chance.unwrap_or(ours.spent_chance),
        visit_cost_cents: read.visit_cost_cents.unwrap_or(ours.visit_cost_cents),
        change_cost_cents: read.change_cost_cents.unwrap_or(ours.change_cost_cents),
        loss_cost_cents: read.loss_cost_cents.unwrap_or(ours.loss_cost_cents),
        crew_h_per_day: read.crew_h_per_day.unwrap_or(ours.crew_h_per_day),
        setup_min: read.setup_min.unwrap_or(ours.setup_min),
        weekdays: weekdays.unwrap_or(ours.weekdays),
        closed,
        agreed_d: read.agreed_d.unwrap_or(ours.agreed_d),
        horizon_y: read.horizon_y.unwrap_or(ours.horizon_y),
        group_by: group_by.unwrap_or(ours.group_by),
    }
}

const WEEKDAYS: &[(&str, Weekday)] = &[
    ("mon", Weekday::Mon),
    ("tue", Weekday::Tue),
    ("wed", Weekday::Wed),
    ("thu", Weekday::Thu),
    ("fri", Weekday::Fri),
    ("sat", Weekday::Sat),
    ("sun", Weekday::Sun),
];

const GROUPS: &[(&str, GroupBy)] = &[("cabinet", GroupBy::Cabinet), ("area", GroupBy::Area)];
