//! Series of demands that lie beside the reference cases.

use serde_json::Value;
use slotkeep_api::calc;
use std::collections::BTreeSet;
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
