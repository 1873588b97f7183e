/// Returns the level after simple exponential smoothing that starts with the first value; 0 for
/// no values.
///
/// Source: Holt 1957, reprinted in International Journal of Forecasting 20:5-10 (2004).
pub(super) fn smoothed(values: &[f64], alpha: f64) -> f64 {
    let Some((first, rest)) = values.split_first() else { return 0.0 };
    rest.iter().fold(*first, |level, value| level + alpha * (value - level))
}

/// Range in which a smoothing factor is looked for: Croston's, ADIDA's and IMAPA's, and that of
/// plain smoothing.
pub(super) const NARROW: (f64, f64) = (0.1, 0.3);
pub(super) const WIDE: (f64, f64) = (0.01, 0.99);

/// Width of the range at which the search ends; what is left of it is taken as a parabola.
const CLOSE: f64 = 2e-3;
/// Levels that are carried on side by side.
const SIDE: usize = 8;

/// Smooths beginnings of a series, each with its own factor of least squared one-step errors.
///
/// The factor is found by golden section; where both points agree exactly, it is the middle of what
/// is left. The sum of squares may have several valleys, so the order of the sections is kept:
/// another search would find other factors. Two things make it quick: each sum waits for its own
/// last step, so the points that the next three sections may ask for are summed side by side; and
/// the beginnings of a series mostly go the same way, so the sums of a long one are taken on the
/// way for the shorter ones.
#[derive(Debug, Default)]
pub(super) struct Smoother {
    searches: Vec<Search>,
    levels: Vec<f64>,
}

impl Smoother {
    /// Returns the levels after the first so many values, for numbers that do not fall; 0 after
    /// none.
    pub fn best(&mut self, values: &[f64], ends: &[usize], range: (f64, f64)) -> &[f64] {
        // While all values are zero, so are all levels and errors.
        let zeros = values.iter().take_while(|value| **value == 0.0).count();
        let skipped = zeros.saturating_sub(1);
        let values = &values[skipped..];
        self.searches.clear();
        for end in ends.iter().filter_map(|end| end.checked_sub(skipped)) {
            if end > 0 && self.searches.last().is_none_or(|last| last.end < end) {
                self.searches.push(Search::of(end, range));
            }
        }
        self.search(values);
        self.levels.clear();
        let mut found = self.searches.iter().peekable();
        for end in ends {
            let end = end.saturating_sub(skipped);
            while found.next_if(|search| search.end < end).is_some() {}
            let search = found.peek().filter(|search| search.end == end);
            self.levels.push(search.map_or(0.0, |search| search.level));
        }
        &self.levels
    }

    fn search(&mut self, values: &[f64]) {
        let Some(Search { section, .. }) = self.searches.first().copied() else { return };
        squares(values, &mut self.searches, [section.left, section.right], Search::start);
        narrow(values, &mut self.searches);
        self.searches.sort_unstable_by_key(|search| search.end);
        self.searches.chunks_mut(SIDE).for_each(|searches| smooth(values, searches));
    }
}

/// Narrows searches that had the same range to their ends, those together that still have.
fn narrow(values: &[f64], searches: &mut [Search]) {
    // The shorter ones stay before the longer ones that went the same way.
    searches.sort_by_key(|search| search.way);
    for alike in searches.chunk_by_mut(|one, other| one.way == other.way) {
        let Search { section, at_left, at_right, way, .. } = alike[0];
        if way == ENDED {
            continue;
        }
        if section.high - section.low < CLOSE {
            squares(values, alike, section.parabola(), |search, sums| {
                search.factor = section.lowest(sums);
            });
            continue;
        }
        let points = section.ahead(at_left < at_right);
        squares(values, alike, points, |search, sums| search.follow(&points, sums));
        narrow(values, alike);
    }
}

/// The search of a factor for the first so many values.
#[derive(Debug, Clone, Copy)]
struct Search {
    end: usize,
    section: Section,
    at_left: f64,
    at_right: f64,
    /// Sections that were taken since it was last looked ahead, and the one to come, as a number.
    way: u8,
    factor: f64,
    level: f64,
}

/// The way of a search that has its factor.
const ENDED: u8 = u8::MAX;

impl Search {
    fn of(end: usize, range: (f64, f64)) -> Self {
        let section = Section::of(range);
        Self { end, section, at_left: 0.0, at_right: 0.0, way: 0, factor: 0.0, level: 0.0 }
    }

    fn start(&mut self, [at_left, at_right]: [f64; 2]) {
        (self.at_left, self.at_right) = (at_left, at_right);
        self.way = 0;
        self.turn();
    }

    /// Says which section is to come; false where none is.
    fn turn(&mut self) -> bool {
        if self.at_left == self.at_right {
            self.factor = self.section.middle();
            self.way = ENDED;
            return false;
        }
        self.way = 2 * self.way + u8::from(self.at_left < self.at_right);
        true
    }

    /// Takes three sections by the sums at the points ahead: point 0 is that of the first section;
    /// 1 and 2 follow it, and 3 to 6 follow these.
    fn follow(&mut self, points: &[f64; 7], sums: [f64; 7]) {
        let mut next = 0;
        self.way = 0;
        for _ in 0..3 {
            let to_left = self.at_left < self.at_right;
            self.section = self.section.narrowed(to_left, points[next]);
            (self.at_left, self.at_right) =
                if to_left { (sums[next], self.at_left) } else { (self.at_right, sums[next]) };
            if !self.turn() {
                return;
            }
            next = 2 * next + if self.at_left < self.at_right { 1 } else { 2 };
        }
    }
}

/// A range with the two points that cut it in golden sections.
#[derive(Debug, Clone, Copy)]
struct Section {
    low: f64,
    high: f64,
    left: f64,
    right: f64,
}

impl Section {
    fn of((low, high): (f64, f64)) -> Self {
        let long = (high - low) / GOLDEN;
        Self { low, high, left: high - long, right: low + long }
    }

    /// The point that cuts what is left of the range after a section.
    fn next(self, to_left: bool) -> f64 {
        if to_left {
            self.right - (self.right - self.low) / GOLDEN
        } else {
            self.left + (self.high - self.left) / GOLDEN
        }
    }

    fn narrowed(self, to_left: bool, next: f64) -> Self {
        if to_left {
            Self { left: next, right: self.left, high: self.right, ..self }
        } else {
            Self { low: self.left, left: self.right, right: next, ..self }
        }
    }

    /// The point that comes next, the two that may follow, and the four that may follow those.
    fn ahead(self, to_left: bool) -> [f64; 7] {
        let narrowed = |section: Self, to_left| {
            let next = section.next(to_left);
            (section.narrowed(to_left, next), next)
        };
        let (section, first) = narrowed(self, to_left);
        let ((left, one), (right, two)) = (narrowed(section, true), narrowed(section, false));
        let [three, four] = [true, false].map(|to_left| left.next(to_left));
        let [five, six] = [true, false].map(|to_left| right.next(to_left));
        [first, one, two, three, four, five, six]
    }

    fn middle(self) -> f64 {
        (self.low + self.high) / 2.0
    }

    fn parabola(self) -> [f64; 3] {
        [self.low, self.middle(), self.high]
    }

    /// Where the parabola through ends and middle is lowest.
    fn lowest(self, [at_low, at_middle, at_high]: [f64; 3]) -> f64 {
        let half = (self.high - self.low) / 2.0;
        let bend = at_low - 2.0 * at_middle + at_high;
        if bend > 0.0 {
            let off = half * (at_low - at_high) / (2.0 * bend);
            self.middle() + off.clamp(-half, half)
        } else if at_low < at_high {
            self.low
        } else {
            self.high
        }
    }
}

/// (√5 + 1) / 2.
const GOLDEN: f64 = 1.618_033_988_749_895;

/// Sums the squared one-step errors for several factors at once, and hands each search, the
/// shortest first, the sums up to its end.
///
/// The level is written as a mean and not as a correction: where all factors do as well, the noise
/// of the last digit decides, and it is to decide as in the library that is compared with.
fn squares<const N: usize>(
    values: &[f64],
    searches: &mut [Search],
    factors: [f64; N],
    take: impl Fn(&mut Search, [f64; N]),
) {
    let rests = factors.map(|factor| 1.0 - factor);
    let mut sums = [0.0; N];
    let mut levels: [f64; N] =
        std::array::from_fn(|n| factors[n] * values[0] + rests[n] * values[0]);
    let mut from = 1;
    for search in searches {
        for value in &values[from..search.end] {
            for n in 0..N {
                let error = value - levels[n];
                sums[n] += error * error;
                levels[n] = factors[n] * value + rests[n] * levels[n];
            }
        }
        from = search.end;
        take(search, sums);
    }
}

/// Smooths up to the end of each of a few searches, the shortest first, with its factor.
fn smooth(values: &[f64], searches: &mut [Search]) {
    let mut factors = [0.0; SIDE];
    for (factor, search) in factors.iter_mut().zip(searches.iter()) {
        *factor = search.factor;
    }
    let mut levels = [values[0]; SIDE];
    let mut from = 1;
    for (n, search) in searches.iter_mut().enumerate() {
        for value in &values[from..search.end] {
            for (level, factor) in levels.iter_mut().zip(factors) {
                *level += factor * (value - *level);
            }
        }
        from = search.end;
        search.level = levels[n];
    }
}
