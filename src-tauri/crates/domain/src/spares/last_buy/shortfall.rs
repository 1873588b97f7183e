use super::{Cover, LastBuyQuestion};
use crate::spares::pmf::Pmf;
use crate::spares::poisson::DemandRefusal;

/// What happens on a day beside failures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Step {
    Comes(u64),
    /// Pieces that are asked for with a chance.
    Asked(u64, f64),
    /// A day that is only looked at.
    Mark,
}

impl Step {
    /// Of one day, what comes is there for what is asked.
    pub(super) fn rank(self) -> u8 {
        match self {
            Self::Comes(_) => 0,
            Self::Asked(..) => 1,
            Self::Mark => 2,
        }
    }

    fn asked(self) -> Option<Pmf> {
        match self {
            Self::Asked(pieces, chance) => {
                Some(Pmf::mixed(&[(chance, Pmf::certain(pieces)), (1.0 - chance, Pmf::certain(0))]))
            }
            _ => None,
        }
    }
}

/// How failures may come: several ways, and Poisson given the way.
#[derive(Debug, Clone)]
pub(super) struct Luck {
    ways: Vec<Way>,
    /// Days, and sums of failures or of hours at each, straight between them.
    days: Vec<f64>,
    courses: Vec<Vec<f64>>,
    /// Failures until the horizon in closed form, where there is one.
    all: Option<Pmf>,
}

/// The failures to expect by each day: so many times a course.
#[derive(Debug, Clone, Copy)]
struct Way {
    weight: f64,
    times: f64,
    course: usize,
}

impl Luck {
    /// Rates with weights, and the exposure at each of `days`, which are two at least.
    pub(super) fn at_rates(
        rates: Vec<(f64, f64)>,
        days: Vec<f64>,
        exposure: Vec<f64>,
        all: Pmf,
    ) -> Self {
        let way = |(weight, times)| Way { weight, times, course: 0 };
        let ways = rates.into_iter().map(way).collect();
        Self { ways, days, courses: vec![exposure], all: Some(all) }
    }

    /// Sums of failures at each of `days`, which are two at least, with weights.
    pub(super) fn of_courses(courses: Vec<(f64, Vec<f64>)>, days: Vec<f64>) -> Self {
        let weights = courses.iter().enumerate();
        let way =
            |(course, (weight, _)): (usize, &(f64, _))| Way { weight: *weight, times: 1.0, course };
        let ways = weights.map(way).collect();
        let courses = courses.into_iter().map(|(_, sums)| sums).collect();
        Self { ways, days, courses, all: None }
    }

    /// Failures to expect by a day.
    fn by(&self, way: Way, day: f64) -> f64 {
        let sums = &self.courses[way.course];
        let after = self.days.partition_point(|it| *it < day).clamp(1, self.days.len() - 1);
        let (from, to) = (self.days[after - 1], self.days[after]);
        let share = ((day - from) / (to - from)).clamp(0.0, 1.0);
        way.times * (sums[after - 1] + share * (sums[after] - sums[after - 1]))
    }

    fn between(&self, way: Way, from_d: f64, to_d: f64) -> Result<Pmf, DemandRefusal> {
        Pmf::poisson((self.by(way, to_d) - self.by(way, from_d)).max(0.0))
    }

    /// Mean and variance of what is asked for until the horizon.
    pub(super) fn demand(&self, question: &LastBuyQuestion) -> (f64, f64) {
        let horizon_d = question.horizon_d;
        let means = self.ways.iter().map(|way| (way.weight, self.by(*way, horizon_d)));
        let (mean, square) = means.fold((0.0, 0.0), |(mean, square), (weight, sum)| {
            (mean + weight * sum, square + weight * sum * sum)
        });
        let (mean, variance) = match &self.all {
            Some(all) => (all.mean(), all.variance()),
            None => (mean, mean + (square - mean * mean).max(0.0)),
        };
        let planned = question.planned.iter().filter(|it| it.day <= horizon_d);
        planned.fold((mean, variance), |(mean, variance), it| {
            let pieces = it.pieces as f64;
            let spread = it.chance * (1.0 - it.chance) * pieces * pieces;
            (mean + it.chance * pieces, variance + spread)
        })
    }

    /// How far demand outruns supply at its worst until a day.
    ///
    /// From the last step backwards: what is asked adds up, and what comes takes off, but not below
    /// nothing, since what is too much later does not help earlier.
    pub(super) fn shortfall(
        &self,
        question: &LastBuyQuestion,
        until_d: f64,
    ) -> Result<Pmf, DemandRefusal> {
        let steps = question.steps(until_d, &[]);
        if let Some(all) = self.all.as_ref().filter(|_| until_d >= question.horizon_d)
            && steps.is_empty()
        {
            return Ok(all.clone());
        }
        let mut mixed = Vec::with_capacity(self.ways.len());
        for way in &self.ways {
            let mut later_d = until_d;
            let mut worst = Pmf::certain(0);
            for (day, step) in steps.iter().rev() {
                worst = worst.plus(&self.between(*way, *day, later_d)?);
                later_d = *day;
                worst = match step {
                    Step::Comes(pieces) => less(&worst, *pieces)?,
                    other => other.asked().map_or(worst.clone(), |asked| worst.plus(&asked)),
                };
            }
            mixed.push((way.weight, worst.plus(&self.between(*way, 0.0, later_d)?)));
        }
        Ok(Pmf::mixed(&mixed))
    }

    /// How likely this stock has run out by the end of each month.
    pub(super) fn cover(
        &self,
        question: &LastBuyQuestion,
        stock: u64,
    ) -> Result<Cover, DemandRefusal> {
        let horizon_d = question.horizon_d;
        let months = (horizon_d / super::DAYS_PER_MONTH) as u32;
        let mut marks: Vec<f64> =
            (1..=months).map(|month| f64::from(month) * super::DAYS_PER_MONTH).collect();
        if marks.last().is_none_or(|last| *last < horizon_d) {
            marks.push(horizon_d);
        }
        let steps = question.steps(horizon_d, &marks);
        let mut lasting = vec![0.0; marks.len()];
        for way in &self.ways {
            let mut left = vec![0.0; stock as usize + 1];
            left[stock as usize] = way.weight;
            let (mut earlier_d, mut mark) = (0.0, 0);
            for (day, step) in &steps {
                taken(&mut left, &self.between(*way, earlier_d, *day)?);
                earlier_d = *day;
                match step {
                    Step::Comes(pieces) => {
                        left.splice(0..0, std::iter::repeat_n(0.0, *pieces as usize));
                    }
                    Step::Mark => {
                        lasting[mark] += left.iter().sum::<f64>();
                        mark += 1;
                    }
                    other => {
                        if let Some(asked) = other.asked() {
                            taken(&mut left, &asked);
                        }
                    }
                }
            }
        }
        let whole: f64 = self.ways.iter().map(|way| way.weight).sum();
        let out = lasting.into_iter().map(|lasts| (1.0 - lasts / whole).clamp(0.0, 1.0));
        Ok(Cover { out_by: marks.into_iter().zip(out).collect() })
    }
}

/// Takes pieces off, but not below nothing.
fn less(demand: &Pmf, pieces: u64) -> Result<Pmf, DemandRefusal> {
    let weights = demand.weights();
    let cut = (pieces as usize).min(weights.len() - 1);
    let mut left: Vec<f64> = weights[cut..].to_vec();
    left[0] = weights[..=cut].iter().sum();
    Pmf::of(left)
}

/// A chance that does not show in that of running out.
const UNSEEN: f64 = 1e-16;

/// Takes a demand out of a stock, whose chances stand by pieces; who runs out drops out.
fn taken(left: &mut [f64], demand: &Pmf) {
    let weights = demand.weights();
    let seen = |chance: &f64| *chance > UNSEEN;
    let Some(most) = left.iter().rposition(seen) else { return };
    let (Some(first), Some(last)) = (weights.iter().position(seen), weights.iter().rposition(seen))
    else {
        return;
    };
    let least = left.iter().position(seen).unwrap_or(0).saturating_sub(last);
    left[most + 1..].fill(0.0);
    for pieces in least..=most {
        // Those that had the pieces left and all that was asked besides.
        let had = &left[(pieces + first).min(most + 1)..=most];
        left[pieces] = had.iter().zip(&weights[first..=last]).map(|(had, asked)| had * asked).sum();
    }
}
