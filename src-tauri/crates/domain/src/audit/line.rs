//! Where on its rail a symbol stands that a photo shows.

use super::doubt;
use super::judge::AuditSlot;
use super::map::{Anchor, Map, agreed};
use crate::label::LabelCode;

/// A symbol as a photo shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sight {
    /// None: a symbol that could not be read.
    pub label: Option<LabelCode>,
    /// False: recognised only, which proves nothing.
    pub sure: bool,
    /// Centre and side of the symbol, px; none where only the order is known.
    pub at: Option<Spot>,
}

/// Centre and side of a symbol, px.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    pub x: f64,
    pub y: f64,
    pub side: f64,
}

/// How far a symbol may stand off the line of the others, in sides of a symbol (a decision: the
/// label of a module is not always stuck at the same height).
const OFF_LINE: f64 = 1.5;

/// How far out of its slot the middle of a label may seem to be, as a share of the slot's width
/// (a decision).
const BEYOND: f64 = 0.15;

/// No more known labels than this are tried against each other.
const MOST_ANCHORS: usize = 40;

/// The line of labels in one photo, and where on it each millimetre of the rail lies.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    origin: (f64, f64),
    /// Direction in which the labels are read.
    along: (f64, f64),
    side: f64,
    map: Map,
    /// Place along the line, px, and what is to be added to the map there, mm; by place.
    corrections: Vec<(f64, f64)>,
    /// The stretch of the rail of which the map says enough, mm.
    trusted: (f64, f64),
    /// The labels that agree with the map.
    known: Vec<Anchor>,
}

impl Line {
    /// Lays the rail along the symbols whose slots are known; none where fewer than two agree.
    ///
    /// A label whose place does not fit those of the others counts no more than any other symbol:
    /// it is where the photo shows it.
    pub fn through(anchors: &[(Spot, usize)], slots: &[AuditSlot]) -> Option<Self> {
        let count = anchors.len() as f64;
        if anchors.len() < 2 {
            return None;
        }
        let mean = |of: fn(&Spot) -> f64| anchors.iter().map(|(s, _)| of(s)).sum::<f64>() / count;
        let (x, y, side) = (mean(|s| s.x), mean(|s| s.y), mean(|s| s.side));
        let along = direction(anchors, (x, y), slots)?;
        let mut line = Self {
            origin: (x, y),
            along,
            side,
            map: Map { a: 0.0, b: 0.0, c: 0.0 },
            corrections: Vec::new(),
            trusted: (0.0, 0.0),
            known: Vec::new(),
        };
        let anchors: Vec<Anchor> = anchors
            .iter()
            .take(MOST_ANCHORS)
            .map(|(spot, slot)| Anchor {
                t: line.place(spot),
                mm: slots[*slot].middle(),
                width_mm: slots[*slot].width_mm,
                side: spot.side,
            })
            .collect();
        line.map = agreed(&anchors)?;
        let agreeing: Vec<&Anchor> = anchors.iter().filter(|a| line.map.fits(a)).collect();
        line.corrections = agreeing.iter().map(|a| (a.t, a.mm - line.map.mm(a.t))).collect();
        line.corrections.sort_by(|a, b| a.0.total_cmp(&b.0));
        let low = agreeing.iter().map(|a| a.mm).fold(f64::INFINITY, f64::min);
        let high = agreeing.iter().map(|a| a.mm).fold(f64::NEG_INFINITY, f64::max);
        // Beyond the outermost labels an error grows with the distance: half as far again.
        let beyond = (high - low) / 2.0 + agreeing.iter().map(|a| a.width_mm).fold(0.0, f64::max);
        line.trusted = (low - beyond, high + beyond);
        line.known = agreeing.into_iter().copied().collect();
        Some(line)
    }

    /// Whether a symbol stands in the row of labels.
    pub fn holds(&self, spot: &Spot) -> bool {
        let (dx, dy) = (spot.x - self.origin.0, spot.y - self.origin.1);
        let off = (dy * self.along.0 - dx * self.along.1).abs();
        off < OFF_LINE * self.side && (0.5..2.0).contains(&(spot.side / self.side))
    }

    /// The slot in which a symbol stands.
    pub fn slot_of(&self, spot: &Spot, slots: &[AuditSlot]) -> Option<usize> {
        let mm = self.mm(self.place(spot));
        if mm < self.trusted.0 || mm > self.trusted.1 {
            return None;
        }
        let off = |slot: &AuditSlot| (slot.middle() - mm).abs() / slot.width_mm;
        let near = slots.iter().enumerate().map(|(at, slot)| (at, off(slot)));
        let near = near.min_by(|a, b| a.1.total_cmp(&b.1))?;
        (near.1 <= 0.5 + BEYOND).then_some(near.0)
    }

    /// Whether a label in its own slot could as well be in another one, by its place among the
    /// other labels.
    pub fn could_be_in(&self, spot: &Spot, own: &AuditSlot, other: &AuditSlot) -> bool {
        let t = self.place(spot);
        let others: Vec<Anchor> =
            self.known.iter().filter(|a| a.mm != own.middle()).copied().collect();
        let at = |slot: &AuditSlot| Anchor {
            t,
            mm: slot.middle(),
            width_mm: own.width_mm,
            side: spot.side,
        };
        doubt::as_well(&others, at(own), at(other))
    }

    /// Whether the middle half of a slot lies within a picture of this size, px.
    pub fn covers(&self, slot: &AuditSlot, width: f64, height: f64) -> bool {
        let Some((from, to)) = self.inside(width, height) else { return false };
        let (low, high) = (self.mm(from), self.mm(to));
        // Beyond its horizon a map turns round and says nothing.
        let seen = [from, to].iter().all(|t| 1.0 + self.map.c * t > 0.0);
        let half = slot.width_mm / 4.0;
        let (low, high) = (low.max(self.trusted.0), high.min(self.trusted.1));
        seen && low <= slot.middle() - half && slot.middle() + half <= high
    }

    /// The stretch of the line that lies in the picture, half a symbol from its edge, px.
    fn inside(&self, width: f64, height: f64) -> Option<(f64, f64)> {
        let (mut from, mut to) = (f64::NEG_INFINITY, f64::INFINITY);
        let edge = self.side / 2.0;
        let axes = [(self.origin.0, self.along.0, width), (self.origin.1, self.along.1, height)];
        for (origin, along, size) in axes {
            let (low, high) = (edge - origin, size - edge - origin);
            if along.abs() < 1e-9 {
                if low > 0.0 || high < 0.0 {
                    return None;
                }
                continue;
            }
            let (a, b) = (low / along, high / along);
            from = from.max(a.min(b));
            to = to.min(a.max(b));
        }
        (from < to).then_some((from, to))
    }

    /// Place along the line, px from its middle.
    fn place(&self, spot: &Spot) -> f64 {
        (spot.x - self.origin.0) * self.along.0 + (spot.y - self.origin.1) * self.along.1
    }

    /// Place on the rail, mm, from the place along the line.
    fn mm(&self, t: f64) -> f64 {
        let after = self.corrections.partition_point(|(at, _)| *at <= t);
        let correction = match (self.corrections[..after].last(), self.corrections.get(after)) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0),
            (Some(only), None) | (None, Some(only)) => only.1,
            (None, None) => 0.0,
        };
        self.map.mm(t) + correction
    }
}

/// The direction of the line in which the rail goes from left to right.
fn direction(
    anchors: &[(Spot, usize)],
    middle: (f64, f64),
    slots: &[AuditSlot],
) -> Option<(f64, f64)> {
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (spot, _) in anchors {
        let (dx, dy) = (spot.x - middle.0, spot.y - middle.1);
        xx += dx * dx;
        xy += dx * dy;
        yy += dy * dy;
    }
    // The axis of the points: the larger eigenvector of their scatter.
    let turn = 0.5 * (2.0 * xy).atan2(xx - yy);
    let (x, y) = (turn.cos(), turn.sin());
    let mean_mm =
        anchors.iter().map(|(_, slot)| slots[*slot].middle()).sum::<f64>() / anchors.len() as f64;
    let with: f64 = anchors
        .iter()
        .map(|(s, slot)| {
            ((s.x - middle.0) * x + (s.y - middle.1) * y) * (slots[*slot].middle() - mean_mm)
        })
        .sum();
    match with {
        with if with > 0.0 => Some((x, y)),
        with if with < 0.0 => Some((-x, -y)),
        _ => None,
    }
}
