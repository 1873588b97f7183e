use super::rates::gamma_below;
use statrs::function::gamma::gamma;

/// A Weibull life: `scale` in the unit of time, `shape` above 1 for wear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Life {
    pub scale: f64,
    pub shape: f64,
}

/// When to replace, and what it costs in a unit of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AgeReplacement {
    /// Age; none where it is best to wait for the failure.
    pub age: Option<f64>,
    pub cost: f64,
    /// Cost when every unit is left to fail.
    pub cost_to_failure: f64,
}

impl Life {
    /// Returns the probability that a unit of this age fails in the next `time`.
    ///
    /// Source: conditional reliability of the Weibull distribution.
    pub fn fails_within(self, age: f64, time: f64) -> f64 {
        let wear = |age: f64| (age / self.scale).powf(self.shape);
        -(wear(age) - wear(age + time)).exp_m1()
    }

    pub fn mean(self) -> f64 {
        self.scale * gamma(1.0 + 1.0 / self.shape)
    }

    /// Standard deviation of lives.
    pub fn deviation(self) -> f64 {
        let mean = self.mean();
        let square = gamma(1.0 + 2.0 / self.shape) * self.scale * self.scale;
        (square - mean * mean).max(0.0).sqrt()
    }

    /// Returns the age at which replacing costs least, `planned_cost` before the failure and
    /// `failure_cost` after it. All figures above zero.
    ///
    /// The age solves h(T)·∫R - F(T) = cp / (cf - cp), whose left side rises with wear.
    ///
    /// Source: Barlow and Hunter 1960; Barlow and Proschan 1965, chapters 3 and 4.
    pub fn age_replacement(self, planned_cost: f64, failure_cost: f64) -> AgeReplacement {
        let cost_to_failure = failure_cost / self.mean();
        let never = AgeReplacement { age: None, cost: cost_to_failure, cost_to_failure };
        if self.shape <= 1.0 || failure_cost <= planned_cost {
            return never;
        }
        let wanted = planned_cost / (failure_cost - planned_cost);
        let excess = |age: f64| {
            let wear = (age / self.scale).powf(self.shape);
            let hazard = self.shape / age * wear;
            hazard * self.mean_until(age) + (-wear).exp_m1() - wanted
        };
        let (mut low, mut high) = (0.0, self.scale);
        while excess(high) < 0.0 {
            high *= 2.0;
            // Past this wear no unit is left, and the planned change never happens.
            if (high / self.scale).powf(self.shape) > 700.0 {
                return never;
            }
        }
        for _ in 0..200 {
            let middle = low + (high - low) / 2.0;
            if excess(middle) < 0.0 { low = middle } else { high = middle }
        }
        let cost = self.age_cost(high, planned_cost, failure_cost);
        AgeReplacement { age: Some(high), cost, cost_to_failure }
    }

    /// Returns the cost in a unit of time of replacing at `age`, or at the failure before it. All
    /// figures above zero.
    ///
    /// Source: Barlow and Hunter 1960, renewal reward.
    pub fn age_cost(self, age: f64, planned_cost: f64, failure_cost: f64) -> f64 {
        let failed = -(-(age / self.scale).powf(self.shape)).exp_m1();
        (planned_cost * (1.0 - failed) + failure_cost * failed) / self.mean_until(age)
    }

    /// Mean time in service of a unit that is taken out at `age`.
    fn mean_until(self, age: f64) -> f64 {
        self.mean() * gamma_below(1.0 / self.shape, (age / self.scale).powf(self.shape))
    }
}

/// Replacing all units together every so many periods against each as it fails.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupReplacement {
    /// Failures in each period, replacements that fail again included.
    pub failures: Vec<f64>,
    /// Mean life, periods.
    pub mean_life: f64,
    /// Cost of a period when each is replaced as it fails.
    pub cost_single: f64,
    /// Cost of a period when all are replaced together after 1, 2, … periods; failures in the last
    /// of them are replaced singly first, as texts mostly have it.
    pub cost_group: Vec<f64>,
    /// The same when what fails in the last period waits for the group.
    pub cost_group_waiting: Vec<f64>,
}

/// Returns failures and costs for `units` that live whole periods: `lives[i]` is the share that
/// fails in period i + 1.
///
/// Source: group replacement in texts on operations research; the two conventions differ in whether
/// the failures of the last period are paid for singly, and can differ in their verdict.
pub fn group_replacement(
    units: f64,
    lives: &[f64],
    single_cost: f64,
    group_cost: f64,
) -> GroupReplacement {
    let mut failures: Vec<f64> = Vec::with_capacity(lives.len());
    for (period, share) in lives.iter().enumerate() {
        let again: f64 =
            failures.iter().zip(lives[..period].iter().rev()).map(|(a, b)| a * b).sum();
        failures.push(units * share + again);
    }
    let mean_life: f64 =
        lives.iter().enumerate().map(|(period, share)| (period + 1) as f64 * share).sum();
    let cost_after = |periods: usize, paid_singly: usize| {
        let failed: f64 = failures[..paid_singly].iter().sum();
        (units * group_cost + single_cost * failed) / periods as f64
    };
    let periods = 1..=lives.len();
    let cost_group = periods.clone().map(|periods| cost_after(periods, periods)).collect();
    let cost_group_waiting = periods.map(|periods| cost_after(periods, periods - 1)).collect();
    let cost_single = units * single_cost / mean_life;
    GroupReplacement { failures, mean_life, cost_single, cost_group, cost_group_waiting }
}
