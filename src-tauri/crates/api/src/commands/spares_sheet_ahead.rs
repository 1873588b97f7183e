//! The months ahead and the money curve as rows of a spreadsheet.

use super::spares_sheet::column;
use crate::sheet::{Cell, Form, Sheet};
use crate::wire::spares_money::BudgetReply;
use crate::wire::spares_projection::{ProjectedMonth, ProjectionReply};

/// The present case, month by month.
pub(super) fn projection(reply: &ProjectionReply) -> Sheet {
    let columns = vec![
        column("Model", 14.0, Form::Text),
        column("Storeroom", 11.0, Form::Text),
        column("Until", 12.0, Form::Day),
        column("Mean stock less owed (pieces)", 12.0, Form::Number(3)),
        column("5 % (pieces)", 9.0, Form::Count),
        column("25 % (pieces)", 9.0, Form::Count),
        column("50 % (pieces)", 9.0, Form::Count),
        column("75 % (pieces)", 9.0, Form::Count),
        column("95 % (pieces)", 9.0, Form::Count),
        column("Stock-out in the month (0 to 1)", 12.0, Form::Number(4)),
        column("Stock-out by then (0 to 1)", 12.0, Form::Number(4)),
        column("Demand (pieces)", 10.0, Form::Number(3)),
        column("Planned (pieces)", 9.0, Form::Count),
        column("Arrives of placed orders (pieces)", 12.0, Form::Count),
        column("Ordered (pieces)", 10.0, Form::Number(3)),
        column("Past shelf date (pieces)", 10.0, Form::Number(3)),
    ];
    let row = |month: &ProjectedMonth| -> Vec<Cell> {
        vec![
            (&reply.model).into(),
            (&reply.storeroom).into(),
            month.until.into(),
            month.mean.into(),
            month.p05.into(),
            month.p25.into(),
            month.p50.into(),
            month.p75.into(),
            month.p95.into(),
            month.stock_out.into(),
            month.stock_out_by.into(),
            month.demand.into(),
            month.planned.into(),
            month.arrives.into(),
            month.ordered.into(),
            month.expires.into(),
        ]
    };
    let rows = reply.present.months.iter().map(row).collect();
    Sheet { title: "Projection".to_owned(), columns, rows }
}

/// What each next best purchase buys.
pub(super) fn curve(reply: &BudgetReply) -> Sheet {
    let columns = vec![
        column("Step", 6.0, Form::Count),
        column("Model", 14.0, Form::Text),
        column("Title", 34.0, Form::Text),
        column("Storeroom", 11.0, Form::Text),
        column("Held after (pieces)", 9.0, Form::Count),
        column("Price (whole money)", 12.0, Form::Money),
        column("Spent in all (whole money)", 14.0, Form::Money),
        column("Owed on average (pieces)", 12.0, Form::Number(6)),
        column("Availability (0 to 1)", 12.0, Form::Number(8)),
        column("Nothing missing (0 to 1)", 12.0, Form::Number(6)),
        column("Saved for each 1000 of money (pieces)", 14.0, Form::Number(6)),
    ];
    let rows = (1u32..).zip(&reply.curve).map(|(step, point)| -> Vec<Cell> {
        vec![
            step.into(),
            (&point.model).into(),
            (&point.model_title).into(),
            (&point.storeroom).into(),
            point.pieces.into(),
            point.price_cents.into(),
            point.spent_cents.into(),
            point.backorders.into(),
            point.availability.into(),
            point.nothing_missing.into(),
            point.gain.into(),
        ]
    });
    Sheet { title: "Curve".to_owned(), columns, rows: rows.collect() }
}
