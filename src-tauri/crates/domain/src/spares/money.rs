//! Money: which purchases of which models save most, all models at once.
//!
//! Every figure starts from what is held now. A model's pieces owed are convex in its stock, so each
//! next piece saves no more than the one before; the curve buys the piece that saves most for its
//! money each time. Where it stops it is the best that its own sum of money can do (Fox 1966,
//! Management Science 13(3):210-216); between these sums another choice can be better, and
//! [`best_for_budget`] finds it with proof.

mod curve;
mod knapsack;
mod optimum;
mod shelf;
#[cfg(test)]
mod tests;
mod worth;

pub use curve::{Curve, CurveStep, money_curve};
pub use knapsack::USUAL_EFFORT;
pub use optimum::{Bought, Optimum, Proof, best_for_budget, least_money};
pub use shelf::{DeadWhy, ShelfStock, Surplus, surplus};
pub use worth::{Worth, worth_of_stock};

use super::pmf::Pmf;

/// Dearest piece that is reckoned with: ten thousand million of the currency.
pub const DEAREST_CENTS: u64 = 1_000_000_000_000;
/// A piece that is needed less often than this, as a chance at a moment, is never bought.
const NEVER_NEEDED: f64 = 1e-12;

/// A model that competes for money.
#[derive(Debug, Clone, PartialEq)]
pub struct Buyable {
    /// Price of one piece, above zero.
    pub price_cents: u64,
    /// Pieces that serve it now, held and on order, stand-ins among them.
    pub held: u64,
    /// Of these, pieces of other models that stand in; the money in them is in those models.
    pub stand_ins: u64,
    /// Pieces of it besides that are counted for other models.
    pub lent: u64,
    /// Pieces that are on their way or owed at a moment: what is asked for in the lead time.
    pub demand: Pmf,
    /// Places in which it is installed.
    pub places: u64,
    /// What one place without a unit costs in an hour.
    pub missing_cents_h: f64,
}

/// What money is to make small.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aim {
    /// Pieces owed at a moment, over all models. The share of places with a working unit is then
    /// largest too, since it is 1 less pieces owed over places.
    Backorders,
    /// What places without a unit cost in an hour, over all models.
    MissingCost,
}

/// What a sum of money gives, over all models.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoneyPoint {
    /// Money spent from here on.
    pub spent_cents: u64,
    /// Pieces owed at a moment, on average.
    pub backorders: f64,
    /// Share of places with a working unit; 1 where there are no places.
    pub availability: f64,
    /// What places without a unit cost in an hour, on average.
    pub missing_cents_h: f64,
}

/// Why money cannot be reckoned with.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MoneyRefusal {
    #[error(
        "model {model} has a price of {price_cents} cents: give its price, from 1 to \
         1000000000000, or leave it out of the purchases"
    )]
    Price { model: usize, price_cents: u64 },
    #[error("a missing unit of model {model} costs {cents_h} cents an hour: give zero or more")]
    MissingCost { model: usize, cents_h: f64 },
    #[error("the budget is {0} cents: give zero or more")]
    Budget(i64),
    #[error("the wanted figure is {0}: give a number above zero, not less than can be reached")]
    Wanted(f64),
    #[error("the years are {0}: give a number of zero or more")]
    Years(f64),
    #[error("the chance is {0}: give a number from 0 to below 1, such as 0.05")]
    Chance(f64),
}

impl Buyable {
    /// What one piece owed counts for an aim.
    fn weight(&self, aim: Aim) -> f64 {
        match aim {
            Aim::Backorders => 1.0,
            Aim::MissingCost => self.missing_cents_h,
        }
    }
}

impl MoneyPoint {
    fn of<'a>(stocks: impl Iterator<Item = (&'a Buyable, u64)>, spent_cents: u64) -> Self {
        let (mut backorders, mut missing_cents_h, mut places) = (0.0, 0.0, 0.0);
        for (model, stock) in stocks {
            let owed = model.demand.expected_above(stock);
            backorders += owed;
            missing_cents_h += owed * model.missing_cents_h;
            places += model.places as f64;
        }
        Self {
            spent_cents,
            backorders,
            availability: available(backorders, places),
            missing_cents_h,
        }
    }

    /// The figure that an aim makes small.
    pub fn figure(&self, aim: Aim) -> f64 {
        match aim {
            Aim::Backorders => self.backorders,
            Aim::MissingCost => self.missing_cents_h,
        }
    }
}

fn available(backorders: f64, places: f64) -> f64 {
    if places > 0.0 { (1.0 - backorders / places).max(0.0) } else { 1.0 }
}

fn check(models: &[Buyable]) -> Result<(), MoneyRefusal> {
    for (model, it) in models.iter().enumerate() {
        if !(1..=DEAREST_CENTS).contains(&it.price_cents) {
            return Err(MoneyRefusal::Price { model, price_cents: it.price_cents });
        }
        if !(it.missing_cents_h.is_finite() && it.missing_cents_h >= 0.0) {
            let cents_h = it.missing_cents_h;
            return Err(MoneyRefusal::MissingCost { model, cents_h });
        }
    }
    Ok(())
}

/// One more piece of a model.
#[derive(Debug, Clone, Copy)]
struct Piece {
    model: usize,
    /// What it saves of the aim's figure.
    gain: f64,
    price_cents: u64,
}

impl Piece {
    fn gain_per_cent(&self) -> f64 {
        self.gain / self.price_cents as f64
    }
}

/// All pieces that can be of use, the most saved for its money first; of equal ones the earlier
/// model's.
fn pieces(models: &[Buyable], aim: Aim, held: impl Fn(&Buyable) -> u64) -> Vec<Piece> {
    let mut pieces = Vec::new();
    for (model, it) in models.iter().enumerate() {
        let weight = it.weight(aim);
        if weight == 0.0 {
            continue;
        }
        let needed = (held(it)..).map(|stock| it.demand.above(stock));
        let useful = needed.take_while(|chance| *chance > NEVER_NEEDED);
        let price_cents = it.price_cents;
        pieces.extend(useful.map(|chance| Piece { model, gain: weight * chance, price_cents }));
    }
    // Stable, and by one figure of each piece: products of two pieces' figures are rounded so that
    // they give no order.
    pieces.sort_by(|a, b| b.gain_per_cent().total_cmp(&a.gain_per_cent()));
    pieces
}
