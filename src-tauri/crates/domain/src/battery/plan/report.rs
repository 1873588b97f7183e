//! Puts a plan into days, groups and lots.

use super::group::Changes;
use super::model::Model;
use super::{Change, Cost, Supply, Visit};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Returns the visits by day and group.
pub(super) fn visits(model: &Model<'_>, changes: &[Changes]) -> Vec<Visit> {
    let mut dated: Vec<(usize, usize, i32)> = Vec::new();
    for (battery, path) in changes.iter().flatten() {
        let Some(chain) = &model.chains[*battery] else { continue };
        let mut due = chain.due;
        for place in path {
            dated.push((*place, *battery, due));
            due = model.days[*place] + chain.life;
        }
    }
    dated.sort_unstable();
    let mut stock = Shelves::new(model);
    let mut visits: BTreeMap<(usize, usize), Visit> = BTreeMap::new();
    for (place, battery, due) in dated {
        let fitted = &model.problem.batteries[battery];
        let on = model.date(model.days[place]);
        let visit = visits.entry((place, fitted.group)).or_insert_with(|| Visit {
            on,
            group: fitted.group,
            changes: Vec::new(),
            minutes: model.problem.groups[fitted.group].setup_min,
        });
        visit.minutes = visit.minutes.saturating_add(fitted.change_min);
        let supply = stock.take(fitted.kind, on);
        visit.changes.push(Change { battery, due_on: model.date(due), supply });
    }
    visits.into_values().collect()
}

/// Adds up what the changes cost.
pub(super) fn cost(model: &Model<'_>, changes: &[Changes]) -> Cost {
    let mut cost = Cost::default();
    for (group, changes) in changes.iter().enumerate() {
        let mut places: Vec<usize> = changes.iter().flat_map(|(_, path)| path.clone()).collect();
        places.sort_unstable();
        places.dedup();
        cost.visits_cents += model.problem.groups[group].visit_cost_cents * places.len() as f64;
        for (battery, path) in changes {
            let Some(chain) = &model.chains[*battery] else { continue };
            cost.changes_cents += chain.change_cents * path.len() as f64;
            let mut due = chain.due;
            for place in path {
                let early_d = due - model.days[*place];
                let life_cents = chain.per_d * f64::from(early_d);
                cost.life_cents += life_cents;
                cost.loss_cents += chain.early_cents(early_d) - life_cents;
                due = model.days[*place] + chain.life;
            }
        }
    }
    cost
}

/// The lots of every kind, from which the first expired goes out first.
struct Shelves<'m, 'p> {
    model: &'m Model<'p>,
    left: Vec<Vec<u32>>,
}

impl<'m, 'p> Shelves<'m, 'p> {
    fn new(model: &'m Model<'p>) -> Self {
        let kinds = model.problem.kinds.iter();
        let left = kinds.map(|kind| kind.lots.iter().map(|lot| lot.quantity).collect()).collect();
        Self { model, left }
    }

    fn take(&mut self, kind: Option<usize>, on: NaiveDate) -> Supply {
        let Some(kind) = kind else { return Supply::NotCounted };
        let lots = &self.model.problem.kinds[kind].lots;
        let fresh = (0..lots.len()).filter(|lot| {
            self.left[kind][*lot] > 0 && lots[*lot].shelf_until.is_none_or(|until| until >= on)
        });
        match fresh.min_by_key(|lot| (lots[*lot].shelf_until.unwrap_or(NaiveDate::MAX), *lot)) {
            Some(lot) => {
                self.left[kind][lot] -= 1;
                Supply::Lot(lot)
            }
            None => Supply::Bought,
        }
    }
}
