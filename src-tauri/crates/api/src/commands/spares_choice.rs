//! What people decide: levels, methods and classes by choice, and planned changes of the plant.

use super::find;
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::spares_choice::{
    ChooseInput, PlanChangeInput, PlannedInput, PlannedPopulation, SettleChangeInput,
};
use slotkeep_domain::journal::{
    Body, ChosenLevel, PopulationPlanned, PopulationSettled, SpareChosen,
};
use slotkeep_domain::place::Criticality;
use slotkeep_domain::register::View;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::record(
            "spares.choose",
            "Puts a level, a forecast or a class in place of what is reckoned.",
            table::STORES,
            choose,
        ),
        table::record(
            "spares.plan_change",
            "Plans an expansion, a project or a removal that changes how many units stand.",
            table::PLANNER,
            plan,
        ),
        table::record(
            "spares.settle_change",
            "Says that a planned change of the plant happened or was called off.",
            table::PLANNER,
            settle,
        ),
        table::ask("spares.planned", "Lists planned changes of the plant.", planned),
    ]
}

fn choose(ask: &Ask<'_>, stamp: &Stamp, input: ChooseInput) -> Result<Done, Failure> {
    let level = match (input.reorder_at, input.order_up_to) {
        (None, None) => None,
        (Some(reorder_at), Some(order_up_to)) => Some(ChosenLevel { reorder_at, order_up_to }),
        _ => {
            return Err(Failure::bad_input(
                "one of the two numbers is missing: say at how many to order and up to how many, \
                 or leave both out",
            ));
        }
    };
    let class = input.class.as_deref().map(class).transpose()?;
    if let Some(method) = &input.method {
        super::spares_foreseen::known_method(method).map_err(Failure::bad_input)?;
    }
    let nothing = level.is_none() && class.is_none() && input.method.is_none();
    let recorded = ask.record_within(stamp, |r| {
        Ok(Body::SpareChosen(SpareChosen {
            model: find::model(r, &input.model)?.part_no,
            storeroom: input.storeroom.clone(),
            method: input.method.clone(),
            level,
            class,
            reason: input.reason.clone(),
        }))
    })?;
    let place = input.storeroom.as_deref().map(|code| format!(" in {code}")).unwrap_or_default();
    let message = if nothing {
        format!("{}{place} goes by what is reckoned again", input.model)
    } else {
        format!("{}{place} goes by what was chosen", input.model)
    };
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

pub(super) fn class(word: &str) -> Result<Criticality, Failure> {
    match word {
        "vital" => Ok(Criticality::Vital),
        "essential" => Ok(Criticality::Essential),
        "desirable" => Ok(Criticality::Desirable),
        _ => Err(Failure::bad_input(format!(
            "{word:?} is not a class: write vital, essential or desirable"
        ))),
    }
}

fn plan(ask: &Ask<'_>, stamp: &Stamp, input: PlanChangeInput) -> Result<Done, Failure> {
    let recorded = ask.record_within(stamp, |r| {
        Ok(Body::PopulationPlanned(PopulationPlanned {
            model: find::model(r, &input.model)?.part_no,
            on: input.on,
            installed_change: input.installed_change,
            from_stock: input.from_stock,
            harvested: input.harvested,
            reason: input.reason.clone(),
        }))
    })?;
    let units = match input.installed_change {
        0 => "no unit more or less".to_owned(),
        more @ 1.. => format!("{more} more"),
        fewer => format!("{} fewer", fewer.unsigned_abs()),
    };
    let message = format!("{units} of {} from {} on are planned", input.model, input.on);
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

fn settle(ask: &Ask<'_>, stamp: &Stamp, input: SettleChangeInput) -> Result<Done, Failure> {
    let body = PopulationSettled {
        planned: input.planned,
        happened: input.happened,
        reason: input.reason,
    };
    let recorded = ask.record(stamp, Body::PopulationSettled(body))?;
    let message = match input.happened {
        true => "the change happened: what stands in the slots counts from now on",
        false => "the change is called off",
    };
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message: message.to_owned() })
}

fn planned(ask: &Ask<'_>, input: PlannedInput) -> Result<Vec<PlannedPopulation>, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let model = input.model.as_ref().map(|model| find::model(r, model)).transpose()?;
        let mut changes = r.population_changes()?;
        changes.retain(|change| {
            model.as_ref().is_none_or(|model| model.part_no == change.model)
                && (input.settled || change.settled.is_none())
        });
        changes.sort_by_key(|change| (change.on, change.id));
        let lines = changes.into_iter().map(|change| PlannedPopulation {
            planned: change.id,
            model_title: r.model(&change.model).map(|model| model.title).unwrap_or_default(),
            model: change.model.to_string(),
            on: change.on,
            installed_change: change.installed_change,
            from_stock: change.from_stock,
            harvested: change.harvested,
            reason: change.reason,
            state: match &change.settled {
                None if change.on < today => "late",
                None => "waiting",
                Some(end) if end.happened => "happened",
                Some(_) => "called_off",
            }
            .to_owned(),
            settled_reason: change.settled.map(|end| end.reason),
        });
        Ok(lines.collect())
    })
}
