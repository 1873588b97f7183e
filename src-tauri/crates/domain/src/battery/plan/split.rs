//! A bound for one group: the cost of each possible visit is split among the batteries, and each
//! battery then finds its own cheapest chain.
//!
//! Whatever the split, the sum of the batteries' chains is no more than any plan of the group costs,
//! since a plan pays each visit that it makes in full. The best split gives the same bound as the
//! linear relaxation in which each battery is a path (a path's polytope has whole corners). The
//! split is improved one battery at a time: it takes all that is not spoken for, and gives back what
//! its cheapest chain does not need; no step lowers the bound.

use super::chain::{Chain, Known, Queues};

/// One group over the days that matter.
#[derive(Debug, Clone)]
pub(super) struct Case<'a> {
    /// Rising.
    pub days: Vec<i32>,
    /// Cost of a visit on each day, cents.
    pub visit: Vec<f64>,
    pub chains: Vec<&'a Chain>,
    /// Cost of a change for each chain and day; infinite where it is not allowed.
    pub change: Vec<Vec<f64>>,
}

/// What is decided about a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum DayState {
    Free,
    Open,
    Closed,
}

/// Who pays how much of each visit.
#[derive(Debug, Clone)]
pub(super) struct Split {
    pub paid: Vec<Vec<f64>>,
    pub spare: Vec<f64>,
    pub values: Vec<f64>,
    /// Cost of the days that are open whatever happens.
    pub sunk: f64,
}

/// Room to reckon in, so that it is not asked for again and again.
#[derive(Debug, Default)]
pub(super) struct Scratch {
    pub at: Vec<f64>,
    pub to_go: Vec<f64>,
    pub queues: Queues,
    held: Vec<f64>,
}

impl Split {
    pub fn new(case: &Case<'_>) -> Self {
        Self {
            paid: vec![vec![0.0; case.days.len()]; case.chains.len()],
            spare: case.visit.clone(),
            values: vec![0.0; case.chains.len()],
            sunk: 0.0,
        }
    }

    pub fn bound(&self) -> f64 {
        self.sunk + self.values.iter().sum::<f64>()
    }

    /// Takes the day out of the split: its visit is paid already, or never made.
    pub fn decide(&mut self, case: &Case<'_>, day: usize, state: DayState) {
        for (paid, value) in self.paid.iter_mut().zip(&mut self.values) {
            // A chain comes by a day once at most, so it gets cheaper by its share at most.
            if state == DayState::Open {
                *value -= paid[day];
            }
            paid[day] = 0.0;
        }
        self.spare[day] = 0.0;
        if state == DayState::Open {
            self.sunk += case.visit[day];
        }
    }

    /// Lets each battery once take what is not spoken for. Returns false where one has no chain.
    pub fn round(
        &mut self,
        case: &Case<'_>,
        states: &[DayState],
        backwards: bool,
        scratch: &mut Scratch,
    ) -> bool {
        let count = case.chains.len();
        (0..count).all(|n| {
            let chain = if backwards { count - 1 - n } else { n };
            self.improve(case, states, chain, scratch)
        })
    }

    fn improve(
        &mut self,
        case: &Case<'_>,
        states: &[DayState],
        i: usize,
        scratch: &mut Scratch,
    ) -> bool {
        let chain = case.chains[i];
        for (paid, spare) in self.paid[i].iter_mut().zip(&self.spare) {
            *paid += spare;
        }
        self.costs(case, states, i, &mut scratch.at);
        let Scratch { at, to_go, queues, held } = scratch;
        held.clone_from(&self.paid[i]);
        chain.backward(&case.days, at, to_go, queues);
        let value = chain.value(&case.days, at, to_go);
        self.values[i] = value;
        if value == f64::INFINITY {
            return false;
        }
        // Half of what is not needed first, so that early days do not take all the slack there is.
        chain.give_back(&case.days, at, held, 0.5, Known { to_go, value }, queues);
        chain.backward(&case.days, at, to_go, queues);
        chain.give_back(&case.days, at, held, 1.0, Known { to_go, value }, queues);
        for ((paid, held), spare) in self.paid[i].iter_mut().zip(&*held).zip(&mut self.spare) {
            *spare = (*paid - held).max(0.0);
            *paid = *held;
        }
        true
    }

    /// Puts what a change of `i` costs with its share of the visit into `at`.
    pub fn costs(&self, case: &Case<'_>, states: &[DayState], i: usize, at: &mut Vec<f64>) {
        at.clear();
        at.extend(case.change[i].iter().zip(&self.paid[i]).zip(states).map(
            |((change, paid), state)| {
                if *state == DayState::Closed { f64::INFINITY } else { change + paid }
            },
        ));
    }
}
