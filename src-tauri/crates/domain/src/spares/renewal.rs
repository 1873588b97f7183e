use super::ageing::Life;
use super::rates::gamma_below;

/// When to replace at fixed times, and what it costs in a unit of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlockReplacement {
    /// Time between changes; none where it is best to replace at each failure only.
    pub every: Option<f64>,
    pub cost: f64,
    /// Failures to expect between two changes; at the mean rate where there are none.
    pub failures: f64,
}

/// Steps of the coarser of two grids.
const STEPS: usize = 600;

/// Returns the failures to expect in each of `2 * steps + 1` moments from zero to `time`, each
/// replaced at once by a new item, from the probability that a life is over by an age.
///
/// Two grids by the midpoint rule of Riemann and Stieltjes, the finer twice as fine, and their
/// difference taken out to the next order; good to about 1e-8 for smooth lives of 600 steps.
///
/// Source: renewal equation M = F + ∫M(t - u)dF(u); M. Xie, On the solution of renewal-type integral
/// equations, Communications in Statistics: Simulation and Computation 18 (1989), from memory.
fn renewals_until(over_by: impl Fn(f64) -> f64, time: f64, steps: usize) -> Vec<f64> {
    let coarse = midpoint(&over_by, time, steps);
    let mut fine = midpoint(&over_by, time, 2 * steps);
    let mut lift = 0.0;
    for at in 0..=steps {
        let next = (fine[2 * at] - coarse[at]) / 3.0;
        fine[2 * at] += next;
        if at > 0 {
            fine[2 * at - 1] += (lift + next) / 2.0;
        }
        lift = next;
    }
    fine
}

fn midpoint(over_by: impl Fn(f64) -> f64, time: f64, steps: usize) -> Vec<f64> {
    let step = time / steps as f64;
    // Of lives over by the middle of each step.
    let middles: Vec<f64> = (0..steps).map(|at| over_by((at as f64 + 0.5) * step)).collect();
    let mut renewals = Vec::with_capacity(steps + 1);
    renewals.push(0.0);
    for at in 1..=steps {
        let mut sum = over_by(at as f64 * step) - middles[0] * renewals[at - 1];
        for past in 1..at {
            sum += (renewals[past] - renewals[past - 1]) * middles[at - past];
        }
        renewals.push(sum / (1.0 - middles[0]));
    }
    renewals
}

impl Life {
    /// Returns the failures to expect until `time` of an item that is replaced at each.
    pub fn renewals(self, time: f64) -> f64 {
        renewals_until(|age| self.over_by(age), time, STEPS)[2 * STEPS]
    }

    /// Returns the time between changes at which replacing all by the calendar, and each failure at
    /// once, costs least. All figures above zero.
    ///
    /// The cost is (cp + cf·M(T))/T, whose least value is looked for on the grid of M and between
    /// its points by a parabola. Four scales are searched: past that M is as good as straight, and a
    /// change saves nothing.
    ///
    /// Source: Barlow and Proschan 1965, chapter 3.
    pub fn block_replacement(self, planned_cost: f64, failure_cost: f64) -> BlockReplacement {
        let to_failure = failure_cost / self.mean();
        let never = BlockReplacement { every: None, cost: to_failure, failures: 1.0 };
        if self.shape <= 1.0 {
            return never;
        }
        let span = 4.0 * self.scale;
        let renewals = renewals_until(|age| self.over_by(age), span, STEPS);
        let step = span / (2 * STEPS) as f64;
        let cost = |at: usize| (planned_cost + failure_cost * renewals[at]) / (at as f64 * step);
        let best = (1..=2 * STEPS).min_by(|a, b| cost(*a).total_cmp(&cost(*b)));
        let Some(best) = best.filter(|best| *best > 1 && *best < 2 * STEPS) else { return never };
        let (before, here, after) = (cost(best - 1), cost(best), cost(best + 1));
        let bend = before - 2.0 * here + after;
        let off = if bend > 0.0 { (before - after) / (2.0 * bend) } else { 0.0 };
        let least = here - (before - after) * off / 4.0;
        if least >= to_failure {
            return never;
        }
        let every = (best as f64 + off) * step;
        let failures = (least * every - planned_cost) / failure_cost;
        BlockReplacement { every: Some(every), cost: least, failures }
    }

    fn over_by(self, age: f64) -> f64 {
        -(-(age / self.scale).powf(self.shape)).exp_m1()
    }
}

/// Returns the failures to expect until `time` of an item replaced at each, whose life is gamma
/// distributed: Erlang for whole shapes, exponential for 1.
pub fn gamma_renewals(shape: f64, scale: f64, time: f64) -> f64 {
    renewals_until(|age| gamma_below(shape, age / scale), time, STEPS)[2 * STEPS]
}

/// Returns the share of lives that ends in each of so many periods of one unit of time, what lives
/// longer counted in the last.
pub fn shares_of(life: Life, periods: usize) -> Vec<f64> {
    let mut before = 0.0;
    let shares = (1..=periods).map(|period| {
        let by = if period == periods { 1.0 } else { life.over_by(period as f64) };
        let share = by - before;
        before = by;
        share
    });
    shares.collect()
}
