//! Levels, orders, stock, projection and money curve as files for spreadsheet programs.

use super::spares_demand::Known;
use super::spares_facts::Facts;
use super::{spares, spares_money, spares_projection};
use crate::ask::Ask;
use crate::sheet::{self, Cell, Column, Form, Sheet};
use crate::table::{self, Command, File};
use crate::wire::spares::SpareLine;
use crate::wire::spares_choice::SpareSheetInput;
use crate::wire::spares_plan::{BudgetInput, BudgetReply, ProjectionInput, ProjectionReply};
use crate::{Failure, FailureKind};
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![table::file(
        "spares.sheet",
        "Writes levels, orders, stock, a projection or the money curve as CSV or xlsx.",
        write,
    )]
}

fn write(ask: &Ask<'_>, input: SpareSheetInput) -> Result<File, Failure> {
    if !matches!(input.format.as_str(), "csv" | "xlsx") {
        return Err(Failure::bad_input(format!(
            "{:?} is no format: write csv or xlsx",
            input.format
        )));
    }
    let sheet = ask.read(|r| {
        let facts = Facts::gather(ask, r)?;
        if let Some(storeroom) = &input.storeroom {
            facts.storeroom(storeroom)?;
        }
        let known = Known::of(&facts);
        match input.what.as_str() {
            "levels" => Ok(levels(&lines(&known, &input)?)),
            "orders" => Ok(orders(&lines(&known, &input)?)),
            "stock" => stock(r, &facts, input.storeroom.as_deref()),
            "projection" => {
                let Some(model) = input.model.clone() else {
                    return Err(Failure::bad_input("a projection is of one model: give model"));
                };
                let asked = ProjectionInput {
                    model,
                    storeroom: input.storeroom.clone(),
                    months: input.months,
                    what_if: None,
                };
                Ok(projection(&spares_projection::projected(&known, &asked)?))
            }
            "curve" => Ok(curve(&spares_money::round(&known, &BudgetInput::default())?)),
            what => Err(Failure::bad_input(format!(
                "{what:?} is no sheet: write levels, orders, stock, projection or curve"
            ))),
        }
    })?;
    let broken = |why: String| Failure::new(FailureKind::Broken, why);
    let today = ask.today();
    let name = format!("spares-{}-{today}.{}", input.what, input.format);
    Ok(match input.format.as_str() {
        "csv" => File {
            name,
            content_type: "text/csv; charset=utf-8",
            bytes: sheet::csv(&sheet).map_err(broken)?,
        },
        _ => File {
            name,
            content_type: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
            bytes: sheet::xlsx(&sheet, ask.now).map_err(broken)?,
        },
    })
}

fn lines(known: &Known<'_>, input: &SpareSheetInput) -> Result<Vec<SpareLine>, Failure> {
    let mut lines = spares::lines(known, known.facts.rules.abc_by)?;
    if let Some(model) = &input.model {
        known.facts.model(model)?;
        lines.retain(|line| line.model == model.trim());
    }
    if let Some(storeroom) = &input.storeroom {
        lines.retain(|line| line.storeroom == storeroom.trim());
    }
    Ok(lines)
}

const fn column(header: &'static str, width: f64, form: Form) -> Column {
    Column { header, width, form }
}

fn levels(lines: &[SpareLine]) -> Sheet {
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

fn orders(lines: &[SpareLine]) -> Sheet {
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

/// Every lot and unit that lies in a bin.
fn stock(r: &Reader<'_>, facts: &Facts, storeroom: Option<&str>) -> Result<Sheet, Failure> {
    let columns = vec![
        column("Storeroom", 11.0, Form::Text),
        column("Bin", 12.0, Form::Text),
        column("Label", 14.0, Form::Text),
        column("Model", 14.0, Form::Text),
        column("Title", 34.0, Form::Text),
        column("Serial number or lot", 18.0, Form::Text),
        column("Pieces", 8.0, Form::Count),
        column("Condition", 12.0, Form::Text),
        column("Made", 12.0, Form::Day),
        column("Shelf date", 12.0, Form::Day),
        column("Price (whole money)", 12.0, Form::Money),
        column("Value (whole money)", 12.0, Form::Money),
    ];
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    let wanted = |room: &str| storeroom.is_none_or(|wanted| wanted.trim() == room);
    let price = |model: &str| facts.models.get(model).and_then(|model| model.price_cents);
    let title = |model: &str| facts.models.get(model).map_or("", |model| model.title.as_str());
    for room in facts.serving.storerooms.iter().filter(|room| wanted(&room.code)) {
        for unit in r.units_in_storeroom(&room.code)? {
            let model = unit.model.as_str();
            rows.push(vec![
                (&room.code).into(),
                (&unit.place.to_string()).into(),
                (&unit.label.human()).into(),
                model.into(),
                title(model).into(),
                (&unit.serial).into(),
                1u32.into(),
                unit.condition.word().into(),
                Cell::Nothing,
                Cell::Nothing,
                price(model).into(),
                price(model).into(),
            ]);
        }
    }
    for lot in r.lots()? {
        let model = lot.model.as_str();
        let condition = match (lot.quarantined, lot.expired_on(facts.today)) {
            (true, _) => "quarantined",
            (_, true) => "expired",
            _ => "good",
        };
        for (bin, pieces) in lot.pieces.iter().filter(|(bin, _)| wanted(bin.storeroom())) {
            rows.push(vec![
                bin.storeroom().into(),
                bin.as_str().into(),
                (&lot.label.human()).into(),
                model.into(),
                title(model).into(),
                (&lot.code).into(),
                (*pieces).into(),
                condition.into(),
                lot.made_on.into(),
                lot.shelf_until.into(),
                price(model).into(),
                price(model).map(|price| price * i64::from(*pieces)).into(),
            ]);
        }
    }
    Ok(Sheet { title: "Stock".to_owned(), columns, rows })
}

fn projection(reply: &ProjectionReply) -> Sheet {
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
    let row = |month: &crate::wire::spares_plan::ProjectedMonth| -> Vec<Cell> {
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

fn curve(reply: &BudgetReply) -> Sheet {
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
