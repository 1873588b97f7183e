//! What to order of a model or to fetch, and the sentence that says why.

use super::spares_demand::Known;
use super::spares_facts::{Facts, Held};
use super::spares_stand_in::{self, Part};
use super::spares_stock::{ModelStock, RoomStock};
use crate::wire::words;
use slotkeep_domain::model::{Lifecycle, Model};
use slotkeep_domain::place::Criticality;
use slotkeep_domain::spares::{Advice, BuyingLimits, Measure, OrderRule, Standing, Target, advise};
use slotkeep_domain::{counted, listed};

/// What is to be done about one model in one storeroom.
pub(super) struct Deal {
    /// To order from outside.
    pub order: u64,
    /// To fetch from the storeroom that fills this one.
    pub fetch: u64,
    /// Lacking, but no longer sold.
    pub lacking: u64,
    pub reason: String,
}

impl Deal {
    pub fn of(
        known: &Known<'_>,
        model: &Model,
        stock: &ModelStock,
        room: &RoomStock,
        part: &Part,
    ) -> Self {
        let mut deal = match &room.supplied_by {
            Some(central) => fetched(stock, room, central),
            None => ordered(known, model, stock, room, part),
        };
        deal.reason = reason(known.facts.of(model.part_no.as_str()), room, &deal.reason);
        deal
    }
}

fn fetched(stock: &ModelStock, room: &RoomStock, central: &str) -> Deal {
    let usable = room.standing().usable;
    let hold = room.level.order_up_to;
    let wanted = hold.saturating_sub(usable);
    let there = stock.room(central).map_or(0, |room| room.standing().usable);
    let fetch = wanted.min(there);
    let then = match (wanted, fetch) {
        (0, _) => "nothing to fetch".to_owned(),
        (_, 0) => format!("{wanted} lacking, and {central} has none"),
        _ => format!("fetch {fetch} from {central}"),
    };
    let reason = format!("keep {hold} here; {usable} usable: {then}.");
    Deal { order: 0, fetch, lacking: 0, reason }
}

fn ordered(
    known: &Known<'_>,
    model: &Model,
    stock: &ModelStock,
    room: &RoomStock,
    part: &Part,
) -> Deal {
    let (standing, level) = stock.ordering(room);
    let standing = Standing { stand_ins: part.counted, instead: part.instead, ..standing };
    if !model.can_be_ordered_on(known.facts.today) {
        let rule = OrderRule::UpTo {
            point: level.reorder_at,
            up_to: u64::try_from(level.reorder_at + 1).unwrap_or(0),
        };
        let advice = advise(standing, rule, &BuyingLimits::none());
        let told = together(stock, room, &advice.held);
        let (lacking, reason) = match advice.order_now {
            0 => (0, together(stock, room, &advice.reason)),
            lacking => (lacking, no_longer_sold(known.facts, model, part, lacking, &told)),
        };
        return Deal { order: 0, fetch: 0, lacking, reason: besides(&reason, &said_of(part)) };
    }
    let advice = advise(standing, level.rule(), &room.leveled.limits);
    let mut more = said_of(part);
    more.extend(why_lots(known, model, room, &advice));
    let reason = besides(&together(stock, room, &advice.reason), &more);
    Deal { order: advice.order_now, fetch: 0, lacking: 0, reason }
}

/// Names the storerooms that an order from outside is for besides the one that places it.
fn together(stock: &ModelStock, room: &RoomStock, told: &str) -> String {
    let filled: Vec<String> = stock.filled_by(room).map(|room| room.storeroom.clone()).collect();
    let mut letters = told.chars();
    let first = letters.next().map(|first| first.to_lowercase().to_string()).unwrap_or_default();
    let told = format!("{first}{}", letters.as_str());
    if filled.is_empty() { told } else { format!("together with {}, {told}", listed(&filled)) }
}

/// Which stand-ins are counted, and for which other models pieces are ordered.
fn said_of(part: &Part) -> Vec<String> {
    let mut said = Vec::new();
    if part.counted > 0 {
        let free = part.free.iter().map(|(model, free)| format!("{model} has {free}"));
        let free = listed(&free.collect::<Vec<_>>());
        said.push(format!("{free} more than its own places need"));
    }
    if !part.ordered_for.is_empty() {
        let models = part.ordered_for.iter().map(|it| {
            format!("{} in place of {} ({})", it.pieces, it.model, words::criticality(it.class))
        });
        let models = listed(&models.collect::<Vec<_>>());
        said.push(format!("{models}, no longer sold"));
    }
    said
}

/// The same sentence with more of it.
fn besides(sentence: &str, more: &[String]) -> String {
    let parts = std::iter::once(sentence.trim_end_matches('.')).chain(more.iter().map(|it| &**it));
    format!("{}.", parts.collect::<Vec<_>>().join("; "))
}

fn why_lots(known: &Known<'_>, model: &Model, room: &RoomStock, advice: &Advice) -> Option<String> {
    let choice = known.facts.of(model.part_no.as_str()).choice(&room.storeroom);
    let chosen = choice.is_some_and(|choice| choice.level.is_some());
    let lots = i128::from(room.level.order_up_to) - i128::from(room.level.reorder_at) > 1;
    if advice.order_now == 0 || chosen || !lots {
        return None;
    }
    room.leveled.why_lot()
}

/// Why its maker sells no more of a model; none while it is sold.
pub(super) fn gone(facts: &Facts, model: &Model) -> Option<String> {
    if model.can_be_ordered_on(facts.today) {
        return None;
    }
    Some(match (model.lifecycle, model.last_order_on) {
        (Lifecycle::Recalled, _) => "its maker has recalled it".to_owned(),
        (_, Some(last)) => format!("its maker took the last orders on {last}"),
        (_, None) => "it is no longer made".to_owned(),
    })
}

/// What to do where pieces lack of a model that is no longer sold.
fn no_longer_sold(facts: &Facts, model: &Model, part: &Part, lacking: u64, told: &str) -> String {
    let gone = gone(facts, model).unwrap_or_default();
    if let Some((stand_in, pieces)) = &part.bought {
        return format!(
            "{told}: {lacking} lacking, {gone}, so order {pieces} of {stand_in} instead"
        );
    }
    let not = spares_stand_in::named(&facts.models, model).map(|(named, allowed)| match allowed {
        Err(no) => format!("{} may not stand in, since {no}", named.part_no),
        Ok(()) => format!("{} is no longer sold either", named.part_no),
    });
    let not: Vec<String> = not.collect();
    let none = "the catalogue names no model that may stand in".to_owned();
    let not = if not.is_empty() { none } else { listed(&not) };
    format!(
        "{told}: {lacking} lacking, but nothing can be ordered: {gone}, and {not}; name a substitute \
         in the catalogue, or have failed units repaired and keep those that are taken out"
    )
}

/// One sentence: class and place, target and lead time, what is there, what to do.
fn reason(held: &Held, room: &RoomStock, deal: &str) -> String {
    let class = match room.leveled.classed.class {
        Criticality::Vital => "Vital",
        Criticality::Essential => "Essential",
        Criticality::Desirable => "Desirable",
    };
    let chosen = held.choice(&room.storeroom);
    let by = room.leveled.classed.said();
    let level = match chosen.and_then(|choice| choice.level) {
        Some(_) => "level by choice".to_owned(),
        None => format!("{} wanted", wanted(room.leveled.target)),
    };
    let days = counted(room.demand.cover_d().round() as u64, "day");
    let mean = room.leveled.lead.pmf.mean();
    format!("{class}{by}, {level}, {mean:.2} pieces expected in {days}: {deal}")
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
