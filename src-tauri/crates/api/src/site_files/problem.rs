use super::json::Positions;
use std::collections::{HashMap, HashSet};
use std::fmt;

/// Something in a site file that is not right, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Name of the file, e.g. `slots.csv`.
    pub file: String,
    /// Line, counted from 1; 0 when it concerns the whole file.
    pub line: u32,
    /// Column of the table, or character of the JSON line, counted from 1; 0 when it
    /// concerns the whole line.
    pub column: u32,
    /// Name of the column or path of the JSON field; empty when it concerns the whole line.
    pub field: String,
    /// What stands there.
    pub value: String,
    /// What should stand there, as the end of the sentence "expected …".
    pub expected: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if self.line > 0 {
            write!(f, ", line {}", self.line)?;
        }
        if self.column > 0 {
            write!(f, ", column {}", self.column)?;
        }
        if !self.field.is_empty() {
            write!(f, " ({})", self.field)?;
        }
        if self.value.is_empty() {
            write!(f, ": nothing there; expected {}", self.expected)
        } else {
            write!(f, ": found {:?}; expected {}", self.value, self.expected)
        }
    }
}

/// Collects problems and knows where the fields of each file stand.
#[derive(Default)]
pub(super) struct Problems {
    pub list: Vec<Problem>,
    /// Columns of each CSV file that was read, in its own order.
    pub headers: HashMap<&'static str, Vec<String>>,
    /// Where the values of each JSON file that was read stand.
    pub positions: HashMap<&'static str, Positions>,
    /// Files that could not be read as a whole: nothing that refers to them can be judged.
    pub unread: HashSet<&'static str>,
    /// Models whose catalogue line is there but not right.
    pub bad_models: HashSet<String>,
}

impl Problems {
    /// Notes a problem with a column of a CSV row.
    pub fn cell(
        &mut self,
        file: &'static str,
        line: u32,
        field: &str,
        value: impl fmt::Display,
        expected: impl Into<String>,
    ) {
        let header = self.headers.get(file);
        let at = header.and_then(|names| names.iter().position(|name| name == field));
        self.list.push(Problem {
            file: file.to_owned(),
            line,
            column: at.map_or(0, |at| at as u32 + 1),
            field: field.to_owned(),
            value: value.to_string(),
            expected: expected.into(),
        });
    }

    /// Notes a problem with the JSON value at a pointer (RFC 6901), or the nearest one around it.
    pub fn json(
        &mut self,
        file: &'static str,
        pointer: &str,
        value: impl fmt::Display,
        expected: impl Into<String>,
    ) {
        let (line, column) =
            self.positions.get(file).map_or((0, 0), |positions| positions.nearest(pointer));
        self.list.push(Problem {
            file: file.to_owned(),
            line,
            column,
            field: pointer.trim_start_matches('/').replace('/', "."),
            value: value.to_string(),
            expected: expected.into(),
        });
    }

    /// Notes a problem with a whole file.
    pub fn file(&mut self, file: &str, line: u32, value: &str, expected: impl Into<String>) {
        self.list.push(Problem {
            file: file.to_owned(),
            line,
            column: 0,
            field: String::new(),
            value: value.to_owned(),
            expected: expected.into(),
        });
    }
}

/// The known name that a text most resembles, whatever its case; the first by name of equals.
pub(super) fn nearest<'a>(text: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let text = text.to_lowercase();
    let distance = |name: &str| strsim::damerau_levenshtein(&text, &name.to_lowercase());
    known.min_by_key(|name| (distance(name), *name))
}
