//! The stock of the months to come, as it is and with something changed.

use super::spares_demand::{Known, Repair, day_after};
use super::spares_facts::Facts;
use super::spares_level::limits_of_purchase;
use super::spares_line::pieces;
use super::spares_opened::{given, sum};
use super::spares_rate::Rate;
use super::spares_stock::{ModelStock, RoomStock};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::spares::SumLine;
use crate::wire::spares_plan::{
    ProjectedCase, ProjectedMonth, ProjectionInput, ProjectionReply, WhatIf,
};
use chrono::NaiveDate;
use slotkeep_domain::model::Model;
use slotkeep_domain::spares;
use slotkeep_domain::spares::{
    Arrival, LeadTime, Projection, ProjectionQuestion, RepairTime, Runs, ShelfLot, project,
};

/// Months that are looked ahead where nobody says.
pub(super) const USUAL_MONTHS: u32 = 24;
const MOST_MONTHS: u32 = 120;

/// Days after which a unit without a fault is back on the shelf (a decision, no source).
const NO_FAULT_BACK_D: f64 = 14.0;

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "spares.projection",
        "Projects the stock of a model month by month, with the chance of a stock-out.",
        projection,
    )]
}

fn projection(ask: &Ask<'_>, input: ProjectionInput) -> Result<ProjectionReply, Failure> {
    ask.read(|r| {
        let facts = Facts::gather(ask, r)?;
        projected(&Known::of(&facts), &input)
    })
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
        check(what_if)?;
    }
    let stock = stock_of(known, model)?;
    let room = room_of(facts, &stock, input.storeroom.as_deref())?;
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
        Some(asked) => Some(case(title(asked), changed(asked, rate).map_err(Failure::bad_input)?)?),
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
pub(super) fn stock_of(known: &Known<'_>, model: &Model) -> Result<ModelStock, Failure> {
    if known.facts.serving.central().is_none() {
        return Err(Failure::refused(
            "there is no storeroom: record one, or import stores.csv, before spares are planned",
        ));
    }
    ModelStock::of(known, model)?.ok_or_else(|| {
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

fn check(what_if: &WhatIf) -> Result<(), Failure> {
    let bounds = [
        ("lead_time_factor", what_if.lead_time_factor, 0.1, 10.0),
        ("warmer_k", what_if.warmer_k, -40.0, 40.0),
        ("units_pct", what_if.units_pct, -100.0, 1000.0),
    ];
    for (name, value, least, most) in bounds {
        if let Some(value) = value.filter(|value| !(least..=most).contains(value)) {
            return Err(Failure::bad_input(format!(
                "{name} is {value}: write a number from {least} to {most}"
            )));
        }
    }
    Ok(())
}

/// The question of the other case, in factors.
fn changed(asked: &WhatIf, rate: Option<&Rate>) -> Result<spares::WhatIf, String> {
    let warmer = match (asked.warmer_k, rate) {
        (Some(by_k), Some(rate)) if by_k != 0.0 => warmer(rate, by_k)?,
        _ => 1.0,
    };
    Ok(spares::WhatIf {
        lead_time_factor: asked.lead_time_factor.unwrap_or(1.0),
        supplier_lost: asked.supplier_lost.unwrap_or(false),
        failures_factor: warmer,
        units_factor: 1.0 + asked.units_pct.unwrap_or(0.0) / 100.0,
    })
}

/// How many times as often units fail in cabinets that are so many K warmer.
fn warmer(rate: &Rate, by_k: f64) -> Result<f64, String> {
    let Some(heat) = rate.heat else { return Ok(1.0) };
    let (mut before, mut after) = (0.0, 0.0);
    for place in rate.places.values() {
        let weight = f64::from(place.units) * place.factor;
        let times = heat.warmer(place.temperature_c, by_k).map_err(|no| no.to_string())?;
        before += weight;
        after += weight * times;
    }
    Ok(if before > 0.0 { after / before } else { 1.0 })
}

fn title(what_if: &WhatIf) -> String {
    let mut changes = Vec::new();
    if let Some(factor) = what_if.lead_time_factor.filter(|factor| *factor != 1.0) {
        changes.push(format!("lead time times {factor}"));
    }
    if what_if.supplier_lost == Some(true) {
        changes.push("nothing can be ordered any more".to_owned());
    }
    if let Some(by_k) = what_if.warmer_k.filter(|by_k| *by_k != 0.0) {
        let (by_k, word) = (by_k.abs(), if by_k > 0.0 { "warmer" } else { "colder" });
        changes.push(format!("cabinets {by_k} K {word}"));
    }
    if let Some(pct) = what_if.units_pct.filter(|pct| *pct != 0.0) {
        let (pct, word) = (pct.abs(), if pct > 0.0 { "more" } else { "fewer" });
        changes.push(format!("{pct} % {word} units"));
    }
    if changes.is_empty() { "nothing changed".to_owned() } else { changes.join(", ") }
}

/// What a projection starts from, owned.
struct Start {
    shelf: Vec<ShelfLot>,
    on_order: Vec<Arrival>,
    harvest: Vec<Arrival>,
    lead_time: LeadTime,
    limits: spares::BuyingLimits,
    shelf_life_d: Option<f64>,
    repair: Option<Repair>,
}

impl Start {
    fn of(known: &Known<'_>, model: &Model, room: &RoomStock) -> Self {
        let facts = known.facts;
        let held = facts.of(model.part_no.as_str());
        let mut reserved = room.shelf.reserved;
        let mut shelf = Vec::new();
        // What is reserved goes for its purpose, first expired first.
        for (until, lot) in &room.shelf.lots {
            let kept = reserved.min(*lot);
            reserved -= kept;
            let expires_d = until.map(|until| (until - facts.today).num_days() as f64 + 1.0);
            shelf.push(ShelfLot { pieces: (lot - kept).into(), expires_d });
        }
        let here = held.orders.iter().filter(|order| {
            order.storeroom == room.storeroom
                || (room.supplied_by.is_none()
                    && facts
                        .serving
                        .get(&order.storeroom)
                        .is_some_and(|other| facts.serving.is_free(other)))
        });
        let lead_d = room.demand.lead_time.mean_d;
        let mut on_order: Vec<Arrival> = here
            .map(|order| Arrival {
                day: order.due_on.map_or(lead_d, |due| (due - facts.today).num_days() as f64),
                pieces: order.outstanding().into(),
            })
            .collect();
        if let Some(repair) = room.demand.repair.filter(|_| room.repaired > 0) {
            // Nobody knows how far a repair is: half of its time is taken to be left.
            let day = repair.turn_round_d / 2.0;
            on_order.push(Arrival { day, pieces: room.repaired.into() });
        }
        let harvested = room.demand.harvested.iter();
        Self {
            shelf,
            on_order,
            harvest: harvested.map(|(day, n)| Arrival { day: *day, pieces: (*n).into() }).collect(),
            lead_time: lead_time(facts, room),
            limits: limits_of_purchase(model, room.supplied_by.is_some()),
            shelf_life_d: model.shelf_life().map(|years| years * super::spares_demand::YEAR_D),
            repair: room.demand.repair,
        }
    }

    fn question<'a>(&'a self, room: &'a RoomStock, months: u32) -> ProjectionQuestion<'a> {
        let demand = &room.demand;
        ProjectionQuestion {
            months,
            shelf: &self.shelf,
            owed: 0,
            on_order: &self.on_order,
            harvest: &self.harvest,
            rule: Some(room.level.rule()),
            limits: &self.limits,
            lead_time: self.lead_time,
            review_d: demand.review_d,
            shelf_life_d: self.shelf_life_d,
            repair: self.repair.map(|repair| RepairTime {
                turn_round_d: repair.turn_round_d,
                yield_share: repair.yield_share,
            }),
            no_fault_back_d: Some(NO_FAULT_BACK_D),
            failing: demand.failing(),
            no_fault_found: demand.no_fault_found,
            population: &demand.population,
            planned: &demand.planned,
            month: demand.month.as_ref(),
        }
    }
}

/// A storeroom that another one fills waits for that one only.
fn lead_time(facts: &Facts, room: &RoomStock) -> LeadTime {
    if room.supplied_by.is_none() {
        return room.demand.lead_time;
    }
    let storeroom = facts.serving.get(&room.storeroom);
    let days = storeroom.and_then(|storeroom| storeroom.resupply_d);
    let days = days.unwrap_or(super::spares_echelon::UNKNOWN_RESUPPLY_D);
    LeadTime { mean_d: days.into(), deviation_d: 0.0 }
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
        None => format!("{title}: a stock-out comes with a chance of {:.0} %", 100.0 * ever),
        Some(until) => format!("{title}: more likely than not out of stock by {until}"),
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
