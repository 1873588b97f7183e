//! Series of demands that lie beside the reference cases.

use serde_json::Value;
use slotkeep_api::calc;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Series of a file of `tests/reference/`, as formulas take them: all, or those that another file
/// names, a line each.
pub fn of(file: &str, only: Option<&str>) -> Value {
    let mut series = calc::series(&text(file)).unwrap();
    if let Some(only) = only {
        let names = text(only);
        let names: BTreeSet<&str> = names.lines().map(str::trim).collect();
        let wanted = |one: &Value| names.contains(one["item"].as_str().unwrap());
        series.as_array_mut().unwrap().retain(wanted);
    }
    series
}

/// A file of `tests/reference/`.
pub fn text(file: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference");
    std::fs::read_to_string(folder.join(file)).unwrap()
}

/// Figures of a table of accuracy: subset, then method, then column.
pub type Listed = BTreeMap<String, BTreeMap<String, BTreeMap<String, f64>>>;

/// The accuracy of other forecasts of the car parts.
pub fn listed() -> Listed {
    let text = text("carparts/accuracy.csv");
    let mut lines = text.lines();
    let columns: Vec<&str> = lines.next().unwrap().split(',').skip(2).collect();
    let mut table = Listed::new();
    for line in lines {
        let mut cells = line.split(',');
        let (subset, method) = (cells.next().unwrap(), cells.next().unwrap());
        let figures =
            columns.iter().map(|c| (*c).to_owned()).zip(cells.map(|c| c.parse().unwrap()));
        table.entry(subset.to_owned()).or_default().insert(method.to_owned(), figures.collect());
    }
    table
}

/// A figure of a row of `demand-back-test` by its name in that table.
pub fn figure(row: &Value, column: &str) -> f64 {
    let of_chance = |kind: &str, chance: &str| {
        let chance: f64 = chance.parse().unwrap();
        let rows = row["chances"].as_array().unwrap();
        rows.iter().find(|at| at["chance"] == chance).unwrap()[kind].as_f64().unwrap()
    };
    if let Some(chance) = column.strip_prefix("pinP") {
        return of_chance("pin_p", chance);
    }
    if let Some(chance) = column.strip_prefix("pinN") {
        return of_chance("pin_n", chance);
    }
    if let Some(chance) = column.strip_prefix("covN") {
        return of_chance("cov_n", chance);
    }
    let name = match column {
        "RMSE_pooled" => "rmse_pooled".to_owned(),
        "LT_abs" => "lt_abs".to_owned(),
        other => other.to_lowercase(),
    };
    row[name].as_f64().unwrap()
}
