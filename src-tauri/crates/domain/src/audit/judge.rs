use super::Found;
use super::line::{Line, Sight, Spot};
use super::together::{Look, Looks, judged};
use crate::label::LabelCode;
use crate::lineup::{Compared, compare};
use crate::place::SlotAddress;
use std::collections::BTreeSet;

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
    let judged = judged(slots, looks);
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

impl AuditSlot {
    /// Middle from the left end of the rail, mm.
    pub fn middle(&self) -> f64 {
        self.x_mm + self.width_mm / 2.0
    }
}
