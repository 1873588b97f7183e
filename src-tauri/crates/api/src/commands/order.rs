use super::find;
use super::lines::Catalogue;
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::stock::{CloseOrderInput, OrderLine, PlaceOrderInput};
use crate::wire::{Done, Nothing};
use chrono::Duration;
use slotkeep_domain::counted;
use slotkeep_domain::journal::{Body, OrderClosed, OrderPlaced};

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("order.list", "Lists orders, newest first.", list),
        table::record("order.place", "Notes that a model was ordered.", table::STORES, place),
        table::record("order.close", "Closes an order that brings no more.", table::STORES, close),
    ]
}

fn list(ask: &Ask<'_>, _: Nothing) -> Result<Vec<OrderLine>, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let mut orders = r.orders()?;
        orders.sort_by_key(|order| std::cmp::Reverse(order.placed_at));
        let catalogue = Catalogue::new(r);
        Ok(orders.iter().map(|order| catalogue.order(order, today)).collect())
    })
}

fn place(ask: &Ask<'_>, stamp: &Stamp, input: PlaceOrderInput) -> Result<Done, Failure> {
    let recorded = ask.record_within(stamp, |r| {
        let model = find::model(r, &input.model)?;
        let reckoned =
            model.lead_time_d.map(|days| stamp.at.date_naive() + Duration::days(i64::from(days)));
        Ok(Body::OrderPlaced(OrderPlaced {
            model: model.part_no,
            storeroom: input.storeroom.clone(),
            quantity: input.quantity,
            due_on: input.due_on.or(reckoned),
            reason: input.reason.clone(),
            number: input.number.clone(),
            price_cents: input.price_cents.or(model.price_cents),
        }))
    })?;
    let message = format!(
        "{} of {} {} on order for {}",
        counted(input.quantity, "piece"),
        input.model,
        if input.quantity == 1 { "is" } else { "are" },
        input.storeroom
    );
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

fn close(ask: &Ask<'_>, stamp: &Stamp, input: CloseOrderInput) -> Result<Done, Failure> {
    let body = Body::OrderClosed(OrderClosed { order: input.order, reason: input.reason });
    let recorded = ask.record(stamp, body)?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message: "the order is closed".into() })
}
