use super::super::ageing::Life;
use super::super::pmf::Pmf;
use super::super::poisson::DemandRefusal;
use super::HOURS_PER_YEAR_OF_AGE;
use std::collections::BTreeMap;

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

/// Where there are more groups than this, places whose chances of a failure and of none and whose
/// means differ by less than a factor count alike.
const MOST_APART: usize = 100;
const ALIKE: f64 = 1.05;

/// Stretches of the time ahead for each part of the scale in which a failure comes to be likelier by
/// a factor of e.
const STRETCHES: f64 = 2.0;

/// Places from -1 to 1, and weights.
///
/// Source: Abramowitz and Stegun, table 25.4, n = 8.
const LEGENDRE: [(f64, f64); 8] = [
    (-0.960_289_856_497_536, 0.101_228_536_290_376),
    (-0.796_666_477_413_627, 0.222_381_034_453_374),
    (-0.525_532_409_916_329, 0.313_706_645_877_887),
    (-0.183_434_642_495_650, 0.362_683_783_378_362),
    (0.183_434_642_495_650, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887),
    (0.796_666_477_413_627, 0.222_381_034_453_374),
    (0.960_289_856_497_536, 0.101_228_536_290_376),
];

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
/// The first failure is exact; renewals are summed on a grid of 300 steps, and of more than 100 groups
/// those whose chances and means differ by less than a twentieth count alike with their mean: the
/// mean within 1e-4 of itself, no chance off by more than 1e-4. Places fail independently, given the life.
///
/// Fails where an age, a factor, a day or the life is no number, is below zero, or gives more
/// failures than [`super::super::LARGEST_MEAN`].
///
/// Source: renewal theory, Barlow and Proschan 1965, chapter 3.
pub fn ageing_demand(life: Life, groups: &[AgeGroup], day: f64) -> Result<Pmf, DemandRefusal> {
    let mut by_day = ageing_demands(life, groups, &[day])?;
    Ok(by_day.pop().unwrap_or_else(|| Pmf::certain(0)))
}

/// Returns the same by each of several days, which share one grid.
///
/// Fails as [`ageing_demand`] does.
pub(in crate::spares) fn ageing_demands(
    life: Life,
    groups: &[AgeGroup],
    days: &[f64],
) -> Result<Vec<Pmf>, DemandRefusal> {
    let table = Renewals::of(life, groups, last_of(days))?;
    days.iter().map(|day| table.demand(groups, *day)).collect()
}

/// Returns the mean number of failures of an ageing population by each of several days.
///
/// Fails as [`ageing_demand`] does.
pub fn ageing_course(
    life: Life,
    groups: &[AgeGroup],
    days: &[f64],
) -> Result<Vec<f64>, DemandRefusal> {
    let table = Renewals::of(life, groups, last_of(days))?;
    let mean_by = |day: &f64| {
        let of_group = |group: &AgeGroup| {
            f64::from(group.units) * table.place_mean(group.age_y, group.ageing_y(*day))
        };
        groups.iter().map(of_group).sum()
    };
    Ok(days.iter().map(mean_by).collect())
}

/// The last of several days; one that is no number, or no day to come, where there is such: it is
/// refused as a single one would be.
fn last_of(days: &[f64]) -> f64 {
    let wrong = days.iter().copied().find(|day| !(day.is_finite() && *day >= 0.0));
    wrong.unwrap_or_else(|| days.iter().copied().fold(0.0, f64::max))
}

/// The class of a figure by its logarithm.
fn of_class(figure: f64) -> i32 {
    if figure > 1e-12 { (figure.ln() / ALIKE.ln()).floor() as i32 } else { i32::MIN }
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

    /// Failures of all places by a day.
    fn demand(&self, groups: &[AgeGroup], day: f64) -> Result<Pmf, DemandRefusal> {
        // Units, and the sum of their chances.
        let mut alike: BTreeMap<[i32; 3], (u32, Vec<f64>)> = BTreeMap::new();
        let many = groups.len() > MOST_APART;
        for (at, group) in groups.iter().enumerate().filter(|(_, group)| group.units > 0) {
            let span_y = group.ageing_y(day);
            let place = self.place(group.age_y, span_y);
            let class = match many {
                true => {
                    let mean = self.place_mean(group.age_y, span_y);
                    [1.0 - place[0], place[0], mean].map(of_class)
                }
                false => [at as i32; 3],
            };
            let (units, sums) = alike.entry(class).or_default();
            *units += group.units;
            if sums.len() < place.len() {
                sums.resize(place.len(), 0.0);
            }
            let units = f64::from(group.units);
            sums.iter_mut().zip(&place).for_each(|(sum, chance)| *sum += units * chance);
        }
        let mut parts = Vec::with_capacity(alike.len());
        for (units, sums) in alike.into_values() {
            parts.push(times(&Pmf::of(sums)?, units));
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

    /// Chances of 0, 1, 2 … failures of a place whose unit has this age, within `span_y`.
    fn place(&self, age_y: f64, span_y: f64) -> Vec<f64> {
        let first = self.first_failures(age_y, span_y);
        let mut at_least = vec![1.0, self.life.fails_within(age_y, span_y)];
        for row in &self.at_least {
            let more = self.after_the_first(&first, row);
            if more < UNSEEN {
                break;
            }
            at_least.push(more);
        }
        let weights = at_least.iter().zip(at_least.iter().skip(1).chain([&0.0]));
        weights.map(|(here, next)| (here - next).max(0.0)).collect()
    }

    fn place_mean(&self, age_y: f64, span_y: f64) -> f64 {
        let first = self.first_failures(age_y, span_y);
        self.life.fails_within(age_y, span_y) + self.after_the_first(&first, &self.mean)
    }

    /// When the first failure of a unit of this age comes within `span_y`: what is left after it,
    /// years, with the chance that stands for it. Points of Gauss and Legendre in stretches in which
    /// a failure becomes little likelier.
    fn first_failures(&self, age_y: f64, span_y: f64) -> Vec<(f64, f64)> {
        if span_y <= 0.0 || self.step_y <= 0.0 {
            return Vec::new();
        }
        let Life { scale, shape } = self.life;
        let stretches = (span_y * STRETCHES * shape / scale).ceil().clamp(1.0, STEPS as f64);
        let half_y = span_y / stretches / 2.0;
        let wear = |at_y: f64| (at_y / scale).powf(shape);
        let before = wear(age_y);
        let mut first = Vec::with_capacity(stretches as usize * LEGENDRE.len());
        let mut failed = 0.0;
        for stretch in 0..stretches as usize {
            let middle_y = (2 * stretch + 1) as f64 * half_y;
            let points = LEGENDRE.map(|(place, weight)| {
                let at_y = middle_y + place * half_y;
                let worn = wear(age_y + at_y);
                (span_y - at_y, weight * worn / (age_y + at_y) * (before - worn).exp())
            });
            // The chance of each stretch is known exactly.
            let by_end = -(before - wear(age_y + middle_y + half_y)).exp_m1();
            let sum: f64 = points.iter().map(|(_, weight)| weight).sum();
            let scaled = if sum > 0.0 { (by_end - failed) / sum } else { 0.0 };
            first.extend(points.map(|(left_y, weight)| (left_y, weight * scaled)));
            failed = by_end;
        }
        first
    }

    /// Mean over the first failure of what `row` says of the time left after it.
    fn after_the_first(&self, first: &[(f64, f64)], row: &[f64]) -> f64 {
        first.iter().map(|(left_y, chance)| chance * self.between(row, *left_y)).sum()
    }

    fn between(&self, row: &[f64], at_y: f64) -> f64 {
        let place = (at_y / self.step_y).clamp(0.0, STEPS as f64);
        let before = (place as usize).min(STEPS - 1);
        let share = place - before as f64;
        row[before] + share * (row[before + 1] - row[before])
    }
}
