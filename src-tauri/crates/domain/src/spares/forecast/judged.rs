use super::accuracy::{error_scales, errors, least_root, pinball};
use super::automatic::{ForecastRules, RulesRefusal, outlooks};
use super::history::History;
use super::method::{COUNT, Method, levels};
use super::spread::Spread;
use crate::in_parallel;

/// What a judgement over many histories asks.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// Months of each history that are known, one judgement from each.
    pub origins: Vec<usize>,
    /// How the blend tests the known months; its horizon is that of the judgement too.
    pub rules: ForecastRules,
    /// Methods to judge; none is the blend.
    pub methods: Vec<Option<Method>>,
    /// Chances of the quantiles to judge.
    pub chances: Vec<f64>,
}

/// How one method, or the blend, did.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    pub method: Option<Method>,
    /// Forecasts judged, and those of histories with any change to measure errors against.
    pub count: usize,
    pub scaled: usize,
    /// Errors of months, pieces: mean absolute, root of the mean square over all, and mean of what
    /// came less what was foreseen.
    pub absolute: f64,
    pub root_square: f64,
    pub mean: f64,
    /// Means over forecasts of the error over its scale. RMSSE judges the blend by the flat month
    /// that makes it least ([`least_root`]), as quantiles are judged by what makes their loss least;
    /// everything else judges its mean.
    pub mase: f64,
    pub rmsse: f64,
    /// Mean absolute error of the sum over the horizon.
    pub of_total: f64,
    pub at: Vec<JudgedChance>,
}

/// How the quantiles of one chance did, of the demand over the horizon.
///
/// `poisson` takes a method's level as the mean of a Poisson demand; `wide` gives it the variance
/// of the known months (negative-binomial, never narrower than Poisson). The blend has its own
/// distribution, and the same figures in both.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct JudgedChance {
    pub chance: f64,
    pub pinball_poisson: f64,
    pub pinball_wide: f64,
    /// Share of forecasts whose demand was at most the quantile.
    pub covered_poisson: f64,
    pub covered_wide: f64,
    /// What the distribution itself says of being at most its quantile; above the chance, since
    /// pieces are whole. Of the wide distribution, or of the blend's own.
    pub stated: f64,
    /// The middle interval of this chance: what the distribution says of being within, and the share
    /// that was. Of the wide distribution, or of the blend's own.
    pub within_stated: f64,
    pub within: f64,
}

impl JudgedChance {
    /// Looks at the interval from the quantile of half the rest to that of the chance and half the
    /// rest.
    fn between(mut self, chances: &[f64], total: f64) -> Self {
        let rest = (1.0 - self.chance) / 2.0;
        let ((low, upto_low), (high, upto_high)) =
            (quantile(chances, rest), quantile(chances, 1.0 - rest));
        let below = upto_low - chances.get(low as usize).copied().unwrap_or(0.0);
        self.within_stated = upto_high - below;
        self.within = f64::from((low..=high).contains(&total));
        self
    }
}

/// Judgement of several methods on the same forecasts.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    pub judged: Vec<Judged>,
    /// Histories too short for an origin and the horizon, summed over the origins.
    pub left_out: usize,
    /// Share of the blend's forecasts in each tenth of its probability integral transform, each
    /// demand spread over the steps of its chance; a tenth each where chances turn out as stated.
    pub tenths: Option<[f64; 10]>,
}

/// Judges forecasts by what came after: at each origin only the months before it are known.
///
/// Fails as [`outlooks`] does.
pub fn judge(histories: &[History], question: &Question) -> Result<Judgement, RulesRefusal> {
    let horizon = question.rules.horizon;
    let mut sums = Sums::new(question);
    for origin in question.origins.iter().copied() {
        let known: Vec<&[f64]> = histories
            .iter()
            .map(History::demands)
            .filter(|demands| origin > 0 && demands.len() >= origin + horizon)
            .collect();
        sums.left_out += histories.len() - known.len();
        let cut = |demands: &&[f64]| History::known(&demands[..origin]);
        let pasts: Vec<History> = known.iter().map(cut).collect();
        let blends = match question.methods.contains(&None) {
            true => outlooks(&pasts, &question.rules)?,
            false => Vec::new(),
        };
        let items: Vec<usize> = (0..pasts.len()).collect();
        let rows = in_parallel(&items, |item| {
            let past = &known[*item][..origin];
            let came = &known[*item][origin..][..horizon];
            let plain = levels(past, &[origin]).pop().unwrap_or([0.0; COUNT]);
            let of = |method: &Option<Method>| match method {
                Some(method) => single(plain[*method as usize], past, came, question),
                None => blended(blends[*item].over(horizon as f64).ok(), past, came, question),
            };
            question.methods.iter().map(of).collect::<Vec<Row>>()
        });
        rows.iter().for_each(|row| sums.add(row));
    }
    Ok(sums.means(question))
}

/// One forecast of one method.
struct Row {
    absolute: f64,
    squared: f64,
    mean: f64,
    of_total: f64,
    scaled: Option<(f64, f64)>,
    at: Vec<JudgedChance>,
    tenths: Option<[f64; 10]>,
}

fn row(month: f64, past: &[f64], came: &[f64]) -> Row {
    let off = errors(month, came);
    let scaled = error_scales(past)
        .map(|(absolute, squared)| (off.absolute / absolute, (off.squared / squared).sqrt()));
    Row {
        absolute: off.absolute,
        squared: off.squared,
        mean: off.mean,
        of_total: off.of_total,
        scaled,
        at: Vec::new(),
        tenths: None,
    }
}

fn single(month: f64, past: &[f64], came: &[f64], question: &Question) -> Row {
    let total: f64 = came.iter().sum();
    let horizon = came.len() as f64;
    let mean = horizon * month;
    let spread = |variance: f64| {
        let spread = Spread { mean, variance: variance.max(mean), idle: 0.0 };
        let mut chances = vec![0.0; spread.reach()];
        spread.add_to(&mut chances, 1.0);
        chances
    };
    let (poisson, wide) = (spread(mean), spread(horizon * sample_variance(past)));
    let at = |chance: &f64| {
        let ((below, _), (quantile, stated)) =
            (quantile(&poisson, *chance), quantile(&wide, *chance));
        JudgedChance {
            chance: *chance,
            pinball_poisson: pinball(*chance, below, total),
            pinball_wide: pinball(*chance, quantile, total),
            covered_poisson: f64::from(total <= below),
            covered_wide: f64::from(total <= quantile),
            stated,
            within_stated: 0.0,
            within: 0.0,
        }
        .between(&wide, total)
    };
    Row { at: question.chances.iter().map(at).collect(), ..row(month, past, came) }
}

fn blended(pmf: Option<super::super::Pmf>, past: &[f64], came: &[f64], question: &Question) -> Row {
    let pmf = pmf.unwrap_or_else(|| super::super::Pmf::certain(0));
    let chances = pmf.weights();
    let total: f64 = came.iter().sum();
    let at = |chance: &f64| {
        let (quantile, stated) = quantile(chances, *chance);
        let cost = pinball(*chance, quantile, total);
        let covered = f64::from(total <= quantile);
        JudgedChance {
            chance: *chance,
            pinball_poisson: cost,
            pinball_wide: cost,
            covered_poisson: covered,
            covered_wide: covered,
            stated,
            within_stated: 0.0,
            within: 0.0,
        }
        .between(chances, total)
    };
    let came_whole = total.ceil() as usize;
    let below: f64 = chances.iter().take(came_whole).sum();
    let upto = below + chances.get(came_whole).copied().unwrap_or(0.0);
    let share = |chance: f64| ((chance - below) / (upto - below).max(1e-12)).clamp(0.0, 1.0);
    let tenths = std::array::from_fn(|n| share((n + 1) as f64 / 10.0) - share(n as f64 / 10.0));
    let by_mean = row(pmf.mean() / came.len() as f64, past, came);
    let busy = past.iter().filter(|demand| **demand > 0.0).count().max(1) as f64;
    let size = (past.iter().sum::<f64>() / busy).max(1.0);
    let by_root = row(least_root(chances, came.len() as f64, size), past, came);
    let scaled = by_mean.scaled.zip(by_root.scaled).map(|((mase, _), (_, rmsse))| (mase, rmsse));
    let at = question.chances.iter().map(at).collect();
    Row { at, tenths: Some(tenths), scaled, ..by_mean }
}

/// The smallest number of pieces that is not exceeded with this chance at least, and that chance.
fn quantile(chances: &[f64], chance: f64) -> (f64, f64) {
    let mut upto = 0.0;
    for (pieces, at) in chances.iter().enumerate() {
        upto += at;
        if upto >= chance - 1e-12 {
            return (pieces as f64, upto);
        }
    }
    (chances.len() as f64, upto)
}

fn sample_variance(past: &[f64]) -> f64 {
    let mean = past.iter().sum::<f64>() / past.len() as f64;
    let squares: f64 = past.iter().map(|demand| (demand - mean).powi(2)).sum();
    squares / (past.len() as f64 - 1.0).max(1.0)
}

struct Sums {
    judged: Vec<Judged>,
    tenths: [f64; 10],
    left_out: usize,
}

impl Sums {
    fn new(question: &Question) -> Self {
        let at = |chance: &f64| JudgedChance { chance: *chance, ..JudgedChance::default() };
        let judged = |method: &Option<Method>| Judged {
            method: *method,
            count: 0,
            scaled: 0,
            absolute: 0.0,
            root_square: 0.0,
            mean: 0.0,
            mase: 0.0,
            rmsse: 0.0,
            of_total: 0.0,
            at: question.chances.iter().map(at).collect(),
        };
        let judged = question.methods.iter().map(judged).collect();
        Self { judged, tenths: [0.0; 10], left_out: 0 }
    }

    fn add(&mut self, rows: &[Row]) {
        for (sum, row) in self.judged.iter_mut().zip(rows) {
            sum.count += 1;
            sum.absolute += row.absolute;
            sum.root_square += row.squared;
            sum.mean += row.mean;
            sum.of_total += row.of_total;
            if let Some((mase, rmsse)) = row.scaled {
                sum.scaled += 1;
                sum.mase += mase;
                sum.rmsse += rmsse;
            }
            for (sum, at) in sum.at.iter_mut().zip(&row.at) {
                sum.pinball_poisson += at.pinball_poisson;
                sum.pinball_wide += at.pinball_wide;
                sum.covered_poisson += at.covered_poisson;
                sum.covered_wide += at.covered_wide;
                sum.stated += at.stated;
                sum.within_stated += at.within_stated;
                sum.within += at.within;
            }
            if let Some(tenths) = row.tenths {
                self.tenths.iter_mut().zip(tenths).for_each(|(sum, tenth)| *sum += tenth);
            }
        }
    }

    fn means(mut self, question: &Question) -> Judgement {
        let mut blends = 0.0;
        for judged in &mut self.judged {
            let count = judged.count.max(1) as f64;
            let scaled = judged.scaled.max(1) as f64;
            judged.absolute /= count;
            judged.root_square = (judged.root_square / count).sqrt();
            judged.mean /= count;
            judged.of_total /= count;
            judged.mase /= scaled;
            judged.rmsse /= scaled;
            for at in &mut judged.at {
                at.pinball_poisson /= count;
                at.pinball_wide /= count;
                at.covered_poisson /= count;
                at.covered_wide /= count;
                at.stated /= count;
                at.within_stated /= count;
                at.within /= count;
            }
            if judged.method.is_none() {
                blends += count;
            }
        }
        let asked = question.methods.contains(&None);
        let tenths = asked.then(|| self.tenths.map(|sum| sum / f64::max(blends, 1.0)));
        Judgement { judged: self.judged, left_out: self.left_out, tenths }
    }
}
