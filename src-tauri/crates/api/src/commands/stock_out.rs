//! Handing out.

use super::lines::Catalogue;
use super::stock_fits::fits;
use super::stock_handed_out::Out;
use super::stock_pick::{pick, reservation};
use super::stock_reserve::{Stated, purpose};
use super::{find, stock};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::stock_out::IssueInput;
use chrono::NaiveDate;
use slotkeep_domain::journal::{Body, HANDED_OUT_TO, LotIssued, Purpose, UnitMoved};
use slotkeep_domain::model::Model;
use slotkeep_domain::place::BinPath;
use slotkeep_domain::stock::Lot;
use slotkeep_domain::unit::{Condition, UnitPlace};
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask(
            "stock.pick",
            "Says which lots or units of a model to take, first expired first.",
            pick,
        ),
        table::record(
            "stock.issue",
            "Hands counted pieces or a unit out.",
            table::RECORDERS,
            issue,
        ),
    ]
}

fn issue(ask: &Ask<'_>, stamp: &Stamp, input: IssueInput) -> Result<Done, Failure> {
    match (&input.lot, &input.unit) {
        (Some(lot), None) => {
            stock::on_lot(ask, stamp, lot, |r, lot| lot_issued(r, lot, &input, stamp))
        }
        (None, Some(unit)) => unit_issued(ask, stamp, unit, &input),
        _ => Err(Failure::bad_input(
            "nothing says what is handed out: scan the label of one lot, or of one unit",
        )),
    }
}

/// What a person said that it is for, and the words that the record keeps.
fn said(r: &Reader<'_>, input: &IssueInput) -> Result<(Option<Purpose>, String), Failure> {
    let stated = Stated {
        words: &input.to,
        swap: input.swap,
        slot: input.slot.as_deref(),
        visit: input.visit.as_ref(),
    };
    let mut purpose = purpose(r, &stated)?;
    if purpose.is_none()
        && let Some(id) = &input.reservation
    {
        purpose = Some(reservation(r, id)?.purpose);
    }
    let purpose = purpose.ok_or_else(|| {
        Failure::bad_input(
            "nothing is said about who takes it: write a person or a job, or name a swap, a slot \
             or a visit",
        )
    })?;
    let words = Catalogue::new(r).purpose(&purpose);
    let to = if input.to.trim().is_empty() { words } else { input.to.trim().to_owned() };
    Ok(match purpose {
        Purpose::Words(_) => (None, to),
        other => (Some(other), to),
    })
}

fn lot_issued(
    r: &Reader<'_>,
    lot: &Lot,
    input: &IssueInput,
    stamp: &Stamp,
) -> Result<Body, Failure> {
    let bin = find::bin_of(r, lot, input.bin.as_deref())?;
    let (purpose, mut to) = said(r, input)?;
    if let Some(earlier) = earlier(r, lot, &bin, stamp.at.date_naive())? {
        let reason = input.later_reason.as_deref().map(str::trim).unwrap_or_default();
        if reason.is_empty() {
            return Err(Failure::refused(earlier));
        }
        to = format!("{to} (a later lot: {reason})");
    }
    Ok(Body::LotIssued(LotIssued {
        lot: lot.label,
        bin,
        quantity: input.quantity.unwrap_or(1),
        to,
        scrapped: false,
        purpose,
        reservation: input.reservation,
    }))
}

/// What is said where another lot in the same storeroom expires first.
fn earlier(
    r: &Reader<'_>,
    lot: &Lot,
    bin: &BinPath,
    today: NaiveDate,
) -> Result<Option<String>, Failure> {
    if lot.usable_on(today) == 0 {
        return Ok(None);
    }
    let until = |lot: &Lot| lot.shelf_until.unwrap_or(NaiveDate::MAX);
    let mut lots = r.lots_of(&lot.model)?;
    lots.retain(|other| until(other) < until(lot) && other.usable_in(bin.storeroom(), today) > 0);
    let first = lots.iter().min_by_key(|other| until(other));
    Ok(first.map(|first| {
        format!(
            "lot {} of {} in {} expires first, on {}: hand that one out, or say why this one goes \
             before it",
            first.code,
            first.model,
            bin.storeroom(),
            until(first)
        )
    }))
}

fn unit_issued(
    ask: &Ask<'_>,
    stamp: &Stamp,
    unit: &str,
    input: &IssueInput,
) -> Result<Done, Failure> {
    let mut message = String::new();
    let recorded = ask.record_within(stamp, |r| {
        let unit = find::unit(r, unit)?;
        let (purpose, to) = said(r, input)?;
        if let Some(out) = Out::of(r, &unit) {
            return Err(Failure::refused(format!(
                "unit {} is handed out to {} since {}: bring it back first, or scan one that lies \
                 on the shelf",
                unit.label.human(),
                Catalogue::new(r).purpose(&out.purpose),
                out.at.date_naive()
            )));
        }
        if unit.place.bin().is_none() {
            return Err(Failure::refused(format!(
                "unit {} lies in no bin, it is in {}: scan one that lies on the shelf",
                unit.label.human(),
                unit.place
            )));
        }
        if unit.condition != Condition::Good {
            return Err(Failure::refused(format!(
                "unit {} is {}: hand out a good one, or judge this one anew first",
                unit.label.human(),
                unit.condition.word()
            )));
        }
        fits(r, &unit, purpose.as_ref(), stamp.at.date_naive())?;
        message = format!("unit {} is handed out to {to}", unit.label.human());
        Ok(Body::UnitMoved(UnitMoved {
            unit: unit.label,
            to: UnitPlace::Bench,
            condition: unit.condition,
            reason: format!("{HANDED_OUT_TO}{to}"),
            purpose: Some(purpose.unwrap_or(Purpose::Words(to))),
            reservation: input.reservation,
        }))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

/// The bin where most of a model lies.
pub(super) fn home_of(r: &Reader<'_>, model: &Model) -> Result<Option<BinPath>, Failure> {
    let mut bins = std::collections::BTreeMap::<BinPath, u32>::new();
    for lot in r.lots_of(&model.part_no)?.iter().filter(|lot| !lot.quarantined) {
        for (bin, pieces) in &lot.pieces {
            *bins.entry(bin.clone()).or_default() += pieces;
        }
    }
    for unit in r.spares_of(&model.part_no)? {
        if let Some(bin) = unit.place.bin().filter(|_| unit.condition == Condition::Good) {
            *bins.entry(bin.clone()).or_default() += 1;
        }
    }
    Ok(bins.into_iter().rev().max_by_key(|(_, pieces)| *pieces).map(|(bin, _)| bin))
}
