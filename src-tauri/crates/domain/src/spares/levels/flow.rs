use super::{LevelRefusal, ToCover};
use crate::spares::{DemandRefusal, LARGEST_MEAN, Pmf};

/// How pieces are asked for as time goes on, at a pace that does not change.
#[derive(Debug, Clone, PartialEq)]
pub struct Flow {
    pieces_a_d: f64,
    kind: Kind,
}

#[derive(Debug, Clone, PartialEq)]
enum Kind {
    Single,
    /// Shape of the gamma distribution of the rate.
    Uncertain {
        shape: f64,
    },
    /// Variance of the pieces in any time over their mean.
    Logarithmic {
        spread: f64,
    },
    Groups {
        groups_a_d: f64,
        sizes: Pmf,
    },
}

impl Flow {
    /// Pieces one by one, at random moments and a known rate: failures (Poisson process).
    ///
    /// Fails with [`LevelRefusal::Figure`] unless the rate is from 0 to 1,000,000 a day.
    pub fn poisson(pieces_a_d: f64) -> Result<Self, LevelRefusal> {
        Self::new(pieces_a_d, Kind::Single)
    }

    /// Pieces one by one at a rate that is not known but gamma-distributed about `pieces_a_d`, with
    /// this shape: in any time negative binomial, of variance m + m²/shape. The longer the time, the
    /// more the uncertainty counts.
    ///
    /// Fails as [`Self::poisson`] does, and unless the shape is above zero.
    pub fn at_an_uncertain_rate(pieces_a_d: f64, shape: f64) -> Result<Self, LevelRefusal> {
        let shape = above_zero("shape of the uncertain rate", shape)?;
        Self::new(pieces_a_d, Kind::Uncertain { shape })
    }

    /// Groups of logarithmic size at random moments: in any time negative binomial, of the variance
    /// spread · mean. Demand of a store whose pieces are taken several at a time.
    ///
    /// Fails as [`Self::poisson`] does, and unless the spread is at least 1, which is Poisson.
    ///
    /// Source: M. H. Quenouille 1949, Biometrics 5:162; the negative binomial as compound Poisson.
    pub fn in_logarithmic_groups(pieces_a_d: f64, spread: f64) -> Result<Self, LevelRefusal> {
        match spread {
            1.0 => Self::poisson(pieces_a_d),
            1.0.. => Self::new(pieces_a_d, Kind::Logarithmic { spread }),
            _ => Err(LevelRefusal::Figure {
                what: "variance of demand over its mean",
                value: spread,
                wanted: "of 1 or more",
            }),
        }
    }

    /// Groups at random moments, `sizes` being the pieces of one (compound Poisson). Empty groups
    /// ask for nothing.
    ///
    /// Fails as [`Self::poisson`] does, by the pieces a day.
    pub fn in_groups(groups_a_d: f64, sizes: Pmf) -> Result<Self, LevelRefusal> {
        let real = sizes.above(0);
        let pieces_a_d = groups_a_d * sizes.mean();
        let mut weights = sizes.weights().to_vec();
        weights[0] = 0.0;
        match Pmf::of(weights) {
            Ok(sizes) => {
                Self::new(pieces_a_d, Kind::Groups { groups_a_d: groups_a_d * real, sizes })
            }
            Err(_) => Self::poisson(0.0 * groups_a_d),
        }
    }

    fn new(pieces_a_d: f64, kind: Kind) -> Result<Self, LevelRefusal> {
        match pieces_a_d {
            0.0..=LARGEST_MEAN => Ok(Self { pieces_a_d, kind }),
            _ => Err(LevelRefusal::Figure {
                what: "demand a day",
                value: pieces_a_d,
                wanted: "from 0 to 1000000",
            }),
        }
    }

    pub fn pieces_a_d(&self) -> f64 {
        self.pieces_a_d
    }

    /// How often something is asked for, a day.
    pub fn demands_a_d(&self) -> f64 {
        match &self.kind {
            Kind::Single | Kind::Uncertain { .. } => self.pieces_a_d,
            Kind::Logarithmic { spread } => self.pieces_a_d * spread.ln() / (spread - 1.0),
            Kind::Groups { groups_a_d, .. } => *groups_a_d,
        }
    }

    /// The pieces that are asked for at once.
    ///
    /// Fails with [`DemandRefusal`] where the spread is too large to reckon with.
    pub fn sizes(&self) -> Result<Pmf, DemandRefusal> {
        match &self.kind {
            Kind::Single | Kind::Uncertain { .. } => Ok(Pmf::certain(1)),
            Kind::Logarithmic { spread } => logarithmic(*spread),
            Kind::Groups { sizes, .. } => Ok(sizes.clone()),
        }
    }

    /// The demand of some days.
    ///
    /// Fails with [`DemandRefusal`] where mean or variance are too large to reckon with.
    pub fn in_days(&self, days: f64) -> Result<Pmf, DemandRefusal> {
        let mean = self.pieces_a_d * days;
        match &self.kind {
            Kind::Single => Pmf::poisson(mean),
            Kind::Uncertain { shape } => Pmf::negative_binomial(mean, mean + mean * mean / shape),
            Kind::Logarithmic { spread } => Pmf::negative_binomial(mean, mean * spread),
            Kind::Groups { groups_a_d, sizes } => compound(groups_a_d * days, sizes),
        }
    }

    /// What the demand of some days leaves to cover.
    pub(super) fn covered_in(&self, days: f64) -> Result<ToCover, DemandRefusal> {
        let demand = self.in_days(days)?;
        let cover = match &self.kind {
            Kind::Single => ToCover::one_by_one(demand),
            // Even where the time is none, a high rate asks more often, but finds nothing before it.
            Kind::Uncertain { .. } => ToCover::at_an_uncertain_rate(demand),
            Kind::Logarithmic { .. } | Kind::Groups { .. } => {
                ToCover::in_groups(demand, &self.sizes()?)
            }
        };
        Ok(cover.with_asking(self.pieces_a_d > 0.0))
    }

    /// What is left to cover at a moment that is anywhere between two times after an order, each as
    /// likely.
    ///
    /// Gauss and Legendre's rule of eight points on steps over which the probabilities change
    /// little: within 1e-11 of the integral.
    pub(super) fn covered_between(&self, from_d: f64, to_d: f64) -> Result<ToCover, DemandRefusal> {
        let mut parts = Vec::new();
        let mut at_d = from_d;
        while at_d < to_d {
            let step_d = self.smooth_step_d(at_d).min(to_d - at_d);
            for (place, weight) in EIGHT_POINTS {
                for side in [-place, place] {
                    let cover = self.covered_in(at_d + step_d * (1.0 + side) / 2.0)?;
                    parts.push((weight * step_d, weight * step_d, cover));
                }
            }
            at_d += step_d;
        }
        Ok(ToCover::mixed(&parts))
    }

    /// Days over which the demand so far, and so each probability, changes little.
    fn smooth_step_d(&self, at_d: f64) -> f64 {
        let demands_a_d = self.demands_a_d().max(f64::MIN_POSITIVE);
        let so_far = demands_a_d * at_d;
        let smooth = 2f64.max(so_far.sqrt());
        let smooth = match &self.kind {
            Kind::Uncertain { shape } => smooth.min(so_far + shape),
            _ => smooth,
        };
        smooth / demands_a_d
    }

    /// Known rates that stand for an uncertain one, with their probabilities; itself where it is
    /// known. `days` is the longest time that is looked at.
    ///
    /// The trapezoidal rule in the logarithm of the rate, which for such densities is off by less
    /// than any digit kept.
    pub(super) fn at_known_rates(&self, days: f64) -> Result<Vec<(f64, Self)>, DemandRefusal> {
        let Kind::Uncertain { shape } = self.kind else {
            return Ok(vec![(1.0, self.clone())]);
        };
        let most = self.in_days(days)?.quantile(1.0 - 1e-12) as f64;
        let step = (0.5 / (shape + most).sqrt()).min(0.25);
        let peak = shape.ln();
        let weight = |x: f64| (shape * (x - peak) - x.exp() + shape).exp();
        let side = |sign: f64| {
            (1..)
                .map(move |n| peak + sign * step * f64::from(n))
                .take_while(move |x| weight(*x) > 1e-14)
        };
        let all: Vec<f64> = std::iter::once(peak).chain(side(1.0)).chain(side(-1.0)).collect();
        let sum: f64 = all.iter().map(|x| weight(*x)).sum();
        let rate = |x: f64| self.pieces_a_d * x.exp() / shape;
        let known = |x: f64| Self { pieces_a_d: rate(x), kind: Kind::Single };
        Ok(all.into_iter().map(|x| (weight(x) / sum, known(x))).collect())
    }
}

/// Places between −1 and 1 and their weights; the other four are their mirror.
///
/// Source: Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.4, n = 8.
const EIGHT_POINTS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
];

/// Sizes of groups that make Poisson arrivals negative binomial: P(k) ~ q^k/k, q = 1 − 1/spread.
fn logarithmic(spread: f64) -> Result<Pmf, DemandRefusal> {
    if spread > 1e5 {
        return Err(DemandRefusal::Variance(spread));
    }
    let q = 1.0 - 1.0 / spread;
    let mut weights = vec![0.0, q];
    while weights[weights.len() - 1] > 1e-21 * q {
        let k = weights.len() as f64;
        weights.push(weights[weights.len() - 1] * q * (k - 1.0) / k);
    }
    Pmf::of(weights)
}

/// The pieces of a Poisson number of groups.
///
/// Source: Panjer's recursion (1981, ASTIN Bulletin 12:22), from memory; halved until no digit is
/// lost, and added up again.
fn compound(groups: f64, sizes: &Pmf) -> Result<Pmf, DemandRefusal> {
    if !(0.0..=LARGEST_MEAN).contains(&(groups * sizes.mean())) {
        return Err(DemandRefusal::Mean(groups * sizes.mean()));
    }
    if groups > 200.0 {
        let half = compound(groups / 2.0, sizes)?;
        return Ok(half.plus(&half));
    }
    let mean = groups * sizes.mean();
    let sizes = sizes.weights();
    let mut at = vec![(-groups).exp()];
    // Beyond the mean, after as many faint weights as a group has pieces, nothing larger follows.
    let mut faint = 0;
    while faint < sizes.len() || (at.len() as f64) < mean {
        let k = at.len();
        let sum: f64 =
            (1..sizes.len().min(k + 1)).map(|size| size as f64 * sizes[size] * at[k - size]).sum();
        let next = groups / k as f64 * sum;
        faint = if next < 1e-24 { faint + 1 } else { 0 };
        at.push(next);
    }
    Pmf::of(at)
}

fn above_zero(what: &'static str, value: f64) -> Result<f64, LevelRefusal> {
    match value > 0.0 && value.is_finite() {
        true => Ok(value),
        false => Err(LevelRefusal::Figure { what, value, wanted: "above zero" }),
    }
}
