//! Units that were handed out, and are neither put in nor brought back.

use super::find;
use super::lines::Catalogue;
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::stock_out::BringBackInput;
use crate::wire::unit::HandedOut;
use chrono::{DateTime, Utc};
use slotkeep_domain::journal::{Body, Purpose, UnitMoved};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::place::BinPath;
use slotkeep_domain::register::View;
use slotkeep_domain::swap::Swap;
use slotkeep_domain::unit::{Condition, Unit, UnitPlace};
use slotkeep_store::{EntryFilter, Kept, Reader};

/// How many entries of a unit are looked at.
const LOOKED_AT: u32 = 100;

pub(super) fn commands() -> Vec<Command> {
    vec![table::record(
        "stock.bring_back",
        "Takes back a unit that was handed out and was not used.",
        table::RECORDERS,
        bring_back,
    )]
}

/// A unit that somebody took out of its bin for something.
pub(super) struct Out {
    pub purpose: Purpose,
    pub at: DateTime<Utc>,
    /// Who recorded it.
    pub by: String,
    /// The bin that it was taken from.
    pub from: Option<BinPath>,
}

impl Out {
    /// How a unit came to the bench by being handed out; none where it is there to be tested, or
    /// where it was judged anew since. The newest entry that put it somewhere says so.
    ///
    /// A fault of the store shows when the reply is done.
    pub fn of(r: &Reader<'_>, unit: &Unit) -> Option<Self> {
        if unit.place != UnitPlace::Bench || unit.condition != Condition::Good {
            return None;
        }
        let entries = about(r, &unit.label);
        let mut put = entries.iter().filter_map(|it| Some((it, put(r, it, &unit.label)?)));
        let (Kept { entry, .. }, _) = put.next()?;
        let Body::UnitMoved(moved) = &entry.body else { return None };
        let purpose = moved.handed_out_for()?;
        let from = put.find_map(|(_, place)| place.bin().cloned());
        Some(Self { purpose, at: entry.at, by: entry.person.clone(), from })
    }
}

/// The newest entries about a unit.
fn about(r: &Reader<'_>, label: &LabelCode) -> Vec<Kept> {
    let subject = Some(label.to_string());
    r.entries_seen(&EntryFilter { subject, limit: LOOKED_AT, ..EntryFilter::default() })
}

/// Where an entry put a unit; none where it left it where it was.
fn put(r: &Reader<'_>, kept: &Kept, label: &LabelCode) -> Option<UnitPlace> {
    match &kept.entry.body {
        Body::UnitRegistered(new) => Some(new.place.clone()),
        Body::UnitInstalled(installed) => Some(UnitPlace::Slot(installed.slot.clone())),
        Body::UnitRemoved(removed) => Some(removed.removal.to.clone()),
        Body::UnitMoved(moved) => Some(moved.to.clone()),
        Body::BinCounted(counted) if counted.units_found.contains(label) => {
            Some(UnitPlace::Bin(counted.bin.clone()))
        }
        Body::BinCounted(counted) if counted.units_missing.contains(label) => Some(UnitPlace::Lost),
        Body::SwapFinished(finished) => {
            let swap = r.swap(&finished.swap)?;
            let removal = finished.removal.as_ref().filter(|_| swap.out == Some(*label));
            let in_slot = || UnitPlace::Slot(swap.slot.clone());
            Some(removal.map_or_else(in_slot, |removal| removal.to.clone()))
        }
        // The unit that was to go in stays where it was, unless it stands in the slot now.
        Body::SwapAbandoned(abandoned) => {
            let swap = r.swap(&abandoned.swap)?;
            let removal = abandoned.removal.as_ref().filter(|_| swap.out == Some(*label));
            removal.map(|removal| removal.to.clone())
        }
        // To another slot, or out of its own.
        Body::AuditSettled(_) => Some(UnitPlace::Bench),
        _ => None,
    }
}

/// Whether a unit lay on a shelf as good after its newest stay in a slot had ended. What a test finds
/// then says nothing of that stay.
pub(super) fn released_since_stay(r: &Reader<'_>, unit: &Unit) -> bool {
    let Some(stay) = unit.last_stay else { return false };
    let entries = about(r, &unit.label);
    let mut since = entries.iter().take_while(|kept| kept.entry.id != stay);
    since.any(|kept| match &kept.entry.body {
        Body::UnitMoved(moved) => {
            moved.condition == Condition::Good
                && (moved.to.bin().is_some() || moved.handed_out_for().is_some())
        }
        _ => false,
    })
}

/// What a unit was handed out for, with the swap under way that takes it.
pub(super) fn told(
    catalogue: &Catalogue<'_, '_>,
    swap: Option<&Swap>,
    out: Option<Out>,
) -> Option<HandedOut> {
    let from = out.as_ref().and_then(|out| out.from.as_ref()).map(ToString::to_string);
    let back = match &from {
        Some(bin) => format!("bring it back to {bin}"),
        None => "bring it back to a shelf".to_owned(),
    };
    let (to, slot, next) = match (swap, out.as_ref().map(|out| &out.purpose)) {
        (Some(swap), _) => {
            let slot = swap.slot.to_string();
            (format!("the swap in {slot}"), Some(slot), "go on with the swap".to_owned())
        }
        (None, None) => return None,
        (None, Some(purpose)) => {
            let to = catalogue.purpose(purpose);
            let (slot, next) = match purpose {
                Purpose::Slot(slot) => {
                    (Some(slot.to_string()), format!("put it in by a swap in {slot}, or {back}"))
                }
                Purpose::Swap(_) => (None, format!("that swap is over: {back}")),
                Purpose::Visit { .. } => (None, format!("put it in at the visit, or {back}")),
                Purpose::Words(_) => (None, format!("put it in by a swap, or {back}")),
            };
            (to, slot, next)
        }
    };
    Some(HandedOut {
        to,
        at: out.as_ref().map(|out| out.at),
        by: out.map(|out| out.by),
        next,
        from,
        slot,
        swap: swap.map(|swap| swap.id),
    })
}

fn bring_back(ask: &Ask<'_>, stamp: &Stamp, input: BringBackInput) -> Result<Done, Failure> {
    let mut message = String::new();
    let recorded = ask.record_within(stamp, |r| {
        let unit = find::unit(r, &input.unit)?;
        let name = unit.label.human();
        let swaps = r.open_swaps()?;
        if let Some(swap) = swaps.iter().find(|swap| swap.into == unit.label) {
            return Err(Failure::refused(format!(
                "the swap in {} takes unit {name}: give that swap up first",
                swap.slot
            )));
        }
        let out = Out::of(r, &unit).ok_or_else(|| {
            Failure::refused(format!(
                "unit {name} is not handed out, it is in {} and {}: move it instead",
                unit.place,
                unit.condition.word()
            ))
        })?;
        let bin = match (&input.bin, &out.from) {
            (Some(text), _) => find::bin(r, text)?.path,
            (None, Some(from)) if r.bin(from).is_some() => from.clone(),
            _ => {
                return Err(Failure::refused(format!(
                    "the bin that unit {name} was taken from is not in the register any more: scan \
                     the bin that it goes into"
                )));
            }
        };
        message = format!("unit {name} is back in {bin}, unused");
        let to = Catalogue::new(r).purpose(&out.purpose);
        Ok(Body::UnitMoved(UnitMoved {
            unit: unit.label,
            to: UnitPlace::Bin(bin),
            condition: unit.condition,
            reason: format!("back unused, it was handed out to {to}"),
            purpose: None,
            reservation: None,
        }))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}
