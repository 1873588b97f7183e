use super::demand::history;
use super::series::{METHODS, Method, Series, histories};
use super::{Calc, Entry, entry, inside};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<DemandBackTest>(), entry::<ForecastErrors>()]
}

/// Judges forecasts of many items by what came after: at each origin only the months before it are
/// known. Figures are means over items and origins; errors are of months, quantiles of the demand
/// over the horizon. `pin_p` and `cov_p` take a method's level as a Poisson mean; `pin_n` and
/// `cov_n` give it the variance of the known months (negative-binomial). `automatic` has its own
/// distribution and the same figures in both.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DemandBackTest {
    series: Vec<Series>,
    /// Months that are known, one judgement for each: 33 knows the first 33 months.
    origins: Vec<usize>,
    /// Months to foresee, 1 to 120.
    horizon: usize,
    /// Methods to judge (all, and `automatic`).
    methods: Option<Vec<Method>>,
    /// Chances of the quantiles (0.5, 0.8, 0.9, 0.95, 0.99).
    chances: Option<Vec<f64>>,
    /// Months of a season (12).
    season: Option<usize>,
}

#[derive(Serialize, JsonSchema)]
struct BackTest {
    /// Items given.
    items: usize,
    /// Items too short for an origin and the horizon, summed over the origins.
    left_out: usize,
    rows: Vec<Row>,
    /// How the chances of `automatic` turned out.
    calibration: Option<Calibration>,
}

#[derive(Serialize, JsonSchema)]
struct Row {
    /// Which method.
    method: Method,
    /// Forecasts judged.
    n: usize,
    /// Of these, with a change in the known months to measure errors against.
    n_scaled: usize,
    /// Mean absolute error of a month.
    mae: f64,
    /// Root of the mean squared error of a month, over all items together.
    rmse_pooled: f64,
    /// Mean of what came less what was foreseen, of a month.
    me: f64,
    /// Mean absolute error over the mean absolute step of the known months.
    mase: f64,
    /// Root mean squared error over the root mean squared step of the known months. For `automatic`
    /// of the flat month that makes this root least by its distribution; all else is of the mean.
    rmsse: f64,
    /// Mean absolute error of the sum over the horizon.
    lt_abs: f64,
    chances: Vec<ChanceRow>,
}

#[derive(Serialize, JsonSchema)]
struct ChanceRow {
    /// Chance of the quantile.
    chance: f64,
    /// Mean pinball loss of the quantile, Poisson.
    pin_p: f64,
    /// The same, negative-binomial.
    pin_n: f64,
    /// Share of demands at most the quantile, Poisson.
    cov_p: f64,
    /// The same, negative-binomial.
    cov_n: f64,
}

#[derive(Serialize, JsonSchema)]
struct Calibration {
    chances: Vec<Covered>,
    /// Share of forecasts in each tenth of the probability integral transform, each demand spread
    /// over its step; a tenth each where chances turn out as stated.
    tenths: Vec<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Covered {
    /// Chance asked for.
    chance: f64,
    /// What the distribution says of its quantile; above the chance, since pieces are whole.
    stated: f64,
    /// Share of demands at most the quantile.
    covered: f64,
    /// What the distribution says of its middle interval of this chance.
    within_stated: f64,
    /// Share of demands within it.
    within: f64,
}

impl Calc for DemandBackTest {
    const NAME: &'static str = "demand-back-test";
    type Reply = BackTest;

    fn reckon(self) -> Result<BackTest, String> {
        if self.origins.is_empty() || self.origins.contains(&0) {
            return Err("origins: give one number of known months at least, each above 0".into());
        }
        let chances = self.chances.unwrap_or_else(|| vec![0.5, 0.8, 0.9, 0.95, 0.99]);
        for chance in &chances {
            inside("a chance", *chance)?;
        }
        let methods = match self.methods {
            None => METHODS.iter().map(|(_, method)| *method).collect(),
            Some(words) => words.into_iter().map(Method::inner).collect(),
        };
        let histories = histories(self.series)?;
        let mut rules = domain::ForecastRules::over(self.horizon);
        rules.season = self.season.unwrap_or(rules.season);
        let question = domain::Question { origins: self.origins, rules, methods, chances };
        let judgement =
            domain::judge(&histories, &question).map_err(|refusal| refusal.to_string())?;
        let blend = judgement.judged.iter().find(|judged| judged.method.is_none());
        let calibration = blend.zip(judgement.tenths).map(|(judged, tenths)| Calibration {
            chances: judged.at.iter().map(covered).collect(),
            tenths: tenths.to_vec(),
        });
        Ok(BackTest {
            items: histories.len(),
            left_out: judgement.left_out,
            rows: judgement.judged.iter().map(row).collect(),
            calibration,
        })
    }
}

fn covered(at: &domain::JudgedChance) -> Covered {
    Covered {
        chance: at.chance,
        stated: at.stated,
        covered: at.covered_wide,
        within_stated: at.within_stated,
        within: at.within,
    }
}

fn row(judged: &domain::Judged) -> Row {
    let chance = |at: &domain::JudgedChance| ChanceRow {
        chance: at.chance,
        pin_p: at.pinball_poisson,
        pin_n: at.pinball_wide,
        cov_p: at.covered_poisson,
        cov_n: at.covered_wide,
    };
    Row {
        method: Method::of(judged.method),
        n: judged.count,
        n_scaled: judged.scaled,
        mae: judged.absolute,
        rmse_pooled: judged.root_square,
        me: judged.mean,
        mase: judged.mase,
        rmsse: judged.rmsse,
        lt_abs: judged.of_total,
        chances: judged.at.iter().map(chance).collect(),
    }
}

/// Errors of one flat forecast, scaled by the steps of the months known before, and the pinball
/// loss of a quantile of one month.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ForecastErrors {
    /// Demand of the months known, oldest first, pieces.
    known: Vec<f64>,
    /// Demand of the months that came, pieces.
    came: Vec<f64>,
    /// The forecast of each of them, pieces.
    foreseen: f64,
    /// Chance of the quantile.
    chance: f64,
    /// The quantile of a month, pieces.
    quantile: f64,
}

#[derive(Serialize, JsonSchema)]
struct Errors {
    /// Mean absolute step of the known months.
    scale: f64,
    /// Mean absolute error over it.
    mase: f64,
    /// Root mean squared error over the root mean squared step.
    rmsse: f64,
    /// Mean pinball loss of the quantile over the months that came.
    pinball: f64,
}

impl Calc for ForecastErrors {
    const NAME: &'static str = "forecast-errors";
    type Reply = Errors;

    fn reckon(self) -> Result<Errors, String> {
        let known = history("known", self.known)?;
        let came = history("came", self.came)?;
        let foreseen = super::at_least_zero("foreseen", self.foreseen)?;
        let quantile = super::at_least_zero("quantile", self.quantile)?;
        let chance = inside("chance", self.chance)?;
        let (absolute, squared) = domain::error_scales(known.demands()).ok_or_else(|| {
            "known: no month differs from the one before, so there is nothing to measure errors \
             against: give a longer history"
                .to_owned()
        })?;
        let off = domain::errors(foreseen, came.demands());
        let months = came.demands().len() as f64;
        let pinball = came.demands().iter().map(|came| domain::pinball(chance, quantile, *came));
        Ok(Errors {
            scale: absolute,
            mase: off.absolute / absolute,
            rmsse: (off.squared / squared).sqrt(),
            pinball: pinball.sum::<f64>() / months,
        })
    }
}
