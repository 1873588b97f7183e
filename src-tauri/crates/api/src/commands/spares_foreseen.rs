//! What is foreseen from the histories of counted stock.

use super::spares_demand::UNKNOWN_LEAD_TIME_D;
use super::spares_facts::Facts;
use super::spares_history::{issued, window};
use chrono::NaiveDate;
use slotkeep_domain::model::{Model, ModelKind};
use slotkeep_domain::place::Storeroom;
use slotkeep_domain::spares::{
    DAYS_PER_MONTH, ForecastRules, History, Method, Outlook, Pmf, outlooks,
};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

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
    items: BTreeMap<Key, Item>,
    by_store: HashMap<Key, Arc<Foreseen>>,
    /// First month and number of months.
    window: Option<(NaiveDate, usize)>,
}

/// Model and storeroom.
type Key = (String, String);

/// One history, which is foreseen together with the others of its lead time.
#[derive(Clone)]
struct Item {
    /// Months to foresee.
    horizon: usize,
    history: Arc<History>,
    /// By the method that suits it.
    blended: Option<Arc<Outlook>>,
    chosen: Option<(Method, String)>,
}

impl Item {
    fn foreseen(&self) -> Option<Foreseen> {
        let blended = self.blended.as_deref()?;
        let by_choice = self.chosen.as_ref();
        let by_choice = by_choice.and_then(|(method, why)| blended.clone().by(*method, why).ok());
        let outlook = by_choice.unwrap_or_else(|| blended.clone());
        let month = outlook.over(1.0).ok()?;
        Some(Foreseen { outlook, month })
    }
}

impl Histories {
    /// What is foreseen; none where nothing was ever handed out there.
    pub fn get(&self, model: &str, storeroom: &str) -> Option<&Foreseen> {
        if self.by_store.is_empty() {
            return None;
        }
        self.by_store.get(&(model.to_owned(), storeroom.to_owned())).map(Arc::as_ref)
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
        let items = facts.models.keys().flat_map(|model| items(facts, model));
        let mut all =
            Self { items: items.collect(), by_store: HashMap::new(), window: window(facts) };
        let horizons = all.items.values().map(|item| item.horizon).collect();
        all.foresee(&horizons);
        all
    }

    /// The same after something happened to some models, and the models of which anything else is
    /// foreseen now: these, and all of a lead time of which one history is another one.
    pub fn renewed(&self, facts: &Facts, models: &BTreeSet<String>) -> (Self, BTreeSet<String>) {
        if window(facts) != self.window {
            return (Self::of(facts), facts.models.keys().cloned().collect());
        }
        let mut all = Self {
            items: self.items.clone(),
            by_store: self.by_store.clone(),
            window: self.window,
        };
        let mut horizons = BTreeSet::new();
        for model in models {
            let rooms = facts.serving.storerooms.iter().map(|room| room.code.clone());
            let mut before: Vec<(Key, Item)> =
                rooms.filter_map(|room| all.items.remove_entry(&(model.clone(), room))).collect();
            for (key, mut item) in items(facts, model) {
                let had = before.iter().position(|(had, _)| *had == key);
                match had.map(|at| before.swap_remove(at).1) {
                    Some(had) if had.horizon == item.horizon && had.history == item.history => {
                        item.blended = had.blended;
                        let foreseen = item.foreseen().map(|it| (key.clone(), Arc::new(it)));
                        all.by_store.extend(foreseen);
                    }
                    _ => drop(horizons.insert(item.horizon)),
                }
                all.items.insert(key, item);
            }
            for (key, gone) in before {
                all.by_store.remove(&key);
                horizons.insert(gone.horizon);
            }
        }
        let mut other = models.clone();
        other.extend(all.foresee(&horizons));
        (all, other)
    }

    /// Foresees the histories of some lead times, and names their models.
    fn foresee(&mut self, horizons: &BTreeSet<usize>) -> BTreeSet<String> {
        let mut models = BTreeSet::new();
        for horizon in horizons {
            let together = self.items.iter_mut().filter(|(_, item)| item.horizon == *horizon);
            let mut together: Vec<(&Key, &mut Item)> = together.collect();
            let histories: Vec<History> =
                together.iter().map(|(_, item)| History::clone(&item.history)).collect();
            let foreseen = outlooks(&histories, &ForecastRules::over(*horizon)).unwrap_or_default();
            let mut foreseen = foreseen.into_iter();
            for (key, item) in &mut together {
                item.blended = foreseen.next().map(Arc::new);
                models.insert(key.0.clone());
                match item.foreseen() {
                    Some(it) => self.by_store.insert((*key).clone(), Arc::new(it)),
                    None => self.by_store.remove(*key),
                };
            }
        }
        models
    }
}

/// The histories of a model by storeroom.
fn items(facts: &Facts, part_no: &str) -> Vec<(Key, Item)> {
    let held = facts.of(part_no);
    // Cells are handed out for changes, which are known by day.
    let model = facts.models.get(part_no).filter(|model| model.kind != ModelKind::Battery);
    let Some(model) = model.filter(|_| !held.issues.is_empty()) else { return Vec::new() };
    let home = facts.serving.home(|room| held.shelf(room).usable).unwrap_or_default();
    let by_room = issued(facts, held, home).into_iter();
    let item = |(storeroom, demands): (String, Vec<f64>)| {
        let choice = held.choice(&storeroom);
        let chosen = choice
            .and_then(|choice| Some((method(choice.method.as_deref()?)?, choice.reason.clone())));
        let history = Arc::new(History::new(demands).ok()?);
        let item = Item { horizon: horizon(facts, model), history, blended: None, chosen };
        Some(((part_no.to_owned(), storeroom), item))
    };
    by_room.filter_map(item).collect()
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
