//! The register as spares look at it, and what was learned from it, kept from one question to the
//! next.

use super::spares_facts::Facts;
use super::spares_history::Histories;
use super::spares_rate::Rates;
use crate::Failure;
use crate::ask::Ask;
use crate::wire::spares::SpareLine;
use slotkeep_domain::model::Model;
use slotkeep_store::Reader;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// All that is reckoned with: what the register says, and what was learned from it.
pub(super) struct Known<'g> {
    pub facts: &'g Facts,
    pub rates: &'g Rates,
    pub histories: &'g Histories,
    /// The order list by the site's own rules, once it was asked for.
    pub lines: &'g OnceLock<Vec<SpareLine>>,
}

/// The same, owned.
pub(crate) struct Gathered {
    facts: Facts,
    rates: Rates,
    histories: Histories,
    lines: OnceLock<Vec<SpareLine>>,
}

/// What was gathered last, with the number of the newest entry then.
///
/// It serves until anything is recorded or the day ends: unit-hours of running units count up to
/// the moment of gathering.
#[derive(Default)]
pub(crate) struct Kept(Mutex<Option<(i64, Arc<Gathered>)>>);

impl Gathered {
    /// What the state of a reader says.
    pub fn of(ask: &Ask<'_>, r: &Reader<'_>) -> Result<Arc<Self>, Failure> {
        let Kept(kept) = &ask.register.spares;
        // Whoever asks meanwhile waits for the same.
        let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
        let (head, _) = r.head()?;
        if let Some((at, gathered)) = kept.as_ref()
            && *at == head
            && gathered.facts.today == ask.today()
        {
            return Ok(gathered.clone());
        }
        let facts = Facts::gather(ask, r)?;
        let gathered = Arc::new(Self {
            rates: Rates::learn(&facts),
            histories: Histories::of(&facts),
            lines: OnceLock::new(),
            facts,
        });
        if kept.as_ref().is_none_or(|(at, _)| *at <= head) {
            *kept = Some((head, gathered.clone()));
        }
        Ok(gathered)
    }

    pub fn known(&self) -> Known<'_> {
        let Self { facts, rates, histories, lines } = self;
        Known { facts, rates, histories, lines }
    }
}

impl<'g> Known<'g> {
    /// Asks the same of every model, on as many threads as there are processors. The answers come
    /// in the order of part numbers; of several refusals the first is told.
    pub fn of_each<T: Send>(
        &self,
        ask: impl Fn(&'g Model) -> Result<T, Failure> + Sync,
    ) -> Result<Vec<T>, Failure> {
        let models: Vec<&Model> = self.facts.models.values().collect();
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        // Some models take far longer than others, so each thread takes the next one.
        let next = AtomicUsize::new(0);
        let work = || {
            let mut answers = Vec::new();
            while let Some((at, model)) = {
                let at = next.fetch_add(1, Ordering::Relaxed);
                models.get(at).map(|model| (at, model))
            } {
                answers.push((at, ask(model)));
            }
            answers
        };
        let mut answers: Vec<(usize, Result<T, Failure>)> = std::thread::scope(|scope| {
            let running: Vec<_> = (1..threads).map(|_| scope.spawn(work)).collect();
            let mut answers = work();
            for thread in running {
                match thread.join() {
                    Ok(more) => answers.extend(more),
                    Err(panic) => std::panic::resume_unwind(panic),
                }
            }
            answers
        });
        answers.sort_unstable_by_key(|(at, _)| *at);
        answers.into_iter().map(|(_, answer)| answer).collect()
    }
}
