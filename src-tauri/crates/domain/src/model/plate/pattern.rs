use super::Plate;
use chrono::{NaiveDate, Weekday};
use regex::{Captures, Regex, RegexBuilder};

/// Longest pattern, characters.
const LONGEST: usize = 300;

/// Memory that one compiled pattern may take, bytes.
const MEMORY: usize = 256 << 10;

const GROUPS: [&str; 5] = ["part", "serial", "revision", "lot", "date"];

/// A form of a maker's own codes: a regular expression with named groups.
///
/// The groups are `part`, `serial`, `revision`, `lot` and `date`, at least one of the first two
/// or `lot`. It is held against the whole code. Dates are YYYYMMDD, YYYY-MM-DD, YYMMDD or the
/// week YYWW (ISO 8601).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct CodePattern(String);

/// Why a text is no pattern, as the end of "expected …".
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PatternRefusal {
    #[error("a pattern of 1 to {LONGEST} characters")]
    Length,
    #[error("a regular expression ({0})")]
    Syntax(String),
    #[error(
        "a smaller pattern: write [0-9A-Z] for \\w and \\d, and shorter repeats, so that it fits \
         into {} kB", MEMORY >> 10
    )]
    Large,
    #[error("groups named part, serial, revision, lot or date, not {0:?}")]
    Group(String),
    #[error("a named group such as (?<serial>[0-9]+), or part or lot: else it reads nothing")]
    Nothing,
}

impl CodePattern {
    /// Fails when the text is too long, is no regular expression, takes too much memory, or has
    /// other groups than those above.
    pub fn parse(text: &str) -> Result<Self, PatternRefusal> {
        if text.is_empty() || text.chars().count() > LONGEST {
            return Err(PatternRefusal::Length);
        }
        let regex = compile(text).map_err(|error| match error {
            regex::Error::CompiledTooBig(_) => PatternRefusal::Large,
            other => PatternRefusal::Syntax(last_line(&other.to_string())),
        })?;
        let mut names = regex.capture_names().flatten();
        if let Some(strange) = names.find(|name| !GROUPS.contains(name)) {
            return Err(PatternRefusal::Group(strange.to_owned()));
        }
        let reads =
            |wanted: &[&str]| regex.capture_names().flatten().any(|name| wanted.contains(&name));
        match reads(&["part", "serial", "lot"]) {
            true => Ok(Self(text.to_owned())),
            false => Err(PatternRefusal::Nothing),
        }
    }

    /// A pattern from the register, which was checked when it was taken in.
    pub fn kept(text: String) -> Self {
        Self(text)
    }

    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Makes it ready for reading; none where this program does not understand it.
    pub(super) fn ready(&self) -> Option<Ready> {
        compile(&self.0).ok().map(Ready)
    }
}

fn compile(text: &str) -> Result<Regex, regex::Error> {
    RegexBuilder::new(&format!("^(?:{text})$")).size_limit(MEMORY).dfa_size_limit(MEMORY).build()
}

/// The sentence of a syntax error; the lines before it draw the pattern with a mark.
fn last_line(error: &str) -> String {
    let last = error.lines().last().unwrap_or_default();
    last.trim_start_matches("error: ").to_owned()
}

/// A compiled pattern.
pub(super) struct Ready(Regex);

impl Ready {
    pub fn names_part(&self) -> bool {
        self.0.capture_names().flatten().any(|name| name == "part")
    }

    /// What a code says; none where it is of another form, or its date is no day.
    pub fn read(&self, text: &str) -> Option<Plate> {
        let groups = self.0.captures(text)?;
        let made_on = match group(&groups, "date") {
            Some(digits) => Some(date(&digits)?),
            None => None,
        };
        Some(Plate {
            part: group(&groups, "part"),
            serial: group(&groups, "serial"),
            revision: group(&groups, "revision"),
            lot: group(&groups, "lot"),
            made_on,
        })
    }
}

fn group(groups: &Captures<'_>, name: &str) -> Option<String> {
    let text = groups.name(name)?.as_str().trim();
    (!text.is_empty()).then(|| text.to_owned())
}

/// A date in the forms that plates use. Two-digit years are of this century.
fn date(text: &str) -> Option<NaiveDate> {
    let digits: String = text.chars().filter(char::is_ascii_digit).collect();
    let part = |from: usize, to: usize| digits.get(from..to)?.parse::<u32>().ok();
    match digits.len() {
        8 => NaiveDate::from_ymd_opt(part(0, 4)? as i32, part(4, 6)?, part(6, 8)?),
        6 => NaiveDate::from_ymd_opt(2000 + part(0, 2)? as i32, part(2, 4)?, part(4, 6)?),
        4 => NaiveDate::from_isoywd_opt(2000 + part(0, 2)? as i32, part(2, 4)?, Weekday::Mon),
        _ => None,
    }
}
