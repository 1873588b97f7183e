//! The visits that people agreed on.

use super::find;
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::battery_plan::AgreeInput;
use chrono::NaiveDate;
use slotkeep_domain::journal::{AgreedVisit, Body, VisitsAgreed};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::register::View;
use slotkeep_store::Reader;
use std::collections::BTreeMap;

pub(super) fn commands() -> Vec<Command> {
    vec![table::record(
        "battery.agree",
        "Keeps a plan of visits: calendar, work list and orders follow it.",
        table::PLANNER,
        agree,
    )]
}

fn agree(ask: &Ask<'_>, stamp: &Stamp, input: AgreeInput) -> Result<Done, Failure> {
    let count = input.visits.len();
    let recorded = ask.record_within(stamp, |r| {
        let mut visits = Vec::with_capacity(count);
        for visit in &input.visits {
            let labels = visit.units.iter().map(|text| Ok(find::unit(r, text)?.label));
            visits.push(AgreedVisit {
                on: visit.on,
                scope: find::scope(r, &visit.scope)?,
                units: labels.collect::<Result<_, Failure>>()?,
                power_off: visit.power_off,
            });
        }
        Ok(Body::VisitsAgreed(VisitsAgreed { visits, horizon_until: input.horizon_until }))
    })?;
    let message = match count {
        0 => "no visit is agreed any more".to_owned(),
        1 => "1 visit is agreed".to_owned(),
        _ => format!("{count} visits are agreed"),
    };
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

/// The agreed visits with the changes that are still to do, by day.
///
/// A battery that was fitted since the plan was agreed counts for the agreed change that is nearest
/// to that day, and for those before it.
pub(super) fn open_visits(r: &Reader<'_>) -> Result<Vec<AgreedVisit>, Failure> {
    let Some(plan) = r.agreed_plan() else { return Ok(Vec::new()) };
    let agreed_on = plan.agreed_at.date_naive();
    let mut days: BTreeMap<LabelCode, Vec<NaiveDate>> = BTreeMap::new();
    for visit in &plan.visits {
        for label in &visit.units {
            days.entry(*label).or_default().push(visit.on);
        }
    }
    let mut done: BTreeMap<LabelCode, NaiveDate> = BTreeMap::new();
    for (label, days) in days {
        let fitted_on = r.unit(&label).and_then(|unit| unit.battery).map(|fitted| fitted.fitted_on);
        let Some(fitted_on) = fitted_on.filter(|fitted_on| *fitted_on >= agreed_on) else {
            continue;
        };
        let nearest = days.into_iter().min_by_key(|day| (*day - fitted_on).num_days().abs());
        done.extend(nearest.map(|day| (label, day)));
    }
    let mut visits = plan.visits;
    for visit in &mut visits {
        visit.units.retain(|label| done.get(label).is_none_or(|done| visit.on > *done));
    }
    visits.retain(|visit| !visit.units.is_empty());
    r.fault()?;
    Ok(visits)
}
