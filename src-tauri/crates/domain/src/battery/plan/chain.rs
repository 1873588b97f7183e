//! One battery's changes through the horizon: shortest paths over days.

/// A battery as days from the start of the horizon.
#[derive(Debug, Clone)]
pub(super) struct Chain {
    /// Days between which the first change must lie.
    pub first: (i32, i32),
    pub due: i32,
    pub life: i32,
    /// Due on this day or later needs no further change.
    pub until: i32,
    pub change_cents: f64,
    pub per_d: f64,
    /// `(least days before due, cost)`, days rising from zero, cost falling.
    pub loss: Vec<(i32, f64)>,
}

impl Chain {
    /// What a change `early_d` days before its due date costs in life and risk.
    pub fn early_cents(&self, early_d: i32) -> f64 {
        let step = self.loss.iter().rev().find(|(days, _)| *days <= early_d);
        self.per_d * f64::from(early_d) + step.map_or(0.0, |(_, cost)| *cost)
    }

    fn ends(&self, day: i32) -> bool {
        day + self.life >= self.until
    }

    pub fn first_cents(&self, day: i32) -> Option<f64> {
        let in_window = self.first.0 <= day && day <= self.first.1;
        in_window.then(|| self.early_cents(self.due - day))
    }

    /// Puts into `to_go[s]` the least cost of all changes after one on day `s`, where a change on
    /// day `u` costs `at[u]` besides what it costs to be early. Infinite where none is possible.
    ///
    /// Within each step of the loss the cost is linear in both days, so each is a minimum over a
    /// sliding window; the whole takes time in proportion to the days.
    pub fn backward(&self, days: &[i32], at: &[f64], to_go: &mut Vec<f64>, queues: &mut Queues) {
        to_go.clear();
        to_go.resize(days.len(), f64::INFINITY);
        queues.reset(self.loss.len());
        for s in (0..days.len()).rev() {
            if s + 1 < days.len() {
                let u = s + 1;
                let value = at[u] + to_go[u] - self.per_d * f64::from(days[u]);
                if value < f64::INFINITY {
                    queues.push_all(u as u32, value);
                }
            }
            if self.ends(days[s]) {
                to_go[s] = 0.0;
                continue;
            }
            let due = days[s] + self.life;
            let mut best = f64::INFINITY;
            for (queue, (early_d, loss)) in queues.of.iter_mut().zip(&self.loss) {
                queue.drop_while(|u| days[u as usize] > due - early_d);
                best = best.min(queue.least() + loss);
            }
            to_go[s] = best + self.per_d * f64::from(due);
        }
    }

    /// Returns the least cost of the whole chain, `to_go` being that of [`Self::backward`].
    pub fn value(&self, days: &[i32], at: &[f64], to_go: &[f64]) -> f64 {
        let from = days.partition_point(|day| *day < self.first.0);
        let mut best = f64::INFINITY;
        for t in from..days.len() {
            let Some(early) = self.first_cents(days[t]) else { break };
            best = best.min(at[t] + early + to_go[t]);
        }
        best
    }

    /// Goes through the days in order and lowers `at[t]` by what it can lose without a cheaper
    /// chain arising, at most by `held[t]`, which is lowered with it. Of what it can lose it loses a `share`.
    pub fn give_back(
        &self,
        days: &[i32],
        at: &mut [f64],
        held: &mut [f64],
        share: f64,
        known: Known<'_>,
        queues: &mut Queues,
    ) {
        let Known { to_go, value } = known;
        queues.reset(self.loss.len());
        let from = days.partition_point(|day| *day < self.first.0);
        // What is no use to this battery it need not hold.
        for t in 0..from {
            at[t] -= held[t];
            held[t] = 0.0;
        }
        for t in from..days.len() {
            let day = days[t];
            let mut before = self.first_cents(day).unwrap_or(f64::INFINITY);
            for (queue, (early_d, loss)) in queues.of.iter_mut().zip(&self.loss) {
                queue.drop_while(|s| days[s as usize] + self.life - early_d < day);
                before = before.min(queue.least() + loss - self.per_d * f64::from(day));
            }
            let slack = (before + at[t] + to_go[t] - value).max(0.0);
            let given = if slack.is_finite() { held[t].min(slack * share) } else { held[t] };
            held[t] -= given;
            at[t] -= given;
            let through = before + at[t];
            if through < f64::INFINITY && !self.ends(day) {
                queues.push_all(t as u32, through + self.per_d * f64::from(day + self.life));
            }
        }
    }

    /// Returns the places in `days` of a cheapest chain; none where no chain is possible.
    pub fn path(&self, days: &[i32], at: &[f64], to_go: &[f64]) -> Option<Vec<usize>> {
        let mut path = Vec::new();
        let (mut from, mut due, mut last) = (self.first.0, self.due, self.first.1);
        loop {
            let start = days.partition_point(|day| *day < from);
            let mut best = (f64::INFINITY, 0);
            for t in start..days.len() {
                if days[t] > last {
                    break;
                }
                let cost = at[t] + to_go[t] + self.early_cents(due - days[t]);
                if cost < f64::INFINITY && cost <= best.0 {
                    best = (cost, t);
                }
            }
            if best.0 == f64::INFINITY {
                return None;
            }
            path.push(best.1);
            let day = days[best.1];
            if self.ends(day) {
                return Some(path);
            }
            (from, due, last) = (day + 1, day + self.life, day + self.life);
        }
    }

    /// What the changes on `path` cost in life and risk.
    pub fn early_sum(&self, days: &[i32], path: &[usize]) -> f64 {
        let mut due = self.due;
        let mut sum = 0.0;
        for t in path {
            sum += self.early_cents(due - days[*t]);
            due = days[*t] + self.life;
        }
        sum
    }
}

/// What is known of a chain's costs: after each day, and in all.
#[derive(Debug, Clone, Copy)]
pub(super) struct Known<'a> {
    pub to_go: &'a [f64],
    pub value: f64,
}

/// Minima over windows that move one way, one for each step of the loss.
#[derive(Debug, Default)]
pub(super) struct Queues {
    of: Vec<Queue>,
}

#[derive(Debug, Default)]
struct Queue {
    waiting: Vec<(u32, f64)>,
    head: usize,
}

impl Queues {
    fn reset(&mut self, count: usize) {
        self.of.resize_with(count, Queue::default);
        for queue in &mut self.of {
            queue.waiting.clear();
            queue.head = 0;
        }
    }

    fn push_all(&mut self, place: u32, value: f64) {
        for queue in &mut self.of {
            while queue.waiting.len() > queue.head
                && queue.waiting.last().is_some_and(|last| last.1 >= value)
            {
                queue.waiting.pop();
            }
            queue.waiting.push((place, value));
        }
    }
}

impl Queue {
    fn drop_while(&mut self, over: impl Fn(u32) -> bool) {
        while self.waiting.get(self.head).is_some_and(|first| over(first.0)) {
            self.head += 1;
        }
    }

    fn least(&self) -> f64 {
        self.waiting.get(self.head).map_or(f64::INFINITY, |first| first.1)
    }
}
