use super::{Cell, Column, Form, Sheet, safe_text};
use csv::{QuoteStyle, Terminator, WriterBuilder};

/// Writes a sheet as CSV: comma, point, ISO dates, lines that end with CR LF.
///
/// Every text is quoted, so that a program which takes another character for the comma cannot split
/// it and find a formula in the middle. No byte order mark: programs read CSV, people the xlsx.
///
/// Source: RFC 4180.
pub(crate) fn csv(sheet: &Sheet) -> Result<Vec<u8>, String> {
    let mut writer = WriterBuilder::new()
        .terminator(Terminator::CRLF)
        .quote_style(QuoteStyle::NonNumeric)
        .from_writer(Vec::new());
    let headers = sheet.columns.iter().map(|column| safe_text(column.header).into_owned());
    writer.write_record(headers).map_err(|error| error.to_string())?;
    for row in &sheet.rows {
        let cells = row.iter().zip(&sheet.columns).map(|(cell, column)| written(cell, column));
        writer.write_record(cells).map_err(|error| error.to_string())?;
    }
    writer.into_inner().map_err(|error| error.to_string())
}

fn written(cell: &Cell, column: &Column) -> String {
    match cell {
        Cell::Text(text) => safe_text(text).into_owned(),
        Cell::Number(value) => match column.form {
            Form::Money => format!("{:.2}", value / 100.0),
            Form::Number(digits) => format!("{value:.digits$}"),
            _ => format!("{value}"),
        },
        Cell::Day(day) => day.to_string(),
        Cell::Nothing => String::new(),
    }
}
