use super::{ProjectionQuestion, WhatIf};
use crate::spares::lead_demand::{DAYS_PER_MONTH, Failing, Population};
use crate::spares::poisson::DemandRefusal;
use crate::spares::wear::{AgeGroup, ageing_course};

/// A sum that rises with time in straight pieces.
#[derive(Debug, Clone)]
pub(super) struct Course {
    /// Day, and the sum by then; the days rise.
    points: Vec<(f64, f64)>,
}

/// What rises with time in one projection.
#[derive(Debug, Clone)]
pub(super) struct Courses {
    /// Failures by a day, by life, with weights: unit-hours weighted by heat for a constant rate
    /// (one course), failures to expect for lives that wear.
    pub(super) failures: Vec<(f64, Course)>,
    /// Unit-hours.
    pub(super) hours: Course,
}

impl Course {
    /// The day on which the sum reaches `wanted`; none where it does not. `from` is the piece to
    /// begin with, and is moved on.
    pub(super) fn day_of(&self, wanted: f64, from: &mut usize) -> Option<f64> {
        while *from + 1 < self.points.len() && self.points[*from + 1].1 < wanted {
            *from += 1;
        }
        let (day, sum) = self.points[*from];
        let (next_day, next) = *self.points.get(*from + 1)?;
        Some(day + (next_day - day) * (wanted - sum) / (next - sum))
    }

    fn last(&self) -> f64 {
        self.points.last().map_or(0.0, |point| point.1)
    }

    fn of_population(
        population: &Population,
        horizon_d: f64,
        hours: impl Fn((f64, f64)) -> f64,
    ) -> Self {
        let days = population.stretches().into_iter().map(|stretch| stretch.from_d);
        let days = days.filter(|day| *day < horizon_d).chain([horizon_d]);
        let points = days.map(|day| (day, hours(population.hours_until(day))));
        Self { points: points.collect() }
    }
}

impl Courses {
    pub(super) fn of(
        question: &ProjectionQuestion,
        what_if: &WhatIf,
    ) -> Result<Self, DemandRefusal> {
        let horizon_d = question.horizon_d();
        let population = question.population.scaled(what_if.units_factor, what_if.failures_factor);
        let failures = match question.failing {
            Failing::Never => Vec::new(),
            Failing::AtRate(_) => {
                vec![(1.0, Course::of_population(&population, horizon_d, |hours| hours.1))]
            }
            Failing::Wearing { lives, groups } => {
                let groups: Vec<AgeGroup> = groups
                    .iter()
                    .map(|it| AgeGroup { factor: it.factor * what_if.failures_factor, ..*it })
                    .collect();
                let days: Vec<f64> =
                    (0..=question.months).map(|month| f64::from(month) * DAYS_PER_MONTH).collect();
                let mut courses = Vec::with_capacity(lives.len());
                for (weight, life) in lives {
                    let sums = ageing_course(*life, &groups, &days)?;
                    let sums = sums.into_iter().map(|sum| sum * what_if.units_factor);
                    let points = days.iter().copied().zip(sums).collect();
                    courses.push((*weight, Course { points }));
                }
                courses
            }
        };
        let hours = Course::of_population(&population, horizon_d, |hours| hours.0);
        Ok(Self { failures, hours })
    }

    /// Pieces that are asked for within the horizon, on average.
    pub(super) fn mean_asked(&self, question: &ProjectionQuestion) -> f64 {
        let failures: f64 = match question.failing {
            Failing::AtRate(belief) => self.failures[0].1.last() * belief.mean(),
            _ => self.failures.iter().map(|(weight, course)| weight * course.last()).sum(),
        };
        let no_fault = match question.no_fault_found.shape {
            0.0 => 0.0,
            _ => self.hours.last() * question.no_fault_found.mean(),
        };
        failures + no_fault
    }
}
