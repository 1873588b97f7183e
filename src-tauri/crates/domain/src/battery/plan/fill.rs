//! Fits the groups one after another into what is left of crew and stock.

use super::conflicts::{Reach, reach};
use super::group::{Changes, GroupPlan, cost_of, cost_of_all, plan_group};
use super::model::Model;
use super::room::Room;
use super::split::Scratch;

/// Visits of all groups that fit into the crew's time and the stock.
pub(super) struct Filled<'m, 'p> {
    pub room: Room<'m, 'p>,
    pub changes: Vec<Changes>,
    ejections_left: usize,
}

/// A battery for which nothing was left.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Unplaced {
    pub battery: usize,
    pub window_from: i32,
    pub due: i32,
    /// Whether the crew has minutes in the window, so that it is the stock that lacks.
    pub for_stock: bool,
}

/// Batteries of a group that is small enough to find room as a whole on most days.
const SMALL: usize = 8;

/// Other groups that are taken out for a moment so that one finds its place.
const EJECTIONS: usize = 80;

/// The same for a whole plan.
const ALL_EJECTIONS: usize = 2_000;

/// Fits every group, `wished` where that is possible, in the order given.
pub(super) fn fill<'m, 'p>(
    model: &'m Model<'p>,
    wished: &[GroupPlan],
    order: &[usize],
    scratch: &mut Scratch,
) -> (Filled<'m, 'p>, Vec<Unplaced>) {
    let mut filled = Filled {
        room: Room::new(model),
        changes: vec![Vec::new(); model.members.len()],
        ejections_left: ALL_EJECTIONS,
    };
    let mut unplaced = Vec::new();
    for group in order.iter().copied() {
        if filled.room.add_all(&wished[group].changes) {
            filled.changes[group].clone_from(&wished[group].changes);
        } else if let Err(lacking) = filled.place(model, group, scratch)
            && !filled.eject_for(model, group, &lacking, scratch)
        {
            unplaced.extend(lacking);
        }
    }
    (filled, unplaced)
}

impl Filled<'_, '_> {
    pub fn cost(&self, model: &Model<'_>) -> f64 {
        cost_of_all(model, &self.changes)
    }

    /// Books these changes in place of all that is there; they must fit together.
    pub fn replace(&mut self, changes: Vec<Changes>) {
        for group in 0..self.changes.len() {
            self.take_out(group);
        }
        for group in &changes {
            self.room.add_all(group);
        }
        self.changes = changes;
    }

    pub fn take_out(&mut self, group: usize) -> Changes {
        let changes = std::mem::take(&mut self.changes[group]);
        self.room.remove_all(&changes);
        changes
    }

    /// Plans a group that is not in yet. Whatever cannot be placed is named, and nothing is booked.
    pub fn place(
        &mut self,
        model: &Model<'_>,
        group: usize,
        scratch: &mut Scratch,
    ) -> Result<(), Vec<Unplaced>> {
        let whole = self.whole(model, group, scratch).unwrap_or_default();
        let together = !whole.is_empty() || model.members[group].is_empty();
        // A large group seldom fits whole; its batteries one by one may do better.
        if together && model.members[group].len() <= SMALL && self.room.add_all(&whole) {
            self.changes[group] = whole;
            return Ok(());
        }
        let apart = self.one_by_one(model, group, scratch);
        let dearer = cost_of(model, group, &self.changes[group]) > cost_of(model, group, &whole);
        if !together || (apart.is_ok() && !dearer) {
            return apart;
        }
        let kept = self.take_out(group);
        if self.room.add_all(&whole) {
            self.changes[group] = whole;
            return Ok(());
        }
        self.room.add_all(&kept);
        self.changes[group] = kept;
        apart
    }

    /// Plans the group on days that have room for all of it at once.
    fn whole(&self, model: &Model<'_>, group: usize, scratch: &mut Scratch) -> Option<Changes> {
        let members = &model.members[group];
        let problem = model.problem;
        let minutes = members.iter().map(|b| i64::from(problem.batteries[*b].change_min));
        let needed = i64::from(problem.groups[group].setup_min) + minutes.sum::<i64>();
        let mut kinds: Vec<(usize, i64)> = Vec::new();
        for battery in members {
            let same = |known: &&mut (usize, i64)| {
                problem.batteries[known.0].kind == problem.batteries[*battery].kind
            };
            match kinds.iter_mut().find(same) {
                Some((_, count)) => *count += 1,
                None => kinds.push((*battery, 1)),
            }
        }
        let usable = |_: usize, place: usize| {
            self.room.minutes_left(place) >= needed
                && kinds.iter().all(|(b, count)| self.room.stock_fits(*b, place, *count))
        };
        plan_group(model, group, usable, None, false, scratch).map(|plan| plan.changes)
    }

    /// Places each battery of the group by itself, the most urgent first.
    fn one_by_one(
        &mut self,
        model: &Model<'_>,
        group: usize,
        scratch: &mut Scratch,
    ) -> Result<(), Vec<Unplaced>> {
        let due = |battery: &usize| model.chains[*battery].as_ref().map(|c| (c.first.1, c.due));
        let mut members = model.members[group].clone();
        members.sort_by_key(|battery| (due(battery), *battery));
        let mut unplaced = Vec::new();
        for battery in members {
            match self.insert(model, battery, &[], scratch) {
                Some(path) => self.changes[group].push((battery, path)),
                None => unplaced.push(self.lacking(model, battery)),
            }
        }
        if !unplaced.is_empty() {
            self.take_out(group);
            return Err(unplaced);
        }
        self.settle(model, group, scratch);
        Ok(())
    }

    /// Finds and books the cheapest chain that fits, given the visits there are. None is booked
    /// where none fits.
    pub fn insert(
        &mut self,
        model: &Model<'_>,
        battery: usize,
        shut: &[usize],
        scratch: &mut Scratch,
    ) -> Option<Vec<usize>> {
        let chain = model.chains[battery].as_ref()?;
        let fitted = &model.problem.batteries[battery];
        let visit_cents = model.problem.groups[fitted.group].visit_cost_cents;
        let from = model.through(chain.first.0 - 1);
        let days = &model.days[from..];
        let changes = (model.until / chain.life).max(0) as i64 + 1;
        // A chain with several changes may take a kind's last pieces twice; then it is asked for
        // days that have enough for all of it.
        for count in [1, changes] {
            let Scratch { at, to_go, queues, .. } = &mut *scratch;
            at.clear();
            at.extend((from..model.days.len()).map(|place| {
                let fits = model.allowed(battery, place)
                    && self.room.crew_fits(battery, place)
                    && self.room.stock_fits(battery, place, count)
                    && !shut.contains(&place);
                match fits {
                    false => f64::INFINITY,
                    true if self.room.has_visit(fitted.group, place) => chain.change_cents,
                    true => chain.change_cents + visit_cents,
                }
            }));
            chain.backward(days, at, to_go, queues);
            let path: Vec<usize> =
                chain.path(days, at, to_go)?.into_iter().map(|place| place + from).collect();
            if self.room.add(battery, &path) {
                return Some(path);
            }
        }
        None
    }

    fn lacking(&self, model: &Model<'_>, battery: usize) -> Unplaced {
        let crew =
            |place: usize| model.allowed(battery, place) && self.room.crew_fits(battery, place);
        let both = |place: usize| crew(place) && self.room.stock_fits(battery, place, 1);
        let chain = model.chains[battery].as_ref();
        let found = chain.map(|chain| (reach(model, chain, both), chain));
        let (window_from, due) = match found {
            Some((Reach::Until { due, window_from }, _)) => (window_from, due),
            // A way was there for each change, but not for all at once.
            Some((Reach::Whole, chain)) => (chain.first.0, chain.due),
            None => (0, 0),
        };
        let places = model.through(window_from.saturating_sub(1))..model.through(due);
        let for_stock = places.into_iter().any(crew);
        Unplaced { battery, window_from, due, for_stock }
    }

    /// Takes another group out, places this one and then that one again.
    fn eject_for(
        &mut self,
        model: &Model<'_>,
        group: usize,
        lacking: &[Unplaced],
        scratch: &mut Scratch,
    ) -> bool {
        let in_window = |place: usize| {
            lacking.iter().any(|l| (l.window_from..=l.due).contains(&model.days[place]))
        };
        let others: Vec<usize> = (0..self.changes.len())
            .filter(|other| *other != group)
            .filter(|other| self.room.visits(*other).into_iter().any(in_window))
            .collect();
        // Spread over all that could make room, the latest planned first.
        for other in others.into_iter().rev().take(EJECTIONS.min(self.ejections_left)) {
            self.ejections_left -= 1;
            let kept = self.take_out(other);
            if self.place(model, group, scratch).is_ok() {
                if self.place(model, other, scratch).is_ok() {
                    return true;
                }
                self.take_out(group);
            }
            self.room.add_all(&kept);
            self.changes[other] = kept;
        }
        false
    }
}
