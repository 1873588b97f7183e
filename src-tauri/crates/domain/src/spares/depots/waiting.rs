//! Pieces on their way to a site, for each stock of the central store, by recurrences.

use super::Reckoning;
use crate::spares::Pmf;
use crate::spares::poisson::DemandRefusal;
use std::borrow::Cow;

/// What is left out above the last piece on its way.
const LEFT_OUT: f64 = 1e-14;

/// What the pieces on their way to a site follow from.
pub(super) struct Way {
    /// Pieces on their way to the central store, on average.
    pub central_mean: f64,
    /// Pieces on their way to the site when the central store is never short, on average.
    pub own_mean: f64,
    /// Chance that a piece owed by the central store is owed to this site.
    pub share: f64,
    /// Gamma shape of the belief about the rate.
    pub shape: Option<f64>,
}

/// P(W > s) of the pieces W on their way to a site, for each stock of the central store.
pub(super) enum Tails {
    /// A row for each stock.
    Table { at: Vec<f64>, width: usize },
    /// Mean and variance for each stock, and what is fitted to them.
    Fitted { moments: Vec<(f64, f64)>, spread: bool },
}

impl Tails {
    /// The chances that more than 0, 1, 2 … pieces are on their way; none beyond the end. A central
    /// stock above the last row is as good as the last.
    pub(super) fn row(&self, central_stock: usize) -> Cow<'_, [f64]> {
        match self {
            Self::Table { at, width } => {
                let start = central_stock.min(at.len() / width - 1) * width;
                Cow::Borrowed(&at[start..start + width])
            }
            Self::Fitted { moments, spread } => {
                let (mean, variance) = moments[central_stock.min(moments.len() - 1)];
                let spread = *spread && variance > mean * (1.0 + 1e-9);
                let fitted = match spread {
                    true => Pmf::negative_binomial(mean, variance),
                    false => Pmf::poisson(mean),
                };
                // Both moments are within what was found sound for an empty central store.
                let fitted = fitted.unwrap_or_else(|_| Pmf::certain(mean as u64));
                Cow::Owned((0..reach(&fitted) as u64).map(|k| fitted.above(k)).collect())
            }
        }
    }

    pub(super) fn reckon(
        way: &Way,
        central: &Central,
        reckoning: Reckoning,
    ) -> Result<Self, DemandRefusal> {
        demand(way.own_mean + way.share * way.central_mean, way.shape)?;
        let fitted = |spread| {
            let moments = (0..=central.depth()).map(|stock| central.moments(way, stock));
            Self::Fitted { moments: moments.collect(), spread }
        };
        match reckoning {
            Reckoning::Exact => Self::exact(way, central),
            Reckoning::VariMetric => Ok(fitted(true)),
            Reckoning::Metric => Ok(fitted(false)),
        }
    }

    /// Let X pieces be on their way to the central store and Y to the site when nothing delays
    /// them. With stock S the central store owes B = (X − S)+, and each of these is the site's with
    /// the chance of its share. As a polynomial in z with u = 1 − share + share·z, the part of W
    /// with X >= S is H(S) = Σ P(X = S + b)·Y(z | X = S + b)·u^b, which Horner's rule takes from
    /// H(S + 1) in one pass: H(S) = P(X = S)·Y(z | X = S) + u·H(S + 1).
    ///
    /// With a rate that is known X and Y know nothing of each other. With a gamma belief of shape a
    /// about a rate that is one for all, Y given X = x is negative binomial of shape a + x.
    fn exact(way: &Way, central: &Central) -> Result<Self, DemandRefusal> {
        let most = demand(way.own_mean + way.share * way.central_mean, way.shape)?;
        let width = reach(&most);
        let own = demand(way.own_mean, way.shape)?;
        let depth = central.depth();
        let mut at = vec![0.0; (depth + 1) * width];
        // The part of W with X < S, from all of Y downwards.
        let mut rest: Vec<f64> = (0..width as u64).map(|k| own.at(k)).collect();
        let mut short = vec![0.0; width];
        let mut row = vec![0.0; width];
        let joint = Joint::of(way);
        let per_piece: Vec<f64> = (0..width).map(|k| 1.0 / (k + 1) as f64).collect();
        let (share, stays) = (way.share, 1.0 - way.share);
        sum_tails(&mut at[depth * width..], &rest, &short);
        for stock in (0..depth).rev() {
            let mut weight = central.weights[stock] * joint.none_own(stock);
            let constant = joint.constant + joint.slope * stock as f64;
            for (k, cell) in row.iter_mut().enumerate() {
                *cell = weight;
                weight *= (constant + joint.slope * k as f64) * per_piece[k];
            }
            let mut below = 0.0;
            for k in 0..width {
                let here = short[k];
                short[k] = stays * here + share * below + row[k];
                below = here;
                rest[k] = (rest[k] - row[k]).max(0.0);
            }
            sum_tails(&mut at[stock * width..(stock + 1) * width], &rest, &short);
        }
        Ok(Self::Table { at, width })
    }
}

/// Writes P(W > s) from the two parts of the chances of W.
fn sum_tails(tails: &mut [f64], rest: &[f64], short: &[f64]) {
    let mut above = 0.0;
    for k in (0..tails.len()).rev() {
        tails[k] = above;
        above += rest[k] + short[k];
    }
}

/// How the chances of Y go on: P(x, k + 1) = P(x, k) · (constant + slope·(x + k)) / (k + 1).
struct Joint {
    constant: f64,
    slope: f64,
    /// Chance that none is on its way to the site: `first` times `each` for each piece on its way
    /// to the central store.
    first: f64,
    each: f64,
}

impl Joint {
    fn of(way: &Way) -> Self {
        let own = way.own_mean;
        match way.shape {
            None => Self { constant: own, slope: 0.0, first: (-own).exp(), each: 1.0 },
            Some(shape) => {
                let slope = own / (shape + way.central_mean + own);
                let each = 1.0 - slope;
                let first = (shape * (-slope).ln_1p()).exp();
                Self { constant: shape * slope, slope, first, each }
            }
        }
    }

    fn none_own(&self, central: usize) -> f64 {
        self.first * self.each.powi(central as i32)
    }
}

/// The central store's pieces on their way, and what it owes for each stock.
pub(super) struct Central {
    /// P(X = x), cut where next to nothing is left.
    pub weights: Vec<f64>,
    pub demand: Pmf,
    mean: f64,
    shape: Option<f64>,
    /// E[B], E[B²] and E[B·X] for each stock.
    owed: Vec<[f64; 3]>,
}

impl Central {
    pub(super) fn of(mean: f64, shape: Option<f64>) -> Result<Self, DemandRefusal> {
        let demand = demand(mean, shape)?;
        let depth = reach(&demand);
        let weights: Vec<f64> = (0..depth as u64).map(|x| demand.at(x)).collect();
        let mut owed = vec![[0.0; 3]; depth + 1];
        // Sums of P(X = x), x·P and x²·P from a stock upwards.
        let [mut chance, mut first, mut second] = [0.0; 3];
        for stock in (0..depth).rev() {
            let (x, s) = (stock as f64, stock as f64);
            chance += weights[stock];
            first += x * weights[stock];
            second += x * x * weights[stock];
            let owes = first - s * chance;
            owed[stock] = [
                owes.max(0.0),
                (second - 2.0 * s * first + s * s * chance).max(0.0),
                (second - s * first).max(0.0),
            ];
        }
        Ok(Self { weights, demand, mean, shape, owed })
    }

    /// The stock from which on the central store is never short.
    pub(super) fn depth(&self) -> usize {
        self.weights.len()
    }

    /// Mean and variance of the pieces on their way to a site.
    fn moments(&self, way: &Way, stock: usize) -> (f64, f64) {
        let [owed, squared, with_own] = self.owed[stock.min(self.depth())];
        let (own, share) = (way.own_mean, way.share);
        let spread = squared - owed * owed;
        let mut variance = own + share * (1.0 - share) * owed + share * share * spread;
        if let Some(shape) = self.shape {
            // Y given X = x is (shape + x)/(shape + mean) times its mean.
            let both = own / (shape + self.mean) * (shape * owed + with_own);
            variance += own * own / shape + 2.0 * share * (both - owed * own);
        }
        (own + share * owed, variance)
    }
}

/// Poisson, or negative binomial for a gamma belief of that shape about the rate.
pub(super) fn demand(mean: f64, shape: Option<f64>) -> Result<Pmf, DemandRefusal> {
    match shape {
        Some(shape) => Pmf::negative_binomial(mean, mean + mean * mean / shape),
        None => Pmf::poisson(mean),
    }
}

/// How many numbers of pieces count: from 0 to where next to nothing is left above.
fn reach(demand: &Pmf) -> usize {
    let count = demand.weights().len();
    let cut = (0..count).find(|k| demand.above(*k as u64) < LEFT_OUT);
    cut.unwrap_or(count.saturating_sub(1)) + 1
}
