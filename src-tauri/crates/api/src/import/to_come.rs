use super::plan::Planner;
use crate::site_files::{OrderRow, ReservationRow, Row, Site};
use slotkeep_domain::journal::{
    Body, OrderPlaced, PopulationPlanned, Purpose, Reserved, ReservedWhat, Source,
};
use slotkeep_domain::register::{Change, Table, View};
use uuid::Uuid;

/// Plans orders, reservations and changes of the plant. A row that changed corrects what it said
/// before.
pub(super) fn plan(planner: &mut Planner<'_>, site: &Site) {
    for row in &site.orders {
        if planner.is_new(row) {
            order(planner, row);
        }
    }
    for row in &site.reservations {
        if planner.is_new(row) {
            reservation(planner, row);
        }
    }
    for row in &site.planned_changes {
        if planner.is_new(row) {
            change(planner, row);
        }
    }
}

fn note<T>(planner: &mut Planner<'_>, row: &Row<T>, what: String) {
    planner.plan.notes.push(format!("{}, line {}: {what}", row.file, row.line));
}

fn order(planner: &mut Planner<'_>, row: &Row<OrderRow>) {
    let new = row.value.clone();
    let mut orders = planner.ledger().records(Table::Order);
    let before = orders.find_map(|record| match record {
        Change::Order(order) if order.number.as_ref() == Some(&new.number) => Some(order.clone()),
        _ => None,
    });
    drop(orders);
    if let Some(before) = before.as_ref().filter(|before| before.received > 0 || before.closed) {
        let what = format!(
            "of order {} {} came in, or it is closed: it is left as it is",
            new.number,
            slotkeep_domain::counted(before.received, "piece")
        );
        return note(planner, row, what);
    }
    let source = Source { file: row.file.to_owned(), key: row.key.clone(), digest: row.digest };
    let at = planner.noon_of(new.placed_on);
    let body = Body::OrderPlaced(OrderPlaced {
        model: new.model,
        storeroom: new.storeroom,
        quantity: new.quantity,
        due_on: new.due_on,
        reason: new.reason,
        number: Some(new.number),
        price_cents: new.price_cents,
    });
    planner.add_at(source, row.line, at, before.map(|before| before.id), body);
}

fn reservation(planner: &mut Planner<'_>, row: &Row<ReservationRow>) {
    let new = row.value.clone();
    let today = planner.today();
    if let Some(until) = new.until.filter(|until| *until < today) {
        return note(planner, row, format!("the reservation ended on {until}: it is passed over"));
    }
    let ledger = planner.ledger();
    let unit = new.serial.as_ref().and_then(|serial| ledger.unit_with(&new.model, serial));
    let before = ledger.reservations_on(&new.model).into_iter().find(|kept| {
        kept.storeroom == new.storeroom && kept.unit == unit && kept.purpose == new.purpose
    });
    let what = match unit {
        Some(unit) => ReservedWhat::Unit(unit),
        None => {
            ReservedWhat::Pieces { model: new.model, storeroom: new.storeroom, pieces: new.pieces }
        }
    };
    let purpose: Purpose = new.purpose;
    let body = Body::Reserved(Reserved { what, purpose, until: new.until });
    planner.correct(row, before.map(|kept| kept.id), body);
}

fn change(planner: &mut Planner<'_>, row: &Row<PopulationPlanned>) {
    let new = row.value.clone();
    let today = planner.today();
    if new.on < today {
        let what = format!("{} has passed: what happened is told by units.csv", new.on);
        return note(planner, row, what);
    }
    let mut planned = planner.ledger().records(Table::PopulationChange);
    let before: Option<Uuid> = planned.find_map(|record| match record {
        Change::PopulationChange(plan)
            if plan.model == new.model && plan.on == new.on && plan.settled.is_none() =>
        {
            Some(plan.id)
        }
        _ => None,
    });
    drop(planned);
    planner.correct(row, before, Body::PopulationPlanned(new));
}
