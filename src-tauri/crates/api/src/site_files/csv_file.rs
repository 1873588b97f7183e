use super::problem::{Problems, nearest};
use super::schema::{Cell, RowSchema};
use super::{Row, SiteFile};
use chrono::{DateTime, NaiveDate, Utc};
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::fmt::Write;

/// The rows of one file, and what is known by which key.
pub(super) struct Loaded<T> {
    pub rows: Vec<Row<T>>,
    index: HashMap<String, Seen>,
}

/// A key that a file names.
struct Seen {
    line: u32,
    /// How often; only files whose keys may repeat name one twice without a problem.
    count: u32,
    /// Index into the rows; none for a row that is there but not right.
    row: Option<usize>,
}

impl<T> Loaded<T> {
    /// Whether the file names a key, be its row right or not.
    pub fn knows(&self, key: &str) -> bool {
        self.index.contains_key(key)
    }

    pub fn get(&self, key: &str) -> Option<&T> {
        let at = self.index.get(key)?.row?;
        self.rows.get(at).map(|row| &row.value)
    }

    /// Keys that a text may have been meant for.
    pub fn keys(&self) -> impl Iterator<Item = &str> {
        self.index.keys().map(String::as_str)
    }

    /// Takes a key down; fails with the line that named it before.
    fn name(&mut self, key: &mut String, line: u32, repeats: bool) -> Result<(), u32> {
        match self.index.get_mut(key.as_str()) {
            None => {
                self.index.insert(key.clone(), Seen { line, count: 1, row: None });
                Ok(())
            }
            Some(seen) if repeats => {
                seen.count += 1;
                write!(key, "\t#{}", seen.count).unwrap_or_default();
                Ok(())
            }
            Some(seen) => Err(seen.line),
        }
    }
}

/// The cells of one row, in the order of the schema.
pub(super) struct Cells<'a>(Vec<Cell<'a>>);

impl Cells<'_> {
    pub fn text(&self, at: usize) -> &str {
        match &self.0[at] {
            Cell::Text(text) => text,
            _ => "",
        }
    }

    pub fn owned(&self, at: usize) -> String {
        self.text(at).to_owned()
    }

    pub fn optional(&self, at: usize) -> Option<String> {
        self.filled(at).then(|| self.owned(at))
    }

    pub fn filled(&self, at: usize) -> bool {
        self.0[at] != Cell::Empty
    }

    pub fn number(&self, at: usize) -> Option<f64> {
        match self.0[at] {
            Cell::Number(number) => Some(number),
            _ => None,
        }
    }

    /// A measure that the schema requires.
    pub fn measure(&self, at: usize) -> f64 {
        self.number(at).unwrap_or_default()
    }

    pub fn count(&self, at: usize) -> Option<u32> {
        self.number(at).map(|number| number as u32)
    }

    pub fn date(&self, at: usize) -> Option<NaiveDate> {
        match self.0[at] {
            Cell::Date(date) => Some(date),
            _ => None,
        }
    }

    pub fn time(&self, at: usize) -> DateTime<Utc> {
        match self.0[at] {
            Cell::Time(time) => time,
            _ => DateTime::UNIX_EPOCH,
        }
    }
}

/// Why a row whose cells are right is not right as a whole: the column and what was expected.
pub(super) type Misfit = (usize, String);

/// Reads a CSV file against its schema; a file that is absent has no rows.
pub(super) fn read<T>(
    schema: &RowSchema,
    file: Option<&SiteFile>,
    problems: &mut Problems,
    mut build: impl FnMut(&Cells<'_>) -> Result<T, Misfit>,
) -> Loaded<T> {
    let mut loaded = Loaded { rows: Vec::new(), index: HashMap::new() };
    let Some(file) = file else { return loaded };
    let Some(text) = text(schema.file, &file.bytes, problems) else { return loaded };
    let separator = separator(text);
    let mut reader =
        csv::ReaderBuilder::new().delimiter(separator).flexible(true).from_reader(text.as_bytes());
    let Some(places) = header(schema, &mut reader, problems) else { return loaded };
    let width = problems.headers.get(schema.file).map_or(0, Vec::len);
    let mut record = csv::StringRecord::new();
    let mut digested = String::new();
    // The text is valid UTF-8 and rows may be ragged, so reading it cannot fail.
    while reader.read_record(&mut record).unwrap_or(false) {
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let line = line_of(text, record.position());
        let before = problems.list.len();
        shape(schema.file, line, width, &record, problems);
        let cells = cells(schema, &places, line, separator != b',', &record, problems);
        let mut key = key(schema, &cells);
        if let Err(first) = loaded.name(&mut key, line, schema.key_repeats) {
            let field = &schema.columns[schema.key[0]].name;
            let expected = format!("something else: line {first} says it already");
            problems.cell(schema.file, line, field, key.replace('\t', " "), expected);
        }
        if problems.list.len() > before {
            continue;
        }
        match build(&cells) {
            Ok(value) => {
                if let Some(seen) = loaded.index.get_mut(&key) {
                    seen.row = Some(loaded.rows.len());
                }
                let digest = digest(schema, &cells, &mut digested);
                loaded.rows.push(Row { file: schema.file, line, key, digest, value });
            }
            Err((at, expected)) => {
                let name = &schema.columns[at].name;
                problems.cell(schema.file, line, name, shown(&cells.0[at]), expected);
            }
        }
    }
    loaded
}

/// The text of a file, without a byte order mark.
pub(super) fn text<'a>(
    name: &'static str,
    bytes: &'a [u8],
    problems: &mut Problems,
) -> Option<&'a str> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    match std::str::from_utf8(bytes) {
        Ok(text) => Some(text),
        Err(error) => {
            let line = bytes[..error.valid_up_to()].iter().filter(|b| **b == b'\n').count();
            let odd = bytes.get(error.valid_up_to()).map_or(String::new(), |b| format!("{b:#04x}"));
            problems.file(name, line as u32 + 1, &odd, "UTF-8; save the file again as UTF-8");
            problems.unread.insert(name);
            None
        }
    }
}

/// The separator that occurs most often in the heading.
fn separator(text: &str) -> u8 {
    let heading = text.lines().next().unwrap_or_default();
    let count = |separator: &u8| heading.bytes().filter(|b| b == separator).count();
    [b'\t', b';', b','].into_iter().max_by_key(count).unwrap_or(b',')
}

/// Reads the heading and returns where each column of the schema stands.
fn header(
    schema: &RowSchema,
    reader: &mut csv::Reader<&[u8]>,
    problems: &mut Problems,
) -> Option<Vec<Option<usize>>> {
    let names: Vec<String> =
        reader.headers().ok()?.iter().map(|name| name.trim().to_lowercase()).collect();
    let known = || schema.columns.iter().map(|column| column.name.as_str());
    problems.headers.insert(schema.file, names.clone());
    let before = problems.list.len();
    for (at, name) in names.iter().enumerate() {
        if names[..at].contains(name) {
            problems.cell(schema.file, 1, name, name, "each column once");
        } else if !known().any(|column| column == name) {
            let hint = nearest(name, known()).unwrap_or_default();
            problems.cell(
                schema.file,
                1,
                name,
                name,
                format!("a known column; the nearest is {hint}"),
            );
        }
    }
    let places: Vec<_> =
        known().map(|column| names.iter().position(|name| name == column)).collect();
    for (column, place) in schema.columns.iter().zip(&places) {
        if column.required && place.is_none() {
            problems.cell(schema.file, 1, &column.name, "", format!("a column {}", column.name));
        }
    }
    // With a column missing every row would be wrong in the same way.
    if problems.list.len() > before {
        problems.unread.insert(schema.file);
        return None;
    }
    Some(places)
}

/// Notes rows that are longer or shorter than the heading, and cells with control characters.
fn shape(
    file: &'static str,
    line: u32,
    width: usize,
    record: &csv::StringRecord,
    problems: &mut Problems,
) {
    if record.len() != width {
        problems.file(
            file,
            line,
            &format!("{} cells", record.len()),
            format!("{width} cells, as many as the heading has"),
        );
    }
    let odd = record.iter().position(|cell| cell.trim().bytes().any(|b| b.is_ascii_control()));
    if let Some(at) = odd {
        let start: String = record[at].trim().chars().take(40).collect();
        problems.file(
            file,
            line,
            &start,
            "cells of one line; a quotation mark may have been left open",
        );
    }
}

fn cells<'a>(
    schema: &RowSchema,
    places: &[Option<usize>],
    line: u32,
    decimal_comma: bool,
    record: &'a csv::StringRecord,
    problems: &mut Problems,
) -> Cells<'a> {
    let read = |(column, place): (&super::schema::Column, &Option<usize>)| {
        let text = place.and_then(|at| record.get(at)).unwrap_or_default().trim();
        column.read(text, decimal_comma).unwrap_or_else(|expected| {
            problems.cell(schema.file, line, &column.name, text, expected);
            Cell::Empty
        })
    };
    Cells(schema.columns.iter().zip(places).map(read).collect())
}

/// The cells that name a row, joined by a character that no cell can hold.
fn key(schema: &RowSchema, cells: &Cells<'_>) -> String {
    let mut key = String::new();
    for (count, at) in schema.key.iter().enumerate() {
        if count > 0 {
            key.push('\t');
        }
        push(&mut key, &cells.0[*at]);
    }
    key
}

/// Digest of the cells that are filled; `text` is room to write in.
fn digest(schema: &RowSchema, cells: &Cells<'_>, text: &mut String) -> u64 {
    text.clear();
    for (column, cell) in schema.columns.iter().zip(&cells.0) {
        if *cell != Cell::Empty {
            text.push_str(&column.name);
            text.push('\t');
            push(text, cell);
            text.push('\n');
        }
    }
    hash(text.as_bytes())
}

/// First 8 bytes of SHA-256.
pub(super) fn hash(bytes: &[u8]) -> u64 {
    let hash = Sha256::digest(bytes);
    hash.iter().take(8).fold(0, |sum, byte| sum << 8 | u64::from(*byte))
}

fn push(text: &mut String, cell: &Cell<'_>) {
    let written = match cell {
        Cell::Empty => Ok(()),
        Cell::Text(cell) => text.write_str(cell),
        // Whole numbers are written alike either way, and faster as such.
        Cell::Number(number) if number.fract() == 0.0 && number.abs() < 1e15 => {
            write!(text, "{}", *number as i64)
        }
        Cell::Number(number) => write!(text, "{number}"),
        Cell::Date(date) => write!(text, "{date}"),
        Cell::Time(time) => text.write_str(&time.to_rfc3339()),
    };
    written.unwrap_or_default();
}

fn shown(cell: &Cell<'_>) -> String {
    let mut text = String::new();
    push(&mut text, cell);
    text
}

/// Line on which a record begins: the reader's position is before any line ends that it skips.
fn line_of(text: &str, position: Option<&csv::Position>) -> u32 {
    let Some(position) = position else { return 0 };
    let rest = text.as_bytes().get(position.byte() as usize..).unwrap_or_default();
    let skipped = rest.iter().take_while(|b| matches!(b, b'\r' | b'\n'));
    position.line() as u32 + skipped.filter(|b| **b == b'\n').count() as u32
}
