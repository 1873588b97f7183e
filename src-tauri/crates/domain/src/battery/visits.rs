use chrono::{Days, NaiveDate};
use std::collections::BTreeMap;

/// A battery, its cabinet and the day by which it must be changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DueAt<Id, Cabinet> {
    pub id: Id,
    pub cabinet: Cabinet,
    pub due_on: NaiveDate,
}

/// One walk to a cabinet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Visit<Id, Cabinet> {
    pub on: NaiveDate,
    pub cabinet: Cabinet,
    /// Batteries to change, the most urgent first.
    pub ids: Vec<Id>,
}

/// Groups batteries into visits: those of a cabinet due within `window_d` days of its first share
/// a visit on the first's due date, so that none is changed late. What is overdue is due `today`.
///
/// Visits come by day, then by cabinet. A first plan, not the cheapest: it never brings a change
/// forward by more than the window, and looks at one cabinet at a time.
pub fn visits<Id, Cabinet>(
    batteries: &[DueAt<Id, Cabinet>],
    today: NaiveDate,
    window_d: u32,
) -> Vec<Visit<Id, Cabinet>>
where
    Id: Clone,
    Cabinet: Clone + Ord,
{
    let mut of_cabinet: BTreeMap<&Cabinet, Vec<&DueAt<Id, Cabinet>>> = BTreeMap::new();
    for battery in batteries {
        of_cabinet.entry(&battery.cabinet).or_default().push(battery);
    }
    let mut visits: Vec<Visit<Id, Cabinet>> = Vec::new();
    for (cabinet, mut waiting) in of_cabinet {
        waiting.sort_by_key(|battery| battery.due_on);
        let mut last_day = None;
        for battery in waiting {
            let on = battery.due_on.max(today);
            match (last_day, visits.last_mut()) {
                (Some(last_day), Some(visit)) if on <= last_day => {
                    visit.ids.push(battery.id.clone());
                }
                _ => {
                    let window = Days::new(window_d.into());
                    last_day = Some(on.checked_add_days(window).unwrap_or(NaiveDate::MAX));
                    let ids = vec![battery.id.clone()];
                    visits.push(Visit { on, cabinet: cabinet.clone(), ids });
                }
            }
        }
    }
    visits.sort_by(|a, b| (a.on, &a.cabinet).cmp(&(b.on, &b.cabinet)));
    visits
}

/// Returns the fewest days that serve every window, each from its earliest day to its due day.
/// A window that ends before it begins is served on its due day.
///
/// Source: greedy by the end of the window, which is optimal for intervals (Cormen, Leiserson,
/// Rivest and Stein, Introduction to Algorithms, 3rd ed., section 16.1).
pub fn fewest_days<Day: Ord + Copy>(windows: &[(Day, Day)]) -> Vec<Day> {
    let mut by_end = windows.to_vec();
    by_end.sort_by_key(|window| window.1);
    let mut days: Vec<Day> = Vec::new();
    for (earliest, due) in by_end {
        if days.last().is_none_or(|last| *last < earliest.min(due)) {
            days.push(due);
        }
    }
    days
}
