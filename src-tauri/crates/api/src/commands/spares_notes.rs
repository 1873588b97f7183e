//! What limits an order and what is not known, a sentence each.

use super::spares_demand::{Known, Source, UNKNOWN_LEAD_TIME_D};
use super::spares_facts::{Shelf, fails};
use super::spares_reason::{Deal, gone};
use super::spares_stand_in::{self, Part};
use super::spares_stock::RoomStock;
use slotkeep_domain::counted_as;
use slotkeep_domain::model::Model;

pub(super) fn notes(
    known: &Known<'_>,
    model: &Model,
    room: &RoomStock,
    part: &Part,
    deal: &Deal,
) -> Vec<String> {
    let mut notes = of_stock(known, model, room);
    if deal.order > 0 && model.price_cents.is_none() {
        notes.push("The catalogue gives no price, so no cost is reckoned.".to_owned());
    }
    notes.extend(of_rate(known, model, room));
    notes.extend(of_stand_ins(known, model, part, deal));
    match (gone(known.facts, model), model.last_order_on) {
        (None, Some(last)) => notes.push(format!("Its maker takes orders until {last}.")),
        (Some(gone), _) if deal.lacking == 0 => notes.push(of_gone(known, model, &gone)),
        _ => {}
    }
    notes
}

fn of_stock(known: &Known<'_>, model: &Model, room: &RoomStock) -> Vec<String> {
    let own = known.facts.of(model.part_no.as_str()).shelf(&room.storeroom);
    let elsewhere = room.shelf.usable - own.usable;
    let said = |pieces: u32, one: &str, more: &str| {
        (pieces > 0).then(|| format!("{}.", counted_as(pieces, one, more)))
    };
    let mut notes: Vec<String> = [
        handed_out(&own),
        said(
            elsewhere,
            "of the usable lies in another storeroom",
            "of the usable lie in another storeroom",
        ),
        said(
            room.too_old,
            "is past its shelf date before it is wanted",
            "are past their shelf date before they are wanted",
        ),
        said(room.shelf.reserved, "of the usable is reserved", "of the usable are reserved"),
        said(
            room.harvested,
            "will be set free by planned removals in time",
            "will be set free by planned removals in time",
        ),
        said(room.repaired, "is expected back from repair", "are expected back from repair"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if room.demand.repair.is_some_and(|repair| repair.yield_assumed) {
        notes.push("The catalogue gives no repair yield; 90 % are taken to come back.".to_owned());
    }
    if room.demand.lead_time_assumed {
        notes.push(format!(
            "The catalogue gives no lead time; {UNKNOWN_LEAD_TIME_D} days are assumed."
        ));
    }
    notes
}

/// Units that may come back unused.
pub(super) fn handed_out(shelf: &Shelf) -> Option<String> {
    let to: Vec<String> =
        shelf.handed_out.iter().map(|it| format!("to {} since {}", it.to, it.since)).collect();
    match to.as_slice() {
        [] => None,
        [one] => Some(format!(
            "1 is handed out {one}: it counts as taken until it is put in or brought back."
        )),
        [first, .., last] => Some(format!(
            "{} are handed out, the first {first}, the last {last}: they count as taken until they \
             are put in or brought back.",
            to.len()
        )),
    }
}

fn of_rate(known: &Known<'_>, model: &Model, room: &RoomStock) -> Option<String> {
    if !fails(model) || room.demand.source == Source::History {
        return None;
    }
    match known.rates.of(model.part_no.as_str()).map(|rate| &rate.learned) {
        Some(Err(_)) if model.counted => Some(
            "No failure rate is stated and nothing was handed out yet, so no demand is reckoned."
                .to_owned(),
        ),
        Some(Err(why)) => Some(format!("No failures are counted: {why}.")),
        _ => None,
    }
}

/// Stand-ins that are not in the reason: free ones that nothing asks for, and those that may not
/// stand in though the catalogue names them.
fn of_stand_ins(known: &Known<'_>, model: &Model, part: &Part, deal: &Deal) -> Vec<String> {
    let mut notes = Vec::new();
    if part.too_many {
        notes.push(
            "Too many models share its stand-ins to reckon them together, so none are counted."
                .to_owned(),
        );
    } else if part.counted == 0 {
        for (stand_in, free) in &part.free {
            notes.push(format!(
                "{} free and may stand in.",
                counted_as(*free, &format!("of {stand_in} is"), &format!("of {stand_in} are"))
            ));
        }
    }
    if deal.order > 0 {
        let named = spares_stand_in::named(&known.facts.models, model);
        let barred = named.filter_map(|(it, allowed)| Some((&it.part_no, allowed.err()?)));
        let barred = barred.filter(|(it, _)| known.facts.of(it.as_str()).usable() > 0);
        notes
            .extend(barred.map(|(it, no)| format!("{it} is not counted to stand in, since {no}.")));
    }
    notes
}

fn of_gone(known: &Known<'_>, model: &Model, gone: &str) -> String {
    let mut letters = gone.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    let then = match spares_stand_in::bought_for(&known.facts.models, model, known.facts.today) {
        Some(stand_in) => format!("{} is ordered in its place", stand_in.part_no),
        None => "look for a substitute before pieces are lacking".to_owned(),
    };
    format!("{first}{}; {then}.", letters.as_str())
}
