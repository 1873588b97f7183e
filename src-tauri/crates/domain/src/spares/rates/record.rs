use chrono::{DateTime, Utc};

/// One unit's time in one slot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stay {
    /// Which unit, by any numbering.
    pub unit: usize,
    /// None where the day of installation is not known.
    pub from: Option<DateTime<Utc>>,
    /// When it ended; the present moment where it goes on.
    pub to: DateTime<Utc>,
    pub end: StayEnd,
    /// How many times as often as at the stated temperature a unit fails in this place
    /// ([`super::RateHeat`]); 1 where that is not known.
    pub factor: f64,
}

/// How a stay ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum StayEnd {
    Running,
    Failure,
    /// Taken out as failed, and found to be good: a spare was asked for, but nothing failed.
    NoFaultFound,
    Other,
}

/// Hours and ends of the stays of one model.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Record {
    /// Stays that count.
    pub stays: usize,
    /// Units that they belong to.
    pub units: usize,
    /// Unit-hours.
    pub hours_h: f64,
    /// Unit-hours, each multiplied by its place's factor: how long it would have taken at the stated
    /// temperature to fail as often.
    pub weighted_h: f64,
    pub failures: u64,
    pub no_fault_found: u64,
    pub other_ends: u64,
    pub running: u64,
    /// Stays that give neither hours nor failures, by their place in what was given.
    pub left_out: Vec<LeftOut>,
}

/// A stay that was left out, and why.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeftOut {
    pub stay: usize,
    pub why: LeftOutWhy,
}

/// Why a stay says nothing of the failure rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, thiserror::Error)]
pub enum LeftOutWhy {
    #[error("the day of installation is not known: give it, so that its hours count")]
    NoStart,
    #[error("it ends before it begins: correct one of the two days")]
    Backwards,
    #[error("the unit was in another slot at that time: correct one of the two stays")]
    Overlaps,
    #[error("the heat of its place cannot be reckoned: correct the temperatures")]
    Heat,
}

impl Record {
    /// Adds up stays, in any order.
    ///
    /// A stay without its first day counts for nothing, its failure included: a failure without the
    /// hours in which it came would only raise the rate. Of two stays of one unit that overlap the
    /// later one is left out.
    pub fn of(stays: &[Stay]) -> Self {
        let mut record = Self::default();
        let mut last: Option<(usize, DateTime<Utc>)> = None;
        for number in sound_stays(stays, &mut record.left_out) {
            let stay = &stays[number];
            if last.is_none_or(|(unit, _)| unit != stay.unit) {
                record.units += 1;
            }
            last = Some((stay.unit, stay.to));
            record.stays += 1;
            let hours_h = stay.hours_h();
            record.hours_h += hours_h;
            record.weighted_h += hours_h * stay.factor;
            match stay.end {
                StayEnd::Running => record.running += 1,
                StayEnd::Failure => record.failures += 1,
                StayEnd::NoFaultFound => record.no_fault_found += 1,
                StayEnd::Other => record.other_ends += 1,
            }
        }
        record.left_out.sort_by_key(|out| out.stay);
        record
    }
}

impl Stay {
    /// Hours; none where the first day is not known.
    pub(in crate::spares) fn hours_h(&self) -> f64 {
        self.from.map_or(0.0, |from| (self.to - from).num_seconds() as f64 / 3600.0)
    }
}

/// Returns the numbers of the stays that count, unit by unit in the order of time, and lists the
/// others.
pub(in crate::spares) fn sound_stays(stays: &[Stay], left_out: &mut Vec<LeftOut>) -> Vec<usize> {
    let mut sound = Vec::with_capacity(stays.len());
    for (number, stay) in stays.iter().enumerate() {
        let why = match stay.from {
            None => LeftOutWhy::NoStart,
            Some(from) if from > stay.to => LeftOutWhy::Backwards,
            _ if !(stay.factor.is_finite() && stay.factor > 0.0) => LeftOutWhy::Heat,
            Some(_) => {
                sound.push(number);
                continue;
            }
        };
        left_out.push(LeftOut { stay: number, why });
    }
    sound.sort_by_key(|number| (stays[*number].unit, stays[*number].from, stays[*number].to));
    let mut last: Option<(usize, DateTime<Utc>)> = None;
    sound.retain(|number| {
        let stay = &stays[*number];
        let overlaps = last.is_some_and(|(unit, to)| unit == stay.unit && stay.from < Some(to));
        if overlaps {
            left_out.push(LeftOut { stay: *number, why: LeftOutWhy::Overlaps });
        } else {
            last = Some((stay.unit, stay.to));
        }
        !overlaps
    });
    sound
}
