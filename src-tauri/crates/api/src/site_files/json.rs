use super::SiteFile;
use super::csv_file::text;
use super::problem::{Problems, nearest};
use jsonc_parser::ast::Value as Node;
use jsonc_parser::{CollectOptions, ParseOptions};
use jsonschema::error::ValidationErrorKind;
use serde_json::Value;
use std::collections::HashMap;

/// Line and column of every value of a JSON file, by pointer (RFC 6901).
#[derive(Default)]
pub(super) struct Positions(HashMap<String, (u32, u32)>);

impl Positions {
    /// Where a value stands, or the nearest one around it.
    pub fn nearest(&self, pointer: &str) -> (u32, u32) {
        let mut pointer = pointer;
        loop {
            if let Some(found) = self.0.get(pointer) {
                return *found;
            }
            match pointer.rsplit_once('/') {
                Some((head, _)) => pointer = head,
                None => return (1, 1),
            }
        }
    }
}

/// Reads a JSON file against its schema; none when it is absent or no JSON.
///
/// Also returns the pointers of all that is not right.
pub(super) fn read(
    name: &'static str,
    schema: &str,
    file: Option<&SiteFile>,
    problems: &mut Problems,
) -> Option<(Value, Vec<String>)> {
    let text = text(name, &file?.bytes, problems)?;
    let value: Value = match serde_json::from_str(text) {
        Ok(value) => value,
        Err(error) => {
            let (line, column) = (error.line() as u32, error.column() as u32);
            let near: String =
                text.lines().nth(error.line().saturating_sub(1)).unwrap_or_default().to_owned();
            problems.file(name, line, near.trim(), format!("JSON ({error})"));
            if let Some(problem) = problems.list.last_mut() {
                problem.column = column;
            }
            problems.unread.insert(name);
            return None;
        }
    };
    let mut wrong = Vec::new();
    locate(name, text, problems);
    let schema: Value = serde_json::from_str(schema).unwrap_or_default();
    match jsonschema::validator_for(&schema) {
        Ok(validator) => {
            for error in validator.iter_errors(&value) {
                report(name, &schema, &error, problems);
                wrong.push(error.instance_path().as_str().to_owned());
            }
        }
        Err(error) => {
            problems.file(name, 0, "", format!("a usable schema ({error})"));
            wrong.push(String::new());
        }
    }
    Some((value, wrong))
}

/// More words than these are not listed where one is wrong: the schema has them.
const MANY_WORDS: usize = 20;

fn report(
    name: &'static str,
    schema: &Value,
    error: &jsonschema::ValidationError<'_>,
    problems: &mut Problems,
) {
    let pointer = error.instance_path().as_str();
    let found = match error.instance().as_ref() {
        Value::String(text) => text.clone(),
        Value::Object(_) | Value::Array(_) => String::new(),
        other => other.to_string(),
    };
    match error.kind() {
        ValidationErrorKind::AdditionalProperties { unexpected } => {
            for field in unexpected {
                let known = known_fields(schema);
                let hint = nearest(field, known.iter().map(String::as_str));
                let hint = hint.map_or(String::new(), |hint| format!("; the nearest is {hint}"));
                problems.json(
                    name,
                    &format!("{pointer}/{field}"),
                    field,
                    format!("a known field{hint}"),
                );
            }
        }
        ValidationErrorKind::Required { property } => {
            let property = property.as_str().unwrap_or_default();
            let path = format!("{pointer}/{property}");
            problems.json(name, &path, "", format!("a field {property}"));
        }
        ValidationErrorKind::Enum { options } => {
            let words = options.as_array().into_iter().flatten();
            let words: Vec<_> = words
                .map(|word| word.as_str().map_or_else(|| word.to_string(), str::to_owned))
                .collect();
            let near = nearest(&found, words.iter().map(String::as_str));
            let expected = match near.filter(|_| words.len() > MANY_WORDS) {
                Some(near) => format!("one of {} words; the nearest is {near}", words.len()),
                None => format!("one of {}", words.join(", ")),
            };
            problems.json(name, pointer, found, expected);
        }
        _ => problems.json(name, pointer, found, format!("what the schema asks for: {error}")),
    }
}

/// Every field that the schema names anywhere.
fn known_fields(schema: &Value) -> Vec<String> {
    let mut fields = Vec::new();
    let mut open = vec![schema];
    while let Some(value) = open.pop() {
        if let Some(properties) = value["properties"].as_object() {
            fields.extend(properties.keys().cloned());
        }
        if let Some(definitions) = value["$defs"].as_object() {
            open.extend(definitions.values());
        }
    }
    fields
}

/// Notes where every value stands, and fields that are given twice.
fn locate(name: &'static str, text: &str, problems: &mut Problems) {
    let parsed =
        jsonc_parser::parse_to_ast(text, &CollectOptions::default(), &ParseOptions::default());
    let Some(root) = parsed.ok().and_then(|parsed| parsed.value) else { return };
    let starts: Vec<usize> =
        std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
    let place = |offset: usize| {
        let line = starts.partition_point(|start| *start <= offset);
        let start = starts.get(line - 1).copied().unwrap_or(0);
        let column = text.get(start..offset).map_or(0, |before| before.chars().count());
        (line as u32, column as u32 + 1)
    };
    let mut positions = Positions::default();
    let mut twice = Vec::new();
    let mut open = vec![(String::new(), &root)];
    while let Some((pointer, node)) = open.pop() {
        match node {
            Node::Object(object) => {
                for property in &object.properties {
                    let field = property.name.as_str();
                    let escaped = field.replace('~', "~0").replace('/', "~1");
                    let path = format!("{pointer}/{escaped}");
                    if positions.0.insert(path.clone(), place(start(&property.value))).is_some() {
                        twice.push((path.clone(), field.to_owned()));
                    }
                    open.push((path, &property.value));
                }
            }
            Node::Array(array) => {
                for (at, element) in array.elements.iter().enumerate() {
                    let path = format!("{pointer}/{at}");
                    positions.0.insert(path.clone(), place(start(element)));
                    open.push((path, element));
                }
            }
            _ => {}
        }
    }
    problems.positions.insert(name, positions);
    for (path, field) in twice {
        problems.json(name, &path, field, "each field once");
    }
}

fn start(node: &Node<'_>) -> usize {
    use jsonc_parser::common::Ranged;
    node.range().start
}
