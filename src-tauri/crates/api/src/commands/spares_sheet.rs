//! Levels, orders, stock, projection and money curve as files for spreadsheet programs.

use super::spares_demand::Known;
use super::spares_known::Gathered;
use super::spares_sheet_ahead::{curve, projection};
use super::spares_sheet_lines::{levels, orders};
use super::spares_sheet_stock::stock;
use super::{spares_money, spares_projection};
use crate::ask::Ask;
use crate::sheet::{self, Column, Form};
use crate::table::{self, Command, File};
use crate::wire::spares::SpareLine;
use crate::wire::spares_choice::SpareSheetInput;
use crate::wire::spares_money::BudgetInput;
use crate::wire::spares_projection::ProjectionInput;
use crate::{Failure, FailureKind};

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
        let gathered = Gathered::of(ask, r)?;
        let known = gathered.known();
        let facts = known.facts;
        if let Some(storeroom) = &input.storeroom {
            facts.storeroom(storeroom)?;
        }
        match input.what.as_str() {
            "levels" => Ok(levels(&lines(&known, &input)?)),
            "orders" => Ok(orders(&lines(&known, &input)?)),
            "stock" => stock(r, facts, input.storeroom.as_deref()),
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
    if let Some(model) = &input.model {
        known.facts.model(model)?;
    }
    let named = |wanted: &Option<String>, it: &str| {
        wanted.as_ref().is_none_or(|wanted| wanted.trim() == it)
    };
    Ok(known
        .list()?
        .lines(|line| named(&input.model, &line.model) && named(&input.storeroom, &line.storeroom)))
}

pub(super) const fn column(header: &'static str, width: f64, form: Form) -> Column {
    Column { header, width, form }
}
