use super::shortfall::{Luck, Step};
use super::{DAYS_PER_YEAR, LONGEST_D, LastBuyQuestion, LastBuyRefusal, MOST_PIECES};
use crate::spares::ageing::Life;
use crate::spares::lead_demand::slices::{gamma_points, slices_for};
use crate::spares::lead_demand::{
    DAYS_PER_MONTH, Failing, LeadRefusal, PlannedPieces, check_belief, reach,
};
use crate::spares::pmf::Pmf;
use crate::spares::projection::Arrival;
use crate::spares::wear::{AgeGroup, ageing_course};

impl LastBuyQuestion<'_> {
    /// What is paid for a piece missing in each year, beside what is missing by its end less what
    /// was by its beginning. One year stands for all where money keeps its worth.
    pub(super) fn shortfalls_by_year(
        &self,
        luck: &Luck,
        whole: &Pmf,
    ) -> Result<Vec<(f64, Pmf)>, LastBuyRefusal> {
        if self.costs.discount_a_y == 0.0 {
            return Ok(vec![(1.0, whole.clone())]);
        }
        let years = (self.horizon_d / DAYS_PER_YEAR).ceil() as u32;
        let worth = |year: u32| (1.0 - self.costs.discount_a_y).powf(f64::from(year) + 0.5);
        let mut by_year = Vec::with_capacity(years as usize);
        for year in 0..years {
            let end_d = (f64::from(year + 1) * DAYS_PER_YEAR).min(self.horizon_d);
            // What is missing by the end of one year was not yet by the end of the one before.
            let next = if year + 1 < years { worth(year + 1) } else { 0.0 };
            by_year.push((worth(year) - next, luck.shortfall(self, end_d)?));
        }
        Ok(by_year)
    }

    /// How failures may come, in all its likely ways.
    pub(super) fn luck(&self) -> Result<Luck, LastBuyRefusal> {
        let lost = 1.0 - self.repair_yield;
        let days = self.days();
        let (belief, hours) = match self.failing {
            Failing::Never => {
                let none = vec![0.0; days.len()];
                return Ok(Luck::of_courses(vec![(1.0, none)], days));
            }
            Failing::Wearing { lives, groups } => return self.luck_of_wear(lives, groups, lost),
            Failing::AtRate(belief) => {
                let until = |day: &f64| self.population.hours_until(*day).1 * lost;
                (belief, days.iter().map(until).collect::<Vec<_>>())
            }
        };
        let all_hours = hours.last().copied().unwrap_or(0.0);
        let mean = belief.mean() * all_hours;
        few_enough(mean)?;
        few_enough(reach(belief, all_hours) / 20.0)?;
        let relative = 1.0 / belief.shape.sqrt();
        let slices = slices_for(mean * relative, mean);
        let rates = gamma_points(belief.mean(), belief.mean() * relative, &[], slices);
        Ok(Luck::at_rates(rates, days, hours, belief))
    }

    fn luck_of_wear(
        &self,
        lives: &[(f64, Life)],
        groups: &[AgeGroup],
        lost: f64,
    ) -> Result<Luck, LastBuyRefusal> {
        let days = self.days();
        let mut courses = Vec::with_capacity(lives.len());
        for (weight, life) in lives {
            let mut sums = ageing_course(*life, groups, &days)?;
            sums.iter_mut().for_each(|sum| *sum *= lost);
            few_enough(sums.last().copied().unwrap_or(0.0))?;
            courses.push((*weight, sums));
        }
        Ok(Luck::of_courses(courses, days))
    }

    /// Days until the horizon on which something is looked at, comes, is asked for, or between which
    /// the population changes; two at least.
    fn days(&self) -> Vec<f64> {
        let until_d = self.horizon_d;
        let every = |days: f64| (1..=(until_d / days) as u32).map(move |it| f64::from(it) * days);
        let arrivals = self.arrivals().map(|it| it.day);
        let planned = self.planned.iter().map(|it| it.day);
        let changes = self.population.changes.iter().map(|it| it.day);
        let dated = arrivals.chain(planned).chain(changes).chain([self.arrives_d]);
        let mut days: Vec<f64> = every(DAYS_PER_MONTH)
            .chain(every(DAYS_PER_YEAR))
            .chain(dated.map(|day| day.clamp(0.0, until_d)))
            .chain([0.0, until_d])
            .collect();
        days.sort_by(f64::total_cmp);
        days.dedup();
        days
    }

    fn arrivals(&self) -> impl Iterator<Item = &Arrival> {
        self.on_order.iter().chain(self.harvest).chain(self.in_repair)
    }

    /// Planned pieces that are asked for until a day, on average.
    pub(super) fn planned_mean(&self, until_d: f64) -> f64 {
        let until = self.planned.iter().filter(|it| it.day <= until_d);
        until.map(|it| it.chance * it.pieces as f64).sum()
    }

    /// What comes and what is planned until a day, in order; `marks` are added.
    pub(super) fn steps(&self, until_d: f64, marks: &[f64]) -> Vec<(f64, Step)> {
        let mut steps: Vec<(f64, Step)> = marks.iter().map(|day| (*day, Step::Mark)).collect();
        let come = self.on_order.iter().chain(self.harvest).map(|it| (it, 1.0));
        let come = come.chain(self.in_repair.iter().map(|it| (it, self.repair_yield)));
        steps.extend(come.map(|(it, chance)| (it.day.max(0.0), Step::Comes(it.pieces, chance))));
        let planned = self.planned.iter();
        steps.extend(planned.map(|it| (it.day.max(0.0), Step::Asked(it.pieces, it.chance))));
        steps.retain(|(day, _)| *day <= until_d);
        steps.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.rank().cmp(&b.1.rank())));
        steps
    }

    pub(super) fn check(&self) -> Result<(), LastBuyRefusal> {
        if !(self.horizon_d > 0.0 && self.horizon_d <= LONGEST_D) {
            return Err(LastBuyRefusal::Horizon(self.horizon_d));
        }
        if !(self.arrives_d.is_finite() && self.arrives_d >= 0.0) {
            return Err(LastBuyRefusal::Arrives(self.arrives_d));
        }
        let costs = [("a piece left over", self.costs.left), ("a missing piece", self.costs.short)];
        if let Some((name, cost)) = costs.into_iter().find(|(_, it)| !(it.is_finite() && *it > 0.0))
        {
            return Err(LastBuyRefusal::Cost { name, cost });
        }
        if !(0.0..1.0).contains(&self.costs.discount_a_y) {
            return Err(LastBuyRefusal::Discount(self.costs.discount_a_y));
        }
        if !(0.0..=1.0).contains(&self.repair_yield) {
            return Err(LastBuyRefusal::Yield(self.repair_yield));
        }
        if let Some(wrong) = self.arrivals().find(|it| !it.day.is_finite()) {
            return Err(LastBuyRefusal::Day(wrong.day));
        }
        let pieces =
            self.arrivals().map(|it| it.pieces).chain(self.planned.iter().map(|it| it.pieces));
        few_enough(pieces.chain([self.stock]).map(|pieces| pieces as f64).sum())?;
        if let Some(wrong) = self.population.wrong() {
            return Err(LeadRefusal::Population(wrong).into());
        }
        if let Failing::AtRate(belief) = self.failing {
            check_belief(belief)?;
        }
        let sound = |it: &PlannedPieces| it.day.is_finite() && (0.0..=1.0).contains(&it.chance);
        match self.planned.iter().find(|it| !sound(it)) {
            Some(it) => Err(LeadRefusal::Planned { day: it.day, chance: it.chance }.into()),
            None => Ok(()),
        }
    }
}

fn few_enough(pieces: f64) -> Result<(), LastBuyRefusal> {
    if pieces <= MOST_PIECES as f64 { Ok(()) } else { Err(LastBuyRefusal::TooMuch(pieces)) }
}
