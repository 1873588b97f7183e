//! What the journal knows that may explain why a bin is not as the register has it.

use super::lines::Catalogue;
use super::sentence;
use super::stock_handed_out::Out;
use super::stocktake::Seen;
use crate::Failure;
use chrono::{DateTime, Utc};
use slotkeep_domain::counted_as;
use slotkeep_domain::journal::{Body, PastKind};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::place::BinPath;
use slotkeep_domain::register::View;
use slotkeep_domain::stock::Lot;
use slotkeep_domain::unit::{Unit, UnitPlace};
use slotkeep_store::{EntryFilter, Kept, Reader};

/// How many of the last entries of a thing are told where nothing else explains a difference.
const LAST: usize = 3;

/// How far back pieces are followed, days.
const DAYS: i64 = 60;

/// When a bin was last counted as a whole.
pub(super) fn counted_at(r: &Reader<'_>, bin: &str) -> Result<Option<DateTime<Utc>>, Failure> {
    let filter = EntryFilter {
        subject: Some(bin.to_owned()),
        kind: Some("bin-counted".to_owned()),
        limit: 1,
        ..EntryFilter::default()
    };
    Ok(r.entries(&filter)?.first().map(|kept| kept.entry.at))
}

pub(super) struct Why<'a, 'c> {
    pub r: &'a Reader<'c>,
    pub seen: &'a Seen,
    pub now: DateTime<Utc>,
}

impl Why<'_, '_> {
    pub fn of_lot(&self, lot: &Lot, counted: u32) -> Result<Vec<String>, Failure> {
        let entries = self.entries(&lot.label)?;
        let register = self.seen.register(lot);
        let mut said = Vec::new();
        said.extend(self.received_twice(&entries, counted, register));
        said.extend(entries.iter().filter_map(|kept| self.taken_elsewhere(kept, lot)));
        said.extend(self.mixed_up(lot, counted));
        for (bin, pieces) in lot.pieces.iter().filter(|(bin, _)| **bin != self.seen.bin.path) {
            let lie = counted_as(*pieces, "piece of this lot lies", "pieces of this lot lie");
            said.push(format!("{lie} in {bin} by the register"));
        }
        said.extend(self.waiting(&lot.label)?);
        said.extend(last(&entries, said.len()));
        said.dedup();
        Ok(said)
    }

    /// A unit that lies here and should lie elsewhere.
    pub fn of_found(&self, unit: &Unit) -> Result<Vec<String>, Failure> {
        let entries = self.entries(&unit.label)?;
        let since = unit.since.date_naive();
        let mut said = vec![match &unit.place {
            UnitPlace::Bin(bin) => format!("it belongs in {bin} by the register"),
            UnitPlace::Slot(slot) => {
                format!("it stands in {slot} by the register, since {since}")
            }
            UnitPlace::Bench => match Out::of(self.r, unit) {
                Some(Out { purpose, at, by, .. }) => format!(
                    "it was handed out to {} on {} by {by}, and nobody recorded that it came back",
                    Catalogue::new(self.r).purpose(&purpose),
                    at.date_naive()
                ),
                None => format!("it is on the bench by the register, since {since}"),
            },
            UnitPlace::Repair => {
                format!("it was sent for repair on {since} and nobody recorded that it came back")
            }
            UnitPlace::Scrapped => format!("it was scrapped on {since}"),
            UnitPlace::Lost => format!("it was not found on {since}"),
        }];
        said.extend(self.swap_of(unit)?);
        said.extend(self.waiting(&unit.label)?);
        said.extend(last(&entries, said.len()));
        Ok(said)
    }

    /// A unit that should lie here and does not.
    pub fn of_missing(&self, unit: &Unit) -> Result<Vec<String>, Failure> {
        let entries = self.entries(&unit.label)?;
        let mut said = Vec::new();
        said.extend(self.swap_of(unit)?);
        let kept = self.r.reservations_on(&unit.model).into_iter();
        for kept in kept.filter(|kept| kept.unit == Some(unit.label)) {
            said.push(format!("it is kept for {}", kept.described()));
        }
        let like = |other: &&Unit| other.model == unit.model && !self.lies_here(other);
        for other in self.seen.found.iter().filter(like) {
            said.push(format!(
                "unit {} of the same model lies here in its place: perhaps the two were mixed up",
                other.label.human()
            ));
        }
        said.extend(self.waiting(&unit.label)?);
        said.extend(last(&entries, said.len()));
        Ok(said)
    }

    fn lies_here(&self, unit: &Unit) -> bool {
        unit.place.bin() == Some(&self.seen.bin.path)
    }

    fn entries(&self, label: &LabelCode) -> Result<Vec<Kept>, Failure> {
        let subject = Some(label.to_string());
        Ok(self.r.entries(&EntryFilter { subject, limit: 50, ..EntryFilter::default() })?)
    }

    /// A swap under way that takes the unit.
    fn swap_of(&self, unit: &Unit) -> Result<Option<String>, Failure> {
        let swaps = self.r.open_swaps()?;
        let taking = swaps.iter().find(|swap| swap.into == unit.label);
        Ok(taking.map(|swap| {
            format!(
                "a swap under way in {} takes it, begun by {} on {}",
                swap.slot,
                swap.started_by,
                swap.started_at.date_naive()
            )
        }))
    }

    /// The same pieces were taken in twice.
    fn received_twice(&self, entries: &[Kept], counted: u32, register: u32) -> Option<String> {
        let came = |kept: &Kept| match &kept.entry.body {
            Body::LotReceived(lot) if lot.bin == self.seen.bin.path => Some(lot.quantity),
            Body::PastEvent(past) if past.what == PastKind::Received => past.quantity,
            _ => None,
        };
        let receipts: Vec<(&Kept, u32)> =
            entries.iter().filter_map(|kept| Some((kept, came(kept)?))).collect();
        let pairs = receipts
            .iter()
            .enumerate()
            .flat_map(|(at, newer)| receipts.iter().skip(at + 1).map(move |older| (newer, older)));
        let week = chrono::Duration::days(7);
        let mut same = pairs
            .filter(|((newer, n), (older, m))| n == m && newer.entry.at - older.entry.at <= week);
        let ((newer, pieces), (older, _)) = same.next()?;
        let fits = if register.checked_sub(*pieces) == Some(counted) {
            ", and so many are too few"
        } else {
            ""
        };
        Some(format!(
            "{} received on {} by {} and {pieces} again on {} by {}: perhaps the same ones{fits}",
            were(*pieces),
            older.entry.at.date_naive(),
            older.entry.person,
            newer.entry.at.date_naive(),
            newer.entry.person
        ))
    }

    /// Pieces that went out from another bin, or to or from this one, not long ago.
    fn taken_elsewhere(&self, kept: &Kept, lot: &Lot) -> Option<String> {
        let here = &self.seen.bin.path;
        if (self.now - kept.entry.at).num_days() > DAYS {
            return None;
        }
        let (on, who) = (kept.entry.at.date_naive(), &kept.entry.person);
        let perhaps = |what: String, bin: &BinPath| {
            Some(format!("{what} on {on} by {who}, noted from {bin}: perhaps taken from here"))
        };
        match &kept.entry.body {
            Body::LotIssued(out) if out.bin != *here => {
                perhaps(format!("{} handed out", were(out.quantity)), &out.bin)
            }
            Body::BatteryChanged(changed) if changed.bin != *here && changed.lot == lot.label => {
                let unit = changed.unit.human();
                perhaps(format!("the battery of unit {unit} was changed"), &changed.bin)
            }
            Body::PastEvent(past) if matches!(past.what, PastKind::Issued) => Some(format!(
                "{} handed out on {} by an old record: {}",
                were(past.quantity.unwrap_or(1)),
                past.on,
                past.note
            )),
            Body::LotMoved(moved) if moved.to == *here || moved.from == *here => Some(format!(
                "{} moved from {} to {} on {on} by {who}: perhaps {} never went",
                were(moved.quantity),
                moved.from,
                moved.to,
                if moved.quantity == 1 { "it" } else { "they" }
            )),
            _ => None,
        }
    }

    /// Another lot of the same model in this bin that is off the other way.
    fn mixed_up(&self, lot: &Lot, counted: u32) -> Option<String> {
        let more = |lot: &Lot, counted: u32| counted > self.seen.register(lot);
        let differs = |lot: &Lot, counted: u32| counted != self.seen.register(lot);
        let (other, _) = self.seen.lots.values().find(|(other, theirs)| {
            other.model == lot.model
                && other.label != lot.label
                && differs(other, *theirs)
                && more(other, *theirs) != more(lot, counted)
        })?;
        Some(format!(
            "lot {} of the same model differs the other way: perhaps the two were mixed up",
            other.code
        ))
    }

    /// A record from a phone that waits to be settled and names the thing.
    fn waiting(&self, label: &LabelCode) -> Result<Option<String>, Failure> {
        let aside = self.r.set_aside(false)?;
        let about = aside.iter().find(|aside| aside.input.contains(label.as_str()));
        Ok(about.map(|aside| {
            format!(
                "a record of {} that came on {} waits to be settled and is about it",
                aside.person,
                aside.received_at.date_naive()
            )
        }))
    }
}

fn were(pieces: u32) -> String {
    counted_as(pieces, "piece was", "pieces were")
}

/// What was last recorded of a thing, each with who and when; the latest alone where something
/// explains the difference already. Reservations are told by what they are for.
fn last(entries: &[Kept], explained: usize) -> Vec<String> {
    let many = if explained == 0 { LAST } else { 1 };
    let entries = entries.iter().filter(|kept| !matches!(kept.entry.body, Body::Reserved(_)));
    let told = entries.take(many).enumerate().map(|(at, kept)| {
        let (on, who) = (kept.entry.at.date_naive(), &kept.entry.person);
        let when = if at == 0 { "last recorded" } else { "before that" };
        let told = sentence::of(&kept.entry.body);
        match &kept.entry.body {
            // An old record says its own day, and who imported it explains nothing.
            Body::PastEvent(_) => format!("{when}: {told}"),
            _ => format!("{when} on {on} by {who}: {told}"),
        }
    });
    told.collect()
}
