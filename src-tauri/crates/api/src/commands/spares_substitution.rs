//! Models that may stand in for one another, and what their stocks are worth together.

use super::spares_demand::Known;
use super::spares_line::pieces;
use super::spares_stock::ModelStock;
use crate::Failure;
use crate::wire::spares_model::SpareSubstitute;
use slotkeep_domain::model::Model;
use slotkeep_domain::spares::{StandIn, Substitutable, substitution};

/// A model of the group, over all its storerooms.
struct Member<'k> {
    model: &'k Model,
    stock: ModelStock,
}

impl Member<'_> {
    fn held(&self) -> u64 {
        self.stock.rooms.iter().map(super::spares_stock::RoomStock::position).sum()
    }

    fn level(&self) -> u64 {
        self.stock.rooms.iter().map(|room| room.level.order_up_to).sum()
    }

    fn usable(&self) -> u64 {
        self.stock.rooms.iter().map(|room| room.standing().usable).sum()
    }
}

/// The models that may stand in for this one, and those that it may stand in for, with what pooling
/// does for whoever is helped.
pub(super) fn of(
    known: &Known<'_>,
    model: &Model,
    own: &ModelStock,
) -> Result<Vec<SpareSubstitute>, Failure> {
    let facts = known.facts;
    let helped = facts.models.values().filter(|it| it.substitutes.contains(&model.part_no));
    let helpers = model.substitutes.iter().filter_map(|it| facts.models.get(it.as_str()));
    let mut lines = Vec::new();
    for (helper, direction) in
        helpers.map(|it| (it, "stands_in")).chain(helped.map(|it| (it, "is_helped")))
    {
        let Some(stock) = ModelStock::of(known, helper)? else { continue };
        let other = Member { model: helper, stock };
        lines.extend(line(model, own, &other, direction)?);
    }
    Ok(lines)
}

fn line(
    model: &Model,
    own: &ModelStock,
    other: &Member<'_>,
    direction: &str,
) -> Result<Option<SpareSubstitute>, Failure> {
    let (Some(of_own), Some(of_other)) = (own.rooms.first(), other.stock.rooms.first()) else {
        return Ok(None);
    };
    let own_held: u64 = own.rooms.iter().map(super::spares_stock::RoomStock::position).sum();
    // The helped one first; its stand-in keeps nothing back.
    let helped = Substitutable {
        stock: if direction == "stands_in" { own_held } else { other.held() },
        demand: if direction == "stands_in" {
            of_own.leveled.lead.pmf.clone()
        } else {
            of_other.leveled.lead.pmf.clone()
        },
        stand_ins: vec![StandIn { model: 1, reserved: 0 }],
    };
    let helper = Substitutable {
        stock: if direction == "stands_in" { other.held() } else { own_held },
        demand: if direction == "stands_in" {
            of_other.leveled.lead.pmf.clone()
        } else {
            of_own.leveled.lead.pmf.clone()
        },
        stand_ins: Vec::new(),
    };
    let pooled = substitution(&[helped, helper])
        .map_err(|no| Failure::refused(format!("{}: {no}", model.part_no)))?;
    let (alone, with) = (pooled[0].without, pooled[0].with);
    let left_over = other.held().saturating_sub(other.level()).min(other.usable());
    let (helped_name, helper_name) = match direction {
        "stands_in" => (&model.part_no, &other.model.part_no),
        _ => (&other.model.part_no, &model.part_no),
    };
    Ok(Some(SpareSubstitute {
        model: other.model.part_no.to_string(),
        direction: direction.to_owned(),
        usable: pieces(other.usable()),
        left_over: pieces(left_over),
        alone: alone.no_stock_out,
        pooled: with.no_stock_out,
        backorders_alone: alone.backorders,
        backorders_pooled: with.backorders,
        exact: pooled[0].exact,
        message: format!(
            "{helper_name} may stand in for {helped_name}: with both stocks {:.2} % without a \
             stock-out in place of {:.2} %, lenders' own places first or borrowers first, \
             whichever is worse",
            100.0 * with.no_stock_out,
            100.0 * alone.no_stock_out
        ),
    }))
}
