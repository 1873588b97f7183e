use super::{MOST_STATES, Substitutable, SubstitutionRefusal, check, served};
use crate::spares::Target;

/// Most pieces of one model that are tried.
const MOST_PIECES: u64 = 10_000;
/// Joint states of a group that are reckoned at each try; what is found is checked in full.
const TRIED_STATES: f64 = 2e4;
/// Models of a group up to which two pieces are exchanged for one.
const EXCHANGED: usize = 6;

/// The stocks that meet the targets, each model for itself and with stand-ins.
#[derive(Debug, Clone, PartialEq)]
pub struct FewestPieces {
    /// The least stock of each model for itself.
    pub without: Vec<u64>,
    /// Stocks that meet the same targets with stand-ins.
    pub with: Vec<u64>,
    /// Pieces that are saved.
    pub fewer: u64,
    /// Whether no choice needs fewer pieces: every one was tried, as for a pair. Else pieces were
    /// taken away, or two exchanged for one, as long as the targets were met.
    pub proven: bool,
}

/// Returns how many fewer pieces meet the same targets when stand-ins count. Each target is held
/// against the order of service that is worse for its model.
///
/// Fails with [`SubstitutionRefusal`] where a stand-in makes no sense, there is not one target for
/// each model, or one is met by no stock.
pub fn fewest_pieces(
    models: &[Substitutable],
    targets: &[Target],
) -> Result<FewestPieces, SubstitutionRefusal> {
    check(models)?;
    if targets.len() != models.len() {
        let given = targets.len();
        return Err(SubstitutionRefusal::Targets { given, models: models.len() });
    }
    let mut without = Vec::with_capacity(models.len());
    for (number, (model, target)) in models.iter().zip(targets).enumerate() {
        let alone = Substitutable { stand_ins: Vec::new(), ..model.clone() };
        let mut search = Search {
            models: vec![alone],
            targets: std::slice::from_ref(target),
            states: MOST_STATES,
        };
        let least = (0..=MOST_PIECES).find(|stock| search.meets(&[*stock]));
        without.push(least.ok_or(SubstitutionRefusal::Target(number))?);
    }
    let states = if models.len() == 2 { MOST_STATES } else { TRIED_STATES };
    let mut search = Search { models: models.to_vec(), targets, states };
    let (with, proven) = match models.len() {
        0 | 1 => (without.clone(), true),
        2 => (search.pair(&without), true),
        _ => (search.descend(&without), false),
    };
    let fewer = without.iter().sum::<u64>().saturating_sub(with.iter().sum());
    Ok(FewestPieces { without, with, fewer, proven })
}

struct Search<'a> {
    models: Vec<Substitutable>,
    targets: &'a [Target],
    states: f64,
}

impl Search<'_> {
    fn meets(&mut self, stocks: &[u64]) -> bool {
        self.unmet(stocks).is_empty()
    }

    /// The models that miss their targets.
    fn unmet(&mut self, stocks: &[u64]) -> Vec<usize> {
        self.models.iter_mut().zip(stocks).for_each(|(model, stock)| model.stock = *stock);
        let served = served(&self.models, self.states);
        let missed = |at: &usize| !served[*at].with.meets(self.targets[*at]);
        (0..stocks.len()).filter(missed).collect()
    }

    /// Tries every stock of the first with every stock of the second.
    fn pair(&mut self, without: &[u64]) -> Vec<u64> {
        let mut best = without.to_vec();
        let all = without[0] + without[1];
        for first in 0..=all {
            let total: u64 = best.iter().sum();
            let second = (0..total.saturating_sub(first)).find(|it| self.meets(&[first, *it]));
            if let Some(second) = second {
                best = vec![first, second];
            }
        }
        best
    }

    /// Takes pieces away, and gives one for two, as long as something helps.
    fn descend(&mut self, without: &[u64]) -> Vec<u64> {
        // By the order of service that is worse for it a lender can fare worse than alone.
        let mut stocks = self.raised(without.to_vec());
        while let Some(better) = self.smaller(&stocks) {
            stocks = better;
        }
        self.states = MOST_STATES;
        stocks = self.raised(stocks);
        if stocks.iter().sum::<u64>() < without.iter().sum() { stocks } else { without.to_vec() }
    }

    /// Adds pieces where a target is missed.
    fn raised(&mut self, mut stocks: Vec<u64>) -> Vec<u64> {
        loop {
            let unmet = self.unmet(&stocks);
            if unmet.is_empty() || unmet.iter().any(|at| stocks[*at] >= MOST_PIECES) {
                return stocks;
            }
            unmet.iter().for_each(|at| stocks[*at] += 1);
        }
    }

    fn smaller(&mut self, stocks: &[u64]) -> Option<Vec<u64>> {
        let models = stocks.len();
        let singles = (0..models).map(|one| (one, None, None));
        let exchanged = if models <= EXCHANGED { models } else { 0 };
        let exchanges = (0..exchanged).flat_map(move |one| {
            (one..models)
                .flat_map(move |two| (0..models).map(move |more| (one, Some(two), Some(more))))
        });
        for (one, two, more) in singles.chain(exchanges) {
            let mut next = stocks.to_vec();
            let mut take = |model: usize| match next[model].checked_sub(1) {
                Some(less) => {
                    next[model] = less;
                    true
                }
                None => false,
            };
            if !take(one) || !two.is_none_or(&mut take) {
                continue;
            }
            if let Some(more) = more {
                next[more] += 1;
            }
            if self.meets(&next) {
                return Some(next);
            }
        }
        None
    }
}
