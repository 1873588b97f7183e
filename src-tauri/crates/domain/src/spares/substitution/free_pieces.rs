//! What free pieces of stand-ins save of an order, and what is bought of them in place of a model
//! that is no longer sold.
//!
//! A piece is free where it lies above what its own model needs. Free pieces lie on a shelf of their
//! own, from which only models are served that it may stand in for, those first in the list first.
//! So the need of its own places comes first. Who takes what is reckoned by the joint distribution of
//! the pieces on their way, and a piece saves one piece of one order at most, however many models it
//! may help: that several rarely ask for it at once is left as a reserve.

use super::joint::group_states;
use super::{MOST_STATES, PlaceService, StandIn, Substitutable, SubstitutionRefusal, served};
use crate::spares::{Measure, Pmf, Target};

/// Most pieces that are looked at.
const MOST_PIECES: u64 = 10_000;

/// A model that lacks pieces and may count on free pieces of others.
#[derive(Debug, Clone, PartialEq)]
pub struct Lacking {
    /// Pieces on the shelf and on order, less those owed and planned.
    pub stock: u64,
    /// The stock from which on nothing would be ordered if there were no stand-ins.
    pub needed: u64,
    /// What is asked for in its lead time.
    pub demand: Pmf,
    pub target: Target,
    /// Shelves of free pieces that may serve it, counted from 0, in the order in which they are
    /// asked.
    pub shelves: Vec<usize>,
    /// The shelf that is filled in its place, where the model itself can no longer be bought.
    pub filled_instead: Option<usize>,
}

/// What free pieces do for a model.
#[derive(Debug, Clone, PartialEq)]
pub struct Helped {
    /// Pieces fewer that it needs itself, with the same service.
    pub fewer: u64,
    /// The same by shelf: each piece of a shelf is counted for one model at most.
    pub taken: Vec<(usize, u64)>,
    /// Pieces by which the shelf has to be filled that is filled in its place.
    pub added: u64,
    /// How its places are served with what is there now; none where no free pieces count.
    pub now: Option<PlaceService>,
    /// The joint distribution would be too large, so nothing shared with others is counted.
    pub too_many: bool,
}

/// Returns how many fewer pieces each model needs with `free` pieces on each shelf, and by how many
/// a shelf is to be filled. Models listed first take first.
///
/// A model is served as well as its target says, or as the stock `needed` alone would serve it where
/// that is not the least for the target, as where several storerooms hold it. Exact; where a model and those that share shelves with it have more than two million
/// joint states, free pieces are left out of account for it.
///
/// Fails with [`SubstitutionRefusal`] where a shelf is unknown or named twice.
pub fn free_pieces(free: &[u64], lacking: &[Lacking]) -> Result<Vec<Helped>, SubstitutionRefusal> {
    check(free, lacking)?;
    let (free, left) = (free.to_vec(), free.to_vec());
    let mut shared = Shared { free, left, lacking, settled: Vec::new() };
    Ok((0..lacking.len()).map(|model| shared.settle(model)).collect())
}

fn check(free: &[u64], lacking: &[Lacking]) -> Result<(), SubstitutionRefusal> {
    let models = free.len();
    for (model, it) in lacking.iter().enumerate() {
        let named = it.shelves.iter().chain(&it.filled_instead);
        if let Some(&stand_in) = named.clone().find(|shelf| **shelf >= models) {
            return Err(SubstitutionRefusal::Unknown { model, stand_in, models });
        }
        for (at, &stand_in) in it.shelves.iter().enumerate() {
            if it.shelves[..at].contains(&stand_in) {
                return Err(SubstitutionRefusal::Twice { model, stand_in });
            }
        }
    }
    Ok(())
}

struct Shared<'a> {
    free: Vec<u64>,
    /// Of the free pieces, those that are not counted for a model yet.
    left: Vec<u64>,
    lacking: &'a [Lacking],
    /// The stock of each model that was looked at, and whether it counts on free pieces.
    settled: Vec<(u64, bool)>,
}

impl Shared<'_> {
    fn settle(&mut self, model: usize) -> Helped {
        let it = &self.lacking[model];
        let group = self.group(model);
        let lacks = it.needed.saturating_sub(it.stock);
        if self.states(&group) > MOST_STATES {
            let added = it.filled_instead.map_or(0, |_| lacks);
            self.settled.push((it.stock.max(it.needed), false));
            let taken = Vec::new();
            return Helped { fewer: 0, taken, added, now: None, too_many: true };
        }
        let wanted = self.wanted(model);
        let serves = |stock: u64, free: &[u64]| wanted.by(&self.service_of(&group, stock, free));
        let left: u64 = it.shelves.iter().map(|shelf| self.left[*shelf]).sum();
        let least =
            least_of(it.needed - lacks.min(left), it.needed, |stock| serves(stock, &self.free));
        let fewer = it.needed - least;
        let now = (fewer > 0).then(|| self.service_of(&group, it.stock, &self.free));
        let mut added = 0;
        if let Some(shelf) = it.filled_instead.filter(|_| it.stock < least) {
            let filled = |added: u64| {
                let mut free = self.free.clone();
                free[shelf] += added;
                serves(it.stock, &free)
            };
            // A piece on a shared shelf is worth no more than one of its own.
            let first = least - it.stock;
            added = least_of(first, first + MOST_PIECES, filled);
            self.free[shelf] += added;
        }
        let own = if it.filled_instead.is_some() { it.stock } else { it.stock.max(least) };
        self.settled.push((own, fewer > 0 || added > 0));
        let taken = self.count(model, fewer);
        Helped { fewer, taken, added, now, too_many: false }
    }

    /// Takes counted pieces off what is left, shelf by shelf, and says how many of which.
    fn count(&mut self, model: usize, mut pieces: u64) -> Vec<(usize, u64)> {
        let mut counted = Vec::new();
        for shelf in &self.lacking[model].shelves {
            let taken = pieces.min(self.left[*shelf]);
            self.left[*shelf] -= taken;
            pieces -= taken;
            if taken > 0 {
                counted.push((*shelf, taken));
            }
        }
        counted
    }

    /// What the service with stand-ins is held against: the target, or what the stock `needed` does
    /// where that is not the least that meets it.
    fn wanted(&self, model: usize) -> Wanted {
        let it = &self.lacking[model];
        let alone = |stock: u64| self.service_of(&[model], stock, &[]);
        let meets = |stock: u64| alone(stock).meets(it.target);
        let least = meets(it.needed) && (it.needed == 0 || !meets(it.needed - 1));
        Wanted { target: it.target, at_level: (!least).then(|| alone(it.needed)) }
    }

    /// The model and the earlier ones that share shelves with it, directly or through others; itself
    /// last.
    fn group(&self, model: usize) -> Vec<usize> {
        let mut group = vec![model];
        loop {
            let shares = |other: &usize| {
                group.iter().any(|it| {
                    self.shelves_of(*it).any(|shelf| self.shelves_of(*other).any(|s| s == shelf))
                })
            };
            let more = (0..model).filter(|at| self.settled[*at].1 && !group.contains(at));
            let Some(next) = more.into_iter().find(shares) else { break };
            group.push(next);
        }
        group.sort_unstable();
        group
    }

    fn shelves_of(&self, model: usize) -> impl Iterator<Item = usize> + '_ {
        let it = &self.lacking[model];
        let instead = it.filled_instead.filter(|shelf| !it.shelves.contains(shelf));
        it.shelves.iter().copied().chain(instead)
    }

    fn states(&self, group: &[usize]) -> f64 {
        group_states(&self.models(group, 0, &[]))
    }

    /// How the last of a group is served with a stock of its own and free pieces on the shelves.
    fn service_of(&self, group: &[usize], stock: u64, free: &[u64]) -> PlaceService {
        let models = self.models(group, stock, free);
        served(&models, MOST_STATES)[group.len() - 1].with
    }

    /// The models of a group, then one without places for each shelf.
    fn models(&self, group: &[usize], stock: u64, free: &[u64]) -> Vec<Substitutable> {
        let last = group.len() - 1;
        let model = |(at, number): (usize, &usize)| Substitutable {
            stock: if at == last { stock } else { self.settled[*number].0 },
            demand: self.lacking[*number].demand.clone(),
            stand_ins: self
                .shelves_of(*number)
                .filter(|shelf| *shelf < free.len())
                .map(|shelf| StandIn { model: group.len() + shelf, reserved: 0 })
                .collect(),
        };
        let shelf = |free: &u64| Substitutable {
            stock: *free,
            demand: Pmf::certain(0),
            stand_ins: Vec::new(),
        };
        group.iter().enumerate().map(model).chain(free.iter().map(shelf)).collect()
    }
}

/// How well a model has to be served.
struct Wanted {
    target: Target,
    /// In place of the target.
    at_level: Option<PlaceService>,
}

impl Wanted {
    fn by(&self, got: &PlaceService) -> bool {
        let Some(level) = &self.at_level else { return got.meets(self.target) };
        let slack = 1.0 - 1e-12;
        match self.target.measure() {
            Measure::NoStockOut => got.no_stock_out >= level.no_stock_out * slack,
            Measure::FillRate => got.fill_rate >= level.fill_rate * slack,
            _ => got.backorders * slack <= level.backorders,
        }
    }
}

/// The least number from `low` to `high` from which on something holds; `high` where it never does.
fn least_of(low: u64, high: u64, holds: impl Fn(u64) -> bool) -> u64 {
    let (mut low, mut high) = (low, high);
    while low < high {
        let middle = low + (high - low) / 2;
        if holds(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}
