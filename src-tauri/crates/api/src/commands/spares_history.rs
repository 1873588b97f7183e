//! What was asked for month by month, and what is foreseen from it.

use super::spares_demand::month_after;
use super::spares_facts::{Facts, Held};
use chrono::{DateTime, Datelike, NaiveDate, Utc};
use slotkeep_domain::model::ModelKind;
use slotkeep_domain::spares::{
    Class, Pattern, Pmf, demand_measures, forecast, pattern, steadiness,
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
    /// The method in use, by its word.
    pub method: String,
    /// A person chose it.
    pub chosen: bool,
    pub methods: Vec<MethodDid>,
    /// Demand of one month.
    pub month: Pmf,
}

/// A method, and how it did on the months past.
pub(super) struct MethodDid {
    pub word: &'static str,
    pub title: &'static str,
    /// Mean demand of a month.
    pub mean: f64,
    /// None where the history is too short for a test.
    pub loss: Option<f64>,
    /// Its share in the blend.
    pub weight: f64,
}

impl Foreseen {
    /// Why this method.
    pub fn why(&self) -> &'static str {
        if self.chosen { "a person chose the method" } else { "the usual method" }
    }
}

/// Histories of counted stock, and what is foreseen from them.
pub(super) struct Histories {
    by_store: HashMap<(String, String), Foreseen>,
}

impl Histories {
    /// What is foreseen; none where nothing was ever handed out there.
    pub fn get(&self, model: &str, storeroom: &str) -> Option<&Foreseen> {
        self.by_store.get(&(model.to_owned(), storeroom.to_owned()))
    }

    /// Demand of one month over all storerooms.
    pub fn of_site(&self, model: &str) -> Option<Pmf> {
        let here = self.by_store.iter().filter(|((of, _), _)| of == model);
        here.map(|(_, foreseen)| foreseen.month.clone()).reduce(|sum, next| sum.plus(&next))
    }

    pub fn of(facts: &Facts) -> Self {
        let mut by_store = HashMap::new();
        for (model, held) in facts.by_model.iter().filter(|(_, held)| !held.issues.is_empty()) {
            // Cells are handed out for changes, which are known by day.
            if facts.models.get(model).is_none_or(|model| model.kind == ModelKind::Battery) {
                continue;
            }
            let home = facts.serving.home(|room| held.shelf(room).usable).unwrap_or_default();
            for (storeroom, demands) in issued(facts, held, home) {
                let chosen = held.choice(&storeroom).and_then(|choice| choice.method.as_deref());
                if let Some(foreseen) = foreseen(&demands, chosen) {
                    by_store.insert((model.clone(), storeroom), foreseen);
                }
            }
        }
        Self { by_store }
    }
}

/// Words of the forecast methods that may be chosen.
const METHODS: &[&str] = &["sba", "croston", "tsb", "ses", "mean"];

/// Fails with what to write where a word is no method.
pub(super) fn known_method(word: &str) -> Result<(), String> {
    match METHODS.contains(&word) {
        true => Ok(()),
        false => Err(format!("{word:?} is not a forecast: write one of {}", METHODS.join(", "))),
    }
}

fn foreseen(demands: &[f64], chosen: Option<&str>) -> Option<Foreseen> {
    let by = forecast(demands, 0.1, 0.1)?;
    let mean = demands.iter().sum::<f64>() / demands.len() as f64;
    let levels = [
        ("sba", "Croston after Syntetos and Boylan", by.sba),
        ("croston", "Croston", by.croston),
        ("tsb", "chance and size smoothed (TSB)", by.tsb),
        ("ses", "smoothing", by.ses),
        ("mean", "mean of all months", mean),
    ];
    let named = levels.iter().find(|(word, ..)| Some(*word) == chosen);
    let (method, _, level) = *named.unwrap_or(&levels[0]);
    let did = |(word, title, mean): (&'static str, &'static str, f64)| MethodDid {
        word,
        title,
        mean,
        loss: None,
        weight: f64::from(word == method),
    };
    let methods = levels.into_iter().map(did).collect();
    let squares: f64 = demands.iter().map(|demand| (demand - mean).powi(2)).sum();
    let variance = squares / (demands.len() as f64 - 1.0).max(1.0);
    let spread = if mean > 0.0 { (variance / mean).max(1.0) } else { 1.0 };
    let month = Pmf::negative_binomial(level, level * spread).ok()?;
    Some(Foreseen { method: method.to_owned(), chosen: named.is_some(), methods, month })
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
