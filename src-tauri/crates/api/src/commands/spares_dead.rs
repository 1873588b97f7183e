//! Stock that nothing asks for.

use super::spares_days::YEAR_D;
use super::spares_demand::{Known, StoreDemand};
use super::spares_facts::Held;
use super::spares_line::pieces;
use super::spares_site::SiteDemand;
use super::spares_stock::ModelStock;
use super::spares_sums::{given, money, sum};
use crate::Failure;
use crate::wire::spares::SumLine;
use crate::wire::spares_money::DeadStock;
use chrono::{DateTime, NaiveDate, Utc};
use slotkeep_domain::counted_as;
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{DeadWhy, ShelfStock, surplus};

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
    let Some(stock) = known.any_stock(model)? else { return Ok(Vec::new()) };
    let site = known.site(model)?;
    let kept = Kept::of(known, model, stock, &site.demand)?;
    let Some((too_many, why)) = too_many(known, model, held, site, &kept)? else {
        return Ok(Vec::new());
    };
    let last = last_wanted(held);
    let worth = |count: u32| model.price_cents.map(|price| price * i64::from(count));
    let mut lines = Vec::new();
    for (storeroom, count) in where_they_lie(held, stock, too_many) {
        lines.push(DeadStock {
            model: model.part_no.to_string(),
            model_title: model.title.clone(),
            storeroom,
            pieces: count,
            usable: held.usable(),
            level: pieces(kept.level),
            wanted: pieces(kept.planned + kept.elsewhere()),
            value_cents: worth(count),
            last_wanted_on: last.map(|at| at.date_naive()),
            message: kept.said(held.usable(), too_many, &why),
            sum: vec![kept.opened(held.usable(), too_many, worth(too_many))],
        });
    }
    Ok(lines)
}

/// Pieces that are not dead stock, however rarely they are asked for.
struct Kept {
    /// The levels of all storerooms.
    level: u64,
    reserved: u64,
    /// Planned changes of batteries and plant until stock counts as dead.
    planned: u64,
    /// Held in place of models that are no longer sold.
    instead: u64,
    /// Counted in place of orders of other models.
    lent: u64,
}

impl Kept {
    fn of(
        known: &Known<'_>,
        model: &Model,
        stock: &ModelStock,
        demand: &StoreDemand,
    ) -> Result<Self, Failure> {
        let parts = known.stand_ins()?.of_model(model.part_no.as_str());
        let parts = || parts.into_iter().flat_map(|it| it.values());
        let until_d = known.facts.rules.dead_after_y * YEAR_D;
        Ok(Self {
            level: stock.rooms.iter().map(|room| room.level.order_up_to).sum(),
            reserved: stock.rooms.iter().map(|room| u64::from(room.shelf.reserved)).sum(),
            planned: demand.planned_until(until_d).into(),
            instead: parts().map(|part| part.instead).sum(),
            lent: parts().flat_map(|part| &part.lent).map(|(_, lent)| lent).sum(),
        })
    }

    /// What the need of its own places keeps.
    fn own(&self) -> u64 {
        self.level + self.planned
    }

    /// What is for somebody else already.
    fn elsewhere(&self) -> u64 {
        self.reserved + self.instead + self.lent
    }

    /// What is wanted besides the level, with how that is said.
    fn wanted(&self) -> impl Iterator<Item = (u64, &'static str, &'static str)> {
        [
            (self.reserved, "Reserved", "reserved"),
            (self.planned, "Planned until stock counts as dead", "planned for"),
            (self.instead, "Held in place of models that are no longer sold", "held for others"),
            (self.lent, "Counted in place of orders of other models", "counted for others"),
        ]
        .into_iter()
        .filter(|(count, ..)| *count > 0)
    }

    /// Usable pieces beyond all that is kept.
    fn above(&self, usable: u32) -> u32 {
        usable.saturating_sub(pieces(self.own() + self.elsewhere()))
    }

    fn said(&self, usable: u32, too_many: u32, why: &str) -> String {
        let above = self.above(usable);
        let lie = counted_as(above, "lies", "lie");
        let wanted: String =
            self.wanted().map(|(count, _, said)| format!(", with {count} {said}")).collect();
        let hardly = match above == too_many {
            true => String::new(),
            false => format!(
                "; {} asked for with less than 1 in 20 until stock counts as dead",
                counted_as(too_many, "of these is", "of these are")
            ),
        };
        format!("of {usable} usable {lie} above the level of {}{wanted}{hardly}; {why}", self.level)
    }

    fn opened(&self, usable: u32, too_many: u32, worth: Option<i64>) -> SumLine {
        let mut parts = vec![
            given("Usable in all storerooms", usable, "pieces"),
            given("Levels of all storerooms", -(self.level as f64), "pieces"),
        ];
        parts.extend(self.wanted().map(|(count, what, _)| given(what, -(count as f64), "pieces")));
        let asked = self.above(usable).saturating_sub(too_many);
        if asked > 0 {
            let what = "May be asked for until stock counts as dead, with 1 in 20 at least";
            parts.push(given(what, -f64::from(asked), "pieces"));
        }
        parts
            .extend(worth.map(|cents| money("Worth", cents, "pieces times the price", Vec::new())));
        sum(
            "Pieces that nothing wants",
            too_many,
            "pieces",
            "those that are usable, less what the levels, known demand and chance keep",
            parts,
        )
    }
}

/// The shelves that hold the most above their own levels first.
fn where_they_lie(held: &Held, stock: &ModelStock, too_many: u32) -> Vec<(String, u32)> {
    let level = |storeroom: &str| stock.room(storeroom).map_or(0, |room| room.level.order_up_to);
    let mut shelves: Vec<(&String, u32, u32)> = held
        .shelves
        .iter()
        .map(|(storeroom, shelf)| {
            let free = shelf.usable.saturating_sub(shelf.reserved);
            (storeroom, free, free.saturating_sub(pieces(level(storeroom))))
        })
        .collect();
    shelves.sort_by_key(|(_, _, above)| std::cmp::Reverse(*above));
    let mut left = too_many;
    let mut taken: Vec<u32> = Vec::new();
    for (_, _, above) in &shelves {
        taken.push(left.min(*above));
        left -= left.min(*above);
    }
    for ((_, free, _), taken) in shelves.iter().zip(&mut taken) {
        let more = left.min(free - *taken);
        *taken += more;
        left -= more;
    }
    let lie = shelves.into_iter().zip(taken).filter(|(_, taken)| *taken > 0);
    lie.map(|((storeroom, ..), taken)| (storeroom.clone(), taken)).collect()
}

/// Pieces that nothing will ask for, over all shelves, and why; none where there are no such.
fn too_many(
    known: &Known<'_>,
    model: &Model,
    held: &Held,
    site: &SiteDemand,
    kept: &Kept,
) -> Result<Option<(u32, String)>, Failure> {
    let facts = known.facts;
    let years = facts.rules.dead_after_y;
    let refused = |no: String| Failure::refused(format!("{}: {no}", model.part_no));
    let since_y = |on: NaiveDate| ((facts.today - on).num_days() as f64 / YEAR_D).max(0.0);
    let stock = ShelfStock {
        held: u64::from(held.usable()).saturating_sub(kept.elsewhere()),
        kept: kept.own(),
        price_cents: model.price_cents.unwrap_or(0).unsigned_abs(),
        demand: site.until_dead(model)?.pmf.clone(),
        installed: site.demand.population.units.round() as u64,
        idle_y: last_wanted(held).map(|at| since_y(at.date_naive())),
        recorded_y: facts.record_from.map_or(0.0, since_y),
    };
    let found = surplus(&stock, SURPLUS_BELOW, years).map_err(|no| refused(no.to_string()))?;
    let why = match found.dead {
        Some(DeadWhy::NothingInstalled) => {
            "none is installed any more, and nothing will ask for it".to_owned()
        }
        Some(DeadWhy::NotUsed { years: idle }) => format!("none was used for {idle:.1} years"),
        Some(DeadWhy::NeverUsed { years: idle }) => {
            format!("none was used in all {idle:.1} years on record")
        }
        None => return Ok(None),
    };
    // What is installed may fail: an old stock against rare failures is not dead.
    Ok((found.pieces > 0).then(|| (pieces(found.pieces), why)))
}

/// When something was last asked for.
fn last_wanted(held: &Held) -> Option<DateTime<Utc>> {
    let removed = held.failed_at.iter().chain(&held.no_fault_at).copied();
    removed.chain(held.issues.iter().map(|issue| issue.at)).max()
}
