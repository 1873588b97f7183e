//! Where on its rail a symbol stands that a photo shows.

use super::doubt;
use super::judge::AuditSlot;
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

/// How far a label may stand off the middle of its slot and still agree with the others, as a
/// share of the slot's width (a decision). A unit one slot further on must never do so.
pub(super) const AGREES: f64 = 0.25;

/// What a map that sees the rail from aside must save, against a plain one, to be taken instead.
const SAVES: f64 = 0.4;

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

/// Place on the rail from the place along the line: `(a + b t) / (1 + c t)`, as a straight rail
/// is seen from any side.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Map {
    a: f64,
    b: f64,
    c: f64,
}

/// A label that was read and stands on the rail by the register.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Anchor {
    /// Place along the line, px.
    pub t: f64,
    /// Place on the rail by the register, mm.
    pub mm: f64,
    pub width_mm: f64,
    /// Side of its symbol, px.
    pub side: f64,
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

impl Map {
    fn mm(self, t: f64) -> f64 {
        (self.a + self.b * t) / (1.0 + self.c * t)
    }

    /// How far an anchor is off, as a share of the width of its slot.
    fn off(self, anchor: &Anchor) -> f64 {
        match 1.0 + self.c * anchor.t {
            ahead if ahead > 0.0 => (self.mm(anchor.t) - anchor.mm).abs() / anchor.width_mm,
            _ => f64::INFINITY,
        }
    }

    fn fits(self, anchor: &Anchor) -> bool {
        self.off(anchor) <= AGREES
    }

    /// The map through two anchors, seen straight from the front.
    fn straight(p: &Anchor, q: &Anchor) -> Self {
        let b = (q.mm - p.mm) / (q.t - p.t);
        Self { a: p.mm - b * p.t, b, c: 0.0 }
    }

    /// The straight map of least squares through all anchors but the one in place `out`.
    fn mean(anchors: &[Anchor], out: usize) -> Option<Self> {
        let used = || anchors.iter().enumerate().filter(|(at, _)| *at != out).map(|(_, a)| a);
        let n = used().count() as f64;
        let (t, mm) = (used().map(|a| a.t).sum::<f64>() / n, used().map(|a| a.mm).sum::<f64>() / n);
        let spread: f64 = used().map(|a| (a.t - t).powi(2)).sum();
        let b = used().map(|a| (a.t - t) * (a.mm - mm)).sum::<f64>() / spread;
        (spread > 1e-6).then_some(Self { a: mm - b * t, b, c: 0.0 })
    }

    /// The map through three anchors, seen from aside.
    fn aside(p: &Anchor, q: &Anchor, r: &Anchor) -> Option<Self> {
        // a + b t - c t mm = mm; the first taken from the others leaves two equations.
        let row = |s: &Anchor| (s.t - p.t, -(s.t * s.mm - p.t * p.mm), s.mm - p.mm);
        let ((b1, c1, m1), (b2, c2, m2)) = (row(q), row(r));
        let whole = b1 * c2 - b2 * c1;
        if whole.abs() < 1e-9 {
            return None;
        }
        let (b, c) = ((m1 * c2 - m2 * c1) / whole, (b1 * m2 - b2 * m1) / whole);
        Some(Self { a: p.mm - b * p.t + c * p.t * p.mm, b, c })
    }
}

/// The map that costs least; none where not enough anchors agree with it.
fn agreed(anchors: &[Anchor]) -> Option<Map> {
    let pairs = (0..anchors.len()).flat_map(|p| (p + 1..anchors.len()).map(move |q| (p, q)));
    let straight = pairs
        .filter(|(p, q)| (anchors[*p].t - anchors[*q].t).abs() > 1e-6)
        .map(|(p, q)| Map::straight(&anchors[p], &anchors[q]));
    let n = anchors.len();
    // Two labels stuck on askew lead astray: means of all, and of all but one, are tried too.
    let means = (0..=n).filter_map(|out| Map::mean(anchors, out));
    let straight = cheapest(straight.chain(means), anchors);
    let threes =
        (0..n).flat_map(|p| (p + 1..n).flat_map(move |q| (q + 1..n).map(move |r| (p, q, r))));
    // Three places are always met by one of these, so it takes more to believe one.
    let threes = threes.filter(|_| n >= 5);
    let aside = threes.filter_map(|(p, q, r)| Map::aside(&anchors[p], &anchors[q], &anchors[r]));
    let aside = cheapest(aside, anchors);
    let (map, _) = match (straight, aside) {
        (Some(straight), Some(aside)) if aside.1 < SAVES * straight.1 => aside,
        (straight, aside) => straight.or(aside)?,
    };
    let agreeing = anchors.iter().filter(|anchor| map.fits(anchor)).count();
    // Two of three prove nothing: any two agree with some map.
    let enough = agreeing == n || (agreeing >= 3 && agreeing * 2 > n);
    enough.then_some(map)
}

/// The map with the least cost: what an anchor is off counts squared, and one that does not agree
/// counts the same however far it is off (MSAC, Torr and Zisserman 2000, from memory). It must run from left to
/// right.
fn cheapest(maps: impl Iterator<Item = Map>, anchors: &[Anchor]) -> Option<(Map, f64)> {
    let judged = maps.filter(|map| map.b - map.a * map.c > 0.0).map(|map| {
        let cost: f64 = anchors.iter().map(|a| map.off(a).min(AGREES).powi(2)).sum();
        (map, cost)
    });
    judged.min_by(|a, b| a.1.total_cmp(&b.1))
}
