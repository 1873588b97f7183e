//! What a scanned plate or label may have come on.

use super::find;
use super::lines::Catalogue;
use super::stock_out::home_of;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::stock_out::{MatchInput, OrderMatch};
use chrono::{Duration, NaiveDate};
use slotkeep_domain::label::{LabelCode, LabelKind};
use slotkeep_domain::model::{Model, PartNo, Plate, propose};
use slotkeep_domain::register::View;
use slotkeep_domain::stock::{Lot, Order};
use slotkeep_domain::unit::Unit;
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "order.match",
        "Says what a scanned plate, label or part number is, and which open orders it may have \
         come on.",
        matched,
    )]
}

/// What a text names.
#[derive(Default)]
struct Read {
    model: Option<Model>,
    plate: Plate,
    unit: Option<Unit>,
    lot: Option<Lot>,
}

fn matched(ask: &Ask<'_>, input: MatchInput) -> Result<OrderMatch, Failure> {
    let today = ask.today();
    let text = input.text.trim();
    if text.is_empty() {
        return Err(Failure::bad_input(
            "there is nothing to read: scan the plate again, or type the part number",
        ));
    }
    ask.read(|r| {
        let read = read(r, text, today)?;
        let catalogue = Catalogue::new(r);
        let mut orders: Vec<Order> = match &read.model {
            Some(model) => r.orders_of(&model.part_no)?,
            None => Vec::new(),
        };
        orders.retain(|order| order.outstanding() > 0);
        orders.sort_by_key(|order| (order.due_on.unwrap_or(NaiveDate::MAX), order.placed_at));
        let home = read.model.as_ref().map(|model| home_of(r, model)).transpose()?.flatten();
        let life_y = read.model.as_ref().and_then(Model::shelf_life);
        let reckoned = read
            .plate
            .made_on
            .zip(life_y)
            .map(|(made_on, years)| made_on + Duration::days((years * 365.25).round() as i64));
        let message = message(&read, &orders, text);
        Ok(OrderMatch {
            model: read.model.as_ref().map(|model| model.part_no.to_string()),
            model_title: read.model.as_ref().map(|model| model.title.clone()),
            counted: read.model.as_ref().is_some_and(|model| model.counted),
            serial: read.plate.serial,
            lot: read.plate.lot,
            revision: read.plate.revision,
            made_on: read.plate.made_on,
            shelf_until: reckoned,
            orders: orders.iter().map(|order| catalogue.order(order, today)).collect(),
            bin: home.map(|bin| bin.to_string()),
            already: read.unit.as_ref().map(|unit| catalogue.unit(unit)),
            lot_here: read.lot.as_ref().map(|lot| catalogue.lot(lot, today)),
            message,
        })
    })
}

fn read(r: &Reader<'_>, text: &str, today: NaiveDate) -> Result<Read, Failure> {
    if let Ok(label) = LabelCode::parse_scan(text) {
        return of_label(r, &label, text);
    }
    if let Some(model) = PartNo::parse(text).ok().and_then(|part_no| r.model(&part_no)) {
        return Ok(Read { model: Some(model), ..Read::default() });
    }
    let models = r.models()?;
    let proposals = propose(&[text.to_owned()], &models, today);
    let named = proposals.iter().find(|proposal| proposal.model.is_some());
    let Some(proposal) = named.or(proposals.first()) else { return Ok(Read::default()) };
    let model = proposal.model.as_ref().and_then(|part_no| r.model(part_no));
    let plate = proposal.plate.clone();
    let unit = model.as_ref().zip(plate.serial.as_ref());
    let unit = unit.and_then(|(model, serial)| r.unit_with(&model.part_no, serial));
    let mut lot = None;
    if let (Some(model), Some(code)) = (&model, &plate.lot) {
        let coded = r.lots_with_code(code)?;
        lot = coded.into_iter().find(|lot| lot.model == model.part_no);
    }
    Ok(Read { unit: unit.and_then(|label| r.unit(&label)), lot, model, plate })
}

/// A label of ours says what it is stuck on.
fn of_label(r: &Reader<'_>, label: &LabelCode, text: &str) -> Result<Read, Failure> {
    match label.kind() {
        LabelKind::Unit => {
            let unit = find::unit(r, text)?;
            let plate = Plate { serial: Some(unit.serial.clone()), ..Plate::default() };
            Ok(Read { model: r.model(&unit.model), plate, unit: Some(unit), lot: None })
        }
        LabelKind::Lot => {
            let lot = find::lot(r, text)?;
            let made_on = lot.made_on;
            let plate = Plate { lot: Some(lot.code.clone()), made_on, ..Plate::default() };
            Ok(Read { model: r.model(&lot.model), plate, unit: None, lot: Some(lot) })
        }
        _ => Err(Failure::bad_input(format!(
            "{} is the label of a {}: scan the plate of what came",
            label.human(),
            label.kind().word()
        ))),
    }
}

fn message(read: &Read, orders: &[Order], text: &str) -> String {
    let Some(model) = &read.model else {
        let short: String = text.chars().take(60).collect();
        return format!("{short:?} names no model of the catalogue: choose the model");
    };
    if let Some(unit) = &read.unit {
        return format!(
            "this unit is in the register already, as {} in {}",
            unit.label.human(),
            unit.place
        );
    }
    let outstanding: u32 = orders.iter().map(Order::outstanding).sum();
    match orders {
        [] => format!("no open order asks for {}", model.part_no),
        [_] => format!("{outstanding} of {} are still to come on one order", model.part_no),
        more => format!(
            "{outstanding} of {} are still to come on {} orders: choose one",
            model.part_no,
            more.len()
        ),
    }
}
