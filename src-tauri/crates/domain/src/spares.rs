//! Spares: demand, the stock that covers it, and what to order.
//!
//! Failures in a lead time are Poisson unless data says otherwise; planned changes are known
//! demand and are added whole.

mod acceleration;
mod advice;
mod base_stock;
mod poisson;
#[cfg(test)]
mod tests;

pub use acceleration::acceleration;
pub use advice::{Advice, advice};
pub use base_stock::{expected_backorders, expected_on_hand, fill_rate, variance_of_backorders};
pub use poisson::{
    DemandRefusal, LARGEST_MEAN, ToHold, expected_failures, poisson_above, poisson_cdf, to_hold,
};
