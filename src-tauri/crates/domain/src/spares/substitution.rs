//! One-way substitution: a model that may stand in for another covers its demand too.
//!
//! What is used is ordered one for one, as the model that the place calls for, and when that comes
//! the stand-in goes back on its shelf. So what is on its way of each model is its own demand in its
//! own lead time, whoever lent to whom, and these demands know nothing of each other. A place is
//! served from its own model's shelf first, then from those of its stand-ins in the stated order,
//! each of which keeps a reserve back; a stand-in is one step, and nothing flows back. A waiting
//! place gets the next piece that it may have. (Where stand-ins stay for good and one of their own
//! kind is ordered, some more wait: a seventh more in the case that the tests simulate.)
//!
//! Who waits of several that could use one piece depends on who came first. Two orders enclose it:
//! lenders' own places first, pieces lent being called back, and borrowers first. For a pair every
//! order lies between them, and without a reserve the pieces owed in all are the same in each. In
//! larger groups borrowers take in the order of the list, so list those first that may go first.
//!
//! Two models that stand in for each other, or a circle of such, need no rule of their own: each is
//! served from the shelves that it may use, one step away.

mod allowed;
mod fewest;
mod free_pieces;
#[cfg(test)]
mod free_pieces_tests;
mod joint;
#[cfg(test)]
mod tests;

pub use allowed::{NoStandIn, may_stand_in};
pub use fewest::{FewestPieces, fewest_pieces};
pub use free_pieces::{Helped, Lacking, free_pieces};

use super::levels::{HOURS_A_YEAR, Service, Target};
use super::pmf::Pmf;
use joint::{Sums, group_states, sums};

/// Joint states of a group up to which it is reckoned exactly: a tenth of a second.
pub const MOST_STATES: f64 = 2e6;

/// A model of a group.
#[derive(Debug, Clone, PartialEq)]
pub struct Substitutable {
    /// Pieces on the shelf and on order, less those owed.
    pub stock: u64,
    /// What is asked for in its lead time, by its own places.
    pub demand: Pmf,
    /// Models that may stand in for it, in the order in which they are asked.
    pub stand_ins: Vec<StandIn>,
}

/// A model that may stand in for another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StandIn {
    /// Which of the group, counted from 0.
    pub model: usize,
    /// Pieces of it that stay on its shelf for its own places.
    pub reserved: u64,
}

/// Who goes first where both could use a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Order {
    OwnFirst,
    BorrowersFirst,
}

/// How the places of one model are served.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaceService {
    /// Chance that no place waits.
    pub no_stock_out: f64,
    /// Share of demands served at once, stand-ins included.
    pub fill_rate: f64,
    /// Places that wait at a moment, on average.
    pub backorders: f64,
    /// Hours a year that places stand empty.
    pub down_time_h: f64,
    /// Places that hold a stand-in at a moment, on average.
    pub stand_ins: f64,
}

/// One model with and without its stand-ins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Substituted {
    /// Each model for itself.
    pub without: PlaceService,
    /// With stand-ins, each measure by the order that is worse for this model.
    pub with: PlaceService,
    /// With stand-ins, each measure by the order that is better for this model.
    pub with_at_best: PlaceService,
    /// Whether the group was reckoned exactly. Else each model was reckoned with its neighbours only:
    /// its stand-ins, those it stands in for, what else these may take, and those that ask the same
    /// stand-ins, as many as have two million joint states.
    pub exact: bool,
}

/// Why a group cannot be reckoned with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SubstitutionRefusal {
    #[error("model {model} names stand-in {stand_in}, but there are {models} models, from 0 on")]
    Unknown { model: usize, stand_in: usize, models: usize },
    #[error("model {0} is named as its own stand-in: leave it out")]
    Itself(usize),
    #[error("model {model} names stand-in {stand_in} twice: name it once")]
    Twice { model: usize, stand_in: usize },
    #[error("{given} targets were given for {models} models: give one for each")]
    Targets { given: usize, models: usize },
    #[error("model {0} meets its target with no stock that is reckoned with: lower the target")]
    Target(usize),
}

/// Returns how each model's places are served, with and without stand-ins.
///
/// Exact while the group has at most two million joint states (pieces on their way of each model),
/// by the joint distribution of the pieces on their way; else each model with its neighbours. For
/// random groups of five, reckoned as if they were too large, the pieces owed are then 1 % off on
/// average, and for one model in twenty by more than a tenth.
///
/// Fails with [`SubstitutionRefusal`] where a stand-in is unknown, the model itself or named twice.
pub fn substitution(models: &[Substitutable]) -> Result<Vec<Substituted>, SubstitutionRefusal> {
    check(models)?;
    Ok(served(models, MOST_STATES))
}

/// Serves sound models, exactly where a group has so few joint states.
fn served(models: &[Substitutable], most_states: f64) -> Vec<Substituted> {
    let alone: Vec<Substitutable> = models
        .iter()
        .map(|model| Substitutable { stand_ins: Vec::new(), ..model.clone() })
        .collect();
    let mut found: Vec<Option<Substituted>> = vec![None; models.len()];
    for group in groups(models) {
        let part = part_of(models, &group);
        if group_states(&part) <= most_states {
            let (own, borrowers) = both(&part);
            for (at, number) in group.iter().enumerate() {
                let without = sums(&alone[*number..=*number], Order::OwnFirst)[0];
                found[*number] = Some(between(&without, &own[at], &borrowers[at], true));
            }
            continue;
        }
        for number in &group {
            let near = affordable_neighbours(models, *number, most_states);
            let part = part_of(models, &near);
            let (own, borrowers) = both(&part);
            let at = near.iter().position(|other| other == number).unwrap_or_default();
            let without = sums(&alone[*number..=*number], Order::OwnFirst)[0];
            found[*number] = Some(between(&without, &own[at], &borrowers[at], false));
        }
    }
    found.into_iter().flatten().collect()
}

impl PlaceService {
    /// Whether it is as good as wanted.
    pub fn meets(&self, target: Target) -> bool {
        target.met_by(&Service {
            no_stock_out: self.no_stock_out,
            fill_rate: self.fill_rate,
            backorders: self.backorders,
            down_time_h: self.down_time_h,
            on_hand: 0.0,
        })
    }
}

fn check(models: &[Substitutable]) -> Result<(), SubstitutionRefusal> {
    for (model, it) in models.iter().enumerate() {
        for (at, stand_in) in it.stand_ins.iter().enumerate() {
            let named = stand_in.model;
            if named >= models.len() {
                let models = models.len();
                return Err(SubstitutionRefusal::Unknown { model, stand_in: named, models });
            }
            if named == model {
                return Err(SubstitutionRefusal::Itself(model));
            }
            if it.stand_ins[..at].iter().any(|other| other.model == named) {
                return Err(SubstitutionRefusal::Twice { model, stand_in: named });
            }
        }
    }
    Ok(())
}

fn both(part: &[Substitutable]) -> (Vec<Sums>, Vec<Sums>) {
    (sums(part, Order::OwnFirst), sums(part, Order::BorrowersFirst))
}

fn between(without: &Sums, one: &Sums, other: &Sums, exact: bool) -> Substituted {
    let pick = |worse: bool| {
        let low = |a: f64, b: f64| if worse { a.min(b) } else { a.max(b) };
        let high = |a: f64, b: f64| if worse { a.max(b) } else { a.min(b) };
        let backorders = high(one.backorders, other.backorders);
        PlaceService {
            no_stock_out: low(one.no_stock_out, other.no_stock_out),
            fill_rate: low(one.fill_rate, other.fill_rate),
            backorders,
            down_time_h: backorders * HOURS_A_YEAR,
            stand_ins: low(one.stand_ins, other.stand_ins),
        }
    };
    let alone = PlaceService {
        no_stock_out: without.no_stock_out,
        fill_rate: without.fill_rate,
        backorders: without.backorders,
        down_time_h: without.backorders * HOURS_A_YEAR,
        stand_ins: 0.0,
    };
    Substituted { without: alone, with: pick(true), with_at_best: pick(false), exact }
}

/// Models that share stock, directly or through others, each group in the order of the list.
fn groups(models: &[Substitutable]) -> Vec<Vec<usize>> {
    let mut group_of: Vec<usize> = (0..models.len()).collect();
    loop {
        let mut moved = false;
        for (model, it) in models.iter().enumerate() {
            for stand_in in &it.stand_ins {
                let least = group_of[model].min(group_of[stand_in.model]);
                moved |= group_of[model] != least || group_of[stand_in.model] != least;
                group_of[model] = least;
                group_of[stand_in.model] = least;
            }
        }
        if !moved {
            break;
        }
    }
    let mut groups: Vec<Vec<usize>> = vec![Vec::new(); models.len()];
    group_of.iter().enumerate().for_each(|(model, group)| groups[*group].push(model));
    groups.retain(|group| !group.is_empty());
    groups
}

/// The models of these numbers, in order, with stand-ins outside left out.
fn part_of(models: &[Substitutable], numbers: &[usize]) -> Vec<Substitutable> {
    let number_in = |model: usize| numbers.iter().position(|number| *number == model);
    let inside =
        |stand_in: &StandIn| number_in(stand_in.model).map(|model| StandIn { model, ..*stand_in });
    numbers
        .iter()
        .map(|number| Substitutable {
            stand_ins: models[*number].stand_ins.iter().filter_map(inside).collect(),
            ..models[*number].clone()
        })
        .collect()
}

/// A model and as many of its neighbours as can be afforded: its stand-ins, then those it stands in
/// for, then what else these may take, then those that ask the same stand-ins.
fn affordable_neighbours(models: &[Substitutable], number: usize, most_states: f64) -> Vec<usize> {
    let asks = |model: usize, other: usize| {
        models[model].stand_ins.iter().any(|stand_in| stand_in.model == other)
    };
    let add = |near: &mut Vec<usize>, fits: &dyn Fn(usize) -> bool| {
        let more = (0..models.len()).filter(|model| fits(*model) && !near.contains(model));
        near.extend(more.collect::<Vec<_>>());
    };
    let mut near = vec![number];
    near.extend(models[number].stand_ins.iter().map(|stand_in| stand_in.model));
    let borrows = |model: usize| asks(model, number);
    add(&mut near, &borrows);
    let helps_a_borrower =
        |model: usize| (0..models.len()).any(|other| borrows(other) && asks(other, model));
    add(&mut near, &helps_a_borrower);
    add(&mut near, &|model| (0..models.len()).any(|it| asks(number, it) && asks(model, it)));
    while near.len() > 1 {
        let mut in_order = near.clone();
        in_order.sort_unstable();
        if group_states(&part_of(models, &in_order)) <= most_states {
            break;
        }
        near.pop();
    }
    near.sort_unstable();
    near
}
