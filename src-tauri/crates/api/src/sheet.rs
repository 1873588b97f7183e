//! Tables for spreadsheet programs and other programs: CSV by RFC 4180, and xlsx.
//!
//! A text that somebody typed must never become a formula when a sheet is opened, see
//! [`safe_text`].

mod csv_file;
#[cfg(test)]
mod tests;
mod xlsx_file;

pub(crate) use csv_file::csv;
pub(crate) use xlsx_file::xlsx;

use chrono::NaiveDate;
use std::borrow::Cow;

/// A table with one row of headers.
pub(crate) struct Sheet {
    pub title: String,
    pub columns: Vec<Column>,
    pub rows: Vec<Vec<Cell>>,
}

/// What stands above a column and how its cells look.
pub(crate) struct Column {
    /// With the unit of measure.
    pub header: &'static str,
    /// Width in characters.
    pub width: f64,
    pub form: Form,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    Text,
    /// Whole numbers.
    Count,
    /// Numbers with digits behind the point.
    Number(usize),
    /// Cents in, whole money with two digits out.
    Money,
    Day,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Cell {
    Text(String),
    /// Cents where the column holds money.
    Number(f64),
    Day(NaiveDate),
    Nothing,
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        if text.is_empty() { Self::Nothing } else { Self::Text(text.to_owned()) }
    }
}

impl From<&String> for Cell {
    fn from(text: &String) -> Self {
        text.as_str().into()
    }
}

impl From<f64> for Cell {
    fn from(value: f64) -> Self {
        if value.is_finite() { Self::Number(value) } else { Self::Nothing }
    }
}

impl From<u32> for Cell {
    fn from(value: u32) -> Self {
        Self::Number(value.into())
    }
}

impl From<i64> for Cell {
    fn from(value: i64) -> Self {
        Self::Number(value as f64)
    }
}

impl From<NaiveDate> for Cell {
    fn from(day: NaiveDate) -> Self {
        Self::Day(day)
    }
}

impl<T: Into<Self>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Nothing, Into::into)
    }
}

/// Characters with which spreadsheet programs let a formula begin, and the apostrophe, which marks
/// a text that was made safe.
///
/// Source: OWASP, CSV Injection (= + - @, tab, carriage return); line feed and the wide forms of
/// Japanese keyboards from memory.
const BEGINNINGS: &[char] = &[
    '=', '+', '-', '@', '\t', '\r', '\n', '\0', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}',
    '\'',
];

/// Returns a text in the form in which it may stand in a cell of CSV: where it could begin a
/// formula, an apostrophe stands before it.
///
/// An address as `+K12` so becomes `'+K12`. A text that begins with an apostrophe gets one more, so
/// that taking one apostrophe off the front of a cell always gives the text back. Blanks in front
/// do not hide a formula, since some programs drop them.
///
/// Source: OWASP, CSV Injection; OWASP Application Security Verification Standard 5.0, 1.2.10.
pub(crate) fn safe_text(text: &str) -> Cow<'_, str> {
    let visible = text.trim_start_matches([' ', '\u{a0}', '\u{feff}']);
    if text.starts_with(BEGINNINGS) || visible.starts_with(BEGINNINGS) {
        Cow::Owned(format!("'{text}"))
    } else {
        Cow::Borrowed(text)
    }
}
