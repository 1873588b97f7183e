use super::demand::history;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use slotkeep_domain::spares as domain;
use std::collections::BTreeSet;

/// A way to foresee demand; `automatic` is the blend that the tests on the past bear out.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub(super) enum Method {
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

pub(super) const METHODS: [(Method, Option<domain::Method>); 21] = [
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
    pub(super) fn of(method: Option<domain::Method>) -> Self {
        METHODS
            .iter()
            .find(|(_, other)| *other == method)
            .map_or(Self::Automatic, |(word, _)| *word)
    }

    pub(super) fn inner(self) -> Option<domain::Method> {
        METHODS.iter().find(|(word, _)| *word == self).and_then(|(_, method)| *method)
    }
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Series {
    /// Name of the item.
    pub(super) item: String,
    /// Demand of each month, oldest first, pieces.
    pub(super) demands: Vec<f64>,
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

pub(super) fn histories(series: Vec<Series>) -> Result<Vec<domain::History>, String> {
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
