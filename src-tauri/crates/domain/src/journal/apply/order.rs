use super::{Outcome, Refusal, known};
use crate::journal::{Entry, OrderClosed, OrderPlaced};
use crate::model::PartNo;
use crate::register::{Change, Table, View};
use crate::stock::Order;
use uuid::Uuid;

/// Notes an order. With `corrects` it takes the place of one of which nothing came in yet.
pub(super) fn place(view: &impl View, entry: &Entry, placed: &OrderPlaced) -> Outcome {
    known(view.model(&placed.model), "model", &placed.model)?;
    known(view.storeroom(&placed.storeroom), "storeroom", &placed.storeroom)?;
    if placed.quantity == 0 {
        return Err(Refusal::new("an order of 0 pieces", "write how many to order"));
    }
    if placed.price_cents.is_some_and(|cents| cents < 0) {
        return Err(Refusal::new(
            format!("the order of {} has a price below 0", placed.model),
            "write a price of 0 or more, in cents",
        ));
    }
    let replaced = entry.corrects.and_then(|id| view.order(&id));
    if let Some(before) = replaced.as_ref().filter(|before| before.received > 0 || before.closed) {
        return Err(Refusal::new(
            format!(
                "of the order of {} {} came in, or it is closed",
                before.model,
                crate::counted(before.received, "piece")
            ),
            "close it and place a new one",
        ));
    }
    let gone = replaced.map(|before| Change::Gone(Table::Order, before.id.to_string()));
    let order = Change::Order(Order {
        id: entry.id,
        model: placed.model.clone(),
        storeroom: placed.storeroom.clone(),
        ordered: placed.quantity,
        received: 0,
        placed_at: entry.at,
        due_on: placed.due_on,
        reason: placed.reason.clone(),
        closed: false,
        number: placed.number.clone(),
        price_cents: placed.price_cents,
    });
    Ok(gone.into_iter().chain([order]).collect())
}

pub(super) fn close(view: &impl View, closed: &OrderClosed) -> Outcome {
    let mut order = known(view.order(&closed.order), "order", closed.order)?;
    order.closed = true;
    Ok(vec![Change::Order(order)])
}

/// The order after some of it came in.
pub(super) fn received(
    view: &impl View,
    id: &Uuid,
    model: &PartNo,
    quantity: u32,
) -> Result<Change, Refusal> {
    let mut order = known(view.order(id), "order", id)?;
    if order.model != *model {
        return Err(Refusal::new(
            format!("the order is for {}, {model} came in", order.model),
            "receive it without the order, or against the right one",
        ));
    }
    if order.closed {
        return Err(Refusal::new(
            format!("the order for {} is closed", order.model),
            "receive it without the order",
        ));
    }
    order.received = order.received.saturating_add(quantity);
    order.closed = order.received >= order.ordered;
    Ok(Change::Order(order))
}
