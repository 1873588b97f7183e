use super::{Calc, Field, Formula};
use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde_json::Value;

/// Reads a formula's description off its input and reply types.
pub(super) fn formula<Input: Calc>() -> Formula {
    let input = schema_of::<Input>();
    Formula {
        name: Input::NAME,
        doc: text(&input, "description"),
        fields: fields_of(&input),
        reply: reply_fields::<Input>(),
    }
}

pub(super) fn reply_fields<Input: Calc>() -> Vec<Field> {
    fields_of(&schema_of::<Input::Reply>())
}

/// Finds a figure of a reply that is none though it must be one: JSON writes infinity and what is
/// no number as null.
pub(super) fn hole(reply: &Value, fields: &[Field]) -> Option<String> {
    fn walk(path: &str, value: &Value, fields: &[Field]) -> Option<String> {
        match value {
            Value::Object(entries) => entries.iter().find_map(|(name, value)| {
                let inner = if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
                walk(&inner, value, fields)
            }),
            Value::Array(items) => {
                let path = format!("{path}[]");
                items.iter().find_map(|item| walk(&path, item, fields))
            }
            Value::Null => fields
                .iter()
                .find(|field| field.name == path && field.required)
                .map(|field| field.name.clone()),
            _ => None,
        }
    }
    walk("", reply, fields)
}

/// Endings of names and the units that they stand for, the longer before those they contain.
const UNITS: [(&str, &str); 44] = [
    ("_cents_per_y", "cents/year"),
    ("_cents_per_h", "cents/h"),
    ("_pct_a_20c", "% a year at 20 °C"),
    ("_pct_k", "%/K"),
    ("_pct", "%"),
    ("_w_m2_k", "W/(m²·K)"),
    ("_w_m2", "W/m²"),
    ("_w_ft2", "W/ft²"),
    ("_ft2", "ft²"),
    ("_uh_per_ohm", "µH/Ω"),
    ("_uh_ohm", "µH/Ω"),
    ("_pf_per_m", "pF/m"),
    ("_uh_per_m", "µH/m"),
    ("_ohm_per_km", "Ω/km"),
    ("_per_y", "1/year"),
    ("_per_h", "1/h"),
    ("_mah", "mAh"),
    ("_ua", "µA"),
    ("_ma", "mA"),
    ("_mw", "mW"),
    ("_nf", "nF"),
    ("_mh", "mH"),
    ("_mm2", "mm²"),
    ("_mm", "mm"),
    ("_m2", "m²"),
    ("_fit", "failures per 1e9 h"),
    ("_ohm", "Ω"),
    ("_ev", "eV"),
    ("_a", "A"),
    ("_c", "°C"),
    ("_d", "days"),
    ("_h", "h"),
    ("_k", "K"),
    ("_m", "m"),
    ("_v", "V"),
    ("_w", "W"),
    ("_y", "years"),
    ("_on", "date, YYYY-MM-DD"),
    ("today", "date, YYYY-MM-DD"),
    ("at", "time, RFC 3339"),
    ("from", "time, RFC 3339"),
    (".to", "time, RFC 3339"),
    ("_cents", "cents"),
    ("_rel", "of the value"),
];

fn schema_of<T: JsonSchema>() -> Value {
    let mut settings = SchemaSettings::draft2020_12();
    settings.inline_subschemas = true;
    settings.into_generator().into_root_schema_for::<T>().to_value()
}

fn fields_of(schema: &Value) -> Vec<Field> {
    let mut fields = Vec::new();
    collect("", schema, true, String::new(), &mut fields);
    fields
}

/// Walks objects and lists down to the figures in them.
fn collect(path: &str, schema: &Value, required: bool, doc: String, fields: &mut Vec<Field>) {
    if let Some(properties) = schema.get("properties").and_then(Value::as_object) {
        let needed: Vec<&str> = schema
            .get("required")
            .and_then(Value::as_array)
            .map_or(Vec::new(), |names| names.iter().filter_map(Value::as_str).collect());
        for (name, property) in properties {
            let inner = if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
            let required = required && needed.contains(&name.as_str());
            collect(&inner, property, required, text(property, "description"), fields);
        }
    } else if let Some(items) = schema.get("items") {
        let own = text(items, "description");
        let doc = if own.is_empty() { doc } else { own };
        collect(&format!("{path}[]"), items, required, doc, fields);
    } else if let Some(present) = present_form(schema) {
        collect(path, present, required, doc, fields);
    } else {
        fields.push(Field {
            name: path.to_owned(),
            kind: kind_of(schema),
            unit: unit_of(path),
            doc,
            required,
        });
    }
}

/// The form of an optional object or list that is not null.
fn present_form(schema: &Value) -> Option<&Value> {
    let forms = schema.get("anyOf")?.as_array()?;
    forms.iter().find(|form| form.get("type").is_none_or(|kind| kind != "null"))
}

fn kind_of(schema: &Value) -> String {
    let words = |list: &Value| {
        let words: Vec<&str> = list.as_array()?.iter().filter_map(Value::as_str).collect();
        Some(words.join(" | "))
    };
    if let Some(choice) = schema.get("enum").and_then(words) {
        return choice;
    }
    if let Some(forms) = schema.get("oneOf").and_then(Value::as_array) {
        let choice: Vec<&str> =
            forms.iter().filter_map(|form| form.get("const")?.as_str()).collect();
        return choice.join(" | ");
    }
    match schema.get("type") {
        Some(Value::String(kind)) => kind.clone(),
        Some(Value::Array(kinds)) => kinds
            .iter()
            .filter_map(Value::as_str)
            .find(|kind| *kind != "null")
            .unwrap_or_default()
            .to_owned(),
        _ => String::new(),
    }
}

fn unit_of(path: &str) -> &'static str {
    let path = path.trim_end_matches("[]");
    let last = path.rsplit_once('.').map_or(path, |(_, last)| last);
    UNITS
        .iter()
        .find(|(ending, _)| match ending.strip_prefix('.') {
            Some(name) => last == name,
            None if ending.starts_with('_') => last.ends_with(ending),
            None => last == *ending,
        })
        .map_or("", |(_, unit)| unit)
}

fn text(schema: &Value, key: &str) -> String {
    schema.get(key).and_then(Value::as_str).unwrap_or_default().replace('\n', " ")
}
