use super::RateBelief;
use statrs::function::gamma::ln_gamma;

/// What one model of a family showed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FamilyMember {
    pub failures: u64,
    /// Unit-hours at the stated temperature, or the failures that the stated rate lets expect in
    /// them; the same kind for all members.
    pub exposure: f64,
}

/// What the models of a family have in common: how their rates spread, as a gamma distribution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FamilyPrior {
    /// Rates in failures for a unit of the members' exposure.
    pub belief: RateBelief,
    /// Members with any exposure.
    pub members: usize,
    pub failures: u64,
    pub exposure: f64,
    /// How the shape was found.
    pub shape: ShapeFound,
    /// Logarithm of the likelihood there, without what does not depend on the prior.
    pub log_likelihood: f64,
}

/// How the shape of a family's prior was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShapeFound {
    /// By the highest likelihood.
    Best,
    /// The models differ no more than chance makes them: the shape is held at the failures that the
    /// family saw, for its common rate is known no better than by those.
    HeldAtFailures,
    /// The models differ so much that hardly anything is in common: the shape is held at the least.
    HeldAtLeast,
}

/// Why models of a family are not pooled.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum FamilyRefusal {
    #[error(
        "only {members} of the family's models have hours in service: at least {LEAST_MEMBERS} are \
         needed to see how models differ, so each goes by its own stated rate"
    )]
    TooFew { members: usize },
    #[error("no model of the family has failed yet: each goes by its own stated rate")]
    NoFailure,
    #[error("the exposure of a model is {0}: give a number of zero or more")]
    Exposure(f64),
}

/// Fewest models with hours that are pooled. A decision, no source: two always lie symmetrically
/// about their mean and say little of a spread.
pub const LEAST_MEMBERS: usize = 3;

/// Smallest shape of a family's prior. A decision, no source.
pub const LEAST_FAMILY_SHAPE: f64 = 0.2;

/// Finds the gamma distribution of the members' rates that makes what was seen most likely.
///
/// Each member's failures are negative binomial once its unknown rate is averaged out. For each
/// shape the best mean is the root of a falling function; the best shape is searched between
/// [`LEAST_FAMILY_SHAPE`] and the failures of the whole family. That upper end keeps a family from
/// being surer than its own record, which plain empirical Bayes can be.
///
/// Fails where fewer than [`LEAST_MEMBERS`] have any exposure, where none failed, and where an
/// exposure is below zero or no number. Members without exposure are passed over.
///
/// Source: empirical Bayes for gamma-Poisson rates, NUREG/CR-6823, section 8.2.2, from memory;
/// checked against a general optimiser.
pub fn family_prior(members: &[FamilyMember]) -> Result<FamilyPrior, FamilyRefusal> {
    if let Some(wrong) = members.iter().find(|it| !(it.exposure.is_finite() && it.exposure >= 0.0))
    {
        return Err(FamilyRefusal::Exposure(wrong.exposure));
    }
    let members: Vec<FamilyMember> =
        members.iter().copied().filter(|member| member.exposure > 0.0).collect();
    if members.len() < LEAST_MEMBERS {
        return Err(FamilyRefusal::TooFew { members: members.len() });
    }
    let failures: u64 = members.iter().map(|member| member.failures).sum();
    if failures == 0 {
        return Err(FamilyRefusal::NoFailure);
    }
    let most = (failures as f64).max(LEAST_FAMILY_SHAPE);
    let height = |ln_shape: f64| log_likelihood(&members, ln_shape.exp()).0;
    let (ln_least, ln_most) = (LEAST_FAMILY_SHAPE.ln(), most.ln());
    let ln_shape = highest(height, ln_least, ln_most);
    let edge = 1e-6 * (ln_most - ln_least);
    let (shape, found) = if ln_most - ln_shape <= edge {
        (most, ShapeFound::HeldAtFailures)
    } else if ln_shape - ln_least <= edge {
        (LEAST_FAMILY_SHAPE, ShapeFound::HeldAtLeast)
    } else {
        (ln_shape.exp(), ShapeFound::Best)
    };
    let (log_likelihood, mean) = log_likelihood(&members, shape);
    Ok(FamilyPrior {
        belief: RateBelief { shape, exposure: shape / mean },
        members: members.len(),
        failures,
        exposure: members.iter().map(|member| member.exposure).sum(),
        shape: found,
        log_likelihood,
    })
}

/// The highest log-likelihood of a shape over all means, and the mean that gives it.
fn log_likelihood(members: &[FamilyMember], shape: f64) -> (f64, f64) {
    let mean = best_mean(members, shape);
    let terms = members.iter().map(|member| {
        let seen = member.failures as f64;
        // The prior's exposure over that of both, and its complement.
        let odds = mean * member.exposure / shape;
        ln_gamma(shape + seen) - ln_gamma(shape) - (shape + seen) * odds.ln_1p()
            + if seen > 0.0 { seen * odds.ln() } else { 0.0 }
    });
    (terms.sum(), mean)
}

/// The root of Σ (x − m·e)/(1 + m·e/shape), which falls with m.
fn best_mean(members: &[FamilyMember], shape: f64) -> f64 {
    let excess = |mean: f64| -> f64 {
        let terms = members.iter().map(|member| {
            let expected = mean * member.exposure;
            (member.failures as f64 - expected) / (1.0 + expected / shape)
        });
        terms.sum()
    };
    let rates = members.iter().map(|member| member.failures as f64 / member.exposure);
    let mut high = rates.fold(0.0, f64::max);
    let mut low = high;
    while low > f64::MIN_POSITIVE && excess(low) < 0.0 {
        low /= 16.0;
    }
    for _ in 0..200 {
        let middle = if high / low > 4.0 { (low * high).sqrt() } else { low + (high - low) / 2.0 };
        if middle <= low || middle >= high {
            break;
        }
        if excess(middle) > 0.0 { low = middle } else { high = middle }
    }
    high
}

/// Where a function is highest between two ends: the best of a coarse grid, then golden section
/// about it, so that a second, lower top does not lead astray.
fn highest(height: impl Fn(f64) -> f64, from: f64, to: f64) -> f64 {
    const GRID: usize = 40;
    let at = |step: usize| from + (to - from) * step as f64 / GRID as f64;
    let best = (0..=GRID)
        .map(|step| (step, height(at(step))))
        .fold((0, f64::NEG_INFINITY), |best, it| if it.1 > best.1 { it } else { best });
    let (mut low, mut high) = (at(best.0.saturating_sub(1)), at((best.0 + 1).min(GRID)));
    let golden = (5f64.sqrt() - 1.0) / 2.0;
    for _ in 0..60 {
        let (left, right) = (high - golden * (high - low), low + golden * (high - low));
        if height(left) >= height(right) { high = right } else { low = left }
    }
    (low + high) / 2.0
}
