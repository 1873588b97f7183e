//! Planned battery changes as demand with a day.

use super::battery;
use super::battery_agreed::open_visits;
use crate::Failure;
use chrono::{DateTime, NaiveDate, Utc};
use slotkeep_store::Reader;
use std::collections::{BTreeMap, HashMap};

/// Pieces wanted on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Demand {
    pub on: NaiveDate,
    pub pieces: u32,
    /// A visit is agreed; else it is the due date.
    pub agreed: bool,
}

/// What changes take, by battery model and then by day: agreed visits, and the due dates of
/// batteries that no visit serves in time. What is late is wanted today.
pub(super) fn planned_changes(
    r: &Reader<'_>,
    now: DateTime<Utc>,
) -> Result<BTreeMap<String, Vec<Demand>>, Failure> {
    let today = now.date_naive();
    let lines = battery::list_for(r, now, None, battery::Sums::LeftOut)?;
    let mut agreed: HashMap<String, Vec<NaiveDate>> = HashMap::new();
    for visit in open_visits(r)? {
        for label in &visit.units {
            agreed.entry(label.to_string()).or_default().push(visit.on);
        }
    }
    let mut wanted: BTreeMap<String, Vec<Demand>> = BTreeMap::new();
    for line in lines {
        let mut days = agreed.remove(&line.unit.label).unwrap_or_default();
        let of_model = wanted.entry(line.battery_model).or_default();
        let demand =
            |on: NaiveDate, agreed| Demand { on: on.max(today), pieces: line.cells, agreed };
        if let Some(due_on) = line.due_on
            && days.first().is_none_or(|first| *first > due_on.max(today))
        {
            of_model.push(demand(due_on, false));
            // The battery that would have been fitted by the first visit is this one.
            if !days.is_empty() {
                days.remove(0);
            }
        }
        of_model.extend(days.into_iter().map(|on| demand(on, true)));
    }
    wanted.retain(|_, demands| !demands.is_empty());
    for demands in wanted.values_mut() {
        demands.sort_by_key(|demand| demand.on);
    }
    Ok(wanted)
}
