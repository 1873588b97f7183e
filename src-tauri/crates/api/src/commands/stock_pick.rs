//! What to take off the shelf: first expired first, with what is kept for others left alone.

use super::find;
use super::lines::Catalogue;
use super::stock_reserve;
use crate::Failure;
use crate::ask::Ask;
use crate::wire::stock_out::{Pick, PickInput, PickLine};
use chrono::NaiveDate;
use slotkeep_domain::place::BinPath;
use slotkeep_domain::register::{Reservation, View};
use slotkeep_domain::stock::Lot;
use slotkeep_domain::unit::{Condition, Unit};
use slotkeep_store::Reader;

pub(super) fn pick(ask: &Ask<'_>, input: PickInput) -> Result<Pick, Failure> {
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

pub(super) fn reservation(r: &Reader<'_>, id: &uuid::Uuid) -> Result<Reservation, Failure> {
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
