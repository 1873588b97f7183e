use super::Step;
use crate::swap::Swap;
use std::collections::HashMap;

/// A longer step was interrupted and says nothing about its work, min (a decision, no source).
const LONGEST_MIN: f64 = 480.0;

/// How long each step took in the past, by its name, min.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Times(HashMap<String, Vec<f64>>);

/// How long a step will take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    pub minutes: f64,
    /// How often it was done; 0 where the template's own figure stands alone.
    pub seen: u32,
}

impl Times {
    /// Takes the times between ticks of earlier swaps. A first step counts from the beginning of
    /// its swap; what took more than 8 h was interrupted, and is left out.
    pub fn of<'a>(swaps: impl IntoIterator<Item = &'a Swap>) -> Self {
        let mut times: HashMap<String, Vec<f64>> = HashMap::new();
        for swap in swaps {
            let mut from = swap.started_at;
            for (step, tick) in swap.plan.steps.iter().zip(&swap.ticks) {
                let minutes = (tick.at - from).as_seconds_f64() / 60.0;
                from = tick.at;
                if let Some(name) = &step.name
                    && (0.0..=LONGEST_MIN).contains(&minutes)
                {
                    times.entry(name.clone()).or_default().push(minutes);
                }
            }
        }
        Self(times)
    }

    /// The median of the past and of the template's own figure, which counts as one time, so that
    /// one swap that was ticked in haste does not plan the next; none for steps without either.
    pub fn expected(&self, step: &Step) -> Option<Expected> {
        let past = step.name.as_ref().and_then(|name| self.0.get(name));
        let seen = past.map_or(0, Vec::len) as u32;
        let mut all: Vec<f64> = past.into_iter().flatten().copied().chain(step.minutes).collect();
        all.sort_by(f64::total_cmp);
        let middle = all.len() / 2;
        let minutes = match all.len() {
            0 => return None,
            odd if odd % 2 == 1 => all[middle],
            _ => f64::midpoint(all[middle - 1], all[middle]),
        };
        Some(Expected { minutes, seen })
    }
}
