//! Choices for spares and planned changes of the plant.

use super::{Outcome, Refusal, known};
use crate::journal::{Entry, PopulationPlanned, PopulationSettled, SpareChosen};
use crate::register::{Change, PopulationChange, PopulationEnd, SpareChoice, Table, View};

/// Keeps a choice in place of the one before; a choice of nothing gives back to the automatic one.
pub(super) fn choose(view: &impl View, entry: &Entry, chosen: &SpareChosen) -> Outcome {
    let SpareChosen { model, storeroom, method, level, class, reason } = chosen.clone();
    known(view.knows(Table::Model, model.as_str()).then_some(()), "model", &model)?;
    if let Some(code) = &storeroom {
        known(view.storeroom(code), "storeroom", code)?;
    }
    let key = SpareChoice::key_of(&model, storeroom.as_deref());
    let nothing = method.is_none() && level.is_none() && class.is_none();
    if nothing && !view.knows(Table::SpareChoice, &key) {
        return Err(Refusal::new(
            format!("nothing is chosen for {model}, and nothing was before"),
            "choose a method, a level or a class",
        ));
    }
    if reason.trim().is_empty() {
        return Err(Refusal::new(
            format!("no reason is given for what is chosen for {model}"),
            "say why, so that the next person can judge",
        ));
    }
    if nothing {
        return Ok(vec![Change::Gone(Table::SpareChoice, key)]);
    }
    if let Some(level) = level
        && level.reorder_at >= level.order_up_to
        && (level.reorder_at, level.order_up_to) != (0, 0)
    {
        return Err(Refusal::new(
            format!(
                "{model} would be ordered at {}, up to {}",
                level.reorder_at, level.order_up_to
            ),
            "order up to more than the number at which you order, or write 0 and 0 to hold none",
        ));
    }
    let word = |method: &String| {
        let sound = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
        (1..=40).contains(&method.len()) && method.chars().all(sound)
    };
    if let Some(method) = method.as_ref().filter(|method| !word(method)) {
        return Err(Refusal::new(
            format!("{method:?} is not the word of a method"),
            "choose one of the list of methods",
        ));
    }
    Ok(vec![Change::SpareChoice(SpareChoice {
        id: entry.id,
        model,
        storeroom,
        method,
        level,
        class,
        reason,
        chosen_at: entry.at,
        chosen_by: entry.person.clone(),
    })])
}

/// Plans a change of the plant. With `corrects` it takes the place of one planned before.
pub(super) fn plan(view: &impl View, entry: &Entry, planned: &PopulationPlanned) -> Outcome {
    let PopulationPlanned { model, on, installed_change, from_stock, harvested, reason } =
        planned.clone();
    known(view.knows(Table::Model, model.as_str()).then_some(()), "model", &model)?;
    let today = entry.at.date_naive();
    if on < today {
        return Err(Refusal::new(
            format!("the change of {model} is planned for {on}, which has passed"),
            format!("write a day from {today} on"),
        ));
    }
    if installed_change == 0 && from_stock == 0 {
        return Err(Refusal::new(
            format!("the change of {model} on {on} changes nothing"),
            "write how many places come or go, or how many pieces the work takes",
        ));
    }
    if harvested > 0 && (installed_change >= 0 || harvested > installed_change.unsigned_abs()) {
        return Err(Refusal::new(
            format!("{harvested} units of {model} would come back from {installed_change} places"),
            "write a negative change for a removal, and at most as many that come back",
        ));
    }
    if from_stock > 0 && installed_change < 0 {
        return Err(Refusal::new(
            format!("a removal of {model} would take {from_stock} from the stock"),
            "leave the pieces out, or plan that work by itself",
        ));
    }
    let replaced = match &entry.corrects {
        Some(id) => view.population_change(id),
        None => None,
    };
    if let Some(before) = &replaced {
        still_open(before)?;
    }
    let mut changes: Vec<Change> = replaced
        .map(|before| Change::Gone(Table::PopulationChange, before.id.to_string()))
        .into_iter()
        .collect();
    changes.push(Change::PopulationChange(PopulationChange {
        id: entry.id,
        model,
        on,
        installed_change,
        from_stock,
        harvested,
        reason,
        settled: None,
    }));
    Ok(changes)
}

/// Says what became of a planned change.
pub(super) fn settle(view: &impl View, entry: &Entry, settled: &PopulationSettled) -> Outcome {
    let mut planned = view.population_change(&settled.planned).ok_or_else(|| {
        Refusal::new(
            format!("no change of the plant was planned by entry {}", settled.planned),
            "choose one from the list of planned changes",
        )
    })?;
    still_open(&planned)?;
    if !settled.happened && settled.reason.trim().is_empty() {
        return Err(Refusal::new(
            format!(
                "the change of {} on {} is called off without a reason",
                planned.model, planned.on
            ),
            "say why",
        ));
    }
    let (happened, reason) = (settled.happened, settled.reason.clone());
    planned.settled = Some(PopulationEnd { happened, reason, at: entry.at });
    Ok(vec![Change::PopulationChange(planned)])
}

fn still_open(planned: &PopulationChange) -> Result<(), Refusal> {
    match &planned.settled {
        None => Ok(()),
        Some(end) => Err(Refusal::new(
            format!(
                "the change of {} on {} was settled already: it {}",
                planned.model,
                planned.on,
                if end.happened { "happened" } else { "was called off" }
            ),
            "plan a new one if there is more to come",
        )),
    }
}
