//! Stock that nothing asks for.

use super::spares_days::YEAR_D;
use super::spares_demand::{Known, Share, StoreDemand};
use super::spares_facts::Held;
use super::spares_line::pieces;
use crate::Failure;
use crate::wire::spares_plan::DeadStock;
use chrono::{DateTime, NaiveDate, Utc};
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{DeadWhy, LeadTime, ShelfStock, lead_demand, surplus};

/// A piece that is used with less than this chance until stock counts as dead is surplus (a
/// decision, no source).
const SURPLUS_BELOW: f64 = 0.05;

/// Stock that nothing will ask for, what is worth most first.
pub(super) fn dead(known: &Known<'_>) -> Result<Vec<DeadStock>, Failure> {
    let of_each = known.of_each(|model| of_model(known, model))?;
    let mut dead: Vec<DeadStock> = of_each.into_iter().flatten().collect();
    dead.sort_by_key(|line| std::cmp::Reverse(line.value_cents));
    Ok(dead)
}

/// What of a model is too many, shelf by shelf.
fn of_model(known: &Known<'_>, model: &Model) -> Result<Vec<DeadStock>, Failure> {
    let facts = known.facts;
    let held = facts.of(model.part_no.as_str());
    if held.usable() == 0 {
        return Ok(Vec::new());
    }
    let Some((mut left, message)) = too_many(known, model, held)? else { return Ok(Vec::new()) };
    let last = last_wanted(held);
    let mut lines = Vec::new();
    for (storeroom, shelf) in &held.shelves {
        let pieces = left.min(shelf.usable);
        left -= pieces;
        if pieces > 0 {
            lines.push(DeadStock {
                model: model.part_no.to_string(),
                model_title: model.title.clone(),
                storeroom: storeroom.clone(),
                pieces,
                value_cents: model.price_cents.map(|price| price * i64::from(pieces)),
                last_wanted_on: last.map(|at| at.date_naive()),
                message: message.clone(),
            });
        }
    }
    Ok(lines)
}

/// Pieces that nothing will ask for, over all shelves, and why; none where there are no such.
fn too_many(
    known: &Known<'_>,
    model: &Model,
    held: &Held,
) -> Result<Option<(u32, String)>, Failure> {
    let facts = known.facts;
    let years = facts.rules.dead_after_y;
    let refused = |no: String| Failure::refused(format!("{}: {no}", model.part_no));
    let demand = StoreDemand::of(known, model, Share::Site);
    let lead_time = LeadTime { mean_d: years * YEAR_D, deviation_d: 0.0 };
    let wanted = lead_demand(&demand.question(lead_time, 0.0, &demand.planned));
    let since_y = |on: NaiveDate| ((facts.today - on).num_days() as f64 / YEAR_D).max(0.0);
    let stock = ShelfStock {
        held: held.usable().into(),
        price_cents: model.price_cents.unwrap_or(0).unsigned_abs(),
        demand: wanted.map_err(|no| refused(no.to_string()))?.pmf,
        installed: demand.population.units.round() as u64,
        idle_y: last_wanted(held).map(|at| since_y(at.date_naive())),
        recorded_y: facts.record_from.map_or(0.0, since_y),
    };
    let found = surplus(&stock, SURPLUS_BELOW, years).map_err(|no| refused(no.to_string()))?;
    Ok(match (found.dead, found.pieces) {
        // What is installed may fail: an old stock against rare failures is not dead.
        (Some(DeadWhy::NothingInstalled), _) => Some((
            held.usable(),
            "none is installed any more, and nothing will ask for it".to_owned(),
        )),
        (Some(DeadWhy::NotUsed { years: idle }), 1..) => {
            Some((pieces(found.pieces), format!("none was used for {idle:.1} years")))
        }
        (Some(DeadWhy::NeverUsed { years: idle }), 1..) => {
            Some((pieces(found.pieces), format!("none was used in all {idle:.1} years on record")))
        }
        _ => None,
    })
}

/// When something was last asked for.
fn last_wanted(held: &Held) -> Option<DateTime<Utc>> {
    let removed = held.failed_at.iter().chain(&held.no_fault_at).copied();
    removed.chain(held.issues.iter().map(|issue| issue.at)).max()
}
