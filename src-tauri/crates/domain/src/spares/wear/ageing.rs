use super::super::ageing::Life;
use super::super::pmf::Pmf;
use super::super::poisson::DemandRefusal;
use super::HOURS_PER_YEAR_OF_AGE;

/// Units of one age in places of one heat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AgeGroup {
    pub units: u32,
    /// Age, years at the stated temperature, when their time begins.
    pub age_y: f64,
    /// How many times as fast as at the stated temperature they age.
    pub factor: f64,
    /// Days from now at which they come into service; 0 for those that are.
    pub from_d: f64,
    /// Days from now at which they are taken out for good; none where they stay.
    pub until_d: Option<f64>,
}

/// Steps of the grid that renewals are reckoned on.
const STEPS: usize = 300;

/// Failures of a place by a time are not followed beyond this many.
const MOST_FAILURES: usize = 400;

/// A chance that is too small to be followed.
const UNSEEN: f64 = 1e-15;

impl AgeGroup {
    /// Units in service now.
    pub fn present(units: u32, age_y: f64, factor: f64) -> Self {
        Self { units, age_y, factor, from_d: 0.0, until_d: None }
    }

    /// Years at the stated temperature that each lives through by that day.
    fn ageing_y(&self, day: f64) -> f64 {
        let until = self.until_d.unwrap_or(f64::INFINITY).min(day);
        (until - self.from_d.max(0.0)).max(0.0) * 24.0 / HOURS_PER_YEAR_OF_AGE * self.factor
    }
}

/// Returns the failures of an ageing population by a day, each replaced at once by a new unit in the
/// same place: for each place the first failure given its age, then renewals.
///
/// By convolution on a grid of 300 steps with the chance of each step exact: the mean within 1e-4 of
/// itself, no chance off by more than 1e-4. Places fail independently, given the life.
///
/// Fails where an age, a factor, a day or the life is no number, is below zero, or gives more
/// failures than [`super::super::LARGEST_MEAN`].
///
/// Source: renewal theory, Barlow and Proschan 1965, chapter 3.
pub fn ageing_demand(life: Life, groups: &[AgeGroup], day: f64) -> Result<Pmf, DemandRefusal> {
    let table = Renewals::of(life, groups, day)?;
    let mut parts = Vec::with_capacity(groups.len());
    for group in groups.iter().filter(|group| group.units > 0) {
        let place = Pmf::of(table.place(group.age_y, group.ageing_y(day)))?;
        parts.push(times(&place, group.units));
    }
    // Sums of like size are joined first, so that no long one is gone through again and again.
    while parts.len() > 1 {
        let pairs = parts.chunks(2).map(|pair| match pair {
            [one, other] => one.plus(other),
            _ => pair[0].clone(),
        });
        parts = pairs.collect();
    }
    Ok(parts.pop().unwrap_or_else(|| Pmf::certain(0)))
}

/// Returns the mean number of failures of an ageing population by each of several days.
///
/// Fails as [`ageing_demand`] does.
pub fn ageing_course(
    life: Life,
    groups: &[AgeGroup],
    days: &[f64],
) -> Result<Vec<f64>, DemandRefusal> {
    // What is no number, or no day to come, is as refused as a single one would be.
    let wrong = days.iter().copied().find(|day| !(day.is_finite() && *day >= 0.0));
    let last = wrong.unwrap_or_else(|| days.iter().copied().fold(0.0, f64::max));
    let table = Renewals::of(life, groups, last)?;
    let mean_by = |day: &f64| {
        let of_group = |group: &AgeGroup| {
            f64::from(group.units) * table.place_mean(group.age_y, group.ageing_y(*day))
        };
        groups.iter().map(of_group).sum()
    };
    Ok(days.iter().map(mean_by).collect())
}

/// The sum of so many independent demands of one kind.
fn times(one: &Pmf, mut count: u32) -> Pmf {
    let mut sum = Pmf::certain(0);
    let mut power = one.clone();
    while count > 0 {
        if count & 1 == 1 {
            sum = sum.plus(&power);
        }
        count >>= 1;
        if count > 0 {
            power = power.plus(&power);
        }
    }
    sum
}

/// Failures of a place that starts with a new unit, on a grid of years.
struct Renewals {
    life: Life,
    step_y: f64,
    /// P(at least n failures) at each moment, from n = 1.
    at_least: Vec<Vec<f64>>,
    /// Failures to expect at each moment.
    mean: Vec<f64>,
}

impl Renewals {
    fn of(life: Life, groups: &[AgeGroup], day: f64) -> Result<Self, DemandRefusal> {
        let sound = |figure: f64| figure.is_finite() && figure >= 0.0;
        for group in groups {
            for figure in [group.age_y, group.factor, group.from_d, group.until_d.unwrap_or(0.0)] {
                if !sound(figure) {
                    return Err(DemandRefusal::Mean(figure));
                }
            }
        }
        for figure in [day, life.scale, life.shape] {
            if !sound(figure) {
                return Err(DemandRefusal::Mean(figure));
            }
        }
        let span_y = groups.iter().map(|group| group.ageing_y(day)).fold(0.0, f64::max);
        // As many failures as units of no age can have in that time.
        let most = span_y / life.mean();
        if most > MOST_FAILURES as f64 / 4.0 || most.is_nan() {
            return Err(DemandRefusal::Mean(most));
        }
        Ok(Self::on_grid(life, span_y))
    }

    fn on_grid(life: Life, span_y: f64) -> Self {
        let step_y = span_y / STEPS as f64;
        let over_by = |moment: usize| life.fails_within(0.0, moment as f64 * step_y);
        let first: Vec<f64> = (0..=STEPS).map(over_by).collect();
        let ends: Vec<f64> = first.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let mut at_least = vec![first];
        while at_least.len() < MOST_FAILURES {
            let before = &at_least[at_least.len() - 1];
            if before[STEPS] < UNSEEN {
                break;
            }
            let next = (0..=STEPS).map(|moment| {
                let sum = |step: usize| {
                    ends[step] * (before[moment - step] + before[moment - step - 1]) / 2.0
                };
                (0..moment).map(sum).sum()
            });
            let next = next.collect();
            at_least.push(next);
        }
        let mean = (0..=STEPS).map(|moment| at_least.iter().map(|row| row[moment]).sum());
        let mean = mean.collect();
        Self { life, step_y, at_least, mean }
    }

    /// Chances of 0, 1, 2 … failures of a place whose unit has this age, within `span_y`.
    fn place(&self, age_y: f64, span_y: f64) -> Vec<f64> {
        let first = self.life.fails_within(age_y, span_y);
        let mut at_least = vec![1.0, first];
        for row in &self.at_least {
            let more = self.after_the_first(age_y, span_y, row);
            if more < UNSEEN {
                break;
            }
            at_least.push(more);
        }
        let weights = at_least.iter().zip(at_least.iter().skip(1).chain([&0.0]));
        weights.map(|(here, next)| (here - next).max(0.0)).collect()
    }

    fn place_mean(&self, age_y: f64, span_y: f64) -> f64 {
        self.life.fails_within(age_y, span_y) + self.after_the_first(age_y, span_y, &self.mean)
    }

    /// Mean over the first failure within `span_y` of what `row` says of the time left after it.
    fn after_the_first(&self, age_y: f64, span_y: f64, row: &[f64]) -> f64 {
        if span_y <= 0.0 || self.step_y <= 0.0 {
            return 0.0;
        }
        let steps = (span_y / self.step_y).ceil().clamp(1.0, STEPS as f64) as usize;
        let width_y = span_y / steps as f64;
        let mut sum = 0.0;
        let mut failed = 0.0;
        let mut left = self.between(row, span_y);
        for step in 1..=steps {
            let by_now = self.life.fails_within(age_y, step as f64 * width_y);
            let left_then = self.between(row, span_y - step as f64 * width_y);
            sum += (by_now - failed) * (left + left_then) / 2.0;
            (failed, left) = (by_now, left_then);
        }
        sum
    }

    fn between(&self, row: &[f64], at_y: f64) -> f64 {
        let place = (at_y / self.step_y).clamp(0.0, STEPS as f64);
        let before = (place as usize).min(STEPS - 1);
        let share = place - before as f64;
        row[before] + share * (row[before + 1] - row[before])
    }
}
