//! Single values as text.

use serde_json::{Map, Value};

/// How many fields name a thing in one cell.
const NAMING: usize = 3;
/// How many things of a list are named in one cell.
const NAMED: usize = 5;

/// Endings of field names that are units of measure.
const UNITS: [(&str, &str); 13] = [
    ("_mm", "mm"),
    ("_c", "°C"),
    ("_ma", "mA"),
    ("_ua", "µA"),
    ("_mah", "mAh"),
    ("_mv", "mV"),
    ("_h", "h"),
    ("_d", "d"),
    ("_w", "W"),
    ("_fit", "FIT"),
    ("_px", "px"),
    ("_cents", "cents"),
    ("_human", ""),
];

/// The name of a field for people, its unit in brackets.
pub fn header(name: &str) -> String {
    for (ending, unit) in UNITS {
        if let Some(start) = name.strip_suffix(ending).filter(|start| !start.is_empty()) {
            let start = start.replace('_', " ");
            return if unit.is_empty() { start } else { format!("{start} ({unit})") };
        }
    }
    name.replace('_', " ")
}

/// Leaves out a field whose readable twin is there too: `label` beside `label_human`.
pub fn without_twins(thing: &Map<String, Value>) -> Vec<(&str, &Value)> {
    thing
        .iter()
        .filter(|(name, _)| !thing.contains_key(&format!("{name}_human")))
        .map(|(name, value)| (name.as_str(), value))
        .collect()
}

/// Whether a value fits beside its name: a scalar, a list of them, or a very small thing.
pub fn is_inline(value: &Value) -> bool {
    match value {
        Value::Object(thing) => {
            thing.len() <= NAMING
                && !thing.values().any(|value| value.is_object() || value.is_array())
        }
        Value::Array(list) => list.iter().all(|one| !one.is_object() && !one.is_array()),
        _ => true,
    }
}

/// Whether a value is a list with things in it.
pub fn is_list_of_things(value: &Value) -> bool {
    value.as_array().is_some_and(|list| !list.is_empty() && list.iter().all(Value::is_object))
}

/// Any value in one cell.
pub fn cell(value: &Value) -> String {
    match value {
        Value::Object(thing) => name(thing),
        Value::Array(_) if is_list_of_things(value) => named(value),
        Value::Array(list) => list.iter().map(cell).collect::<Vec<_>>().join(", "),
        scalar => text(scalar),
    }
}

/// What a thing is called: the first few of its fields that say something.
pub fn name(thing: &Map<String, Value>) -> String {
    naming(thing).take(NAMING).collect::<Vec<_>>().join(" ")
}

/// What a thing is called in a title: its first field that says something.
pub fn first_word(thing: &Map<String, Value>) -> String {
    naming(thing).next().unwrap_or_default()
}

fn naming(thing: &Map<String, Value>) -> impl Iterator<Item = String> {
    let words = without_twins(thing).into_iter().filter(|(_, value)| is_inline(value));
    words.map(|(_, value)| cell(value)).filter(|text| !text.is_empty())
}

fn named(list: &Value) -> String {
    let things: Vec<_> =
        list.as_array().into_iter().flatten().filter_map(Value::as_object).collect();
    let mut lines: Vec<String> = things.iter().take(NAMED).map(|thing| name(thing)).collect();
    if things.len() > NAMED {
        lines.push(format!("and {} more", things.len() - NAMED));
    }
    lines.join("\n")
}

/// A scalar as people write it; null is blank.
pub fn text(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::Bool(true) => "yes".to_owned(),
        Value::Bool(false) => "no".to_owned(),
        Value::String(text) => moment(text).unwrap_or_else(|| text.clone()),
        Value::Number(number) => match number.as_f64().filter(|_| number.is_f64()) {
            Some(figure) => rounded(figure),
            None => number.to_string(),
        },
        other => other.to_string(),
    }
}

/// A point in time (RFC 3339) to the minute.
fn moment(text: &str) -> Option<String> {
    if !(20..=40).contains(&text.len()) || text.as_bytes().get(10) != Some(&b'T') {
        return None;
    }
    let moment = chrono::DateTime::parse_from_rfc3339(text).ok()?;
    Some(moment.to_utc().format("%Y-%m-%d %H:%M UTC").to_string())
}

/// A figure to four decimals, or in powers of ten where those would not show it.
fn rounded(figure: f64) -> String {
    if figure != 0.0 && !(1e-3..1e12).contains(&figure.abs()) {
        return format!("{figure:.3e}");
    }
    let fixed = format!("{figure:.4}");
    let short = fixed.trim_end_matches('0').trim_end_matches('.');
    short.to_owned()
}
