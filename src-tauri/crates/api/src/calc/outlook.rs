use super::demand::Pattern;
use super::series::{Method, Series, histories};
use super::{Calc, Entry, entry, inside};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::spares as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<DemandClasses>(), entry::<DemandOutlook>()]
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
    /// Items whose demand comes often and in like sizes.
    smooth: usize,
    /// Items whose demand comes seldom and in like sizes.
    intermittent: usize,
    /// Items whose demand comes often and in unlike sizes.
    erratic: usize,
    /// Items whose demand comes seldom and in unlike sizes.
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
