use chrono::{DateTime, NaiveDate, Utc};
use regex::Regex;
use serde_json::Value;
use slotkeep_domain::place::{BinPath, CabinetAddress, RailAddress, SlotAddress};
use slotkeep_domain::unit::UnitPlace;
use std::borrow::Cow;

/// What a row of one CSV file may hold, as its JSON Schema says.
pub(super) struct RowSchema {
    pub file: &'static str,
    pub columns: Vec<Column>,
    /// Indices of the columns that together name a row.
    pub key: Vec<usize>,
    /// Whether rows with the same key are different things.
    pub key_repeats: bool,
}

pub(super) struct Column {
    pub name: String,
    pub required: bool,
    kind: Kind,
    form: Option<Form>,
    pattern: Option<Regex>,
    one_of: Vec<String>,
    limits: Limits,
    length: (usize, usize),
    /// What should stand in the column, as the end of "expected …".
    pub expected: String,
}

enum Kind {
    Text,
    Number,
    Integer,
    Date,
    Time,
}

/// Texts that have one written form, whatever a person typed.
enum Form {
    Cabinet,
    Rail,
    Slot,
    Bin,
    Place,
    Code,
    Scope,
    /// Twelve numbers with blanks between.
    Months,
}

#[derive(Default)]
struct Limits {
    least: Option<f64>,
    above: Option<f64>,
    most: Option<f64>,
    below: Option<f64>,
}

/// A cell after its column has read it.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Cell<'a> {
    Empty,
    Text(Cow<'a, str>),
    Number(f64),
    Date(NaiveDate),
    Time(DateTime<Utc>),
}

impl RowSchema {
    /// Reads one of the embedded schemas.
    pub fn load(file: &'static str, text: &str) -> Self {
        let schema: Value = serde_json::from_str(text).unwrap_or_default();
        let names = |field: &str| -> Vec<String> {
            let list = schema[field].as_array().into_iter().flatten();
            list.filter_map(Value::as_str).map(str::to_owned).collect()
        };
        let (required, key) = (names("required"), names("x-key"));
        let columns: Vec<_> = schema["properties"]
            .as_object()
            .into_iter()
            .flatten()
            .map(|(name, rule)| Column::load(name, rule, required.contains(name)))
            .collect();
        let at = |name: &String| columns.iter().position(|column| column.name == *name);
        Self {
            file,
            key: key.iter().filter_map(at).collect(),
            key_repeats: schema["x-key-repeats"] == true,
            columns,
        }
    }

    /// Indices of columns by name; a name that the schema lacks is a fault of the program.
    pub fn at<const N: usize>(&self, names: [&str; N]) -> [usize; N] {
        names.map(|name| {
            let found = self.columns.iter().position(|column| column.name == name);
            found.unwrap_or_else(|| panic!("the schema of {} has no column {name}", self.file))
        })
    }
}

impl Column {
    fn load(name: &str, rule: &Value, required: bool) -> Self {
        let text = |field: &str| rule[field].as_str();
        let length = |field: &str, default| rule[field].as_u64().map_or(default, |n| n as usize);
        let mut column = Self {
            name: name.to_owned(),
            required,
            kind: match (text("type"), text("format")) {
                (_, Some("date")) => Kind::Date,
                (_, Some("date-time")) => Kind::Time,
                (Some("number"), _) => Kind::Number,
                (Some("integer"), _) => Kind::Integer,
                _ => Kind::Text,
            },
            form: text("x-form").and_then(Form::load),
            pattern: text("pattern").and_then(|pattern| Regex::new(pattern).ok()),
            one_of: rule["enum"]
                .as_array()
                .into_iter()
                .flatten()
                .filter_map(|word| word.as_str().map(str::to_owned))
                .collect(),
            limits: Limits {
                least: rule["minimum"].as_f64(),
                above: rule["exclusiveMinimum"].as_f64(),
                most: rule["maximum"].as_f64(),
                below: rule["exclusiveMaximum"].as_f64(),
            },
            length: (length("minLength", 0), length("maxLength", usize::MAX)),
            expected: String::new(),
        };
        column.expected = column.describe(rule);
        column
    }

    fn describe(&self, rule: &Value) -> String {
        let meaning = rule["description"].as_str().unwrap_or_default().trim_end_matches('.');
        let example = match &rule["examples"][0] {
            Value::Null => String::new(),
            Value::String(text) => format!(" such as {text}"),
            other => format!(" such as {other}"),
        };
        let what = match self.kind {
            _ if !self.one_of.is_empty() => format!("one of {}", self.one_of.join(", ")),
            Kind::Date => "a date".to_owned(),
            Kind::Time => "a time".to_owned(),
            Kind::Integer => format!("a whole number{}", self.limits.words()),
            Kind::Number => format!("a number{}", self.limits.words()),
            Kind::Text if self.length.1 < usize::MAX => {
                format!("a text of at most {} characters", self.length.1)
            }
            Kind::Text => "a text".to_owned(),
        };
        format!("{what}{example} ({meaning})")
    }

    /// Reads what stands in a cell; fails with what should stand there.
    pub fn read<'a>(&self, text: &'a str, decimal_comma: bool) -> Result<Cell<'a>, &str> {
        if text.is_empty() {
            return if self.required { Err(&self.expected) } else { Ok(Cell::Empty) };
        }
        let cell = match self.kind {
            Kind::Text => self.text(text),
            Kind::Number | Kind::Integer => self.number(text, decimal_comma).map(Cell::Number),
            Kind::Date => date(text).map(Cell::Date),
            Kind::Time => DateTime::parse_from_rfc3339(text)
                .ok()
                .map(|time| Cell::Time(time.with_timezone(&Utc))),
        };
        cell.ok_or(&self.expected)
    }

    fn text<'a>(&self, text: &'a str) -> Option<Cell<'a>> {
        if self.one_of.is_empty() {
            let length = text.chars().count();
            let fits = (self.length.0..=self.length.1).contains(&length)
                && self.pattern.as_ref().is_none_or(|pattern| pattern.is_match(text));
            fits.then_some(())?;
        } else {
            self.one_of.iter().any(|word| word == text).then_some(())?;
        }
        match &self.form {
            Some(form) => form.write(text).map(|text| Cell::Text(Cow::Owned(text))),
            None => Some(Cell::Text(Cow::Borrowed(text))),
        }
    }

    fn number(&self, text: &str, decimal_comma: bool) -> Option<f64> {
        // Only plain decimal notation: "inf", "0x1F" and "1e400" are slips, not measures.
        let plain = text.bytes().all(|b| b.is_ascii_digit() || b"+-.,eE".contains(&b));
        let value: f64 = match plain {
            true if decimal_comma => text.replacen(',', ".", 1).parse().ok()?,
            true => text.parse().ok()?,
            false => return None,
        };
        let whole = !matches!(self.kind, Kind::Integer) || value.fract() == 0.0;
        (value.is_finite() && whole && self.limits.hold(value)).then_some(value)
    }
}

/// Reads a full date of ISO 8601, `YYYY-MM-DD`.
fn date(text: &str) -> Option<NaiveDate> {
    let digits = |from: usize, to: usize| -> Option<u32> {
        let part = text.get(from..to)?;
        part.bytes().all(|b| b.is_ascii_digit()).then(|| part.parse().ok())?
    };
    let dashes = text.len() == 10 && text.as_bytes()[4] == b'-' && text.as_bytes()[7] == b'-';
    dashes.then_some(())?;
    NaiveDate::from_ymd_opt(digits(0, 4)? as i32, digits(5, 7)?, digits(8, 10)?)
}

impl Limits {
    fn hold(&self, value: f64) -> bool {
        self.least.is_none_or(|limit| value >= limit)
            && self.above.is_none_or(|limit| value > limit)
            && self.most.is_none_or(|limit| value <= limit)
            && self.below.is_none_or(|limit| value < limit)
    }

    fn words(&self) -> String {
        let mut words = String::new();
        for (word, limit) in
            [("from", self.least), ("above", self.above), ("to", self.most), ("below", self.below)]
        {
            if let Some(limit) = limit {
                words.push_str(&format!(" {word} {limit}"));
            }
        }
        words
    }
}

impl Form {
    fn load(name: &str) -> Option<Self> {
        Some(match name {
            "cabinet" => Self::Cabinet,
            "rail" => Self::Rail,
            "slot" => Self::Slot,
            "bin" => Self::Bin,
            "place" => Self::Place,
            "code" => Self::Code,
            "scope" => Self::Scope,
            "months" => Self::Months,
            _ => return None,
        })
    }

    fn write(&self, text: &str) -> Option<String> {
        Some(match self {
            Self::Cabinet => CabinetAddress::parse(text).ok()?.to_string(),
            Self::Rail => RailAddress::parse(text).ok()?.to_string(),
            Self::Slot => SlotAddress::parse(text).ok()?.to_string(),
            Self::Bin => BinPath::parse(text).ok()?.to_string(),
            Self::Place => UnitPlace::parse(text).ok()?.to_string(),
            Self::Code => text.to_ascii_uppercase(),
            Self::Scope if text.eq_ignore_ascii_case("site") => "site".to_owned(),
            Self::Scope => text.to_ascii_uppercase(),
            // A comma can only mark decimals here, whatever separates the columns.
            Self::Months => text.split_whitespace().collect::<Vec<_>>().join(" ").replace(',', "."),
        })
    }
}
