//! What is left of the crew's minutes and of the stock once visits are planned.

use super::model::Model;
use std::collections::BTreeMap;

pub(super) struct Room<'m, 'p> {
    model: &'m Model<'p>,
    /// Minutes left on each place.
    left: Vec<i64>,
    /// For each group the places of its visits and how many batteries are changed there.
    visits: Vec<BTreeMap<usize, u32>>,
    stock: Vec<Stock>,
}

/// What is left of a kind before more of it can be bought.
///
/// A change after `day` needs a battery whose shelf date comes after `day`. If for each such day no
/// more are changed than there are, first expired, first out serves every change; if for one day
/// more are, nothing does (Hall's condition on nested intervals).
#[derive(Debug, Clone)]
pub(super) struct Stock {
    pub new_from: i32,
    pub left_after: Vec<(i32, i64)>,
}

/// Returns what there is of each kind before anything is planned.
pub(super) fn stocks(model: &Model<'_>) -> Vec<Stock> {
    let stock = |kind: &super::Kind| {
        let last_day =
            |lot: &super::Lot| lot.shelf_until.map_or(i32::MAX, |until| model.day(until));
        let mut after: Vec<i32> = kind.lots.iter().map(last_day).collect();
        after.push(i32::MIN);
        after.sort_unstable();
        after.dedup();
        let left = |after: i32| {
            let fresh = kind.lots.iter().filter(|lot| last_day(lot) > after);
            fresh.map(|lot| i64::from(lot.quantity)).sum()
        };
        Stock {
            new_from: kind.new_from.map_or(i32::MAX, |from| model.day(from)),
            left_after: after.into_iter().map(|after| (after, left(after))).collect(),
        }
    };
    model.problem.kinds.iter().map(stock).collect()
}

impl<'m, 'p> Room<'m, 'p> {
    pub fn new(model: &'m Model<'p>) -> Self {
        Self {
            model,
            left: model.minutes.clone(),
            visits: vec![BTreeMap::new(); model.problem.groups.len()],
            stock: stocks(model),
        }
    }

    pub fn minutes_left(&self, place: usize) -> i64 {
        self.left[place]
    }

    pub fn has_visit(&self, group: usize, place: usize) -> bool {
        self.visits[group].contains_key(&place)
    }

    pub fn visits(&self, group: usize) -> Vec<usize> {
        self.visits[group].keys().copied().collect()
    }

    pub fn crew_fits(&self, battery: usize, place: usize) -> bool {
        let fitted = &self.model.problem.batteries[battery];
        let needed = if self.has_visit(fitted.group, place) {
            i64::from(fitted.change_min)
        } else {
            self.model.alone_min(battery)
        };
        self.left[place] >= needed
    }

    /// Whether `count` more of the battery's kind can be fitted on the place.
    pub fn stock_fits(&self, battery: usize, place: usize, count: i64) -> bool {
        let Some(kind) = self.model.problem.batteries[battery].kind else { return true };
        let (stock, day) = (&self.stock[kind], self.model.days[place]);
        day >= stock.new_from
            || stock.left_after.iter().all(|(after, left)| *after >= day || *left >= count)
    }

    pub fn fits(&self, battery: usize, place: usize) -> bool {
        self.crew_fits(battery, place) && self.stock_fits(battery, place, 1)
    }

    /// Books the changes if all of them fit, else none.
    pub fn add(&mut self, battery: usize, path: &[usize]) -> bool {
        for (done, place) in path.iter().enumerate() {
            if !self.fits(battery, *place) {
                self.remove(battery, &path[..done]);
                return false;
            }
            self.book(battery, *place);
        }
        true
    }

    /// Books all the changes, or none.
    pub fn add_all(&mut self, changes: &[(usize, Vec<usize>)]) -> bool {
        for (done, (battery, path)) in changes.iter().enumerate() {
            if !self.add(*battery, path) {
                self.remove_all(&changes[..done]);
                return false;
            }
        }
        true
    }

    pub fn remove_all(&mut self, changes: &[(usize, Vec<usize>)]) {
        for (battery, path) in changes {
            self.remove(*battery, path);
        }
    }

    pub fn remove(&mut self, battery: usize, path: &[usize]) {
        let fitted = &self.model.problem.batteries[battery];
        for place in path {
            self.left[*place] += i64::from(fitted.change_min);
            if let Some(count) = self.visits[fitted.group].get_mut(place) {
                *count -= 1;
                if *count == 0 {
                    self.visits[fitted.group].remove(place);
                    self.left[*place] +=
                        i64::from(self.model.problem.groups[fitted.group].setup_min);
                }
            }
            self.count_stock(battery, *place, 1);
        }
    }

    fn book(&mut self, battery: usize, place: usize) {
        let fitted = &self.model.problem.batteries[battery];
        let count = self.visits[fitted.group].entry(place).or_insert(0);
        if *count == 0 {
            self.left[place] -= i64::from(self.model.problem.groups[fitted.group].setup_min);
        }
        *count += 1;
        self.left[place] -= i64::from(fitted.change_min);
        self.count_stock(battery, place, -1);
    }

    fn count_stock(&mut self, battery: usize, place: usize, by: i64) {
        let Some(kind) = self.model.problem.batteries[battery].kind else { return };
        let (stock, day) = (&mut self.stock[kind], self.model.days[place]);
        if day < stock.new_from {
            stock.left_after.iter_mut().filter(|(a, _)| *a < day).for_each(|(_, l)| *l += by);
        }
    }
}
