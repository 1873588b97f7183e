//! The joint distribution of the pieces on their way of a group of models.

use super::{Order, Substitutable};

/// What may be left out above the last piece on its way of a model.
const LEFT_OUT: f64 = 1e-13;
/// Joint states below this chance are passed over; all of them together are far below any figure
/// that is shown.
const UNSEEN: f64 = 1e-18;

/// Averages over the joint states, for one model.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Sums {
    pub no_stock_out: f64,
    pub fill_rate: f64,
    pub backorders: f64,
    pub stand_ins: f64,
}

/// Numbers of pieces on their way that count, from 0 on.
fn reach(model: &Substitutable) -> u64 {
    let end = model.demand.weights().len() as u64;
    let cut = (0..end).find(|pieces| model.demand.above(*pieces) < LEFT_OUT);
    cut.map_or(end, |cut| cut + 1)
}

/// Joint states of a group.
pub(super) fn group_states(models: &[Substitutable]) -> f64 {
    models.iter().map(|model| reach(model) as f64).product()
}

/// Adds up over all joint states what each model's places see.
pub(super) fn sums(models: &[Substitutable], order: Order) -> Vec<Sums> {
    let mut walk = Walk {
        models,
        order,
        reach: models.iter().map(reach).collect(),
        on_way: vec![0; models.len()],
        lent: vec![0; models.len()],
        sums: vec![Sums::default(); models.len()],
    };
    walk.each(0, 1.0);
    walk.sums
}

struct Walk<'a> {
    models: &'a [Substitutable],
    order: Order,
    reach: Vec<u64>,
    on_way: Vec<i64>,
    /// Pieces of each model that are lent in the state at hand.
    lent: Vec<i64>,
    sums: Vec<Sums>,
}

impl Walk<'_> {
    fn each(&mut self, model: usize, chance: f64) {
        if model == self.models.len() {
            self.count(chance);
            return;
        }
        for pieces in 0..self.reach[model] {
            let chance = chance * self.models[model].demand.at(pieces);
            if chance > UNSEEN {
                self.on_way[model] = pieces as i64;
                self.each(model + 1, chance);
            }
        }
    }

    /// Serves each model in the order of the list, and adds what it sees.
    fn count(&mut self, chance: f64) {
        self.lent.iter_mut().for_each(|lent| *lent = 0);
        for model in 0..self.models.len() {
            let mut need = self.need(model);
            let before = need;
            for stand_in in &self.models[model].stand_ins {
                if need == 0 {
                    break;
                }
                let free = self.free(stand_in.model, stand_in.reserved, model);
                let taken = need.min(free);
                self.lent[stand_in.model] += taken;
                need -= taken;
            }
            let sums = &mut self.sums[model];
            sums.backorders += chance * need as f64;
            sums.stand_ins += chance * (before - need) as f64;
            if need == 0 {
                sums.no_stock_out += chance;
            }
        }
        // A demand that comes now sees what all others have taken.
        for model in 0..self.models.len() {
            if self.serves_another(model) {
                self.sums[model].fill_rate += chance;
            }
        }
    }

    fn stock(&self, model: usize) -> i64 {
        self.models[model].stock as i64
    }

    /// Places of a model that its own shelf does not serve.
    fn need(&self, model: usize) -> i64 {
        let lent = if self.order == Order::OwnFirst { 0 } else { self.lent[model] };
        (self.on_way[model] + lent - self.stock(model)).max(0).min(self.on_way[model])
    }

    /// Pieces of a lender that a borrower may take.
    fn free(&self, lender: usize, reserved: u64, borrower: usize) -> i64 {
        let reserved = i64::try_from(reserved).unwrap_or(i64::MAX);
        // With borrowers first the lender's own places have not been served yet.
        let waits = self.order == Order::BorrowersFirst && lender > borrower;
        let own = if waits { 0 } else { self.on_way[lender] };
        (self.stock(lender) - own - self.lent[lender]).saturating_sub(reserved).max(0)
    }

    fn serves_another(&self, model: usize) -> bool {
        let lent = if self.order == Order::OwnFirst { 0 } else { self.lent[model] };
        if self.on_way[model] + lent < self.stock(model) {
            return true;
        }
        self.models[model].stand_ins.iter().any(|stand_in| {
            let reserved = i64::try_from(stand_in.reserved).unwrap_or(i64::MAX);
            let lender = stand_in.model;
            let shelf = self.stock(lender) - self.on_way[lender] - self.lent[lender];
            shelf > reserved
        })
    }
}
