use super::{Cover, LastBuyQuestion};
use crate::spares::lead_demand::failures_in;
use crate::spares::pmf::Pmf;
use crate::spares::poisson::DemandRefusal;
use crate::spares::rates::RateBelief;

/// What happens on a day beside failures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Step {
    /// Pieces that come, each with a chance.
    Comes(u64, f64),
    /// Pieces that are asked for with a chance.
    Asked(u64, f64),
    /// A day that is only looked at.
    Mark,
}

impl Step {
    /// Of one day, what comes is there for what is asked.
    pub(super) fn rank(self) -> u8 {
        match self {
            Self::Comes(..) => 0,
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

    fn come(self) -> Result<Option<Pmf>, DemandRefusal> {
        match self {
            Self::Comes(pieces, 1.0) => Ok(Some(Pmf::certain(pieces))),
            Self::Comes(pieces, chance) => Pmf::binomial(pieces, chance).map(Some),
            _ => Ok(None),
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
    /// What is believed of a rate that the ways stand for, by which failures have a closed form.
    belief: Option<RateBelief>,
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
        belief: RateBelief,
    ) -> Self {
        let way = |(weight, times)| Way { weight, times, course: 0 };
        let ways = rates.into_iter().map(way).collect();
        Self { ways, days, courses: vec![exposure], belief: Some(belief) }
    }

    /// Sums of failures at each of `days`, which are two at least, with weights.
    pub(super) fn of_courses(courses: Vec<(f64, Vec<f64>)>, days: Vec<f64>) -> Self {
        let weights = courses.iter().enumerate();
        let way =
            |(course, (weight, _)): (usize, &(f64, _))| Way { weight: *weight, times: 1.0, course };
        let ways = weights.map(way).collect();
        let courses = courses.into_iter().map(|(_, sums)| sums).collect();
        Self { ways, days, courses, belief: None }
    }

    /// Failures to expect by a day.
    fn by(&self, way: Way, day: f64) -> f64 {
        way.times * self.course_by(way.course, day)
    }

    fn course_by(&self, course: usize, day: f64) -> f64 {
        let sums = &self.courses[course];
        let after = self.days.partition_point(|it| *it < day).clamp(1, self.days.len() - 1);
        let (from, to) = (self.days[after - 1], self.days[after]);
        let share = ((day - from) / (to - from)).clamp(0.0, 1.0);
        sums[after - 1] + share * (sums[after] - sums[after - 1])
    }

    fn between(&self, way: Way, from_d: f64, to_d: f64) -> Result<Pmf, DemandRefusal> {
        Pmf::poisson((self.by(way, to_d) - self.by(way, from_d)).max(0.0))
    }

    /// Failures until a day, on average.
    pub(super) fn failures_mean(&self, day: f64) -> f64 {
        let whole: f64 = self.ways.iter().map(|way| way.weight).sum();
        self.ways.iter().map(|way| way.weight * self.by(*way, day)).sum::<f64>() / whole
    }

    fn failures(&self, day: f64) -> Result<Pmf, DemandRefusal> {
        if let Some(belief) = self.belief {
            return failures_in(belief, self.course_by(0, day));
        }
        let mut mixed = Vec::with_capacity(self.ways.len());
        for way in &self.ways {
            mixed.push((way.weight, Pmf::poisson(self.by(*way, day))?));
        }
        Ok(Pmf::mixed(&mixed))
    }

    /// All that is asked for until a day, planned pieces among it.
    pub(super) fn demand(
        &self,
        question: &LastBuyQuestion,
        day: f64,
    ) -> Result<Pmf, DemandRefusal> {
        let steps = question.steps(day, &[]);
        let planned = steps.iter().filter_map(|(_, step)| step.asked());
        Ok(planned.fold(self.failures(day)?, |sum, asked| sum.plus(&asked)))
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
        if !something_comes(&steps) {
            return self.demand(question, until_d);
        }
        let mut mixed = Vec::with_capacity(self.ways.len());
        for way in &self.ways {
            let mut later_d = until_d;
            let mut worst = Pmf::certain(0);
            for (day, step) in steps.iter().rev() {
                worst = worst.plus(&self.between(*way, *day, later_d)?);
                later_d = *day;
                if let Some(come) = step.come()? {
                    worst = less(&worst, &come)?;
                } else if let Some(asked) = step.asked() {
                    worst = worst.plus(&asked);
                }
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
        if !something_comes(&question.steps(horizon_d, &[])) {
            let mut out_by = Vec::with_capacity(marks.len());
            for day in marks {
                out_by.push((day, self.demand(question, day)?.above(stock)));
            }
            return Ok(Cover { out_by });
        }
        let steps = question.steps(horizon_d, &marks);
        let mut lasting = vec![0.0; marks.len()];
        for way in &self.ways {
            let mut left = vec![0.0; stock as usize + 1];
            left[stock as usize] = way.weight;
            let (mut earlier_d, mut mark) = (0.0, 0);
            for (day, step) in &steps {
                let asked = self.between(*way, earlier_d, *day)?;
                if *step == Step::Mark {
                    // What lasts until a day is only looked at: the stock goes on from the last one
                    // on which something came or was asked for.
                    let stocks = left.iter().enumerate();
                    let lasts = stocks.map(|(stock, had)| had * (1.0 - asked.above(stock as u64)));
                    lasting[mark] += lasts.sum::<f64>();
                    mark += 1;
                    continue;
                }
                taken(&mut left, &asked);
                earlier_d = *day;
                if let Some(come) = step.come()? {
                    left = added(&left, &come);
                } else if let Some(asked) = step.asked() {
                    taken(&mut left, &asked);
                }
            }
        }
        let whole: f64 = self.ways.iter().map(|way| way.weight).sum();
        let out = lasting.into_iter().map(|lasts| (1.0 - lasts / whole).clamp(0.0, 1.0));
        Ok(Cover { out_by: marks.into_iter().zip(out).collect() })
    }
}

fn something_comes(steps: &[(f64, Step)]) -> bool {
    steps.iter().any(|(_, step)| matches!(step, Step::Comes(..)))
}

/// Takes what comes off, but not below nothing.
fn less(demand: &Pmf, come: &Pmf) -> Result<Pmf, DemandRefusal> {
    let demand = demand.weights();
    let mut left = vec![0.0; demand.len()];
    for (pieces, chance) in come.weights().iter().enumerate().filter(|(_, chance)| **chance > 0.0) {
        let cut = pieces.min(demand.len() - 1);
        left[0] += chance * demand[..=cut].iter().sum::<f64>();
        left.iter_mut().zip(&demand[cut..]).skip(1).for_each(|(sum, it)| *sum += chance * it);
    }
    Pmf::of(left)
}

/// Adds what comes to a stock, whose chances stand by pieces and may sum to less than 1.
fn added(left: &[f64], come: &Pmf) -> Vec<f64> {
    let mut more = vec![0.0; left.len() + come.weights().len() - 1];
    for (pieces, chance) in come.weights().iter().enumerate().filter(|(_, chance)| **chance > 0.0) {
        more[pieces..].iter_mut().zip(left).for_each(|(sum, had)| *sum += chance * had);
    }
    more
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
