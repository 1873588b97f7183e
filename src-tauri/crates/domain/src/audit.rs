//! An audit of a rail by photo: what the photos show of each slot, held against the register, and
//! how a person settles what differs.
//!
//! [`judge`] reads nothing into a photo that is not in it: a slot that no photo covers is not
//! looked at, and a label that was only recognised stays unreadable until a person looked.

mod doubt;
mod judge;
mod line;
mod map;
#[cfg(test)]
mod tests;
mod together;

pub use judge::{AuditSlot, Judged, Loose, Picture, SlotJudged, judge};
pub use line::{Sight, Spot};

use crate::label::LabelCode;
use crate::photo::PhotoHash;
use crate::place::{RailAddress, SlotAddress};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;
use uuid::Uuid;

/// What the photos show of a slot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Found {
    /// The label of the unit that the register has there.
    Present,
    /// That label too, but the photo cannot tell this slot from the next one.
    PlaceUnsure,
    /// The register has the slot empty, and no label is seen in its place.
    Empty,
    /// Units stand in each other's slots: two, or more in a ring.
    Exchanged,
    /// Another unit than the register's.
    Strange,
    /// A label is there and cannot be read, or was only recognised.
    Unreadable,
    /// Its place is on a photo and shows no label: the slot is empty, or the label is gone.
    Missing,
    /// Photos, or two labels in one place, contradict each other.
    Contradicted,
    /// No photo shows its place.
    NotCovered,
}

/// What an audit found of one slot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    pub slot: SlotAddress,
    pub found: Found,
    /// The unit that the register had there when the photos were judged.
    pub registered: Option<LabelCode>,
    /// The label seen there; of an unreadable one what it was recognised as, which proves nothing.
    pub seen: Option<LabelCode>,
    /// Of units that were exchanged: the slot where its own unit was seen.
    pub with: Option<SlotAddress>,
    /// The kept photo that shows it.
    pub photo: Option<PhotoHash>,
}

/// The newest audit of a rail; each audit takes the place of the one before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Audit {
    pub rail: RailAddress,
    /// The entry that recorded it.
    pub id: Uuid,
    pub at: DateTime<Utc>,
    pub person: String,
    /// How many photos were looked at, kept or not.
    pub pictures: u32,
    /// Those that are kept.
    pub photos: Vec<PhotoHash>,
    /// Every slot of the rail, left to right.
    pub findings: Vec<Finding>,
    /// Labels seen on the rail of which it cannot be said in which slot.
    pub loose: Vec<LabelCode>,
    pub settled: BTreeMap<SlotAddress, Settled>,
}

/// How a finding was settled, by which entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settled {
    pub entry: Uuid,
    pub at: DateTime<Utc>,
    pub person: String,
    pub how: Settlement,
    /// The label is to be printed and stuck on again.
    pub reprint: bool,
    pub note: String,
}

/// What a person says of a slot who looked at it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Settlement {
    /// The registered unit stands there; it was looked at.
    Stands,
    /// Units really stand in each other's slots: the register follows.
    Exchanged,
    /// The registered unit is not there; it is lost until somebody finds it.
    NotThere,
    /// Another unit stands there: the register follows.
    StandsHere,
    /// What did not belong there was taken out.
    TakenOut,
    /// It is left as it is, with a note.
    LeftOpen,
}

impl Found {
    pub const ALL: [Self; 9] = [
        Self::Present,
        Self::PlaceUnsure,
        Self::Empty,
        Self::Exchanged,
        Self::Strange,
        Self::Unreadable,
        Self::Missing,
        Self::Contradicted,
        Self::NotCovered,
    ];

    pub fn word(self) -> &'static str {
        match self {
            Self::Present => "present",
            Self::PlaceUnsure => "place_unsure",
            Self::Empty => "empty",
            Self::Exchanged => "exchanged",
            Self::Strange => "strange",
            Self::Unreadable => "unreadable",
            Self::Missing => "missing",
            Self::Contradicted => "contradicted",
            Self::NotCovered => "not_covered",
        }
    }

    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|found| found.word() == word)
    }

    /// Whether a person has to say something about it. A slot that was not looked at passes
    /// nothing, but there is nothing to settle in it either.
    pub fn differs(self) -> bool {
        !matches!(self, Self::Present | Self::Empty | Self::NotCovered)
    }
}

impl Settlement {
    pub const ALL: [Self; 6] = [
        Self::Stands,
        Self::Exchanged,
        Self::NotThere,
        Self::StandsHere,
        Self::TakenOut,
        Self::LeftOpen,
    ];

    pub fn word(self) -> &'static str {
        match self {
            Self::Stands => "stands",
            Self::Exchanged => "exchanged",
            Self::NotThere => "not_there",
            Self::StandsHere => "stands_here",
            Self::TakenOut => "taken_out",
            Self::LeftOpen => "left_open",
        }
    }

    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|how| how.word() == word)
    }
}

impl Finding {
    /// The ways in which it may be settled, the likeliest first.
    pub fn ways(&self) -> Vec<Settlement> {
        use Settlement::{Exchanged, LeftOpen, NotThere, Stands, StandsHere, TakenOut};
        let registered = self.registered.is_some();
        match self.found {
            Found::Present | Found::Empty => Vec::new(),
            Found::Exchanged => vec![Exchanged, Stands, LeftOpen],
            Found::Strange if registered => vec![StandsHere, Stands, TakenOut, LeftOpen],
            Found::Strange => vec![StandsHere, TakenOut, LeftOpen],
            Found::Unreadable | Found::Contradicted if registered => {
                vec![Stands, StandsHere, NotThere, LeftOpen]
            }
            Found::Unreadable | Found::Contradicted => vec![StandsHere, LeftOpen],
            Found::Missing | Found::PlaceUnsure | Found::NotCovered if registered => {
                vec![Stands, NotThere, StandsHere, LeftOpen]
            }
            Found::Missing | Found::PlaceUnsure | Found::NotCovered => vec![StandsHere, LeftOpen],
        }
    }
}

impl Audit {
    /// The finding of a slot.
    pub fn finding(&self, slot: &SlotAddress) -> Option<&Finding> {
        self.findings.iter().find(|finding| finding.slot == *slot)
    }

    /// The findings of units that were exchanged with that of a slot, itself first; none where
    /// they make no ring.
    pub fn ring(&self, slot: &SlotAddress) -> Option<Vec<&Finding>> {
        let mut ring = vec![self.finding(slot)?];
        while ring.len() <= self.findings.len() {
            let next = self.finding(ring[ring.len() - 1].with.as_ref()?)?;
            if next.slot == *slot {
                return (ring.len() > 1).then_some(ring);
            }
            ring.push(next);
        }
        None
    }

    /// Notes that a unit stands no longer where its slot's finding has it, because this audit
    /// brought it elsewhere: what is then bare there is empty.
    pub fn left(&mut self, unit: LabelCode) {
        for finding in self.findings.iter_mut().filter(|f| f.registered == Some(unit)) {
            finding.registered = None;
            if matches!(finding.found, Found::Missing | Found::PlaceUnsure) {
                (finding.found, finding.seen) = (Found::Empty, None);
            }
        }
    }

    /// The slot in which a unit was seen that is not its own, where that waits to be settled.
    pub fn seen_elsewhere(&self, unit: LabelCode) -> Option<&SlotAddress> {
        let strange = self.findings.iter().filter(|f| f.found == Found::Strange);
        let mut open = strange.filter(|f| self.is_open(f) && f.seen == Some(unit));
        open.next().map(|finding| &finding.slot)
    }

    /// Whether a slot waits for somebody: it differs, and is not settled or was left open.
    pub fn is_open(&self, finding: &Finding) -> bool {
        let settled = self.settled.get(&finding.slot);
        finding.found.differs() && settled.is_none_or(|s| s.how == Settlement::LeftOpen)
    }
}
