//! The CSV files of what is to come: orders, reservations and changes of the plant.

use super::csv_file::Loaded;
use super::tables::{Source, part, schema};
use super::{OrderRow, ReservationRow, schema::RowSchema};
use slotkeep_domain::journal::{PopulationPlanned, Purpose};
use slotkeep_domain::place::SlotAddress;

pub(super) fn orders(source: &mut Source<'_>) -> Loaded<OrderRow> {
    let schema = schema!("orders");
    let [number, model, storeroom, quantity] =
        schema.at(["number", "model", "storeroom", "quantity"]);
    let [placed, due, price, reason] = schema.at(["placed_on", "due_on", "price_cents", "reason"]);
    source.load(&schema, |c| {
        let placed_on = c.date(placed).unwrap_or_default();
        if c.date(due).is_some_and(|due_on| due_on < placed_on) {
            return Err((due, format!("a date not before it was placed, {placed_on}")));
        }
        Ok(OrderRow {
            number: c.owned(number),
            model: part(c, model)?,
            storeroom: c.owned(storeroom),
            quantity: c.count(quantity).unwrap_or_default(),
            placed_on,
            due_on: c.date(due),
            price_cents: c.number(price).map(|cents| cents as i64),
            reason: c.owned(reason),
        })
    })
}

pub(super) fn reservations(source: &mut Source<'_>) -> Loaded<ReservationRow> {
    let schema = schema!("reservations");
    let [model, storeroom, serial, pieces, for_what, until] =
        schema.at(["model", "storeroom", "serial", "pieces", "for_what", "until"]);
    source.load(&schema, |c| {
        let count = c.count(pieces).unwrap_or(1);
        if c.filled(serial) && count != 1 {
            return Err((pieces, "1 or nothing: one unit is named".to_owned()));
        }
        let said = c.text(for_what);
        Ok(ReservationRow {
            model: part(c, model)?,
            storeroom: c.owned(storeroom),
            serial: c.optional(serial),
            pieces: count,
            purpose: match SlotAddress::parse(said) {
                Ok(slot) => Purpose::Slot(slot),
                Err(_) => Purpose::Words(said.to_owned()),
            },
            until: c.date(until),
        })
    })
}

pub(super) fn planned_changes(source: &mut Source<'_>) -> Loaded<PopulationPlanned> {
    let schema = schema!("planned_changes");
    let [model, on, added, removed, from_stock, harvested, reason] =
        schema.at(["model", "on", "added", "removed", "from_stock", "harvested", "reason"]);
    source.load(&schema, |c| {
        let count = |at| c.count(at).unwrap_or_default();
        // The schema keeps both far below the largest number.
        let change = count(added).cast_signed() - count(removed).cast_signed();
        if change == 0 && count(from_stock) == 0 {
            return Err((added, "a number of places that come or go, or of pieces".to_owned()));
        }
        if count(harvested) > count(removed) {
            return Err((harvested, format!("at most the {} that are removed", count(removed))));
        }
        Ok(PopulationPlanned {
            model: part(c, model)?,
            on: c.date(on).unwrap_or_default(),
            installed_change: change,
            from_stock: count(from_stock),
            harvested: count(harvested),
            reason: c.owned(reason),
        })
    })
}
