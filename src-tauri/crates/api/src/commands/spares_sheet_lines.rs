//! Levels and orders as rows of a spreadsheet.

use super::spares_sheet::column;
use crate::sheet::{Cell, Form, Sheet};
use crate::wire::spares::SpareLine;

/// What to hold, with what it was reckoned from.
pub(super) fn levels(lines: &[SpareLine]) -> Sheet {
    let columns = vec![
        column("Model", 14.0, Form::Text),
        column("Title", 34.0, Form::Text),
        column("Storeroom", 11.0, Form::Text),
        column("Class", 10.0, Form::Text),
        column("Class from slot", 14.0, Form::Text),
        column("Class by value", 9.0, Form::Text),
        column("Class by variation", 9.0, Form::Text),
        column("Pattern", 13.0, Form::Text),
        column("Demand from", 12.0, Form::Text),
        column("Policy", 12.0, Form::Text),
        column("Installed (units)", 10.0, Form::Count),
        column("Failure rate (in 1e9 h)", 12.0, Form::Number(1)),
        column("Lead time (days)", 9.0, Form::Count),
        column("Demand to cover (pieces)", 12.0, Form::Number(4)),
        column("Planned in lead time (pieces)", 12.0, Form::Count),
        column("Target measure", 14.0, Form::Text),
        column("Target", 9.0, Form::Number(4)),
        column("Order at (pieces)", 9.0, Form::Count),
        column("Order up to (pieces)", 9.0, Form::Count),
        column("No stock-out at level (0 to 1)", 12.0, Form::Number(6)),
        column("Fill rate at level (0 to 1)", 12.0, Form::Number(6)),
        column("Owed at level (pieces)", 12.0, Form::Number(6)),
        column("Empty places at level (h a year)", 12.0, Form::Number(2)),
        column("Price (whole money)", 12.0, Form::Money),
        column("Yearly value (whole money)", 12.0, Form::Money),
        column("Chosen because", 30.0, Form::Text),
    ];
    let row = |line: &SpareLine| -> Vec<Cell> {
        vec![
            (&line.model).into(),
            (&line.model_title).into(),
            (&line.storeroom).into(),
            (&line.class).into(),
            line.class_from_slot.as_deref().into(),
            line.value_class.as_deref().into(),
            line.variation_class.as_deref().into(),
            line.pattern.as_deref().into(),
            (&line.method).into(),
            (&line.policy).into(),
            line.installed.into(),
            line.failure_rate_fit.into(),
            line.lead_time_d.into(),
            line.lead_demand.into(),
            line.planned.into(),
            (&line.target.measure).into(),
            line.target.value.into(),
            line.reorder_at.into(),
            line.order_up_to.into(),
            line.at_level.no_stock_out.into(),
            line.at_level.fill_rate.into(),
            line.at_level.backorders.into(),
            line.at_level.down_time_h.into(),
            line.price_cents.into(),
            line.yearly_value_cents.into(),
            line.chosen.as_ref().map(|chosen| chosen.reason.as_str()).into(),
        ]
    };
    Sheet {
        title: "Levels".to_owned(),
        columns,
        rows: lines.iter().filter(|line| line.policy != "counted").map(row).collect(),
    }
}

/// What to order and to fetch, what matters most first.
pub(super) fn orders(lines: &[SpareLine]) -> Sheet {
    let columns = vec![
        column("Rank", 6.0, Form::Count),
        column("Model", 14.0, Form::Text),
        column("Title", 34.0, Form::Text),
        column("Storeroom", 11.0, Form::Text),
        column("Class", 10.0, Form::Text),
        column("Usable (pieces)", 9.0, Form::Count),
        column("Reserved (pieces)", 9.0, Form::Count),
        column("On order (pieces)", 9.0, Form::Count),
        column("Level (pieces)", 9.0, Form::Count),
        column("Order now (pieces)", 9.0, Form::Count),
        column("Fetch now (pieces)", 9.0, Form::Count),
        column("Price (whole money)", 12.0, Form::Money),
        column("Cost (whole money)", 12.0, Form::Money),
        column("Lead time (days)", 9.0, Form::Count),
        column("Last day to order", 12.0, Form::Day),
        column("Lasts until", 12.0, Form::Day),
        column("Why", 80.0, Form::Text),
        column("Notes", 60.0, Form::Text),
    ];
    let wanted = lines.iter().filter(|line| line.order_now > 0 || line.fetch_now > 0);
    let row = |line: &SpareLine| -> Vec<Cell> {
        vec![
            line.rank.into(),
            (&line.model).into(),
            (&line.model_title).into(),
            (&line.storeroom).into(),
            (&line.class).into(),
            line.on_hand.into(),
            line.reserved.into(),
            line.on_order.into(),
            line.order_up_to.into(),
            line.order_now.into(),
            line.fetch_now.into(),
            line.price_cents.into(),
            line.cost_cents.into(),
            line.lead_time_d.into(),
            line.last_order_on.into(),
            line.lasts_until.into(),
            (&line.reason).into(),
            (&line.notes.join(" ")).into(),
        ]
    };
    Sheet { title: "Orders".to_owned(), columns, rows: wanted.map(row).collect() }
}
