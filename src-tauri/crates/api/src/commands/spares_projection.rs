//! The stock of the months to come, as it is and with something changed.

use super::spares_days::day_after;
use super::spares_demand::Known;
use super::spares_facts::Facts;
use super::spares_known::Gathered;
use super::spares_line::pieces;
use super::spares_start::Start;
use super::spares_stock::{ModelStock, RoomStock};
use super::spares_sums::{given, sum};
use super::spares_what_if;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::spares::SumLine;
use crate::wire::spares_projection::{
    ProjectedCase, ProjectedMonth, ProjectionInput, ProjectionReply,
};
use chrono::NaiveDate;
use slotkeep_domain::model::Model;
use slotkeep_domain::spares;
use slotkeep_domain::spares::{Projection, Runs, project};

/// Months that are looked ahead where nobody says.
pub(super) const USUAL_MONTHS: u32 = 24;
const MOST_MONTHS: u32 = 120;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "spares.projection",
        "Projects the stock of a model month by month, with the chance of a stock-out.",
        projection,
    )]
}

fn projection(ask: &Ask<'_>, input: ProjectionInput) -> Result<ProjectionReply, Failure> {
    ask.read(|r| projected(&Gathered::of(ask, r)?.known(), &input))
}

pub(super) fn projected(
    known: &Known<'_>,
    input: &ProjectionInput,
) -> Result<ProjectionReply, Failure> {
    let facts = known.facts;
    let model = facts.model(&input.model)?;
    let months = input.months.unwrap_or(USUAL_MONTHS);
    if !(1..=MOST_MONTHS).contains(&months) {
        return Err(Failure::bad_input(format!(
            "{months} months are asked for: write 1 to {MOST_MONTHS}"
        )));
    }
    if let Some(what_if) = &input.what_if {
        spares_what_if::check(what_if)?;
    }
    let stock = stock_of(known, model)?;
    let room = room_of(facts, stock, input.storeroom.as_deref())?;
    let rate = known.rates.of(model.part_no.as_str());
    let start = Start::of(known, model, room);
    let case = |title: String, what_if: spares::WhatIf| {
        let question = start.question(room, months);
        let ahead = project(&question, &what_if, Runs::default())
            .map_err(|no| Failure::refused(format!("{}: {no}", model.part_no)))?;
        Ok::<_, Failure>(shown(facts.today, title, &ahead, &start, room))
    };
    let present = case("as it is".to_owned(), spares::WhatIf::default())?;
    let what_if = match &input.what_if {
        None => None,
        Some(asked) => {
            let changed = spares_what_if::changed(asked, rate).map_err(Failure::bad_input)?;
            Some(case(spares_what_if::title(asked), changed)?)
        }
    };
    let message = message(model, room, &present, what_if.as_ref());
    Ok(ProjectionReply {
        model: model.part_no.to_string(),
        model_title: model.title.clone(),
        storeroom: room.storeroom.clone(),
        today: facts.today,
        reorder_at: room.level.reorder_at,
        order_up_to: pieces(room.level.order_up_to),
        present,
        what_if,
        message,
    })
}

/// The model in its storerooms; refused where it has nothing to do with any.
pub(super) fn stock_of<'g>(known: &Known<'g>, model: &Model) -> Result<&'g ModelStock, Failure> {
    if known.facts.serving.central().is_none() {
        return Err(Failure::refused(
            "there is no storeroom: record one, or import stores.csv, before spares are planned",
        ));
    }
    known.stock(model)?.ok_or_else(|| {
        Failure::refused(format!(
            "{} is not installed, not in stock, not ordered and not planned: there is nothing to \
             reckon",
            model.part_no
        ))
    })
}

/// The storeroom that was asked for; the one that serves most of the model where none was.
pub(super) fn room_of<'s>(
    facts: &Facts,
    stock: &'s ModelStock,
    named: Option<&str>,
) -> Result<&'s RoomStock, Failure> {
    let Some(named) = named else {
        let most = stock.rooms.iter().reduce(|best, next| {
            if next.demand.yearly() > best.demand.yearly() { next } else { best }
        });
        return most.ok_or_else(|| Failure::refused("no storeroom holds or serves it"));
    };
    let code = facts.storeroom(named)?;
    stock.room(code).ok_or_else(|| {
        let home = &stock.home;
        Failure::refused(format!(
            "storeroom {code} serves no unit of the model; what lies there counts for {home}: ask \
             for {home}"
        ))
    })
}

fn shown(
    today: NaiveDate,
    title: String,
    ahead: &Projection,
    start: &Start,
    room: &RoomStock,
) -> ProjectedCase {
    let mut from_d = 0.0;
    let mut months = Vec::with_capacity(ahead.months.len());
    for month in &ahead.months {
        let within = |day: f64| day > from_d && day <= month.ends_d || from_d == 0.0 && day <= 0.0;
        let arrives = start.on_order.iter().filter(|it| within(it.day)).map(|it| it.pieces);
        let planned = room.demand.planned.iter().filter(|it| within(it.day)).map(|it| it.pieces);
        months.push(ProjectedMonth {
            until: day_after(today, month.ends_d).unwrap_or(NaiveDate::MAX),
            mean: month.stock.mean,
            p05: month.stock.p05 as f64,
            p25: month.stock.p25 as f64,
            p50: month.stock.p50 as f64,
            p75: month.stock.p75 as f64,
            p95: month.stock.p95 as f64,
            stock_out: month.stock_out,
            stock_out_by: month.stock_out_by,
            demand: month.asked_for,
            planned: pieces(planned.sum()),
            arrives: pieces(arrives.sum()),
            arrived: month.arrived,
            ordered: month.ordered,
            expires: month.expired,
        });
        from_d = month.ends_d;
    }
    let ever = ahead.months.last().map_or(0.0, |month| month.stock_out_by);
    let likely = ahead.months.iter().position(|month| month.stock_out_by >= 0.5);
    let likely_out = likely.map(|at| months[at].until);
    let message = match likely_out {
        _ if ever < 0.005 => format!("{title}: a stock-out is unlikely in all these months"),
        None => {
            format!(
                "{title}: out of stock at least once in these months with a chance of {:.0} %",
                100.0 * ever
            )
        }
        Some(until) => {
            format!("{title}: as likely as not, out of stock at least once by {until}")
        }
    };
    ProjectedCase {
        title,
        sum: opened(ahead, start, room),
        stock_out_ever: ever,
        error: ahead.largest_error,
        likely_out,
        months,
        message,
    }
}

fn opened(ahead: &Projection, start: &Start, room: &RoomStock) -> Vec<SumLine> {
    let total: u64 = start.shelf.iter().map(|lot| lot.pieces).sum();
    let coming: u64 = start.on_order.iter().map(|it| it.pieces).sum();
    let ever = ahead.months.last().map_or(0.0, |month| month.stock_out_by);
    vec![sum(
        "Chance of a stock-out in these months",
        100.0 * ever,
        "%",
        "the share of the draws in which something was owed at some moment",
        vec![
            given("Draws", ahead.runs, ""),
            given("Standard error at most", 100.0 * ahead.largest_error, "points"),
            given("On the shelf, not reserved", total as f64, "pieces"),
            given("Coming on known days", coming as f64, "pieces"),
            given("Order when it comes down to", room.level.reorder_at as f64, "pieces"),
            given("Order up to", room.level.order_up_to as f64, "pieces"),
            given("Lead time", start.lead_time.mean_d, "days"),
            super::spares_opened::yearly(&room.demand),
        ],
    )]
}

fn message(
    model: &Model,
    room: &RoomStock,
    present: &ProjectedCase,
    what_if: Option<&ProjectedCase>,
) -> String {
    let supplied = room
        .supplied_by
        .as_ref()
        .map(|central| format!(" {central} is taken to have what this storeroom asks for."));
    let beside = what_if.map(|case| format!("; {}", case.message)).unwrap_or_default();
    format!(
        "{} in {}: {}{beside}.{}",
        model.part_no,
        room.storeroom,
        present.message,
        supplied.unwrap_or_default()
    )
}
