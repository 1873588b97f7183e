//! What a minute of the crew is worth on each day.
//!
//! With a price on the minutes each group can be planned alone. The groups' bounds at these prices,
//! less the worth of all the minutes there are, are a bound for the whole (Lagrangian relaxation);
//! prices that rise where too many want to go make it a good one (subgradient, Held and Karp's step).
//! The stock is left out of the bound, which stays a bound without it.

use super::group::GroupPlan;
use super::model::Model;

pub(super) struct Prices {
    pub cents_per_min: Vec<f64>,
    /// Share of the step that closes the gap at once.
    pace: f64,
}

impl Prices {
    pub fn none(model: &Model<'_>) -> Self {
        Self { cents_per_min: vec![0.0; model.days.len()], pace: 1.0 }
    }

    /// Returns the worth of all minutes of the crew.
    pub fn worth(&self, model: &Model<'_>) -> f64 {
        let priced = self.cents_per_min.iter().zip(&model.minutes).filter(|(p, _)| **p > 0.0);
        priced.map(|(price, minutes)| price * *minutes as f64).sum()
    }

    /// Whether a plan goes on days that have a price.
    pub fn touch(&self, plan: &GroupPlan) -> bool {
        plan.changes.iter().flat_map(|(_, path)| path).any(|p| self.cents_per_min[*p] > 0.0)
    }

    /// Raises the prices where the plans take more minutes than there are, and lowers them where
    /// some are left. Returns false where nothing would change.
    pub fn follow(&mut self, model: &Model<'_>, plans: &[GroupPlan], gap_cents: f64) -> bool {
        let taken = minutes_taken(model, plans);
        let mut excess: Vec<f64> =
            taken.iter().zip(&model.minutes).map(|(t, m)| (*t - *m) as f64).collect();
        for (excess, price) in excess.iter_mut().zip(&self.cents_per_min) {
            if *excess < 0.0 && *price == 0.0 {
                *excess = 0.0;
            }
        }
        let square: f64 = excess.iter().map(|excess| excess * excess).sum();
        if square == 0.0 {
            return false;
        }
        let step = self.pace * gap_cents / square;
        for (price, excess) in self.cents_per_min.iter_mut().zip(&excess) {
            *price = (*price + step * excess).max(0.0);
        }
        true
    }

    pub fn slow_down(&mut self) {
        self.pace *= 0.6;
    }
}

fn minutes_taken(model: &Model<'_>, plans: &[GroupPlan]) -> Vec<i64> {
    let mut taken = vec![0; model.days.len()];
    for (group, plan) in plans.iter().enumerate() {
        let mut visits = Vec::new();
        for (battery, path) in &plan.changes {
            for place in path {
                taken[*place] += i64::from(model.problem.batteries[*battery].change_min);
                visits.push(*place);
            }
        }
        visits.sort_unstable();
        visits.dedup();
        for place in visits {
            taken[place] += i64::from(model.problem.groups[group].setup_min);
        }
    }
    taken
}
