use crate::spares::{DemandRefusal, Pmf};

/// Days of a mean month.
pub const DAYS_PER_MONTH: f64 = 365.25 / 12.0;

/// Returns the demand of so many months, of which each has the demand `month` and knows nothing of
/// the others.
///
/// Of a broken month the exact root is taken where the demand is one of groups that arrive at random
/// (infinitely divisible); else each piece falls into the broken part with its chance, which keeps
/// the mean.
///
/// Fails where the months are no number, below zero, or more than 600.
///
/// Source: power of a power series by Miller's recurrence (Knuth, The Art of Computer Programming,
/// volume 2, section 4.7); thinning.
pub fn over_months(month: &Pmf, months: f64) -> Result<Pmf, DemandRefusal> {
    if !(0.0..=600.0).contains(&months) {
        return Err(DemandRefusal::Mean(months));
    }
    let mut whole = months.trunc() as u32;
    let broken = months.fract();
    let mut sum = match broken {
        0.0 => Pmf::certain(0),
        _ => match root(month, broken) {
            Some(part) => part,
            None => thinned(month, broken)?,
        },
    };
    let mut power = month.clone();
    while whole > 0 {
        if whole & 1 == 1 {
            sum = sum.plus(&power);
        }
        whole >>= 1;
        if whole > 0 {
            power = power.plus(&power);
        }
    }
    Ok(sum)
}

/// The demand whose generating function is that of `month` to this power, where that is one.
fn root(month: &Pmf, power: f64) -> Option<Pmf> {
    let weights = month.weights();
    if weights[0] < 1e-6 {
        return None;
    }
    let mut at = vec![weights[0].powf(power)];
    for n in 1..weights.len() {
        let terms = (1..=n).map(|k| (k as f64 * (power + 1.0) - n as f64) * weights[k] * at[n - k]);
        let weight = terms.sum::<f64>() / (n as f64 * weights[0]);
        if weight < -1e-10 {
            return None;
        }
        at.push(weight.max(0.0));
    }
    // What the month's own tail cuts off is small; a root that misses more is none.
    let sum: f64 = at.iter().sum();
    if (sum - 1.0).abs() > 1e-6 { None } else { Pmf::of(at).ok() }
}

fn thinned(month: &Pmf, share: f64) -> Result<Pmf, DemandRefusal> {
    let mut parts = Vec::new();
    for (pieces, weight) in
        month.weights().iter().enumerate().filter(|(_, weight)| **weight > 1e-18)
    {
        parts.push((*weight, Pmf::binomial(pieces as u64, share)?));
    }
    Ok(Pmf::mixed(&parts))
}
