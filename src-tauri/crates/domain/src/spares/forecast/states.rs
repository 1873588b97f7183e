use super::method::{COUNT, levels, season_ahead};
use super::parts::KEPT;

/// What a history has shown until some month.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Seen {
    pub months: usize,
    /// Sum of the demands, and number of months with demand.
    pub total: f64,
    pub asked: f64,
    /// Months until the last demand.
    pub last: usize,
    /// Squared one-step errors of a slowly evolving mean, and its two sums.
    errors: f64,
    slow: f64,
    weight: f64,
}

/// The mean that errors are measured from forgets a twentieth a month.
const SLOW: f64 = 0.95;

impl Seen {
    pub fn of(demands: &[f64]) -> Self {
        let mut seen = Self::default();
        demands.iter().for_each(|demand| seen.take(*demand));
        seen
    }

    fn take(&mut self, demand: f64) {
        if self.weight > 0.0 {
            let off = demand - self.slow / self.weight;
            self.errors += off * off;
        }
        (self.slow, self.weight) = (SLOW * self.slow + demand, SLOW * self.weight + 1.0);
        self.months += 1;
        self.total += demand;
        if demand > 0.0 {
            self.asked += 1.0;
            self.last = self.months;
        }
    }

    pub fn rate(&self) -> f64 {
        self.asked / self.months as f64
    }

    pub fn was_asked(&self) -> bool {
        self.asked > 0.0
    }

    pub fn size(&self) -> Option<f64> {
        (self.asked > 0.0).then(|| self.total / self.asked)
    }

    /// Variance of a month over its mean, in units of the mean size.
    pub fn clump(&self) -> Option<f64> {
        let size = self.size()?;
        (self.months > 2).then(|| (self.errors / (self.total * size)).clamp(1e-4, 100.0))
    }
}

/// What an item's history says at one moment.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct State {
    pub levels: [f64; COUNT],
    pub seen: Seen,
    /// Months with demand in the last twelve.
    pub recent: usize,
    /// Whether the last three months had demand.
    pub lately: bool,
    /// Discounted sums of demand.
    pub kept: [f64; KEPT.len()],
    /// Discounted numbers of months.
    pub weights: [f64; KEPT.len()],
    /// Demand of each month of the season to come.
    pub season: Vec<f64>,
}

/// Reads a history at some moments, which rise.
pub(super) fn states(demands: &[f64], origins: &[usize], season: usize) -> Vec<State> {
    let mut kept = [0.0; KEPT.len()];
    let mut weights = [0.0; KEPT.len()];
    let mut seen = Seen::default();
    let mut wanted = origins.iter().zip(levels(demands, origins)).peekable();
    let mut states = Vec::with_capacity(origins.len());
    for demand in demands {
        seen.take(*demand);
        kept.iter_mut().zip(KEPT).for_each(|(sum, factor)| *sum = *sum * factor + demand);
        weights.iter_mut().zip(KEPT).for_each(|(sum, factor)| *sum = *sum * factor + 1.0);
        let past = &demands[..seen.months];
        let asked = |months: usize| {
            let recent = &past[past.len().saturating_sub(months)..];
            recent.iter().filter(|demand| **demand > 0.0).count()
        };
        while let Some((_, levels)) = wanted.next_if(|(origin, _)| **origin == past.len()) {
            let (recent, lately) = (asked(12), asked(3) > 0);
            let season = season_ahead(past, season);
            states.push(State { levels, seen, recent, lately, kept, weights, season });
        }
    }
    states
}

/// What items have in common; each figure is drawn towards it the more, the less an item shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Kin {
    /// Demands of a month, in demands of an item's own size: mean over items, and the shape of
    /// their gamma distribution.
    pub rate: f64,
    pub shape: f64,
    /// Size of a demand where an item has none.
    pub size: f64,
    /// Variance of a month over its mean, in units of the item's size.
    pub clump: f64,
}

/// What items have in common, from what each has shown.
pub(super) fn kin(items: &[Seen]) -> Kin {
    let count = items.len().max(1) as f64;
    let months = items.iter().map(|seen| seen.months as f64).sum::<f64>() / count;
    // Where nothing was ever asked for, half a demand in as long as was watched.
    let rate =
        (items.iter().map(Seen::rate).sum::<f64>() / count).max(0.5 / (months * count).max(1.0));
    let squares: f64 = items.iter().map(|seen| (seen.rate() - rate).powi(2)).sum();
    let variance = squares / (count - 1.0).max(1.0) - rate / months.max(1.0);
    let shape = if count < 5.0 { 0.5 } else { (rate * rate / variance.max(1e-9)).clamp(0.1, 50.0) };
    let mean_ln = |figure: fn(&Seen) -> Option<f64>| {
        let figures = items.iter().filter_map(figure);
        let (sum, count) =
            figures.fold((0.0, 1.0), |(sum, n), figure| (sum + figure.ln(), n + 1.0));
        (sum / count).exp()
    };
    Kin { rate, shape, size: mean_ln(Seen::size), clump: mean_ln(Seen::clump) }
}
