//! What to take off the shelf, and handing it out.

use super::lines::Catalogue;
use super::stock_reserve::{self, Stated, purpose};
use super::{find, stock};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::stock_out::{IssueInput, Pick, PickInput, PickLine};
use chrono::NaiveDate;
use slotkeep_domain::journal::{Body, LotIssued, Purpose, UnitMoved};
use slotkeep_domain::model::Model;
use slotkeep_domain::place::{BinPath, SlotAddress};
use slotkeep_domain::register::{Reservation, View};
use slotkeep_domain::stock::Lot;
use slotkeep_domain::swap::{Rule, Severity, Situation, verdict};
use slotkeep_domain::unit::{Condition, Unit, UnitPlace};
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

fn pick(ask: &Ask<'_>, input: PickInput) -> Result<Pick, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let model = find::model(r, &input.model)?;
        let here = |storeroom: &str| input.storeroom.as_deref().is_none_or(|own| own == storeroom);
        let mut kept = r.reservations_on(&model.part_no);
        let own = input.reservation.map(|id| reservation(r, &id)).transpose()?;
        kept.retain(|kept| {
            Some(kept.id) != input.reservation && here(&kept.storeroom) && kept.holds_on(today)
        });
        let lines = if model.counted {
            lots(r.lots_of(&model.part_no)?, today)
        } else {
            units(r.spares_of(&model.part_no)?, &kept, own.as_ref())
        };
        let lines: Vec<Line> =
            lines.into_iter().filter(|line| here(line.bin.storeroom())).collect();
        let taken = Taken::of(lines, &kept, input.pieces);
        let catalogue = Catalogue::new(r);
        let found: u32 = taken.takes.iter().map(|line| line.pieces).sum();
        let message = match (found, input.pieces) {
            (found, wanted) if found >= wanted => format!("take {found} of {}", model.part_no),
            (0, _) => format!("nothing of {} is free to take", model.part_no),
            (found, wanted) => {
                format!("only {found} of {wanted} wanted of {} are free to take", model.part_no)
            }
        };
        Ok(Pick {
            model: model.part_no.to_string(),
            model_title: model.title,
            counted: model.counted,
            wanted: input.pieces,
            takes: taken.takes,
            kept: kept.iter().map(|kept| stock_reserve::line(&catalogue, kept, today)).collect(),
            left_out: taken.left_out,
            message,
        })
    })
}

fn reservation(r: &Reader<'_>, id: &uuid::Uuid) -> Result<Reservation, Failure> {
    r.reservation(id).ok_or_else(|| {
        Failure::not_found(format!(
            "reservation {id} is not in the register: choose one of the list"
        ))
    })
}

/// Pieces of a lot in one bin, or a unit, with what stands against taking it.
struct Line {
    line: PickLine,
    bin: BinPath,
    against: Option<String>,
}

/// Lots by shelf date, the nearest first; what does not age comes last.
fn lots(mut lots: Vec<Lot>, today: NaiveDate) -> Vec<Line> {
    lots.sort_by_key(|lot| (lot.shelf_until.unwrap_or(NaiveDate::MAX), lot.made_on, lot.label));
    let mut lines = Vec::new();
    for lot in &lots {
        let against = match (lot.quarantined, lot.expired_on(today)) {
            (true, _) => Some("in quarantine".to_owned()),
            (_, true) => lot.shelf_until.map(|day| format!("its shelf date {day} has passed")),
            _ => None,
        };
        for (bin, pieces) in &lot.pieces {
            let line = PickLine {
                label: lot.label.to_string(),
                label_human: lot.label.human(),
                code: lot.code.clone(),
                bin: bin.to_string(),
                pieces: *pieces,
                shelf_until: lot.shelf_until,
                reason: String::new(),
            };
            lines.push(Line { line, bin: bin.clone(), against: against.clone() });
        }
    }
    lines
}

/// Units in bins: the reserved one first, then the one that came first.
fn units(mut units: Vec<Unit>, kept: &[Reservation], own: Option<&Reservation>) -> Vec<Line> {
    let is_own = |unit: &Unit| own.is_some_and(|own| own.unit == Some(unit.label));
    units.sort_by_key(|unit| (!is_own(unit), unit.received_on, unit.label));
    let mut lines = Vec::new();
    for unit in &units {
        let Some(bin) = unit.place.bin() else { continue };
        let other = kept.iter().find(|kept| kept.unit == Some(unit.label));
        let against = match (unit.condition, other) {
            (Condition::Good, None) => None,
            (Condition::Good, Some(other)) => Some(format!("kept for {}", other.described())),
            (condition, _) => Some(condition.word().to_owned()),
        };
        let line = PickLine {
            label: unit.label.to_string(),
            label_human: unit.label.human(),
            code: unit.serial.clone(),
            bin: bin.to_string(),
            pieces: 1,
            shelf_until: None,
            reason: if is_own(unit) { "kept for this".to_owned() } else { String::new() },
        };
        lines.push(Line { line, bin: bin.clone(), against });
    }
    lines
}

struct Taken {
    takes: Vec<PickLine>,
    left_out: Vec<PickLine>,
}

impl Taken {
    /// Takes in order until there are enough, and leaves in each storeroom what is kept there.
    fn of(lines: Vec<Line>, kept: &[Reservation], wanted: u32) -> Self {
        let mut taken = Self { takes: Vec::new(), left_out: Vec::new() };
        let mut free = std::collections::BTreeMap::<String, u32>::new();
        for line in lines.iter().filter(|line| line.against.is_none()) {
            *free.entry(line.bin.storeroom().to_owned()).or_default() += line.line.pieces;
        }
        for kept in kept.iter().filter(|kept| kept.unit.is_none()) {
            let free = free.entry(kept.storeroom.clone()).or_default();
            *free = free.saturating_sub(kept.pieces);
        }
        let mut left = wanted;
        let mut first: Option<NaiveDate> = None;
        for Line { mut line, bin, against } in lines {
            if let Some(against) = against {
                taken.left_out.push(PickLine { reason: against, ..line });
                continue;
            }
            let free = free.entry(bin.storeroom().to_owned()).or_default();
            let pieces = line.pieces.min(left).min(*free);
            if pieces == 0 {
                continue;
            }
            if line.reason.is_empty() {
                line.reason = why(line.shelf_until, first.is_none());
            }
            first = first.or(Some(line.shelf_until.unwrap_or(NaiveDate::MAX)));
            left -= pieces;
            *free -= pieces;
            taken.takes.push(PickLine { pieces, ..line });
        }
        taken
    }
}

fn why(until: Option<NaiveDate>, first: bool) -> String {
    match (until, first) {
        (Some(day), true) => format!("expires first, on {day}"),
        (Some(day), false) => format!("expires next, on {day}"),
        (None, _) => String::new(),
    }
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
            reason: format!("handed out to {to}"),
            purpose,
            reservation: input.reservation,
        }))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

/// Refuses a unit that does not fit the slot, or is not the one that the swap takes.
fn fits(
    r: &Reader<'_>,
    unit: &Unit,
    purpose: Option<&Purpose>,
    today: NaiveDate,
) -> Result<(), Failure> {
    match purpose {
        Some(Purpose::Slot(slot)) => fits_slot(r, unit, slot, today),
        Some(Purpose::Swap(id)) => match r.swap(id) {
            Some(swap) if swap.into != unit.label => Err(Failure::refused(format!(
                "the swap in {} takes unit {}, not {}: hand that one out",
                swap.slot,
                swap.into.human(),
                unit.label.human()
            ))),
            _ => Ok(()),
        },
        _ => Ok(()),
    }
}

fn fits_slot(
    r: &Reader<'_>,
    unit: &Unit,
    slot: &SlotAddress,
    today: NaiveDate,
) -> Result<(), Failure> {
    let Some(situation) = Situation::gather(r, slot, &unit.label, today) else { return Ok(()) };
    // Whether the slot is free, and whom it is kept for, is asked where those are decided.
    let asked_elsewhere = [Rule::SlotBusy, Rule::Reservation];
    let stop = verdict(&situation).into_iter().find(|finding| {
        finding.severity == Severity::Stop && !asked_elsewhere.contains(&finding.rule)
    });
    match stop {
        Some(stop) => Err(Failure::refused(format!("stop: {}: {}", stop.compared, stop.to_do))),
        None => Ok(()),
    }
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
