//! One line of the order list, with its reason.

use super::spares;
use super::spares_demand::{Known, Source, UNKNOWN_LEAD_TIME_D, YEAR_D, day_after};
use super::spares_echelon::Network;
use super::spares_facts::{Facts, Held, fails};
use super::spares_history::{self, Shape};
use super::spares_level::prices;
use super::spares_stock::{ModelStock, RoomStock};
use crate::wire::spares::{PlannedDemand, SpareChoice, SpareLine, SpareService};
use crate::wire::words;
use chrono::{Duration, NaiveDate};
use slotkeep_domain::model::{Lifecycle, Model};
use slotkeep_domain::place::Criticality;
use slotkeep_domain::register;
use slotkeep_domain::spares::{Measure, Service, Standing, Target, advise};
use std::collections::HashMap;

/// A line with what it is ranked by.
pub(super) struct Priced {
    pub line: SpareLine,
    pub yearly_cents: Option<f64>,
    /// What places stand empty for that the level would save, cents an hour.
    pub matters: f64,
    /// Usable pieces above the level.
    pub left_over: u32,
}

/// Lines of one model: each storeroom with a level, then those whose pieces count for the home one.
pub(super) fn lines(known: &Known<'_>, model: &Model, stock: &ModelStock) -> Vec<Priced> {
    let facts = known.facts;
    let held = facts.of(model.part_no.as_str());
    let months = spares_history::months(facts, held);
    let shape = spares_history::shape(facts, &months);
    let mut lines: Vec<Priced> =
        stock.rooms.iter().map(|room| line(known, model, stock, room, shape.as_ref())).collect();
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
    stock: &ModelStock,
    room: &RoomStock,
    shape: Option<&Shape>,
) -> Priced {
    let facts = known.facts;
    let held = facts.of(model.part_no.as_str());
    let choice = held.choice(&room.storeroom);
    let class = room.leveled.class;
    let class_from_slot = held
        .critical
        .as_ref()
        .filter(|_| choice.is_none_or(|choice| choice.class.is_none()))
        .map(|(_, slot)| slot.clone());
    let deal = deal(stock, room);
    let own = held.shelf(&room.storeroom);
    let order_now = if room.supplied_by.is_none() { pieces(deal.pieces) } else { 0 };
    let fetch_now = if room.supplied_by.is_some() { pieces(deal.pieces) } else { 0 };
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
        class_from_slot,
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
        too_old: room.too_old,
        substitutes: 0,
        on_order: held.on_order(&room.storeroom),
        order_now,
        fetch_now,
        price_cents,
        cost_cents,
        last_order_on: model.last_order_on,
        lasts_until: lasts_until(facts.today, room),
        reason: reason(held, room, &deal.reason),
        notes: notes(known, model, room, (order_now, room.shelf.usable - own.usable)),
    };
    Priced {
        yearly_cents: price_cents.map(|price| price as f64 * yearly),
        matters: saved.max(0.0) * missing,
        left_over: pieces(room.position().saturating_sub(room.level.order_up_to)),
        line,
    }
}

struct Deal {
    pieces: u64,
    reason: String,
}

/// What to order from outside, or to fetch from the storeroom that fills this one.
fn deal(stock: &ModelStock, room: &RoomStock) -> Deal {
    if let Some(central) = &room.supplied_by {
        let usable = room.standing().usable;
        let fetch = room.level.order_up_to.saturating_sub(usable);
        let there = stock.room(central).map_or(0, |room| room.standing().usable);
        let able = fetch.min(there);
        let reason = match (fetch, able) {
            (0, _) => {
                format!("keep {} here; {usable} usable: nothing to fetch.", room.level.order_up_to)
            }
            (_, 0) => format!(
                "keep {} here; {usable} usable: {fetch} are lacking, and {central} has none.",
                room.level.order_up_to
            ),
            _ => format!(
                "keep {} here; {usable} usable: fetch {able} from {central}.",
                room.level.order_up_to
            ),
        };
        return Deal { pieces: able, reason };
    }
    let mut standing = room.standing();
    let mut level = room.level;
    if let Some(network) = &stock.network {
        // What lies in the filled storerooms counts, and so does what they are to hold: an order
        // from outside is for all of them.
        for at in &network.filled {
            let filled = &stock.rooms[*at];
            standing = Standing { usable: standing.usable + filled.standing().usable, ..standing };
            let hold = filled.level.order_up_to;
            level.order_up_to += hold;
            level.reorder_at += hold as i64;
        }
    }
    let advice = advise(standing, level.rule(), &room.leveled.limits);
    let told = lowered(&advice.reason);
    let reason = match &stock.network {
        Some(network) => format!("{}, {told}", together(stock, network)),
        None => told,
    };
    Deal { pieces: advice.order_now, reason }
}

/// Names the storerooms that an order from outside is for besides the one that places it.
fn together(stock: &ModelStock, network: &Network) -> String {
    let filled = network.filled.iter().map(|at| stock.rooms[*at].storeroom.as_str());
    format!("together with {}", filled.collect::<Vec<_>>().join(" and "))
}

fn lowered(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// One sentence: class and place, target and lead time, what is there, what to do.
fn reason(held: &Held, room: &RoomStock, deal: &str) -> String {
    let class = match room.leveled.class {
        Criticality::Vital => "Vital",
        Criticality::Essential => "Essential",
        Criticality::Desirable => "Desirable",
    };
    let chosen = held.choice(&room.storeroom);
    let by = match (&held.critical, chosen.and_then(|choice| choice.class)) {
        (_, Some(_)) => " by choice".to_owned(),
        (Some((_, slot)), None) => format!(" in {slot}"),
        (None, None) => String::new(),
    };
    let level = match chosen.and_then(|choice| choice.level) {
        Some(_) => "level by choice".to_owned(),
        None => format!("{} wanted", wanted(room.leveled.target)),
    };
    let days = room.demand.cover_d().round();
    let mean = room.leveled.lead.pmf.mean();
    format!("{class}{by}, {level}, {mean:.2} pieces expected in {days} days: {deal}")
}

fn wanted(target: Target) -> String {
    match target.measure() {
        Measure::NoStockOut => format!("{} % without a stock-out", percent(target.value())),
        Measure::FillRate => format!("{} % served at once", percent(target.value())),
        Measure::Backorders => format!("at most {} owed on average", target.value()),
        Measure::DownTimeH => format!("at most {} h a year of empty places", target.value()),
    }
}

fn percent(share: f64) -> f64 {
    (share * 1e6).round() / 1e4
}

fn notes(
    known: &Known<'_>,
    model: &Model,
    room: &RoomStock,
    (order_now, elsewhere): (u32, u32),
) -> Vec<String> {
    let facts = known.facts;
    let mut notes = Vec::new();
    if elsewhere > 0 {
        notes.push(format!("{elsewhere} of the usable lie in another storeroom."));
    }
    if room.too_old > 0 {
        notes.push(format!("{} are past their shelf date before they are wanted.", room.too_old));
    }
    if room.shelf.reserved > 0 {
        notes.push(format!("{} of the usable are reserved.", room.shelf.reserved));
    }
    if room.harvested > 0 {
        notes.push(format!("{} will be set free by planned removals in time.", room.harvested));
    }
    if room.repaired > 0 {
        notes.push(format!("{} are expected back from repair.", room.repaired));
    }
    if room.demand.repair.is_some_and(|repair| repair.yield_assumed) {
        notes.push("The catalogue gives no repair yield; 90 % are taken to come back.".to_owned());
    }
    if room.demand.lead_time_assumed {
        notes.push(format!(
            "The catalogue gives no lead time; {UNKNOWN_LEAD_TIME_D} days are assumed."
        ));
    }
    if order_now > 0 && model.price_cents.is_none() {
        notes.push("The catalogue gives no price, so no cost is reckoned.".to_owned());
    }
    let rate = known.rates.of(model.part_no.as_str());
    if fails(model) && room.demand.source != Source::History {
        match rate.map(|rate| &rate.learned) {
            Some(Err(_)) if model.counted => notes.push(
                "No failure rate is stated and nothing was handed out yet, so no demand is \
                 reckoned."
                    .to_owned(),
            ),
            Some(Err(why)) => notes.push(format!("No failures are counted: {why}.")),
            _ => {}
        }
    }
    if let Some(last) = model.last_order_on {
        if last < facts.today {
            notes.push(format!("Its maker took the last orders on {last}: look for a substitute."));
        } else {
            notes.push(format!("Its maker takes orders until {last}."));
        }
    } else if order_now > 0 && model.lifecycle != Lifecycle::Active {
        notes.push("It is no longer made: look for a substitute.".to_owned());
    }
    notes
}

/// Says where left-over pieces of a substitute may stand in.
pub(super) fn help_by_substitutes(known: &Known<'_>, priced: &mut [Priced]) {
    let left_over: HashMap<(String, String), u32> = priced
        .iter()
        .map(|it| {
            let place = (it.line.model.clone(), it.line.storeroom.clone());
            (place, it.left_over.min(it.line.on_hand))
        })
        .collect();
    for Priced { line, .. } in priced {
        let Some(model) = known.facts.models.get(&line.model) else { continue };
        for substitute in &model.substitutes {
            let place = (substitute.to_string(), line.storeroom.clone());
            let Some(left) = left_over.get(&place).filter(|left| **left > 0) else { continue };
            line.substitutes += left;
            line.notes.push(format!("{left} of {substitute} are left over and may stand in."));
        }
    }
}

/// Whether the stock of a line meets its target now.
pub(super) fn meets(_facts: &Facts, line: &SpareLine) -> bool {
    let (now, wanted) = (&line.now, line.target.value);
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
        too_old: 0,
        on_order: held.on_order(storeroom),
        order_now: 0,
        fetch_now: 0,
        cost_cents: None,
        lasts_until: None,
        reason: format!("Counted for {home}."),
        notes: Vec::new(),
        ..of_home.clone()
    };
    Priced { line, yearly_cents: None, matters: 0.0, left_over: 0 }
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
