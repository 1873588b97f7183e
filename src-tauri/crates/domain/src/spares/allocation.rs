use super::base_stock::expected_backorders;
use super::poisson::poisson_above;

/// A model that competes for money.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate {
    /// Pieces on their way, on average.
    pub mean: f64,
    /// Price of one, above zero.
    pub price: f64,
}

/// One purchase, and what has been bought by then.
#[derive(Debug, Clone, PartialEq)]
pub struct Purchase {
    /// Which model one more is bought of, counted from 0.
    pub candidate: usize,
    /// Backorders saved for each unit of money.
    pub gain: f64,
    /// Money spent in all.
    pub spent: f64,
    /// Pieces owed in all, on average.
    pub backorders: f64,
}

/// Returns the order in which to buy, each time the piece that saves the most backorders for its
/// money, up to `steps` pieces.
///
/// Best at the sums of money where it stops; between them another choice can be better.
///
/// Source: marginal analysis, Sherbrooke 2004, chapter 2.
pub fn buying_order(candidates: &[Candidate], steps: usize) -> Vec<Purchase> {
    let mut stock = vec![0u64; candidates.len()];
    let mut backorders: f64 = candidates.iter().map(|it| expected_backorders(it.mean, 0)).sum();
    let mut spent = 0.0;
    let mut purchases = Vec::with_capacity(steps);
    for _ in 0..steps {
        let gains = candidates
            .iter()
            .zip(&stock)
            .enumerate()
            .map(|(index, (it, stock))| (index, poisson_above(*stock, it.mean) / it.price));
        // Of equal gains the earlier candidate is taken.
        let Some((candidate, gain)) = gains.rev().max_by(|a, b| a.1.total_cmp(&b.1)) else {
            break;
        };
        stock[candidate] += 1;
        spent += candidates[candidate].price;
        backorders -= gain * candidates[candidate].price;
        purchases.push(Purchase { candidate, gain, spent, backorders });
    }
    purchases
}
