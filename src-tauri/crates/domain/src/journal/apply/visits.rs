use super::{Outcome, Refusal, known};
use crate::journal::{AgreedVisit, Entry, PowerScope, VisitsAgreed};
use crate::label::LabelCode;
use crate::register::{AgreedPlan, Change, View};
use chrono::NaiveDate;
use std::collections::HashSet;

/// Keeps the visits as the agreed plan, in place of the one before.
pub(super) fn agree(view: &impl View, entry: &Entry, agreed: &VisitsAgreed) -> Outcome {
    let today = entry.at.date_naive();
    let mut planned: HashSet<(NaiveDate, LabelCode)> = HashSet::new();
    for visit in &agreed.visits {
        if visit.on < today || visit.on > agreed.horizon_until {
            return Err(Refusal::new(
                format!(
                    "the visit to {} on {} is not between {today} and {}",
                    visit.scope, visit.on, agreed.horizon_until
                ),
                "plan anew and agree to that plan",
            ));
        }
        if visit.units.is_empty() {
            return Err(Refusal::new(
                format!("the visit to {} on {} changes no battery", visit.scope, visit.on),
                "leave that visit out",
            ));
        }
        without_power(view, visit)?;
        for label in &visit.units {
            stands_there(view, visit, label)?;
            if !planned.insert((visit.on, *label)) {
                return Err(Refusal::new(
                    format!("unit {} is planned twice on {}", label.human(), visit.on),
                    "leave one of the two out",
                ));
            }
        }
    }
    let mut visits = agreed.visits.clone();
    visits.sort_by_key(|visit| visit.on);
    Ok(vec![Change::AgreedPlan(AgreedPlan {
        id: entry.id,
        agreed_at: entry.at,
        agreed_by: entry.person.clone(),
        visits,
        horizon_until: agreed.horizon_until,
    })])
}

fn stands_there(view: &impl View, visit: &AgreedVisit, label: &LabelCode) -> Result<(), Refusal> {
    let unit = known(view.unit(label), "unit", label.human())?;
    let model = known(view.model(&unit.model), "model", &unit.model)?;
    if model.battery.is_none() {
        return Err(Refusal::new(
            format!("unit {} is a {} and takes no back-up battery", label.human(), unit.model),
            "leave it out of the visit",
        ));
    }
    let cabinet = unit.place.slot().and_then(|slot| view.cabinet(&slot.cabinet()));
    if cabinet.is_some_and(|cabinet| visit.scope.covers(&cabinet.address, &cabinet.area)) {
        return Ok(());
    }
    let scope = match &visit.scope {
        PowerScope::Site => "a cabinet of the site".to_owned(),
        other => other.to_string(),
    };
    Err(Refusal::new(
        format!("unit {} stands in {}, not in {scope}", label.human(), unit.place),
        "plan anew: it was moved since",
    ))
}

fn without_power(view: &impl View, visit: &AgreedVisit) -> Result<(), Refusal> {
    let Some(id) = &visit.power_off else { return Ok(()) };
    let planned = known(view.planned_off(id), "planned power-off", id)?;
    let days = planned.off.from.date_naive()..=planned.off.to.date_naive();
    if planned.settled.is_some() || !days.contains(&visit.on) {
        return Err(Refusal::new(
            format!(
                "the visit to {} on {} needs the power-off of {}, which is settled or on other days",
                visit.scope, visit.on, planned.off.scope
            ),
            "plan anew and agree to that plan",
        ));
    }
    Ok(())
}
