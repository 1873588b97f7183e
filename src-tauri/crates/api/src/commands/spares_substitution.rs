//! Models that may stand in for one another, and what their stocks are worth together.

use super::spares_demand::Known;
use super::spares_line::pieces;
use super::spares_stand_in;
use super::spares_stock::ModelStock;
use crate::Failure;
use crate::wire::spares_model::SpareSubstitute;
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{
    NoStandIn, PlaceService, StandIn, Substitutable, may_stand_in, substitution,
};

/// A model of a pair, over all storerooms that are ordered for together.
struct Member<'k> {
    model: &'k Model,
    usable: u64,
    /// Usable and coming, less what is planned.
    held: u64,
    /// Of these, what it does not need itself.
    free: u64,
    asks: Substitutable,
}

impl<'k> Member<'k> {
    fn of(
        known: &Known<'_>,
        model: &'k Model,
        stock: &ModelStock,
    ) -> Result<Option<Self>, Failure> {
        let Some(home) = stock.rooms.first() else { return Ok(None) };
        let (standing, level) = stock.ordering(home);
        let held = u64::try_from(standing.position()).unwrap_or(0);
        let needed = u64::try_from(level.reorder_at + 1).unwrap_or(0);
        let demand = stock.asked_for(known, model, home)?;
        let asks = Substitutable { stock: held, demand, stand_ins: Vec::new() };
        let usable = standing.usable;
        Ok(Some(Self { model, usable, held, free: held.saturating_sub(needed), asks }))
    }
}

/// The models that the catalogue names to stand in for this one, and those that it is named for,
/// with what pooling does for whoever is helped.
pub(super) fn of(
    known: &Known<'_>,
    model: &Model,
    own: &ModelStock,
) -> Result<Vec<SpareSubstitute>, Failure> {
    let facts = known.facts;
    let Some(own) = Member::of(known, model, own)? else { return Ok(Vec::new()) };
    let mut lines = Vec::new();
    for (helper, allowed) in spares_stand_in::named(&facts.models, model) {
        if let Some(other) = member(known, helper)? {
            lines.push(line(&own, &other, &other, "stands_in", allowed)?);
        }
    }
    for helped in facts.models.values().filter(|it| it.substitutes.contains(&model.part_no)) {
        if let Some(other) = member(known, helped)? {
            let allowed = may_stand_in(model, helped);
            lines.push(line(&other, &own, &other, "is_helped", allowed)?);
        }
    }
    Ok(lines)
}

fn member<'k>(known: &Known<'_>, model: &'k Model) -> Result<Option<Member<'k>>, Failure> {
    match known.stock(model)? {
        Some(stock) => Member::of(known, model, stock),
        None => Ok(None),
    }
}

fn line(
    helped: &Member<'_>,
    helper: &Member<'_>,
    other: &Member<'_>,
    direction: &str,
    allowed: Result<(), NoStandIn>,
) -> Result<SpareSubstitute, Failure> {
    // The stand-in keeps nothing back.
    let stand_ins = match allowed {
        Ok(()) => vec![StandIn { model: 1, reserved: 0 }],
        Err(_) => Vec::new(),
    };
    let pair = [Substitutable { stand_ins, ..helped.asks.clone() }, helper.asks.clone()];
    let pooled = substitution(&pair)
        .map_err(|no| Failure::refused(format!("{}: {no}", helped.model.part_no)))?;
    let (alone, with) = (pooled[0].without, pooled[0].with);
    Ok(SpareSubstitute {
        model: other.model.part_no.to_string(),
        direction: direction.to_owned(),
        usable: pieces(other.usable),
        left_over: pieces(other.free.min(other.held)),
        alone: alone.no_stock_out,
        pooled: with.no_stock_out,
        backorders_alone: alone.backorders,
        backorders_pooled: with.backorders,
        exact: pooled[0].exact,
        message: message(helped, helper, allowed, [alone, with]),
    })
}

fn message(
    helped: &Member<'_>,
    helper: &Member<'_>,
    allowed: Result<(), NoStandIn>,
    [alone, with]: [PlaceService; 2],
) -> String {
    let (helper, helped) = (&helper.model.part_no, &helped.model.part_no);
    match allowed {
        Err(no) => format!("{helper} may not stand in for {helped}, since {no}"),
        Ok(()) => format!(
            "{helper} may stand in for {helped}: with both stocks {:.2} % without a stock-out in \
             place of {:.2} %, lenders' own places first or borrowers first, whichever is worse",
            100.0 * with.no_stock_out,
            100.0 * alone.no_stock_out
        ),
    }
}
