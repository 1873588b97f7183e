//! What all photos together say of each slot.

use super::Found;
use super::judge::{AuditSlot, SlotJudged};
use crate::label::LabelCode;
use std::collections::{BTreeMap, BTreeSet};

/// What one photo shows of one slot.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Look {
    /// Its place is in the picture, without a symbol.
    Bare,
    /// A symbol that was not read, or only recognised.
    Unsure(Option<LabelCode>),
    /// The label of its own unit, which could as well stand in another slot.
    Somewhere(LabelCode),
    Label(LabelCode),
}

pub(super) type Looks = Vec<(usize, Look)>;

impl Look {
    pub fn somewhere(self) -> Self {
        match self {
            Self::Label(label) => Self::Somewhere(label),
            other => other,
        }
    }
}

/// Judges each slot by what all photos show of it.
pub(super) fn judged(slots: &[AuditSlot], mut looks: Vec<Looks>) -> Vec<SlotJudged> {
    settled_elsewhere(&mut looks);
    let mut judged: Vec<SlotJudged> =
        slots.iter().zip(&looks).map(|(slot, looks)| together(slot, looks)).collect();
    twice(&mut judged);
    exchanged(slots, &mut judged);
    judged
}

/// Takes labels out of slots in which they might be, where a photo shows for certain in which
/// slot they are.
fn settled_elsewhere(looks: &mut [Looks]) {
    let certain: BTreeSet<LabelCode> = looks
        .iter()
        .flatten()
        .filter_map(|(_, look)| match look {
            Look::Label(label) => Some(*label),
            _ => None,
        })
        .collect();
    for looks in looks {
        looks
            .retain(|(_, look)| !matches!(look, Look::Somewhere(label) if certain.contains(label)));
    }
}

/// Puts together what the photos show of one slot: what was read counts most.
fn together(slot: &AuditSlot, looks: &Looks) -> SlotJudged {
    let labels: BTreeMap<LabelCode, usize> = looks
        .iter()
        .filter_map(|(picture, look)| match look {
            Look::Label(label) => Some((*label, *picture)),
            _ => None,
        })
        .collect();
    let judged = |found, seen, picture| SlotJudged { found, seen, with: None, picture };
    let mut read = labels.into_iter();
    if let Some((label, picture)) = read.next() {
        let found = match slot.unit {
            _ if read.next().is_some() => return judged(Found::Contradicted, None, Some(picture)),
            Some(unit) if unit == label => Found::Present,
            _ => Found::Strange,
        };
        return judged(found, Some(label), Some(picture));
    }
    let somewhere = looks.iter().find_map(|(picture, look)| match look {
        Look::Somewhere(label) => Some((*label, *picture)),
        _ => None,
    });
    if let Some((label, picture)) = somewhere {
        return judged(Found::PlaceUnsure, Some(label), Some(picture));
    }
    let unsure = looks.iter().filter_map(|(picture, look)| match look {
        Look::Unsure(guess) => Some((*picture, *guess)),
        _ => None,
    });
    // A guess says more than nothing to whoever goes and looks.
    if let Some((picture, guess)) = unsure.max_by_key(|(_, guess)| guess.is_some()) {
        return judged(Found::Unreadable, guess, Some(picture));
    }
    match (looks.first(), slot.unit) {
        (Some((picture, _)), Some(_)) => judged(Found::Missing, None, Some(*picture)),
        (Some((picture, _)), None) => judged(Found::Empty, None, Some(*picture)),
        (None, _) => judged(Found::NotCovered, None, None),
    }
}

/// A label that is seen in two slots proves nothing about either.
fn twice(judged: &mut [SlotJudged]) {
    let read = |slot: &SlotJudged| match slot.found {
        Found::Present | Found::Strange => slot.seen,
        _ => None,
    };
    let mut counts: BTreeMap<LabelCode, u32> = BTreeMap::new();
    judged.iter().filter_map(read).for_each(|label| *counts.entry(label).or_default() += 1);
    for slot in judged {
        if read(slot).is_some_and(|label| counts[&label] > 1) {
            slot.found = Found::Contradicted;
        }
    }
}

/// Finds units that stand in each other's slots: two, or more in a ring.
fn exchanged(slots: &[AuditSlot], judged: &mut [SlotJudged]) {
    let strange = judged.iter().enumerate().filter(|(_, slot)| slot.found == Found::Strange);
    let seen_at: BTreeMap<LabelCode, usize> =
        strange.filter_map(|(at, slot)| Some((slot.seen?, at))).collect();
    for at in 0..slots.len() {
        if judged[at].found != Found::Strange {
            continue;
        }
        let mut ring = vec![at];
        let back = loop {
            let own = slots[ring[ring.len() - 1]].unit;
            match own.and_then(|own| seen_at.get(&own)) {
                Some(next) if *next == at => break true,
                Some(next) if !ring.contains(next) => ring.push(*next),
                _ => break false,
            }
        };
        for (place, slot) in ring.iter().enumerate().filter(|_| back) {
            judged[*slot].found = Found::Exchanged;
            judged[*slot].with = Some(ring[(place + 1) % ring.len()]);
        }
    }
}
