//! A base stock of s pieces, one ordered for each one used, with Poisson demand and a mean of
//! `mean` pieces on the way.
//!
//! Source: Palm's theorem; C. C. Sherbrooke, Optimal Inventory Modeling of Systems, 2nd ed.,
//! chapter 2. A mean below 0, infinite or no number gives no number.

use super::poisson::{poisson_above, poisson_cdf};

/// Returns the share of demands served from the shelf at once: P(X <= stock - 1).
///
/// Not the probability of no backorder, P(X <= stock), which is larger.
pub fn fill_rate(mean: f64, stock: u64) -> f64 {
    match stock.checked_sub(1) {
        Some(below) => poisson_cdf(below, mean),
        None => poisson_cdf(0, mean) * 0.0,
    }
}

/// Returns the pieces owed at a random moment, on average: E[(X - stock)+].
pub fn expected_backorders(mean: f64, stock: u64) -> f64 {
    let owed = mean * at_least(stock, mean) - stock as f64 * poisson_above(stock, mean);
    if owed.is_nan() { owed } else { owed.max(0.0) }
}

/// Returns the pieces on the shelf at a random moment, on average: E[(stock - X)+].
pub fn expected_on_hand(mean: f64, stock: u64) -> f64 {
    let held = stock as f64 - mean + expected_backorders(mean, stock);
    if held.is_nan() { held } else { held.max(0.0) }
}

/// Returns the variance of the pieces owed at a random moment.
pub fn variance_of_backorders(mean: f64, stock: u64) -> f64 {
    let s = stock as f64;
    let second_moment = mean * mean * at_least(stock.saturating_sub(1), mean)
        + (1.0 - 2.0 * s) * mean * at_least(stock, mean)
        + s * s * poisson_above(stock, mean);
    let owed = expected_backorders(mean, stock);
    let variance = second_moment - owed * owed;
    if variance.is_nan() { variance } else { variance.max(0.0) }
}

/// P(X >= k).
fn at_least(k: u64, mean: f64) -> f64 {
    match k.checked_sub(1) {
        Some(below) => poisson_above(below, mean),
        None => 1.0,
    }
}
