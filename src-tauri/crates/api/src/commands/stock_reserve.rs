//! Stock that is kept for something.

use super::find;
use super::lines::Catalogue;
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::stock_out::{
    ReleaseInput, ReservationLine, ReservationsInput, ReserveInput, VisitRef,
};
use chrono::NaiveDate;
use slotkeep_domain::journal::{Body, Purpose, ReservationEnded, Reserved, ReservedWhat};
use slotkeep_domain::register::Reservation;
use slotkeep_store::Reader;
use uuid::Uuid;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("stock.reservations", "Lists stock that is kept for something.", list),
        table::record(
            "stock.reserve",
            "Keeps a unit, or pieces of a model, for a job, a swap or a visit.",
            table::RECORDERS,
            reserve,
        ),
        table::record("stock.release", "Ends a reservation.", table::RECORDERS, release),
    ]
}

fn list(ask: &Ask<'_>, input: ReservationsInput) -> Result<Vec<ReservationLine>, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let catalogue = Catalogue::new(r);
        let mut kept = r.open_reservations()?;
        kept.retain(|kept| input.model.as_ref().is_none_or(|model| kept.model.as_str() == model));
        kept.sort_by_key(|kept| (kept.until.unwrap_or(NaiveDate::MAX), kept.made_at));
        Ok(kept.iter().map(|kept| line(&catalogue, kept, today)).collect())
    })
}

pub(super) fn line(
    catalogue: &Catalogue<'_, '_>,
    kept: &Reservation,
    today: NaiveDate,
) -> ReservationLine {
    let (mut swap, mut slot, mut visit) = (None, None, None);
    match &kept.purpose {
        Purpose::Words(_) => {}
        Purpose::Slot(address) => slot = Some(address.to_string()),
        Purpose::Swap(id) => swap = Some(*id),
        Purpose::Visit { scope, .. } => visit = Some(scope.to_string()),
    }
    ReservationLine {
        reservation: kept.id,
        model: kept.model.to_string(),
        model_title: catalogue.model(&kept.model).map(|model| model.title).unwrap_or_default(),
        unit: kept.unit.map(|unit| unit.to_string()),
        storeroom: kept.storeroom.clone(),
        pieces: kept.pieces,
        for_what: catalogue.purpose(&kept.purpose),
        swap,
        slot,
        visit,
        until: kept.until,
        over: !kept.holds_on(today),
        person: kept.made_by.clone(),
        at: kept.made_at,
    }
}

fn reserve(ask: &Ask<'_>, stamp: &Stamp, input: ReserveInput) -> Result<Done, Failure> {
    let mut message = String::new();
    let recorded = ask.record_within(stamp, |r| {
        let what = match (&input.unit, &input.model, &input.storeroom) {
            (Some(unit), None, _) => ReservedWhat::Unit(find::unit(r, unit)?.label),
            (None, Some(model), Some(storeroom)) => ReservedWhat::Pieces {
                model: find::model(r, model)?.part_no,
                storeroom: storeroom.clone(),
                pieces: input.pieces.unwrap_or(1),
            },
            _ => {
                return Err(Failure::bad_input(
                    "nothing says what is kept: name a unit, or a model with its storeroom and \
                     pieces",
                ));
            }
        };
        let stated = Stated {
            words: &input.for_what,
            swap: input.swap,
            slot: input.slot.as_deref(),
            visit: input.visit.as_ref(),
        };
        let purpose = purpose(r, &stated)?.ok_or_else(|| {
            Failure::bad_input(
                "nothing is said about what it is kept for: write a person or a job, or name a \
                 swap, a slot or a visit",
            )
        })?;
        message = format!("kept for {}", Catalogue::new(r).purpose(&purpose));
        Ok(Body::Reserved(Reserved { what, purpose, until: input.until }))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

fn release(ask: &Ask<'_>, stamp: &Stamp, input: ReleaseInput) -> Result<Done, Failure> {
    let body = ReservationEnded {
        reservation: input.reservation,
        used: input.used,
        reason: input.reason.trim().to_owned(),
    };
    let recorded = ask.record(stamp, Body::ReservationEnded(body))?;
    let message = "the stock is free again".to_owned();
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

/// What a person said that stock is for.
pub(super) struct Stated<'a> {
    pub words: &'a str,
    pub swap: Option<Uuid>,
    pub slot: Option<&'a str>,
    pub visit: Option<&'a VisitRef>,
}

/// The purpose that was said; none where nothing was. Words beside a swap, slot or visit are only
/// its name.
pub(super) fn purpose(r: &Reader<'_>, stated: &Stated<'_>) -> Result<Option<Purpose>, Failure> {
    let mut purposes = Vec::new();
    purposes.extend(stated.swap.map(Purpose::Swap));
    if let Some(slot) = stated.slot {
        purposes.push(Purpose::Slot(find::slot(r, slot)?.address));
    }
    if let Some(visit) = stated.visit {
        purposes.push(Purpose::Visit { on: visit.on, scope: find::scope(r, &visit.scope)? });
    }
    if purposes.len() > 1 {
        return Err(Failure::bad_input(
            "a swap, a slot and a visit are named together: name the one that it is for",
        ));
    }
    let words = stated.words.trim();
    let in_words = (!words.is_empty()).then(|| Purpose::Words(words.to_owned()));
    Ok(purposes.pop().or(in_words))
}
