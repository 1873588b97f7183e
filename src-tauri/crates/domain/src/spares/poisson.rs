use statrs::distribution::{DiscreteCDF, Poisson};

/// Largest mean demand that is reckoned with. Beyond it the tails lose digits, and no storeroom
/// holds a million pieces of one model against failure.
pub const LARGEST_MEAN: f64 = 1e6;

/// A stock and the probability that demand stays within it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToHold {
    pub stock: u64,
    /// P(X <= stock).
    pub achieved: f64,
}

/// Why no stock can be named.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum DemandRefusal {
    #[error(
        "the mean demand is {0}: give a number from 0 to 1000000, or split the demand over \
         storerooms"
    )]
    Mean(f64),
    #[error(
        "the wanted protection is {0}: give a probability from 0 to below 1, such as 0.95; \
         certainty needs endless stock"
    )]
    Protection(f64),
    #[error(
        "more than 100000 pieces at once would be cheapest: check the cost of an order against \
         those of holding and owing"
    )]
    Lot,
    #[error(
        "the variance of the demand is {0}: give a number of zero or more, and at most 100000 times \
         the mean"
    )]
    Variance(f64),
    #[error("the probability is {0}: give a number from 0 to 1")]
    Chance(f64),
    #[error("the time ahead is {0} months: give a number from 0 to 1200")]
    Months(f64),
    #[error(
        "the chances of 0, 1, 2 … pieces are none, endless or below zero: give numbers of zero or \
         more, at least one of them above zero"
    )]
    Weights,
}

/// Returns the failures to expect of `installed` units in a lead time of `lead_time_d` days.
///
/// `rate_fit` is the failure rate of one unit in failures per 1e9 h; the units run all day.
///
/// Source: constant failure rate (IEC 60050-192), mean N·λ·L.
pub fn expected_failures(installed: u32, rate_fit: f64, lead_time_d: f64) -> f64 {
    f64::from(installed) * (rate_fit * 1e-9) * (lead_time_d * 24.0)
}

/// Returns P(X <= k) of a Poisson demand with this mean. Not a number where the mean is none, or
/// is below 0 or infinite.
///
/// Within 1e-10 of the exact value, tails included, up to a mean of 1e4.
pub fn poisson_cdf(k: u64, mean: f64) -> f64 {
    match Poisson::new(mean) {
        _ if mean == 0.0 => 1.0,
        Ok(demand) if mean.is_finite() => demand.cdf(k),
        _ => f64::NAN,
    }
}

/// Returns P(X > k), which keeps its digits where [`poisson_cdf`] is all but 1.
pub fn poisson_above(k: u64, mean: f64) -> f64 {
    match Poisson::new(mean) {
        _ if mean == 0.0 => 0.0,
        Ok(demand) if mean.is_finite() => demand.sf(k),
        _ => f64::NAN,
    }
}

/// Returns the smallest stock k with P(X <= k) >= `protection`, X being Poisson with this mean.
///
/// Fails with [`DemandRefusal::Mean`] unless 0 <= mean <= [`LARGEST_MEAN`], and with
/// [`DemandRefusal::Protection`] unless 0 <= protection < 1.
///
/// Source: spares without resupply as in B. S. Blanchard, Logistics Engineering and Management.
/// Some pages write P(X < k), which asks for one piece more.
pub fn to_hold(mean: f64, protection: f64) -> Result<ToHold, DemandRefusal> {
    if !(0.0..=LARGEST_MEAN).contains(&mean) {
        return Err(DemandRefusal::Mean(mean));
    }
    if !(0.0..1.0).contains(&protection) {
        return Err(DemandRefusal::Protection(protection));
    }
    // The upper tail is compared, since close to certainty P(X <= k) itself rounds to 1.
    let covers = |k: u64| poisson_above(k, mean) <= 1.0 - protection;
    let mut high = 1;
    while !covers(high) {
        high *= 2;
    }
    let mut low = 0;
    while low < high {
        let middle = low + (high - low) / 2;
        if covers(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    Ok(ToHold { stock: low, achieved: poisson_cdf(low, mean) })
}
