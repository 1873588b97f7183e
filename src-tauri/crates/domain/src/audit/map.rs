//! Where on a straight rail each place of a photo is, by the labels that are known.

/// How far a label may stand off the middle of its slot and still agree with the others, as a
/// share of the slot's width (a decision). A unit one slot further on must never do so.
pub(super) const AGREES: f64 = 0.25;

/// What a map that sees the rail from aside must save, against a plain one, to be taken instead.
const SAVES: f64 = 0.4;

/// Place on the rail from the place along the line: `(a + b t) / (1 + c t)`, as a straight rail
/// is seen from any side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Map {
    pub a: f64,
    pub b: f64,
    pub c: f64,
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

impl Map {
    pub fn mm(self, t: f64) -> f64 {
        (self.a + self.b * t) / (1.0 + self.c * t)
    }

    /// How far an anchor is off, as a share of the width of its slot.
    fn off(self, anchor: &Anchor) -> f64 {
        match 1.0 + self.c * anchor.t {
            ahead if ahead > 0.0 => (self.mm(anchor.t) - anchor.mm).abs() / anchor.width_mm,
            _ => f64::INFINITY,
        }
    }

    pub fn fits(self, anchor: &Anchor) -> bool {
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
pub(super) fn agreed(anchors: &[Anchor]) -> Option<Map> {
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
