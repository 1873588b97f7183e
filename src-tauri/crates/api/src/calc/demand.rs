use super::{Calc, Entry, at_least_zero, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![
        entry::<DemandForecast>(),
        entry::<DemandMeasures>(),
        entry::<DemandPattern>(),
        entry::<AbcClasses>(),
        entry::<XyzClass>(),
    ]
}

/// One-step forecasts of intermittent demand: Croston, its corrections, TSB and plain smoothing.
/// Size and interval start with the first demand, the others with the first period.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DemandForecast {
    /// Demand of each period, oldest first, pieces.
    demands: Vec<f64>,
    /// Smoothing factor, above 0 and at most 1 (0.1).
    alpha: Option<f64>,
    /// Smoothing factor of the probability of demand in TSB (as alpha).
    alpha_probability: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Forecast {
    /// Smoothed size of a demand.
    size: f64,
    /// Smoothed periods between demands.
    interval: f64,
    /// Croston 1972, pieces in a period.
    croston: f64,
    /// Syntetos and Boylan 2005, pieces in a period.
    sba: f64,
    /// Shale, Boylan and Johnston 2006, pieces in a period.
    sbj: f64,
    /// Teunter, Syntetos and Babai 2011, pieces in a period.
    tsb: f64,
    /// Simple exponential smoothing, pieces in a period.
    ses: f64,
    /// Croston with factors of least squared error from 0.1 to 0.3, pieces in a period.
    croston_fitted: f64,
    /// Smoothing with the factor of least squared error from 0.01 to 0.99, pieces in a period.
    ses_fitted: f64,
    /// Sums over the mean interval, smoothed with a fitted factor, pieces in a period.
    adida: f64,
    /// Such sums of all lengths up to the mean interval, pieces in a period.
    imapa: f64,
    /// Mean of all periods, pieces in a period.
    historic_average: f64,
    /// Mean of the last twelve periods, or of what there is, pieces in a period.
    average_12: f64,
}

impl Calc for DemandForecast {
    const NAME: &'static str = "demand-forecast";
    type Reply = Forecast;

    fn reckon(self) -> Result<Forecast, String> {
        let factor = |name: &str, given: Option<f64>, usual: f64| {
            let factor = given.unwrap_or(usual);
            if factor > 0.0 && factor <= 1.0 {
                Ok(factor)
            } else {
                Err(format!("{name} is {factor}: give a number above 0 and at most 1"))
            }
        };
        let demands = non_negative(self.demands)?;
        let alpha = factor("alpha", self.alpha, 0.1)?;
        let alpha_probability = factor("alpha_probability", self.alpha_probability, alpha)?;
        let forecast =
            domain::forecast(&demands, alpha, alpha_probability).ok_or_else(nothing_asked)?;
        let history = history("the series", demands)?;
        let by = |method| domain::month_by(method, &history);
        Ok(Forecast {
            size: forecast.size,
            interval: forecast.interval,
            croston: forecast.croston,
            sba: forecast.sba,
            sbj: forecast.sbj,
            tsb: forecast.tsb,
            ses: forecast.ses,
            croston_fitted: by(domain::Method::CrostonOptimised),
            ses_fitted: by(domain::Method::SmoothingOptimised),
            adida: by(domain::Method::Adida),
            imapa: by(domain::Method::Imapa),
            historic_average: by(domain::Method::HistoricAverage),
            average_12: by(domain::Method::Average12),
        })
    }
}

/// Takes a history, and names it where it is none.
pub(super) fn history(name: &str, demands: Vec<f64>) -> Result<domain::History, String> {
    domain::History::new(demands).map_err(|refusal| format!("{name}: {refusal}"))
}

fn non_negative(demands: Vec<f64>) -> Result<Vec<f64>, String> {
    for demand in &demands {
        at_least_zero("a demand", *demand)?;
    }
    Ok(demands)
}

fn nothing_asked() -> String {
    "nothing was asked for in any period: give a series with at least one demand".to_owned()
}

/// Interval between demands and spread of their sizes, with the pattern that follows.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DemandMeasures {
    /// Demand of each period, oldest first, pieces.
    demands: Vec<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Measures {
    /// Mean interval between demands, the first counted from the start, periods.
    adi: f64,
    /// Squared coefficient of variation of their sizes, sample variance.
    cv2: f64,
    /// Pattern by the borders of 1.32 and 0.49.
    pattern: Pattern,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub(super) enum Pattern {
    Smooth,
    Intermittent,
    Erratic,
    Lumpy,
}

impl From<domain::Pattern> for Pattern {
    fn from(pattern: domain::Pattern) -> Self {
        match pattern {
            domain::Pattern::Smooth => Self::Smooth,
            domain::Pattern::Intermittent => Self::Intermittent,
            domain::Pattern::Erratic => Self::Erratic,
            domain::Pattern::Lumpy => Self::Lumpy,
        }
    }
}

impl Calc for DemandMeasures {
    const NAME: &'static str = "demand-measures";
    type Reply = Measures;

    fn reckon(self) -> Result<Measures, String> {
        let demands = non_negative(self.demands)?;
        let (adi, cv2) = domain::demand_measures(&demands).ok_or_else(nothing_asked)?;
        Ok(Measures { adi, cv2, pattern: domain::pattern(adi, cv2).into() })
    }
}

/// Pattern of a demand by Syntetos, Boylan and Croston 2005; a value on the border counts as low.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DemandPattern {
    /// Mean interval between demands, periods.
    adi: f64,
    /// Squared coefficient of variation of their sizes.
    cv2: f64,
}

#[derive(Serialize, JsonSchema)]
struct PatternOnly {
    /// Pattern by the borders of 1.32 and 0.49.
    pattern: Pattern,
}

impl Calc for DemandPattern {
    const NAME: &'static str = "demand-pattern";
    type Reply = PatternOnly;

    fn reckon(self) -> Result<PatternOnly, String> {
        let adi = at_least_zero("adi", self.adi)?;
        let cv2 = at_least_zero("cv2", self.cv2)?;
        Ok(PatternOnly { pattern: domain::pattern(adi, cv2).into() })
    }
}

/// Classes A, B and C of items ranked by their value in a year.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct AbcClasses {
    items: Vec<AbcItem>,
    /// Share at which A ends (0.8).
    first: Option<f64>,
    /// Share at which B ends (0.95).
    second: Option<f64>,
    /// What the share is of: value before the item, value with it, or number of items.
    by: RankedBy,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct AbcItem {
    /// Name of the item.
    id: String,
    /// Pieces used in a year.
    usage: f64,
    /// Price of one.
    price: f64,
}

#[derive(Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
enum RankedBy {
    ShareBefore,
    ShareAfter,
    Count,
}

#[derive(Serialize, JsonSchema)]
struct Ranking {
    /// Value of all items.
    total: f64,
    items: Vec<Ranked>,
}

#[derive(Serialize, JsonSchema)]
struct Ranked {
    /// Name of the item.
    id: String,
    /// Pieces times price.
    value: f64,
    /// Share of the whole value up to it and with it, 0 to 1.
    share: f64,
    /// A, B or C.
    class: char,
}

impl Calc for AbcClasses {
    const NAME: &'static str = "abc-classes";
    type Reply = Ranking;

    fn reckon(self) -> Result<Ranking, String> {
        let mut values = Vec::with_capacity(self.items.len());
        for item in &self.items {
            let usage = at_least_zero("usage", item.usage)?;
            values.push(usage * at_least_zero("price", item.price)?);
        }
        let total: f64 = values.iter().sum();
        super::above_zero("the value of all items", total)?;
        let by = match self.by {
            RankedBy::ShareBefore => domain::RankedBy::ShareBefore,
            RankedBy::ShareAfter => domain::RankedBy::ShareAfter,
            RankedBy::Count => domain::RankedBy::Count,
        };
        let (first, second) = (self.first.unwrap_or(0.8), self.second.unwrap_or(0.95));
        let items = domain::rank(&values, first, second, by)
            .into_iter()
            .map(|ranked| Ranked {
                id: self.items[ranked.item].id.clone(),
                value: ranked.value,
                share: ranked.share,
                class: letter(ranked.class, ['A', 'B', 'C']),
            })
            .collect();
        Ok(Ranking { total, items })
    }
}

fn letter(class: domain::Class, letters: [char; 3]) -> char {
    match class {
        domain::Class::First => letters[0],
        domain::Class::Second => letters[1],
        domain::Class::Third => letters[2],
    }
}

/// Class X, Y or Z of a demand by its coefficient of variation. Texts differ on the borders.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct XyzClass {
    /// Demand of each period, pieces.
    demands: Vec<f64>,
    /// Variation at which X ends (0.5).
    first: Option<f64>,
    /// Variation at which Y ends (1).
    second: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Steadiness {
    /// Standard deviation of the periods over their mean.
    variation: f64,
    /// X, Y or Z.
    class: char,
}

impl Calc for XyzClass {
    const NAME: &'static str = "xyz-class";
    type Reply = Steadiness;

    fn reckon(self) -> Result<Steadiness, String> {
        let demands = non_negative(self.demands)?;
        let (first, second) = (self.first.unwrap_or(0.5), self.second.unwrap_or(1.0));
        let (variation, class) =
            domain::steadiness(&demands, first, second).ok_or_else(nothing_asked)?;
        Ok(Steadiness { variation, class: letter(class, ['X', 'Y', 'Z']) })
    }
}
