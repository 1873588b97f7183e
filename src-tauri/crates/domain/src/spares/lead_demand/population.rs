/// Units in service over the days to come.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Population {
    /// Units now.
    pub units: f64,
    /// The same, each multiplied by the heat factor of its place ([`super::super::RateHeat`]).
    pub weighted: f64,
    /// Expansions and removals, in any order.
    pub changes: Vec<PopulationChange>,
}

/// Units that come or go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PopulationChange {
    /// Days from now; what is past counts as today.
    pub day: f64,
    /// Below zero where units go.
    pub units: f64,
    /// The same, multiplied by the heat factor of their places.
    pub weighted: f64,
}

/// A stretch of days with one population.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::spares) struct Stretch {
    pub(in crate::spares) from_d: f64,
    pub(in crate::spares) units: f64,
    pub(in crate::spares) weighted: f64,
}

impl Population {
    /// Units that stay as they are, all at the stated temperature.
    pub fn steady(units: f64) -> Self {
        Self { units, weighted: units, changes: Vec::new() }
    }

    /// Unit-hours until a day, plain and weighted by heat. Of a population that more is taken from
    /// than there is, nothing is left.
    pub fn hours_until(&self, day: f64) -> (f64, f64) {
        if self.changes.is_empty() {
            let days = day.max(0.0);
            return (self.units * days * 24.0, self.weighted * days * 24.0);
        }
        let stretches = self.stretches();
        let ends = stretches.iter().skip(1).map(|next| next.from_d).chain([f64::INFINITY]);
        let mut hours = (0.0, 0.0);
        for (stretch, end) in stretches.iter().zip(ends) {
            let days = (end.min(day) - stretch.from_d).max(0.0);
            hours.0 += stretch.units * days * 24.0;
            hours.1 += stretch.weighted * days * 24.0;
        }
        hours
    }

    /// The same population with another number of units, and failing so many times as often.
    pub fn scaled(&self, units_times: f64, failures_times: f64) -> Self {
        let change = |it: &PopulationChange| PopulationChange {
            day: it.day,
            units: it.units * units_times,
            weighted: it.weighted * units_times * failures_times,
        };
        Self {
            units: self.units * units_times,
            weighted: self.weighted * units_times * failures_times,
            changes: self.changes.iter().map(change).collect(),
        }
    }

    /// The first figure that is none.
    pub(in crate::spares) fn wrong(&self) -> Option<f64> {
        let below_zero = |figure: &f64| !(figure.is_finite() && *figure >= 0.0);
        let now = [self.units, self.weighted].into_iter().find(below_zero);
        let of_changes = || {
            let figures = self.changes.iter().flat_map(|it| [it.day, it.units, it.weighted]);
            figures.into_iter().find(|figure| !figure.is_finite())
        };
        now.or_else(of_changes)
    }

    /// Stretches in the order of time, the first from today on.
    pub(in crate::spares) fn stretches(&self) -> Vec<Stretch> {
        let mut changes: Vec<&PopulationChange> = self.changes.iter().collect();
        changes.sort_by(|a, b| a.day.total_cmp(&b.day));
        let mut stretches =
            vec![Stretch { from_d: 0.0, units: self.units, weighted: self.weighted }];
        let (mut units, mut weighted) = (self.units, self.weighted);
        for change in changes {
            units += change.units;
            weighted += change.weighted;
            let now = Stretch {
                from_d: change.day.max(0.0),
                units: units.max(0.0),
                weighted: weighted.max(0.0),
            };
            match stretches.last_mut() {
                Some(last) if last.from_d >= now.from_d => *last = now,
                _ => stretches.push(now),
            }
        }
        stretches
    }
}
