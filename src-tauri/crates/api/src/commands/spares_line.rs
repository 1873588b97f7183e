//! One line of the order list.

use super::spares;
use super::spares_class::ClassFrom;
use super::spares_demand::{Known, Source, YEAR_D, day_after};
use super::spares_facts::{Facts, Held, fails};
use super::spares_history::{self, Shape};
use super::spares_level::prices;
use super::spares_notes::{self, notes};
use super::spares_reason::Deal;
use super::spares_stand_in::{Part, StandIns};
use super::spares_stock::{ModelStock, RoomStock};
use crate::wire::spares::{PlannedDemand, SpareChoice, SpareLine, SpareService};
use crate::wire::words;
use chrono::{Duration, NaiveDate};
use slotkeep_domain::model::Model;
use slotkeep_domain::register;
use slotkeep_domain::spares::{PlaceService, Service};

/// A line with what it is ranked by.
pub(super) struct Priced {
    pub line: SpareLine,
    pub yearly_cents: Option<f64>,
    /// What places stand empty for that the level would save, cents an hour.
    pub matters: f64,
}

/// Lines of one model: each storeroom with a level, then those whose pieces count for the home one.
pub(super) fn lines(
    known: &Known<'_>,
    model: &Model,
    stock: &ModelStock,
    stand_ins: &StandIns,
) -> Vec<Priced> {
    let facts = known.facts;
    let part_no = model.part_no.as_str();
    let held = facts.of(part_no);
    let months = spares_history::months(facts, held);
    let shape = spares_history::shape(facts, &months);
    let none = Part::default();
    let line = |room: &RoomStock| {
        let part = stand_ins.part(part_no, &room.storeroom).unwrap_or(&none);
        line(known, model, room, part, Deal::of(known, model, stock, room, part), shape.as_ref())
    };
    let mut lines: Vec<Priced> = stock.rooms.iter().map(line).collect();
    // What is ordered for no other model, and was never there, is no line of the list.
    lines.retain(|it| !stock.idle || it.line.order_now > 0);
    for storeroom in &stock.counted {
        if let Some(home) = lines.first() {
            lines.push(counted(held, storeroom, &stock.home, &home.line));
        }
    }
    lines
}

fn line(
    known: &Known<'_>,
    model: &Model,
    room: &RoomStock,
    part: &Part,
    deal: Deal,
    shape: Option<&Shape>,
) -> Priced {
    let facts = known.facts;
    let held = facts.of(model.part_no.as_str());
    let choice = held.choice(&room.storeroom);
    let class = room.leveled.classed.class;
    let class_from_model = match &room.leveled.classed.from {
        ClassFrom::TakenOver(gone, _) => Some(gone.to_string()),
        _ => None,
    };
    let own = held.shelf(&room.storeroom);
    let order_now = pieces(deal.order);
    let yearly = room.demand.yearly() + f64::from(room.demand.planned_until(YEAR_D));
    let price_cents = model.price_cents;
    let prices = prices(model);
    let cost_cents = (room.supplied_by.is_none())
        .then(|| prices.map(|prices| prices.at(order_now.into()) * i64::from(order_now)))
        .flatten();
    let rate = known.rates.of(model.part_no.as_str()).filter(|_| fails(model));
    let learned = rate.and_then(|rate| Some((rate.learned.as_ref().ok()?.fit, rate)));
    let foreseen = known.histories.get(model.part_no.as_str(), &room.storeroom);
    let saved = room.now.backorders - room.at_level.backorders;
    let missing = *facts.rules.missing_cost_cents_h.of(class) as f64;
    let line = SpareLine {
        model: model.part_no.to_string(),
        model_title: model.title.clone(),
        kind: words::model_kind(model.kind).to_owned(),
        storeroom: room.storeroom.clone(),
        supplied_by: room.supplied_by.clone(),
        rank: 0,
        class: words::criticality(class).to_owned(),
        class_from_slot: room.leveled.classed.slot().map(str::to_owned),
        class_from_model,
        value_class: None,
        yearly_value_cents: price_cents.map(|price| (price as f64 * yearly).round() as i64),
        variation_class: shape.and_then(|shape| shape.variation).map(str::to_owned),
        pattern: shape.map(|shape| shape.pattern.to_owned()),
        method: room.demand.source.word().to_owned(),
        forecast: foreseen.map(|foreseen| foreseen.method().to_owned()),
        policy: room.leveled.policy.to_owned(),
        target: spares::target(facts.rules.targets.of(class)),
        reorder_at: room.level.reorder_at,
        order_up_to: pieces(room.level.order_up_to),
        chosen: choice.map(chosen),
        now: service(room.position(), &room.now),
        at_level: service(room.level.order_up_to, &room.at_level),
        installed: room.demand.population.units.round() as u32,
        failure_rate_fit: learned.map(|(fit, rate)| fit * rate.mean_factor()),
        lead_time_d: room.demand.lead_time.mean_d.round() as u32,
        lead_time_assumed: room.demand.lead_time_assumed,
        lead_demand: room.leveled.lead.pmf.mean(),
        planned: room.planned,
        changes: within_a_year(facts, held, room),
        on_hand: own.usable,
        reserved: own.reserved,
        not_usable: own.not_usable,
        handed_out: own.handed_out.len() as u32,
        too_old: room.too_old,
        substitutes: pieces(part.free.iter().map(|(_, free)| free).sum()),
        stand_ins: pieces(part.counted),
        with_stand_ins: part.now.map(|now| with_stand_ins(room.position(), &now)),
        on_order: held.on_order(&room.storeroom),
        order_now,
        lacking: pieces(deal.lacking),
        ordered_as: part.bought.as_ref().map(|(model, _)| model.to_string()),
        ordered_for: part.ordered_for.iter().map(|it| it.model.to_string()).collect(),
        held_instead: pieces(part.instead),
        fetch_now: pieces(deal.fetch),
        price_cents,
        cost_cents,
        last_order_on: model.last_order_on,
        lasts_until: lasts_until(facts.today, room),
        notes: notes(known, model, room, part, &deal),
        reason: deal.reason,
    };
    Priced {
        yearly_cents: price_cents.map(|price| price as f64 * yearly),
        matters: saved.max(0.0) * missing,
        line,
    }
}

/// Whether the stock of a line meets its target now.
pub(super) fn meets(line: &SpareLine) -> bool {
    let (now, wanted) = (line.with_stand_ins.as_ref().unwrap_or(&line.now), line.target.value);
    match line.target.measure.as_str() {
        "no_stock_out" => now.no_stock_out >= wanted,
        "fill_rate" => now.fill_rate >= wanted,
        "backorders" => now.backorders <= wanted,
        _ => now.down_time_h <= wanted,
    }
}

fn counted(held: &Held, storeroom: &str, home: &str, of_home: &SpareLine) -> Priced {
    let shelf = held.shelf(storeroom);
    let none = SpareService {
        stock: 0,
        no_stock_out: 1.0,
        fill_rate: 1.0,
        backorders: 0.0,
        down_time_h: 0.0,
    };
    let line = SpareLine {
        storeroom: storeroom.to_owned(),
        supplied_by: None,
        yearly_value_cents: None,
        method: Source::Nothing.word().to_owned(),
        policy: "counted".to_owned(),
        reorder_at: -1,
        order_up_to: 0,
        now: none.clone(),
        at_level: none,
        installed: 0,
        lead_demand: 0.0,
        planned: 0,
        changes: Vec::new(),
        on_hand: shelf.usable,
        reserved: shelf.reserved,
        not_usable: shelf.not_usable,
        handed_out: shelf.handed_out.len() as u32,
        too_old: 0,
        on_order: held.on_order(storeroom),
        substitutes: 0,
        stand_ins: 0,
        with_stand_ins: None,
        order_now: 0,
        lacking: 0,
        ordered_as: None,
        ordered_for: Vec::new(),
        held_instead: 0,
        fetch_now: 0,
        cost_cents: None,
        lasts_until: None,
        reason: format!("Counted for {home}."),
        notes: spares_notes::handed_out(&shelf).into_iter().collect(),
        ..of_home.clone()
    };
    Priced { line, yearly_cents: None, matters: 0.0 }
}

fn with_stand_ins(stock: u64, service: &PlaceService) -> SpareService {
    SpareService {
        stock: pieces(stock),
        no_stock_out: service.no_stock_out,
        fill_rate: service.fill_rate,
        backorders: service.backorders,
        down_time_h: service.down_time_h,
    }
}

pub(super) fn service(stock: u64, service: &Service) -> SpareService {
    SpareService {
        stock: pieces(stock),
        no_stock_out: service.no_stock_out,
        fill_rate: service.fill_rate,
        backorders: service.backorders,
        down_time_h: service.down_time_h,
    }
}

pub(super) fn chosen(choice: &register::SpareChoice) -> SpareChoice {
    SpareChoice {
        storeroom: choice.storeroom.clone(),
        method: choice.method.clone(),
        reorder_at: choice.level.map(|level| level.reorder_at),
        order_up_to: choice.level.map(|level| level.order_up_to),
        class: choice.class.map(|class| words::criticality(class).to_owned()),
        reason: choice.reason.clone(),
        chosen_by: choice.chosen_by.clone(),
        chosen_on: choice.chosen_at.date_naive(),
    }
}

fn within_a_year(facts: &Facts, held: &Held, room: &RoomStock) -> Vec<PlannedDemand> {
    let end = facts.today + Duration::days(365);
    let near = held.changes.iter().filter(|demand| demand.on <= end);
    let at_home = !room.demand.planned.is_empty();
    near.filter(|_| at_home)
        .map(|demand| PlannedDemand { on: demand.on, pieces: demand.pieces, agreed: demand.agreed })
        .collect()
}

/// The day on which what is there is expected to be used up, planned demand in its turn; none within
/// ten years.
fn lasts_until(today: NaiveDate, room: &RoomStock) -> Option<NaiveDate> {
    let daily = room.demand.yearly() / YEAR_D;
    let standing = room.standing();
    let mut left = (standing.usable + standing.on_order) as f64;
    let mut day = 0.0;
    let end = 10.0 * YEAR_D;
    for planned in room.demand.planned.iter().filter(|it| it.day <= end) {
        let until = left / daily;
        if daily > 0.0 && day + until <= planned.day {
            return day_after(today, day + until);
        }
        left -= daily * (planned.day - day) + planned.pieces as f64;
        day = planned.day;
        if left <= 0.0 {
            return day_after(today, day);
        }
    }
    let until = day + left / daily;
    if daily > 0.0 && until <= end { day_after(today, until) } else { None }
}

pub(super) fn pieces(number: u64) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
