//! Stock that is kept for something, and taking stock with regard to it.

use super::{Outcome, Refusal, known};
use crate::journal::{Entry, Purpose, ReservationEnded, Reserved, ReservedWhat};
use crate::label::LabelCode;
use crate::model::PartNo;
use crate::register::{Change, Reservation, ReservationEnd, Table, View};
use crate::unit::{Condition, Unit};
use chrono::NaiveDate;
use uuid::Uuid;

/// Keeps a unit or some pieces for something. With `corrects` it takes the place of a reservation.
pub(super) fn reserve(view: &impl View, entry: &Entry, wanted: &Reserved) -> Outcome {
    let today = entry.at.date_naive();
    if let Some(until) = wanted.until
        && until < today
    {
        return Err(Refusal::new(
            format!("the reservation would end on {until}, before it begins"),
            format!("write {today} or later, or no day"),
        ));
    }
    purpose(view, &wanted.purpose)?;
    let replaced = entry.corrects.and_then(|id| view.reservation(&id));
    if let Some(before) = &replaced {
        still_open(before)?;
    }
    let (model, storeroom, unit, pieces) = match &wanted.what {
        ReservedWhat::Unit(label) => {
            let unit = known(view.unit(label), "unit", label.human())?;
            let storeroom = lies_ready(&unit)?;
            (unit.model.clone(), storeroom, Some(unit), 1)
        }
        ReservedWhat::Pieces { model, storeroom, pieces } => {
            known(view.knows(Table::Model, model.as_str()).then_some(()), "model", model)?;
            known(view.storeroom(storeroom), "storeroom", storeroom)?;
            (model.clone(), storeroom.clone(), None, *pieces)
        }
    };
    let take = Take { model: &model, storeroom: &storeroom, unit: unit.as_ref(), pieces };
    free(view, &take, replaced.as_ref().map(|before| before.id), true, today)?;
    let mut changes: Vec<Change> = replaced
        .map(|before| Change::Gone(Table::Reservation, before.id.to_string()))
        .into_iter()
        .collect();
    changes.push(Change::Reservation(Reservation {
        id: entry.id,
        model,
        storeroom,
        unit: unit.map(|unit| unit.label),
        pieces,
        purpose: wanted.purpose.clone(),
        until: wanted.until,
        made_at: entry.at,
        made_by: entry.person.clone(),
        ended: None,
    }));
    Ok(changes)
}

/// Ends a reservation.
pub(super) fn release(view: &impl View, entry: &Entry, ended: &ReservationEnded) -> Outcome {
    let mut kept = known(view.reservation(&ended.reservation), "reservation", ended.reservation)?;
    still_open(&kept)?;
    if !ended.used && ended.reason.trim().is_empty() {
        return Err(Refusal::new(
            format!("no reason is given for releasing what is kept for {}", kept.described()),
            "say why it is no longer needed",
        ));
    }
    let (used, reason) = (ended.used, ended.reason.clone());
    kept.ended = Some(ReservationEnd { used, reason, at: entry.at });
    Ok(vec![Change::Reservation(kept)])
}

/// What somebody wants to take, or to keep.
pub(super) struct Take<'a> {
    pub model: &'a PartNo,
    pub storeroom: &'a str,
    /// None for counted pieces, or for any units of the model.
    pub unit: Option<&'a Unit>,
    pub pieces: u32,
}

/// Checks that stock may be taken, and returns the reservation after it.
///
/// Fails when it is kept for something else, or when the reservation named is about other stock.
pub(super) fn take(
    view: &impl View,
    entry: &Entry,
    take: &Take<'_>,
    reservation: Option<Uuid>,
) -> Result<Option<Change>, Refusal> {
    let today = entry.at.date_naive();
    let Some(id) = reservation else {
        return free(view, take, None, false, today).map(|()| None);
    };
    let mut kept = known(view.reservation(&id), "reservation", id)?;
    still_open(&kept)?;
    let same_unit = kept.unit.is_none() || kept.unit == take.unit.map(|unit| unit.label);
    if kept.model != *take.model || kept.storeroom != take.storeroom || !same_unit {
        return Err(Refusal::new(
            format!(
                "the reservation is for {} of {} in {}",
                kept.unit.map_or_else(|| crate::counted(kept.pieces, "piece"), |unit| unit.human()),
                kept.model,
                kept.storeroom
            ),
            "take that, or take this without the reservation",
        ));
    }
    free(view, take, Some(id), false, today)?;
    if take.pieces < kept.pieces {
        kept.pieces -= take.pieces;
    } else {
        kept.ended = Some(ReservationEnd { used: true, reason: String::new(), at: entry.at });
    }
    Ok(Some(Change::Reservation(kept)))
}

/// Checks that enough is left for every other reservation that still holds; with `keep` that what
/// is wanted lies there at all.
fn free(
    view: &impl View,
    take: &Take<'_>,
    own: Option<Uuid>,
    keep: bool,
    today: NaiveDate,
) -> Result<(), Refusal> {
    if take.pieces == 0 {
        return Err(Refusal::new("0 pieces are nothing to keep or take", "write how many"));
    }
    let mut others = view.reservations_on(take.model);
    others.retain(|kept| {
        Some(kept.id) != own && kept.storeroom == take.storeroom && kept.holds_on(today)
    });
    let label = take.unit.map(|unit| unit.label);
    if let Some(kept) = others.iter().find(|kept| kept.unit.is_some() && kept.unit == label) {
        let name = label.map(|label| label.human()).unwrap_or_default();
        return Err(Refusal::new(
            format!("unit {name} is kept for {}", kept.described()),
            "take another one, or release the reservation first",
        ));
    }
    let taken_is_usable = take.unit.is_none_or(|unit| unit.condition == Condition::Good);
    let promised: u32 = others.iter().map(|kept| kept.pieces).sum();
    if !taken_is_usable || (promised == 0 && !keep) {
        return Ok(());
    }
    let usable = view.usable_in(take.model, take.storeroom, today);
    let left = usable.saturating_sub(promised);
    if take.pieces <= left {
        return Ok(());
    }
    let Some(first) = others.first() else {
        return Err(Refusal::new(
            format!(
                "{} has {} of {}, {} wanted",
                take.storeroom,
                crate::counted(usable, "usable piece"),
                take.model,
                crate::counted_as(take.pieces, "is", "are")
            ),
            "write fewer, or choose another storeroom",
        ));
    };
    Err(Refusal::new(
        format!(
            "{promised} of {} of {} in {} {} kept for {}{}",
            crate::counted(usable, "piece"),
            take.model,
            take.storeroom,
            if promised == 1 { "is" } else { "are" },
            first.described(),
            if others.len() > 1 { " and others" } else { "" }
        ),
        format!("take at most {left}, take them for that reservation, or release it first"),
    ))
}

/// The storeroom in which a unit lies ready for use.
fn lies_ready(unit: &Unit) -> Result<String, Refusal> {
    let Some(bin) = unit.place.bin() else {
        return Err(Refusal::new(
            format!("unit {} is in {}, in no storeroom", unit.label.human(), unit.place),
            "reserve one that lies in a bin",
        ));
    };
    if unit.condition != Condition::Good {
        return Err(Refusal::new(
            format!("unit {} is {}", unit.label.human(), unit.condition.word()),
            "reserve one that is good",
        ));
    }
    Ok(bin.storeroom().to_owned())
}

fn still_open(kept: &Reservation) -> Result<(), Refusal> {
    match &kept.ended {
        None => Ok(()),
        Some(ended) => Err(Refusal::new(
            format!(
                "what was kept for {} was {} on {}",
                kept.purpose,
                if ended.used { "used" } else { "released" },
                ended.at.date_naive()
            ),
            "choose an open one from the list of reservations",
        )),
    }
}

/// Checks that what stock is meant for is there.
pub(super) fn purpose(view: &impl View, purpose: &Purpose) -> Result<(), Refusal> {
    match purpose {
        Purpose::Words(words) if words.trim().is_empty() => {
            Err(Refusal::new("nothing is said about what it is for", "write a person or a job"))
        }
        Purpose::Words(_) => Ok(()),
        Purpose::Slot(slot) => known(view.slot(slot), "slot", slot).map(drop),
        Purpose::Swap(id) => {
            let swap = known(view.swap(id), "swap", id)?;
            if swap.is_open() {
                return Ok(());
            }
            Err(Refusal::new(
                format!("the swap in slot {} is no longer open", swap.slot),
                "name the slot, or a person",
            ))
        }
        Purpose::Visit { on, scope } => {
            let plan = view.agreed_plan();
            let mut visits = plan.iter().flat_map(|plan| &plan.visits);
            if visits.any(|visit| visit.on == *on && visit.scope == *scope) {
                return Ok(());
            }
            Err(Refusal::new(
                format!("no visit to {scope} on {on} is agreed"),
                "choose one of the agreed visits",
            ))
        }
    }
}

/// Ends every reservation of a unit that goes into a slot.
pub(super) fn taken_for_swap(
    view: &impl View,
    entry: &Entry,
    label: &LabelCode,
    model: &PartNo,
    slot: &crate::place::SlotAddress,
) -> Vec<Change> {
    let mut kept = view.reservations_on(model);
    kept.retain(|kept| kept.unit == Some(*label));
    kept.into_iter()
        .map(|mut kept| {
            let used = kept.purpose == Purpose::Slot(slot.clone());
            let reason = if used { String::new() } else { format!("taken for a swap in {slot}") };
            kept.ended = Some(ReservationEnd { used, reason, at: entry.at });
            Change::Reservation(kept)
        })
        .collect()
}
