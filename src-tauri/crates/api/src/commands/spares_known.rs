//! The register as spares look at it, and what was learned from it, kept from one question to the
//! next and refreshed where something happened.

use super::spares_facts::Facts;
use super::spares_foreseen::Histories;
use super::spares_list::{Before, Listed};
use super::spares_rate::Rates;
use super::spares_site::SiteDemand;
use super::spares_stand_in::StandIns;
use super::spares_stock::ModelStock;
use super::spares_touched::Touched;
use crate::Failure;
use crate::ask::Ask;
use slotkeep_domain::in_parallel_with;
use slotkeep_domain::model::Model;
use slotkeep_store::Reader;
use std::collections::{BTreeSet, HashMap};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// All that is reckoned with: what the register says, and what was learned from it.
#[derive(Clone, Copy)]
pub(super) struct Known<'g> {
    pub facts: &'g Facts,
    pub rates: &'g Rates,
    pub histories: &'g Histories,
    kept: &'g Gathered,
}

/// The same, owned, with what was reckoned from it so far.
pub(crate) struct Gathered {
    facts: Facts,
    rates: Rates,
    histories: Histories,
    /// Each model of the catalogue over its storerooms, once it was asked for.
    models: HashMap<String, Arc<OfModel>>,
    stand_ins: OnceLock<Result<Arc<StandIns>, Failure>>,
    list: OnceLock<Result<Arc<Listed>, Failure>>,
    /// The list as it was before something happened.
    before: Option<Before>,
}

/// What was reckoned of one model, which serves until something happens to it.
#[derive(Default)]
struct OfModel {
    stock: OnceLock<Result<Option<ModelStock>, Failure>>,
    site: OnceLock<SiteDemand>,
}

/// What was gathered last, with the number of the newest entry then.
///
/// It serves for the day: after a record only the models are gathered anew that its entries have to
/// do with, and what is reckoned from several models where one of them is among these.
#[derive(Default)]
pub(crate) struct Kept(Mutex<Option<(i64, Arc<Gathered>)>>);

impl Gathered {
    /// What the state of a reader says.
    pub fn of(ask: &Ask<'_>, r: &Reader<'_>) -> Result<Arc<Self>, Failure> {
        let Kept(kept) = &ask.register.spares;
        // Whoever asks meanwhile waits for the same.
        let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
        let (head, _) = r.head()?;
        let of_today = kept.as_ref().filter(|(_, it)| it.facts.today == ask.today());
        let gathered = match of_today {
            Some((at, gathered)) if *at == head => return Ok(gathered.clone()),
            Some((at, gathered)) if *at < head => match Touched::since(r, *at, head)? {
                Some(touched) => gathered.renewed(r, touched)?,
                None => Self::anew(ask, r)?,
            },
            _ => Self::anew(ask, r)?,
        };
        let gathered = Arc::new(gathered);
        if kept.as_ref().is_none_or(|(at, _)| *at <= head) {
            *kept = Some((head, gathered.clone()));
        }
        Ok(gathered)
    }

    fn anew(ask: &Ask<'_>, r: &Reader<'_>) -> Result<Self, Failure> {
        let facts = Facts::gather(ask, r)?;
        let nothing = |model: &String| (model.clone(), Arc::default());
        Ok(Self {
            rates: Rates::learn(&facts),
            histories: Histories::of(&facts),
            models: facts.models.keys().map(nothing).collect(),
            stand_ins: OnceLock::new(),
            list: OnceLock::new(),
            before: None,
            facts,
        })
    }

    /// The same after something happened to some models.
    fn renewed(&self, r: &Reader<'_>, touched: Touched) -> Result<Self, Failure> {
        let (facts, models) = self.facts.renewed(r, &touched.completed(&self.facts))?;
        let (rates, models) = self.rates.renewed(&facts, &models);
        let (histories, mut models) = self.histories.renewed(&facts, &models);
        // A stand-in has the class of what it has taken over, in stores of its own.
        let of_class: Vec<String> = models
            .iter()
            .filter_map(|model| facts.ties.bought_instead(model))
            .map(str::to_owned)
            .collect();
        models.extend(of_class);
        let mut of_each = self.models.clone();
        for model in models.iter().filter(|model| facts.models.contains_key(*model)) {
            of_each.insert(model.clone(), Arc::default());
        }
        let list = self.list.get().and_then(|list| list.as_ref().ok());
        let before = match (list, &self.before) {
            (Some(list), _) => Some(Before::of(list.clone(), models)),
            (None, Some(before)) => Some(before.and(models)),
            (None, None) => None,
        };
        Ok(Self {
            facts,
            rates,
            histories,
            models: of_each,
            stand_ins: OnceLock::new(),
            list: OnceLock::new(),
            before,
        })
    }

    pub fn known(&self) -> Known<'_> {
        let Self { facts, rates, histories, .. } = self;
        Known { facts, rates, histories, kept: self }
    }
}

impl<'g> Known<'g> {
    /// A model over its storerooms; none where there is nothing of it and nothing asked for it, or
    /// where there is no storeroom.
    pub fn stock(&self, model: &Model) -> Result<Option<&'g ModelStock>, Failure> {
        Ok(self.any_stock(model)?.filter(|stock| !stock.idle))
    }

    /// The same of a model of which there is nothing yet.
    pub fn any_stock(&self, model: &Model) -> Result<Option<&'g ModelStock>, Failure> {
        let of_model = self.kept.models.get(model.part_no.as_str());
        let stock = of_model.map(|it| it.stock.get_or_init(|| ModelStock::of(self, model)));
        stock.map_or(Ok(None), |it| it.as_ref().map(Option::as_ref).map_err(Failure::clone))
    }

    /// What is asked for of a model over the whole site.
    pub fn site(&self, model: &Model) -> Result<&'g SiteDemand, Failure> {
        let of_model = self.kept.models.get(model.part_no.as_str());
        let of_model = of_model.ok_or_else(|| {
            Failure::not_found(format!("the catalogue has no model {}", model.part_no))
        })?;
        Ok(of_model.site.get_or_init(|| SiteDemand::of(self, model)))
    }

    /// All models, and those that are ordered in place of others though there is nothing of them yet.
    pub fn stocks(&self) -> Result<Vec<(&'g Model, &'g ModelStock)>, Failure> {
        let facts = self.facts;
        let of_each = self.of_each(|model| Ok((model, self.any_stock(model)?)))?;
        let asked: BTreeSet<&str> = of_each
            .iter()
            .filter(|(_, stock)| stock.is_some_and(|stock| !stock.idle))
            .map(|(model, _)| model.part_no.as_str())
            .collect();
        let wanted = |model: &Model| {
            let part_no = model.part_no.as_str();
            let instead = || facts.ties.taken_over(part_no).iter().any(|it| asked.contains(&**it));
            asked.contains(part_no) || instead()
        };
        let of_each = of_each.into_iter().filter(|(model, _)| wanted(model));
        Ok(of_each.filter_map(|(model, stock)| Some((model, stock?))).collect())
    }

    /// What stand-ins do for orders and money.
    pub fn stand_ins(&self) -> Result<&'g Arc<StandIns>, Failure> {
        let reckon = || Ok(Arc::new(StandIns::of(self, &self.stocks()?)?));
        self.kept.stand_ins.get_or_init(reckon).as_ref().map_err(Failure::clone)
    }

    /// The order list by the site's own rules.
    pub fn list(&self) -> Result<&'g Listed, Failure> {
        let reckon = || Ok(Arc::new(Listed::of(self, self.kept.before.as_ref())?));
        let list = self.kept.list.get_or_init(reckon);
        list.as_ref().map(Arc::as_ref).map_err(Failure::clone)
    }

    /// Asks the same of every model, on as many threads as there are processors. The answers come
    /// in the order of part numbers; of several refusals the first is told.
    pub fn of_each<T: Send>(
        &self,
        ask: impl Fn(&'g Model) -> Result<T, Failure> + Sync,
    ) -> Result<Vec<T>, Failure> {
        each_of(self.facts, || (), |(), model| ask(model)).into_iter().collect()
    }
}

/// Asks the same of every model of the catalogue, on as many threads as there are processors, each of
/// which remembers what it likes. The answers come in the order of part numbers.
pub(super) fn each_of<'f, M, T: Send>(
    facts: &'f Facts,
    memory: impl Fn() -> M + Sync,
    ask: impl Fn(&mut M, &'f Model) -> T + Sync,
) -> Vec<T> {
    let models: Vec<&Model> = facts.models.values().collect();
    in_parallel_with(&models, memory, |memory, model| ask(memory, model))
}
