//! The 0-1 knapsack, exactly: which of many things of whole weights and profits to pack.
//!
//! Things are taken by profit for weight until one does not fit (the break); the best packing
//! differs from that one only near the break. So the states of a dynamic programme grow from the
//! break outwards, by turns one more thing to its right that may be packed and one to its left that
//! may be left out. A state that is no lighter and no richer than another goes, and so does one
//! that could not become better than the best packing known even if what is left of the capacity
//! were filled with parts of the next thing. When none is left, the best known is proved.
//!
//! Source: D. Pisinger, A minimal algorithm for the 0-1 knapsack problem, Operations Research
//! 45(5):758-767, 1997; single things are ruled out by the bound of Dembo and Hammer 1980.

/// States that are looked at before the search gives up its proof: about half a second.
pub const USUAL_EFFORT: u64 = 20_000_000;

/// Something to pack: whole weight above zero, whole profit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Thing {
    pub weight: u64,
    pub profit: u64,
}

/// What was packed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Packing {
    /// For each thing, whether it is packed.
    pub packed: Vec<bool>,
    pub profit: u64,
    /// No packing is worth more.
    pub bound: u64,
    /// The things by profit for weight, as long as each fits, and what they are worth.
    pub greedy: Vec<usize>,
    pub greedy_profit: u64,
    /// Whether the greedy packing needs no search, since it fills the capacity or holds everything.
    pub at_vertex: bool,
}

#[derive(Clone, Copy)]
struct State {
    weight: i64,
    profit: i64,
    /// Where its last change stands; none for the greedy packing itself.
    change: u32,
}

const NO_CHANGE: u32 = u32::MAX;

/// A thing that a state packs or leaves out unlike the greedy packing.
struct Change {
    before: u32,
    thing: u32,
}

/// Packs things of at most 2^60 each, whose profits sum to at most 2^62; a capacity above 2^61 counts
/// as that. `effort` is the number of states
/// that may be looked at.
pub(super) fn pack(things: &[Thing], capacity: u64, effort: u64) -> Packing {
    let mut order: Vec<usize> = (0..things.len()).collect();
    let rank = |a: &usize, b: &usize| {
        let (a, b) = (things[*a], things[*b]);
        let one = u128::from(a.profit) * u128::from(b.weight);
        let other = u128::from(b.profit) * u128::from(a.weight);
        other.cmp(&one)
    };
    // A stable sort: of equal things the earlier stays first.
    order.sort_by(rank);
    let divisor = things.iter().fold(0, |divisor, thing| gcd(divisor, thing.weight)).max(1);
    let sorted: Vec<(i64, i64)> = order
        .iter()
        .map(|at| ((things[*at].weight / divisor) as i64, things[*at].profit as i64))
        .collect();
    let weights = things.iter().map(|thing| thing.weight / divisor);
    let all = weights.fold(0, u64::saturating_add).min(1 << 61);
    let mut search = Search::of(&sorted, (capacity / divisor).min(all) as i64);
    let bound = search.run(effort);
    let mut packed = vec![false; things.len()];
    order[..search.middle].iter().for_each(|at| packed[*at] = true);
    let greedy = order[..search.middle].to_vec();
    for at in search.changed() {
        packed[order[at]] = !packed[order[at]];
    }
    for at in &search.filled {
        packed[order[*at]] = true;
    }
    Packing {
        packed,
        profit: search.best as u64,
        bound: bound as u64,
        greedy,
        greedy_profit: search.greedy_profit as u64,
        at_vertex: search.at_vertex,
    }
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

struct Search<'a> {
    things: &'a [(i64, i64)],
    capacity: i64,
    /// The first thing that the greedy packing does not hold.
    middle: usize,
    greedy_weight: i64,
    greedy_profit: i64,
    at_vertex: bool,
    best: i64,
    best_change: u32,
    /// Things that the first try adds to the greedy packing; empty once something better is known.
    filled: Vec<usize>,
    states: Vec<State>,
    merged: Vec<State>,
    changes: Vec<Change>,
}

impl<'a> Search<'a> {
    fn of(things: &'a [(i64, i64)], capacity: i64) -> Self {
        let (mut weight, mut profit, mut middle) = (0, 0, 0);
        while middle < things.len() && weight + things[middle].0 <= capacity {
            weight += things[middle].0;
            profit += things[middle].1;
            middle += 1;
        }
        let mut search = Self {
            things,
            capacity,
            middle,
            greedy_weight: weight,
            greedy_profit: profit,
            at_vertex: middle == things.len() || weight == capacity,
            best: profit,
            best_change: NO_CHANGE,
            filled: Vec::new(),
            states: vec![State { weight, profit, change: NO_CHANGE }],
            merged: Vec::new(),
            changes: Vec::new(),
        };
        if !search.at_vertex {
            search.fill();
        }
        search
    }

    /// A first packing: the greedy one and whatever else fits, the best first.
    fn fill(&mut self) {
        let mut room = self.capacity - self.greedy_weight;
        for (at, (weight, profit)) in self.things.iter().enumerate().skip(self.middle) {
            if *weight <= room && *profit > 0 {
                room -= weight;
                self.best += profit;
                self.filled.push(at);
            }
        }
    }

    /// Searches, and returns a bound that no packing is above.
    fn run(&mut self, effort: u64) -> i64 {
        if self.at_vertex {
            return self.best;
        }
        let (mut left, mut right, mut looked) = (self.middle, self.middle, 0u64);
        while !self.states.is_empty() && (left > 0 || right < self.things.len()) {
            if right < self.things.len() {
                if self.may_help(self.things[right], 1) {
                    self.grow(right, 1);
                }
                right += 1;
                looked += self.states.len() as u64;
                self.prune(left, right);
            }
            if left > 0 {
                left -= 1;
                if self.may_help(self.things[left], -1) {
                    self.grow(left, -1);
                }
                looked += self.states.len() as u64;
                self.prune(left, right);
            }
            if looked > effort || self.changes.len() > (NO_CHANGE / 2) as usize {
                return self.bound(left, right);
            }
        }
        self.best
    }

    /// Whether a packing that differs from the greedy one in this thing can be better than the best
    /// known, when the rest is filled or emptied at the profit for weight of the break.
    fn may_help(&self, (weight, profit): (i64, i64), sign: i64) -> bool {
        let (at_weight, at_profit) = self.things[self.middle];
        let profit = self.greedy_profit + sign * profit - self.best;
        let room = self.capacity - self.greedy_weight - sign * weight;
        i128::from(profit) * i128::from(at_weight) + i128::from(room) * i128::from(at_profit) > 0
    }

    /// Adds to the states those that pack a thing (sign 1) or leave it out (sign −1), in order of
    /// weight, each with more profit than all lighter ones.
    fn grow(&mut self, thing: usize, sign: i64) {
        let (weight, profit) = (sign * self.things[thing].0, sign * self.things[thing].1);
        self.merged.clear();
        let states = &self.states;
        let (mut old, mut new) = (0, 0);
        let mut richest = i64::MIN;
        while old < states.len() || new < states.len() {
            let take_new = match (states.get(old), states.get(new)) {
                (Some(old), Some(new)) => {
                    let moved = (new.weight + weight, -(new.profit + profit));
                    moved < (old.weight, -old.profit)
                }
                (None, _) => true,
                _ => false,
            };
            let mut next = states[if take_new { new } else { old }];
            if take_new {
                next.weight += weight;
                next.profit += profit;
                new += 1;
            } else {
                old += 1;
            }
            if next.profit <= richest {
                continue;
            }
            richest = next.profit;
            if take_new {
                let before = next.change;
                next.change = self.changes.len() as u32;
                self.changes.push(Change { before, thing: thing as u32 });
            }
            self.merged.push(next);
        }
        std::mem::swap(&mut self.states, &mut self.merged);
    }

    /// Notes the best packing among the states, and drops those that cannot become better.
    fn prune(&mut self, left: usize, right: usize) {
        for state in &self.states {
            if state.weight <= self.capacity && state.profit > self.best {
                self.best = state.profit;
                self.best_change = state.change;
                self.filled.clear();
            }
        }
        let mut states = std::mem::take(&mut self.states);
        states.retain(|state| self.hopeful(state, left, right));
        self.states = states;
    }

    fn hopeful(&self, state: &State, left: usize, right: usize) -> bool {
        let room = self.capacity - state.weight;
        let lacks = self.best - state.profit;
        let next = if room >= 0 { self.things.get(right) } else { self.before(left) };
        match next {
            Some((weight, profit)) => {
                i128::from(room) * i128::from(*profit) > i128::from(lacks) * i128::from(*weight)
            }
            None => room >= 0 && lacks < 0,
        }
    }

    fn before(&self, left: usize) -> Option<&(i64, i64)> {
        left.checked_sub(1).map(|at| &self.things[at])
    }

    /// The most that any state can still become.
    fn bound(&self, left: usize, right: usize) -> i64 {
        let can_be = |state: &State| {
            let room = i128::from(self.capacity - state.weight);
            let next = if room >= 0 { self.things.get(right) } else { self.before(left) };
            let more = next.map_or(0, |(weight, profit)| {
                (room * i128::from(*profit)).div_euclid(i128::from(*weight))
            });
            (i128::from(state.profit) + more) as i64
        };
        self.states.iter().map(can_be).fold(self.best, i64::max)
    }

    /// In what the best packing differs from the greedy one.
    fn changed(&self) -> Vec<usize> {
        let mut things = Vec::new();
        let mut change = self.best_change;
        while change != NO_CHANGE {
            let Change { before, thing } = &self.changes[change as usize];
            things.push(*thing as usize);
            change = *before;
        }
        things
    }
}
