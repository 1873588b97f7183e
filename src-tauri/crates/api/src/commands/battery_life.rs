//! How long the batteries of a type last here: what the model says, what was found, and both.

use super::battery_figures::{Known, Surroundings};
use super::battery_found::{Cell, end_point_mv, lived, looks, model_lives, quantile_y};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::battery_life::{
    Advised, FoundCells, LifeInput, LifeLine, LifeReply, Policy, Quantiles,
};
use chrono::NaiveDate;
use slotkeep_domain::battery::{
    Blend, Costs, FittedLife, PolicyCost, Seen, WORTH_LIVES, advice, blend,
};
use slotkeep_domain::journal::CellFound;
use slotkeep_domain::model::{Model, PartNo};
use slotkeep_domain::place::Site;
use slotkeep_domain::spares::Life;
use std::collections::BTreeMap;

/// Standard errors of 95 % bounds.
const Z_95: f64 = 1.959_963_984_540_054;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "battery.life",
        "Says how long battery types last here, by the model, by what was found, and by both.",
        lives,
    )]
}

fn lives(ask: &Ask<'_>, input: LifeInput) -> Result<LifeReply, Failure> {
    ask.read(|r| {
        let surroundings = Surroundings::of(r)?;
        let (known, _) = surroundings.batteries(r, ask.now)?;
        let mut of_type: BTreeMap<PartNo, Vec<&Known>> = BTreeMap::new();
        for one in &known {
            of_type.entry(one.need.model.clone()).or_default().push(one);
        }
        let mut looks = looks(r)?;
        let named = input.battery_model.as_deref().filter(|name| !name.is_empty());
        let mut types = Vec::new();
        for model in r.models()?.iter().filter(|model| model.cell.is_some()) {
            if named.is_some_and(|named| named != model.part_no.as_str()) {
                continue;
            }
            let here = of_type.remove(&model.part_no).unwrap_or_default();
            let found = looks.remove(&model.part_no).unwrap_or_default();
            if !here.is_empty() || !found.is_empty() || named.is_some() {
                types.push(line(&surroundings.site, model, &here, found, ask.today()));
            }
        }
        if types.is_empty()
            && let Some(named) = named
        {
            return Err(Failure::not_found(format!(
                "{named:?} is no battery of the catalogue: check how it is written"
            )));
        }
        Ok(LifeReply { types })
    })
}

fn line(
    site: &Site,
    model: &Model,
    here: &[&Known],
    cells: Vec<Cell>,
    today: NaiveDate,
) -> LifeLine {
    let end_point_mv = end_point_mv(model);
    let mut found = FoundCells { cells: cells.len() as u32, ..FoundCells::default() };
    let mut seen: Vec<Seen> = Vec::new();
    for cell in &cells {
        count(&mut found, cell);
        match lived(cell, end_point_mv) {
            Some(Ok(lived)) => seen.push(lived),
            Some(Err(why)) => found.left_out.push(why),
            None => found.untold += 1,
        }
    }
    let model_lives_y = model_lives(here, today);
    let bare = LifeLine {
        battery_model: model.part_no.to_string(),
        title: model.title.clone(),
        in_service: here.len() as u32,
        found,
        model: None,
        learned: None,
        learned_message: String::new(),
        blended: None,
        found_share_pct: 0.0,
        advice: None,
        message: String::new(),
    };
    match blend(&seen, &model_lives_y, WORTH_LIVES) {
        Ok(blended) => told(bare, &blended, site, model, here),
        Err(no) if model_lives_y.is_empty() => LifeLine {
            message: format!("no battery of this type is in service, so the model is silent: {no}"),
            ..bare
        },
        Err(no) => LifeLine { message: no.to_string(), ..bare },
    }
}

fn told(bare: LifeLine, blended: &Blend, site: &Site, model: &Model, here: &[&Known]) -> LifeLine {
    let (learned, learned_message) = match &blended.found {
        Ok(fitted) => (Some(quantiles(fitted)), String::new()),
        Err(no) => (None, no.to_string()),
    };
    let life = blended.blended.life;
    let advice = advised(life, site, model, here);
    let message = format!(
        "half of them last {:.1} years and 1 in 100 less than {:.1}; what was found counts for \
         {:.0} % of that",
        quantile_y(life, 0.5),
        quantile_y(life, 0.01),
        blended.found_share * 100.0
    );
    LifeLine {
        model: Some(of_life(blended.model)),
        learned,
        learned_message,
        blended: Some(quantiles(&blended.blended)),
        found_share_pct: blended.found_share * 100.0,
        advice,
        message,
        ..bare
    }
}

fn count(found: &mut FoundCells, cell: &Cell) {
    let last = cell.seen.iter().max_by_key(|(on, ..)| *on);
    match last.map(|(_, found, _)| found) {
        Some(CellFound::Good) => found.good += 1,
        Some(CellFound::Weak) => found.weak += 1,
        Some(CellFound::Spent) => found.spent += 1,
        _ => found.not_judged += 1,
    }
}

fn of_life(life: Life) -> Quantiles {
    Quantiles {
        early_y: quantile_y(life, 0.01),
        tenth_y: quantile_y(life, 0.1),
        middle_y: quantile_y(life, 0.5),
        late_y: quantile_y(life, 0.9),
        scale_y: life.scale,
        shape: life.shape,
        middle_least_y: None,
        middle_most_y: None,
    }
}

fn quantiles(fitted: &FittedLife) -> Quantiles {
    let [least, _, most] = fitted.quantile_y(0.5, Z_95);
    Quantiles { middle_least_y: Some(least), middle_most_y: Some(most), ..of_life(fitted.life) }
}

/// When to change by age, and what that saves against the site's limit.
fn advised(life: Life, site: &Site, model: &Model, here: &[&Known]) -> Option<Advised> {
    let rules = &site.battery_rules;
    let cells: u32 = here.iter().map(|one| one.need.cells).sum();
    let cells_each = f64::from(cells) / here.len().max(1) as f64;
    let cell_cents = model.price_cents.unwrap_or(0) as f64 * cells_each;
    let change_cents = rules.change_cost_cents as f64 + cell_cents;
    let planned_cents = change_cents + rules.visit_cost_cents as f64;
    let costs = Costs {
        planned_cents,
        loss_cents: planned_cents + rules.loss_cost_cents as f64,
        group_cents: change_cents,
    };
    let advised = match advice(life, &costs, site.battery_age_limit_y) {
        Ok(advised) => advised,
        Err(no) => {
            return Some(Advised { message: no.to_string(), ..Advised::default() });
        }
    };
    let policy = |cost: PolicyCost| Policy {
        every_y: cost.every_y,
        cents_per_y: cost.cents_per_y.round() as i64,
    };
    let saving = advised.saving_cents_per_y.round() as i64;
    let when = match advised.age.every_y {
        Some(years) => format!("change each at {years:.1} years"),
        None => "wait for the end of each".to_owned(),
    };
    let against = match site.battery_age_limit_y {
        Some(limit) => format!("your {limit}"),
        None => "waiting for the end".to_owned(),
    };
    let message = match saving {
        0 => format!("{when}: as good as {against}"),
        _ => format!("{when}: saves {} a year for each against {against}", money(saving)),
    };
    Some(Advised {
        planned_cents: costs.planned_cents.round() as i64,
        loss_cents: costs.loss_cents.round() as i64,
        age: Some(policy(advised.age)),
        block: Some(policy(advised.block)),
        group: Some(policy(advised.group)),
        group_waiting: Some(policy(advised.group_waiting)),
        to_failure_cents_per_y: Some(advised.to_failure_cents_per_y.round() as i64),
        present: advised.present.map(policy),
        saving_cents_per_y: Some(saving),
        message,
    })
}

/// An amount of the site's money.
pub(super) fn money(cents: i64) -> String {
    let sign = if cents < 0 { "-" } else { "" };
    format!("{sign}{}.{:02}", cents.abs() / 100, cents.abs() % 100)
}
