//! The fields of a command's input, read from its JSON Schema.

use serde_json::{Map, Value};

/// Fields that every record may carry besides its own.
const STAMP: [&str; 4] = ["id", "happened_at", "corrects", "queued"];

/// One field of an input, as an option of the terminal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Field {
    /// Name in the JSON.
    pub name: String,
    pub kind: Kind,
    pub required: bool,
    pub doc: String,
    /// Says when and under which id it was recorded, not what.
    pub stamp: bool,
}

/// How the text of an option becomes JSON.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    Text,
    Integer {
        least: Option<i64>,
    },
    Number,
    Truth,
    List(Box<Kind>),
    /// Anything deeper is written as JSON, in this shape.
    Json {
        shape: String,
    },
}

/// Reads the fields of the input schema of a command.
pub fn fields(input: &Value, definitions: &Value, writes: bool) -> Vec<Field> {
    let schema = resolve(input, definitions);
    let required: Vec<&str> =
        schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    let empty = Map::new();
    let properties = schema["properties"].as_object().unwrap_or(&empty);
    let mut fields: Vec<Field> = properties
        .iter()
        .map(|(name, schema)| Field {
            name: name.clone(),
            kind: kind(schema, definitions),
            required: required.contains(&name.as_str()),
            doc: doc(schema, definitions),
            stamp: writes && STAMP.contains(&name.as_str()),
        })
        .collect();
    // Options that must be given are read first.
    fields.sort_by_key(|field| !field.required);
    fields
}

fn kind(schema: &Value, definitions: &Value) -> Kind {
    let schema = resolve(schema, definitions);
    match type_of(schema) {
        "string" => Kind::Text,
        "integer" => Kind::Integer { least: schema["minimum"].as_i64() },
        "number" => Kind::Number,
        "boolean" => Kind::Truth,
        "array" => match kind(&schema["items"], definitions) {
            Kind::Json { .. } | Kind::List(_) => Kind::Json { shape: shape(schema, definitions) },
            scalar => Kind::List(Box::new(scalar)),
        },
        _ => Kind::Json { shape: shape(schema, definitions) },
    }
}

/// Follows references, and passes over the null of an optional field.
fn resolve<'a>(schema: &'a Value, definitions: &'a Value) -> &'a Value {
    let named = schema["$ref"].as_str().and_then(|path| path.rsplit('/').next());
    if let Some(found) = named.and_then(|name| definitions.get(name)) {
        return resolve(found, definitions);
    }
    let choices = schema["anyOf"].as_array().into_iter().flatten();
    match choices.filter(|choice| type_of(choice) != "null").collect::<Vec<_>>()[..] {
        [only] => resolve(only, definitions),
        _ => schema,
    }
}

/// The type of a schema, that of null aside.
fn type_of(schema: &Value) -> &str {
    match &schema["type"] {
        Value::String(one) => one,
        Value::Array(several) => {
            several.iter().filter_map(Value::as_str).find(|name| *name != "null").unwrap_or("null")
        }
        _ if !words(schema).is_empty() => "string",
        _ => "",
    }
}

/// The words of a choice of which each is described; none for any other schema.
fn words(schema: &Value) -> Vec<&str> {
    let choices = schema["oneOf"].as_array().map_or(&[] as &[Value], Vec::as_slice);
    let words: Vec<&str> = choices.iter().filter_map(|one| one["const"].as_str()).collect();
    if words.len() == choices.len() { words } else { Vec::new() }
}

/// What a field is about: its own words, or those of its type.
fn doc(schema: &Value, definitions: &Value) -> String {
    let own = schema["description"].as_str();
    let of_type = || resolve(schema, definitions)["description"].as_str();
    let about = own.or_else(of_type).unwrap_or_default().replace('\n', " ");
    match words(resolve(schema, definitions)).as_slice() {
        [] => about,
        words if about.is_empty() => format!("one of {}", words.join(", ")),
        words => format!("{} (one of {})", about.trim_end_matches('.'), words.join(", ")),
    }
}

/// Writes down how a piece of JSON is built; a field that may be left out has a question mark.
fn shape(schema: &Value, definitions: &Value) -> String {
    let schema = resolve(schema, definitions);
    match type_of(schema) {
        "string" => match schema["format"].as_str() {
            Some(format) => format.to_owned(),
            None => "text".to_owned(),
        },
        "boolean" => "true or false".to_owned(),
        "array" => format!("[{}, …]", shape(&schema["items"], definitions)),
        "object" => {
            let required = schema["required"].as_array();
            let field = |(name, schema): (&String, &Value)| {
                let must = required.is_some_and(|names| names.iter().any(|n| n == name.as_str()));
                let mark = if must { "" } else { "?" };
                format!("\"{name}\"{mark}: {}", shape(schema, definitions))
            };
            let fields: Vec<_> =
                schema["properties"].as_object().into_iter().flatten().map(field).collect();
            format!("{{{}}}", fields.join(", "))
        }
        "" => "JSON".to_owned(),
        other => other.to_owned(),
    }
}

impl Kind {
    /// Reads the text of one option.
    ///
    /// Fails with what was expected.
    pub fn parse(&self, text: &str) -> Result<Value, String> {
        match self {
            Self::Text => Ok(Value::from(text)),
            Self::Integer { least } => {
                let number: i64 =
                    text.parse().map_err(|_| "a whole number is expected".to_owned())?;
                match least {
                    Some(least) if number < *least => Err(format!("the least is {least}")),
                    _ => Ok(Value::from(number)),
                }
            }
            Self::Number => text
                .parse::<f64>()
                .ok()
                .and_then(serde_json::Number::from_f64)
                .map(Value::Number)
                .ok_or_else(|| "a number is expected, with a point for decimals".to_owned()),
            Self::Truth => match text {
                "true" | "yes" => Ok(Value::Bool(true)),
                "false" | "no" => Ok(Value::Bool(false)),
                _ => Err("true or false is expected".to_owned()),
            },
            Self::List(one) => one.parse(text),
            Self::Json { shape } => serde_json::from_str(text)
                .map_err(|error| format!("JSON is expected, {shape} ({error})")),
        }
    }

    /// What stands for the value in the help.
    pub fn stands_for(&self) -> &'static str {
        match self {
            Self::Text => "TEXT",
            Self::Integer { .. } | Self::Number => "NUMBER",
            Self::Truth => "true|false",
            Self::List(one) => one.stands_for(),
            Self::Json { .. } => "JSON",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn fields_follow_the_schema() {
        let definitions = json!({
            "Key": {"type": "object", "description": "A key.", "required": ["scheme"],
                "properties": {"scheme": {"type": "string"}, "code": {"type": "string"}}},
            "Input": {"type": "object", "required": ["slot"], "properties": {
                "limit": {"type": ["integer", "null"], "minimum": 0},
                "slot": {"type": "string", "description": "Address."},
                "key": {"anyOf": [{"$ref": "#/$defs/Key"}, {"type": "null"}]},
                "kinds": {"type": ["array", "null"], "items": {"type": "string"}},
                "keys": {"type": "array", "items": {"$ref": "#/$defs/Key"}},
                "id": {"type": ["string", "null"], "format": "uuid"},
                "how": {"$ref": "#/$defs/How"},
            }},
            "How": {"oneOf": [{"const": "yes", "description": "It is."}, {"const": "no"}]},
        });
        let found = fields(&json!({"$ref": "#/$defs/Input"}), &definitions, true);
        let names: Vec<_> = found.iter().map(|field| field.name.as_str()).collect();
        assert_eq!(names, ["slot", "limit", "key", "kinds", "keys", "id", "how"]);
        let key = "{\"scheme\": text, \"code\"?: text}";
        assert_eq!(found[0].kind, Kind::Text);
        assert_eq!(found[1].kind, Kind::Integer { least: Some(0) });
        assert_eq!(found[2].kind, Kind::Json { shape: key.to_owned() });
        assert_eq!(found[2].doc, "A key.");
        assert_eq!(found[3].kind, Kind::List(Box::new(Kind::Text)));
        assert_eq!(found[4].kind, Kind::Json { shape: format!("[{key}, …]") });
        assert!(found[0].required && !found[1].required);
        assert!(found[5].stamp);
        assert_eq!((&found[6].kind, found[6].doc.as_str()), (&Kind::Text, "one of yes, no"));
    }

    #[test]
    fn values_are_read_as_their_kind() {
        let least = Kind::Integer { least: Some(0) };
        assert_eq!(least.parse("7"), Ok(json!(7)));
        assert!(least.parse("-1").is_err());
        assert!(least.parse("7.5").is_err());
        assert_eq!(Kind::Number.parse("7.5"), Ok(json!(7.5)));
        assert!(Kind::Number.parse("inf").is_err());
        assert_eq!(Kind::Truth.parse("no"), Ok(json!(false)));
        assert!(Kind::Truth.parse("perhaps").is_err());
        assert_eq!(Kind::Text.parse("7"), Ok(json!("7")));
    }
}
