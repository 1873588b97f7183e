//! What was asked for month by month, and what is foreseen from it.

use super::spares_days::month_after;
use super::spares_demand::UNKNOWN_LEAD_TIME_D;
use super::spares_facts::{Facts, Held};
use chrono::{DateTime, Datelike, NaiveDate, Utc};
use slotkeep_domain::model::{Model, ModelKind};
use slotkeep_domain::place::Storeroom;
use slotkeep_domain::spares::{
    Class, DAYS_PER_MONTH, ForecastRules, History, Method, Outlook, Pattern, Pmf, demand_measures,
    outlooks, pattern, steadiness,
};
use std::collections::{BTreeMap, HashMap};

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

/// What is foreseen of one model in one storeroom.
pub(super) struct Foreseen {
    pub outlook: Outlook,
    /// Demand of one month.
    pub month: Pmf,
}

impl Foreseen {
    /// The method that a person chose, or `blend`.
    pub fn method(&self) -> &'static str {
        self.outlook.chosen.as_ref().map_or("blend", |(method, _)| word(*method))
    }

    pub fn methods(&self) -> Vec<MethodDid> {
        let tested = self.outlook.tests > 0;
        let did = self.outlook.methods.iter().map(|test| MethodDid {
            word: word(test.method),
            title: test.method.title(),
            mean: test.month,
            error: tested.then_some(test.error),
            weight: test.weight,
        });
        did.collect()
    }
}

/// A method, and how it did on the months past.
pub(super) struct MethodDid {
    pub word: &'static str,
    pub title: &'static str,
    /// Mean demand of a month.
    pub mean: f64,
    /// None where the history is too short for a test.
    pub error: Option<f64>,
    /// Its share in the blend.
    pub weight: f64,
}

/// Histories of counted stock, and what is foreseen from them.
pub(super) struct Histories {
    by_store: HashMap<(String, String), Foreseen>,
}

/// One history that waits to be foreseen together with the others.
struct Waiting {
    key: (String, String),
    history: History,
    chosen: Option<(Method, String)>,
}

impl Histories {
    /// What is foreseen; none where nothing was ever handed out there.
    pub fn get(&self, model: &str, storeroom: &str) -> Option<&Foreseen> {
        self.by_store.get(&(model.to_owned(), storeroom.to_owned()))
    }

    /// Demand of one month over all storerooms, and the outlook where one storeroom has it all.
    pub fn of_site(&self, model: &str, storerooms: &[Storeroom]) -> Option<(Pmf, Option<Outlook>)> {
        let here = storerooms.iter().filter_map(|room| self.get(model, &room.code));
        let all: Vec<&Foreseen> = here.collect();
        let month = all.iter().map(|it| it.month.clone()).reduce(|sum, next| sum.plus(&next))?;
        let only = if all.len() == 1 { Some(all[0].outlook.clone()) } else { None };
        Some((month, only))
    }

    /// Foresees all histories; those of one lead time together, since the blend is tested over it and
    /// items learn from each other.
    pub fn of(facts: &Facts) -> Self {
        let mut waiting: BTreeMap<usize, Vec<Waiting>> = BTreeMap::new();
        let mut handed_out: Vec<(&String, &Held)> =
            facts.by_model.iter().filter(|(_, held)| !held.issues.is_empty()).collect();
        handed_out.sort_by_key(|(model, _)| *model);
        for (part_no, held) in handed_out {
            // Cells are handed out for changes, which are known by day.
            let model = facts.models.get(part_no);
            let Some(model) = model.filter(|model| model.kind != ModelKind::Battery) else {
                continue;
            };
            let home = facts.serving.home(|room| held.shelf(room).usable).unwrap_or_default();
            for (storeroom, demands) in issued(facts, held, home) {
                let choice = held.choice(&storeroom);
                let chosen = choice.and_then(|choice| {
                    Some((method(choice.method.as_deref()?)?, choice.reason.clone()))
                });
                let Ok(history) = History::new(demands) else { continue };
                let key = (part_no.clone(), storeroom);
                let of_horizon = waiting.entry(horizon(facts, model)).or_default();
                of_horizon.push(Waiting { key, history, chosen });
            }
        }
        let mut by_store = HashMap::new();
        for (horizon, items) in waiting {
            let histories: Vec<History> = items.iter().map(|it| it.history.clone()).collect();
            let Ok(foreseen) = outlooks(&histories, &ForecastRules::over(horizon)) else {
                continue;
            };
            for (item, outlook) in items.into_iter().zip(foreseen) {
                let outlook = match &item.chosen {
                    Some((method, reason)) => outlook.by(*method, reason).unwrap_or(outlook),
                    None => outlook,
                };
                if let Ok(month) = outlook.over(1.0) {
                    by_store.insert(item.key, Foreseen { outlook, month });
                }
            }
        }
        Self { by_store }
    }
}

/// Months that a forecast has to cover, and is tested over.
fn horizon(facts: &Facts, model: &Model) -> usize {
    let days = model.lead_time_d.unwrap_or(UNKNOWN_LEAD_TIME_D) + facts.rules.review_d.unwrap_or(0);
    ((f64::from(days) / DAYS_PER_MONTH).ceil() as usize).clamp(1, 24)
}

/// Words of the forecast methods that may be chosen, in the order of [`Method::ALL`].
const WORDS: [&str; Method::ALL.len()] = [
    "zero",
    "naive",
    "historic_average",
    "average_3",
    "average_6",
    "average_12",
    "smoothing",
    "smoothing_quick",
    "smoothing_fitted",
    "croston",
    "croston_fitted",
    "sba",
    "sbj",
    "tsb",
    "tsb_quick",
    "adida",
    "imapa",
    "season",
    "evolving_counts",
    "zero_inflated",
];

fn word(method: Method) -> &'static str {
    let at = Method::ALL.iter().position(|known| *known == method);
    at.map_or("", |at| WORDS[at])
}

fn method(word: &str) -> Option<Method> {
    Some(Method::ALL[WORDS.iter().position(|known| *known == word)?])
}

/// Fails with what to write where a word is no method.
pub(super) fn known_method(word: &str) -> Result<(), String> {
    match method(word) {
        Some(_) => Ok(()),
        None => Err(format!("{word:?} is not a forecast: write one of {}", WORDS.join(", "))),
    }
}

/// First month of the histories and number of whole months until now; none where the site has no
/// record yet.
fn window(facts: &Facts) -> Option<(NaiveDate, usize)> {
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
fn issued(facts: &Facts, held: &Held, home: &str) -> BTreeMap<String, Vec<f64>> {
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
