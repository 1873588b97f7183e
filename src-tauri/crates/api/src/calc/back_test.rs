use super::demand::{Pattern, history};
use super::{Calc, Entry, entry, inside};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use slotkeep_domain::spares as domain;
use std::collections::BTreeSet;

pub(super) fn entries() -> Vec<Entry> {
    vec![
        entry::<DemandBackTest>(),
        entry::<DemandClasses>(),
        entry::<DemandOutlook>(),
        entry::<ForecastErrors>(),
    ]
}

/// A way to foresee demand; `automatic` is the blend that the tests on the past bear out.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
enum Method {
    Automatic,
    Zero,
    Naive,
    HistoricAverage,
    #[serde(rename = "average_3")]
    Average3,
    #[serde(rename = "average_6")]
    Average6,
    #[serde(rename = "average_12")]
    Average12,
    Ses,
    SesQuick,
    SesFitted,
    Croston,
    CrostonFitted,
    Sba,
    Sbj,
    Tsb,
    TsbQuick,
    Adida,
    Imapa,
    Season,
    EvolvingCounts,
    ZeroInflated,
}

const METHODS: [(Method, Option<domain::Method>); 21] = [
    (Method::Automatic, None),
    (Method::Zero, Some(domain::Method::Zero)),
    (Method::Naive, Some(domain::Method::Naive)),
    (Method::HistoricAverage, Some(domain::Method::HistoricAverage)),
    (Method::Average3, Some(domain::Method::Average3)),
    (Method::Average6, Some(domain::Method::Average6)),
    (Method::Average12, Some(domain::Method::Average12)),
    (Method::Ses, Some(domain::Method::Smoothing)),
    (Method::SesQuick, Some(domain::Method::SmoothingQuick)),
    (Method::SesFitted, Some(domain::Method::SmoothingOptimised)),
    (Method::Croston, Some(domain::Method::Croston)),
    (Method::CrostonFitted, Some(domain::Method::CrostonOptimised)),
    (Method::Sba, Some(domain::Method::Sba)),
    (Method::Sbj, Some(domain::Method::Sbj)),
    (Method::Tsb, Some(domain::Method::Tsb)),
    (Method::TsbQuick, Some(domain::Method::TsbQuick)),
    (Method::Adida, Some(domain::Method::Adida)),
    (Method::Imapa, Some(domain::Method::Imapa)),
    (Method::Season, Some(domain::Method::Season)),
    (Method::EvolvingCounts, Some(domain::Method::EvolvingCounts)),
    (Method::ZeroInflated, Some(domain::Method::ZeroInflated)),
];

impl Method {
    fn of(method: Option<domain::Method>) -> Self {
        METHODS
            .iter()
            .find(|(_, other)| *other == method)
            .map_or(Self::Automatic, |(word, _)| *word)
    }

    fn inner(self) -> Option<domain::Method> {
        METHODS.iter().find(|(word, _)| *word == self).and_then(|(_, method)| *method)
    }
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Series {
    /// Name of the item.
    item: String,
    /// Demand of each month, oldest first, pieces.
    demands: Vec<f64>,
}

/// Reads series from a table: a heading, then a row for each item, its name and its months, oldest
/// first. Empty cells at the end of a row are left out, as of an item with fewer months.
///
/// Fails with the line and the column of what is no number.
pub fn series(table: &str) -> Result<Value, String> {
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(table.as_bytes());
    let mut series = Vec::new();
    for (number, row) in reader.records().enumerate() {
        let line = number + 2;
        let row = row.map_err(|error| format!("line {line} is no row of a table: {error}"))?;
        let mut cells: Vec<&str> = row.iter().map(str::trim).collect();
        while cells.len() > 1 && cells.last().is_some_and(|cell| cell.is_empty()) {
            cells.pop();
        }
        let months = cells.iter().skip(1).enumerate().map(|(month, cell)| {
            cell.parse::<f64>().map_err(|_| {
                let column = month + 2;
                format!("line {line}, column {column}: {cell:?} is no number: give the demand of the month, 0 for none")
            })
        });
        let demands = months.collect::<Result<Vec<f64>, String>>()?;
        series.push(json!({ "item": cells.first().unwrap_or(&""), "demands": demands }));
    }
    Ok(Value::Array(series))
}

fn histories(series: Vec<Series>) -> Result<Vec<domain::History>, String> {
    if series.is_empty() {
        return Err("no series is given: give at least one item with its demands".to_owned());
    }
    let mut names = BTreeSet::new();
    for one in &series {
        if !names.insert(one.item.as_str()) {
            return Err(format!("item {:?} is given twice: give each once", one.item));
        }
    }
    let take = |one: Series| history(&format!("item {:?}", one.item), one.demands);
    series.into_iter().map(take).collect()
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
    /// Root mean squared error over the root mean squared step of the known months.
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
    Covered { chance: at.chance, stated: at.stated, covered: at.covered_wide }
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

/// Demand to come of items together, each by the blend of methods that its own past and that of
/// the others bear out, with the reason, the tests and the chances.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DemandOutlook {
    series: Vec<Series>,
    /// Months to foresee, such as the lead time; above 0.
    months: f64,
    /// Chances of the quantiles (0.5, 0.9, 0.95).
    chances: Option<Vec<f64>>,
    /// A person's choice in place of `automatic`, which needs a reason.
    method: Option<Method>,
    /// Why the person chose it.
    reason: Option<String>,
}

#[derive(Serialize, JsonSchema)]
struct Outlooks {
    items: Vec<ItemOutlook>,
}

#[derive(Serialize, JsonSchema)]
struct ItemOutlook {
    /// Name of the item.
    item: String,
    /// Mean demand over the months, pieces.
    mean: f64,
    /// Variance of it.
    variance: f64,
    quantiles: Vec<Quantile>,
    /// What the demand is foreseen by, and why.
    reason: String,
    /// Tests on this item's own past.
    tests: usize,
    methods: Vec<Tested>,
}

#[derive(Serialize, JsonSchema)]
struct Quantile {
    /// Chance asked for.
    chance: f64,
    /// Smallest number of pieces that is not exceeded with this chance at least.
    pieces: u64,
    /// Chance of not exceeding it.
    stated: f64,
}

#[derive(Serialize, JsonSchema)]
struct Tested {
    /// Which method.
    method: Method,
    /// Its weight in the blend.
    weight: f64,
    /// Mean demand of a month that it foresees now, pieces.
    month: f64,
    /// Foreseen less what came, in the mean of the tests, pieces over the horizon.
    bias: f64,
    /// Root mean squared error of the tests, pieces over the horizon.
    error: f64,
    /// Mean of -ln of the chance given to what came.
    surprise: f64,
}

impl Calc for DemandOutlook {
    const NAME: &'static str = "demand-outlook";
    type Reply = Outlooks;

    fn reckon(self) -> Result<Outlooks, String> {
        let months = super::above_zero("months", self.months)?;
        let chances = self.chances.unwrap_or_else(|| vec![0.5, 0.9, 0.95]);
        for chance in &chances {
            inside("a chance", *chance)?;
        }
        let chosen = self.method.and_then(Method::inner);
        let why = self.reason.unwrap_or_default();
        let names: Vec<String> = self.series.iter().map(|one| one.item.clone()).collect();
        let histories = histories(self.series)?;
        let rules = domain::ForecastRules::over((months.ceil() as usize).clamp(1, 120));
        let outlooks =
            domain::outlooks(&histories, &rules).map_err(|refusal| refusal.to_string())?;
        let items = names.into_iter().zip(outlooks).map(|(item, outlook)| {
            let outlook = match chosen {
                None => outlook,
                Some(method) => outlook.by(method, &why).map_err(|refusal| refusal.to_string())?,
            };
            item_outlook(item, &outlook, months, &chances)
        });
        Ok(Outlooks { items: items.collect::<Result<_, String>>()? })
    }
}

fn item_outlook(
    item: String,
    outlook: &domain::Outlook,
    months: f64,
    chances: &[f64],
) -> Result<ItemOutlook, String> {
    let demand = outlook.over(months).map_err(|refusal| format!("item {item:?}: {refusal}"))?;
    let quantile = |chance: &f64| {
        let pieces = demand.quantile(*chance);
        Quantile { chance: *chance, pieces, stated: demand.cdf(pieces) }
    };
    let tested = |tested: &domain::MethodTest| Tested {
        method: Method::of(Some(tested.method)),
        weight: tested.weight,
        month: tested.month,
        bias: tested.bias,
        error: tested.error,
        surprise: tested.surprise,
    };
    Ok(ItemOutlook {
        mean: demand.mean(),
        variance: demand.variance(),
        quantiles: chances.iter().map(quantile).collect(),
        reason: outlook.reason(),
        tests: outlook.tests,
        methods: outlook.methods.iter().map(tested).collect(),
        item,
    })
}

/// Patterns of many items by interval and spread of their demands; a value on the border counts as
/// low.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DemandClasses {
    series: Vec<Series>,
}

#[derive(Serialize, JsonSchema)]
struct Classes {
    smooth: usize,
    intermittent: usize,
    erratic: usize,
    lumpy: usize,
    /// Items of which nothing was ever asked for.
    never: usize,
    items: Vec<Classed>,
}

#[derive(Serialize, JsonSchema)]
struct Classed {
    /// Name of the item.
    item: String,
    /// Mean interval between demands, the first counted from the start, months.
    adi: Option<f64>,
    /// Squared coefficient of variation of their sizes, sample variance.
    cv2: Option<f64>,
    /// Pattern by the borders of 1.32 and 0.49; none where nothing was ever asked for.
    pattern: Option<Pattern>,
}

impl Calc for DemandClasses {
    const NAME: &'static str = "demand-classes";
    type Reply = Classes;

    fn reckon(self) -> Result<Classes, String> {
        let names: Vec<String> = self.series.iter().map(|one| one.item.clone()).collect();
        let mut classes =
            Classes { smooth: 0, intermittent: 0, erratic: 0, lumpy: 0, never: 0, items: vec![] };
        for (item, history) in names.into_iter().zip(histories(self.series)?) {
            let measures = domain::demand_measures(history.demands());
            let pattern = measures.map(|(adi, cv2)| domain::pattern(adi, cv2));
            *match pattern {
                None => &mut classes.never,
                Some(domain::Pattern::Smooth) => &mut classes.smooth,
                Some(domain::Pattern::Intermittent) => &mut classes.intermittent,
                Some(domain::Pattern::Erratic) => &mut classes.erratic,
                Some(domain::Pattern::Lumpy) => &mut classes.lumpy,
            } += 1;
            classes.items.push(Classed {
                item,
                adi: measures.map(|(adi, _)| adi),
                cv2: measures.map(|(_, cv2)| cv2),
                pattern: pattern.map(Pattern::from),
            });
        }
        Ok(classes)
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
