//! The bill of material of a planned line-up, against the stock that there is.

use super::lineup::Shelf;
use super::spares_level::prices;
use crate::Failure;
use crate::wire::lineup::MaterialLine;
use chrono::NaiveDate;
use slotkeep_domain::lineup::{Rail, pieces};
use slotkeep_domain::model::{BaseKind, Lifecycle, Model, ModelKind, PartNo};
use slotkeep_domain::register::View;
use slotkeep_store::Reader;
use std::collections::BTreeSet;

/// What a plan takes and gives back, what comes first in need first.
pub(super) fn lines(
    r: &Reader<'_>,
    models: &Shelf,
    now: &Rail,
    plan: &Rail,
    today: NaiveDate,
) -> Result<Vec<MaterialLine>, Failure> {
    let base_of = |kind| base_model(models, kind);
    let mut lines = Vec::new();
    for (part_no, pieces) in pieces(now, plan, &base_of) {
        let Some(model) = models.models.get(&part_no) else { continue };
        lines.push(line(r, model, pieces, today)?);
    }
    lines.sort_by_key(|line| (line.order == 0, line.pieces <= 0));
    Ok(lines)
}

/// The first base of a kind by part number that can still be bought, else any.
fn base_model(models: &Shelf, kind: BaseKind) -> Option<PartNo> {
    let bases: BTreeSet<(bool, &PartNo)> = models
        .models
        .values()
        .filter(|model| model.kind == ModelKind::Base && model.base == Some(kind))
        .map(|model| (model.lifecycle != Lifecycle::Active, &model.part_no))
        .collect();
    bases.first().map(|(_, part_no)| (*part_no).clone())
}

fn line(
    r: &Reader<'_>,
    model: &Model,
    pieces: i32,
    today: NaiveDate,
) -> Result<MaterialLine, Failure> {
    let part_no = &model.part_no;
    let rooms = r.every_storeroom();
    let ready: u32 = rooms.iter().map(|room| r.usable_in(part_no, &room.code, today)).sum();
    let kept = r.reservations_on(part_no);
    let kept: u32 = kept.iter().filter(|kept| kept.holds_on(today)).map(|kept| kept.pieces).sum();
    let reserved = kept.min(ready);
    let free = ready - reserved;
    let orders = r.orders_of(part_no)?;
    let on_order =
        orders.iter().filter(|order| !order.closed).map(|order| order.outstanding()).sum();
    let missing = u32::try_from(pieces).unwrap_or(0).saturating_sub(free);
    let order = in_packs(missing, model);
    let price_cents = match order {
        0 => model.price_cents,
        order => prices(model).map(|prices| prices.at(u64::from(order))).or(model.price_cents),
    };
    let cost_cents = match order {
        0 => Some(0),
        order => price_cents.map(|cents| cents.saturating_mul(i64::from(order))),
    };
    Ok(MaterialLine {
        model: part_no.to_string(),
        title: model.title.clone(),
        pieces,
        free,
        reserved,
        on_order,
        order,
        lead_time_d: model.lead_time_d,
        price_cents,
        cost_cents,
        said: said(model, pieces, missing, order, today),
    })
}

/// Whole packs, and no fewer than one order may have.
fn in_packs(missing: u32, model: &Model) -> u32 {
    if missing == 0 {
        return 0;
    }
    let least = missing.max(model.min_order.unwrap_or(1));
    least.div_ceil(model.pack_size.unwrap_or(1).max(1)) * model.pack_size.unwrap_or(1).max(1)
}

fn said(model: &Model, pieces: i32, missing: u32, order: u32, today: NaiveDate) -> String {
    if pieces < 0 {
        let into =
            if model.is_slot_unit() { "have it tested, then to the shelf" } else { "to the shelf" };
        let come = if pieces == -1 { "comes" } else { "come" };
        return format!("{} {come} off: {into}", -pieces);
    }
    let from_shelf = u32::try_from(pieces).unwrap_or(0) - missing;
    if missing == 0 {
        return format!("{from_shelf} from the shelf");
    }
    let shelf = match from_shelf {
        0 => String::new(),
        some => format!("{some} from the shelf; "),
    };
    if !model.can_be_ordered_on(today) {
        let others: Vec<_> = model.substitutes.iter().map(ToString::to_string).collect();
        let way = match others.is_empty() {
            true => "plan another model".to_owned(),
            false => format!("plan {} in its place", others.join(" or ")),
        };
        return format!("{shelf}{missing} missing, and its maker takes no more orders: {way}");
    }
    let when = model.lead_time_d.map_or("in a time not known".to_owned(), |d| format!("{d} days"));
    format!("{shelf}order {order}, {when}")
}
