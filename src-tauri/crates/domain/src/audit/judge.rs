use super::Found;
use super::line::{Line, Sight, Spot};
use crate::label::LabelCode;
use crate::lineup::{Compared, compare};
use crate::place::SlotAddress;
use std::collections::{BTreeMap, BTreeSet};

/// A slot of the rail, with what stands in it by the register.
#[derive(Debug, Clone, PartialEq)]
pub struct AuditSlot {
    pub address: SlotAddress,
    /// Left edge from the left end of the rail, mm.
    pub x_mm: f64,
    pub width_mm: f64,
    pub unit: Option<LabelCode>,
}

/// One photo, as the reader of labels sees it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Picture {
    /// Width and height, px; none where only the order of labels is known.
    pub size: Option<(f64, f64)>,
    /// Symbols in rows, each from the left as its labels are read.
    pub rows: Vec<Vec<Sight>>,
}

/// What all photos together show of the rail.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// In the order of the slots.
    pub slots: Vec<SlotJudged>,
    pub loose: Vec<Loose>,
}

/// What the photos show of one slot.
#[derive(Debug, Clone, PartialEq)]
pub struct SlotJudged {
    pub found: Found,
    /// The label seen there; of an unreadable one what it was recognised as.
    pub seen: Option<LabelCode>,
    /// Of units that were exchanged: where its own unit is seen, by its place in the list.
    pub with: Option<usize>,
    /// The photo that shows it best, counted from 0.
    pub picture: Option<usize>,
}

/// A label on the rail of which it cannot be said in which slot it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Loose {
    pub label: LabelCode,
    pub picture: usize,
}

/// What one photo shows of one slot.
#[derive(Debug, Clone, PartialEq)]
enum Look {
    /// Its place is in the picture, without a symbol.
    Bare,
    /// A symbol that was not read, or only recognised.
    Unsure(Option<LabelCode>),
    /// The label of its own unit, which could as well stand in another slot.
    Somewhere(LabelCode),
    Label(LabelCode),
}

type Looks = Vec<(usize, Look)>;

/// What is compared along a row: a label, or a symbol that is like no other.
#[derive(PartialEq)]
enum Thing {
    Label(LabelCode),
    Unread,
}

/// Judges what photos show of a rail.
///
/// Where a photo says where its symbols are, and two labels or more fit the register, the rail is
/// laid along them: each symbol then belongs to the slot in whose place it stands, and a slot
/// counts as covered where its place lies in the picture. A unit that could as well stand in a
/// free slot beside its own, because too few labels say how the rail is seen, is not taken to be
/// in either. Otherwise only the order of the labels speaks, and a slot without a label counts as
/// not looked at.
///
/// `slots` go from left to right; the answer has as many in the same order.
pub fn judge(slots: &[AuditSlot], pictures: &[Picture]) -> Judged {
    let mut looks: Vec<Looks> = vec![Vec::new(); slots.len()];
    let mut loose = Vec::new();
    for (number, picture) in pictures.iter().enumerate() {
        let compared: Vec<_> = picture.rows.iter().map(|row| rows_of(slots, row)).collect();
        let line = picture.size.and_then(|_| laid(slots, picture, &compared));
        match (line, picture.size) {
            (Some(line), Some(size)) => {
                by_place(slots, picture, number, &line, size, &mut looks, &mut loose);
            }
            (_, size) => {
                by_order(picture, number, size.is_some(), &compared, &mut looks, &mut loose)
            }
        }
    }
    settled_elsewhere(&mut looks);
    let mut judged: Vec<SlotJudged> =
        slots.iter().zip(&looks).map(|(slot, looks)| together(slot, looks)).collect();
    twice(&mut judged);
    exchanged(slots, &mut judged);
    let placed: BTreeSet<LabelCode> = judged.iter().filter_map(|slot| slot.seen).collect();
    let mut met = BTreeSet::new();
    loose.retain(|l: &Loose| !placed.contains(&l.label) && met.insert(l.label));
    Judged { slots: judged, loose }
}

fn rows_of(slots: &[AuditSlot], row: &[Sight]) -> Vec<Compared> {
    let wanted: Vec<Option<Thing>> = slots.iter().map(|slot| slot.unit.map(Thing::Label)).collect();
    let seen: Vec<Thing> = row
        .iter()
        .map(|sight| match sight.label {
            Some(label) if sight.sure => Thing::Label(label),
            _ => Thing::Unread,
        })
        .collect();
    compare(&wanted, &seen).rows
}

/// Symbols of a row that stand where the register has them: their places in the row and the slots.
fn agreeing(compared: &[Compared]) -> impl Iterator<Item = (usize, usize)> {
    compared.iter().filter_map(|row| match *row {
        Compared::Agrees { slot, seen } => Some((seen, slot)),
        _ => None,
    })
}

/// Lays the rail along the labels of a photo that are in order.
fn laid(slots: &[AuditSlot], picture: &Picture, compared: &[Vec<Compared>]) -> Option<Line> {
    let anchors_of = |least: usize| -> Vec<(Spot, usize)> {
        let rows = picture.rows.iter().zip(compared);
        let rows = rows.filter(|(_, compared)| agreeing(compared).count() >= least);
        rows.flat_map(|(row, compared)| {
            agreeing(compared).filter_map(|(seen, slot)| Some((row[seen].at?, slot)))
        })
        .collect()
    };
    // A row with a single label of this rail may be another rail onto which it strayed.
    let anchors = anchors_of(2);
    let anchors = if anchors.is_empty() { anchors_of(1) } else { anchors };
    Line::through(&anchors, slots)
}

fn by_place(
    slots: &[AuditSlot],
    picture: &Picture,
    number: usize,
    line: &Line,
    (width, height): (f64, f64),
    looks: &mut [Looks],
    loose: &mut Vec<Loose>,
) {
    let own: BTreeSet<LabelCode> = slots.iter().filter_map(|slot| slot.unit).collect();
    let mut placed: Vec<(usize, Spot, &Sight)> = Vec::new();
    for sight in picture.rows.iter().flatten() {
        let on_line = sight.at.filter(|spot| line.holds(spot));
        let slot = on_line.and_then(|spot| Some((line.slot_of(&spot, slots)?, spot)));
        match (slot, sight.label) {
            (Some((slot, spot)), _) => placed.push((slot, spot, sight)),
            (None, Some(label)) if sight.sure && (on_line.is_some() || own.contains(&label)) => {
                loose.push(Loose { label, picture: number });
            }
            _ => {}
        }
    }
    // No symbol says what is in these; one beside them may.
    let mut bare = vec![true; slots.len()];
    placed.iter().for_each(|(slot, ..)| bare[*slot] = false);
    let free = bare.clone();
    for (at, spot, sight) in placed {
        let look = look_of(sight);
        let beside = [at.checked_sub(1), Some(at + 1).filter(|next| *next < slots.len())];
        let could: Vec<usize> = beside
            .into_iter()
            .flatten()
            .filter(|other| free[*other] && slots[at].unit.map(Look::Label).as_ref() == Some(&look))
            .filter(|other| line.could_be_in(&spot, &slots[at], &slots[*other]))
            .collect();
        could.iter().for_each(|other| bare[*other] = false);
        looks[at].push((number, if could.is_empty() { look } else { look.somewhere() }));
    }
    for (at, slot) in slots.iter().enumerate() {
        if bare[at] && line.covers(slot, width, height) {
            looks[at].push((number, Look::Bare));
        }
    }
}

/// Takes the order of labels alone. Where their places are known and lay no rail, the order does
/// not make up for it.
fn by_order(
    picture: &Picture,
    number: usize,
    has_places: bool,
    compared: &[Vec<Compared>],
    looks: &mut [Looks],
    loose: &mut Vec<Loose>,
) {
    for (row, compared) in picture.rows.iter().zip(compared) {
        // A row that shares nothing with this rail is another rail.
        if agreeing(compared).next().is_none() {
            continue;
        }
        for compared in compared {
            match *compared {
                Compared::Agrees { slot, seen } if has_places => {
                    looks[slot].push((number, look_of(&row[seen]).somewhere()));
                }
                Compared::Agrees { slot, seen } | Compared::Other { slot, seen } => {
                    looks[slot].push((number, look_of(&row[seen])));
                }
                Compared::NotExpected { seen } => {
                    if let Some(label) = row[seen].label.filter(|_| row[seen].sure) {
                        loose.push(Loose { label, picture: number });
                    }
                }
                Compared::NotSeen { .. } | Compared::Empty { .. } => {}
            }
        }
    }
}

fn look_of(sight: &Sight) -> Look {
    match sight.label {
        Some(label) if sight.sure => Look::Label(label),
        guess => Look::Unsure(guess),
    }
}

impl Look {
    fn somewhere(self) -> Self {
        match self {
            Self::Label(label) => Self::Somewhere(label),
            other => other,
        }
    }
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

impl AuditSlot {
    /// Middle from the left end of the rail, mm.
    pub fn middle(&self) -> f64 {
        self.x_mm + self.width_mm / 2.0
    }
}
