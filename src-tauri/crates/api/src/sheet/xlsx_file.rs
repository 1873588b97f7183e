use super::{Cell, Form, Sheet, safe_text};
use chrono::{DateTime, Datelike, Utc};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

/// Most characters that a cell may hold.
///
/// Source: limits of Office Open XML spreadsheets, from memory.
const LONGEST: usize = 32_767;

/// Writes a sheet as xlsx: numbers as numbers, dates as dates, texts as strings and never as
/// formulas; the header stays in sight. Equal input gives equal bytes.
pub(crate) fn xlsx(sheet: &Sheet, at: DateTime<Utc>) -> Result<Vec<u8>, String> {
    whole(sheet, at).map_err(|error| error.to_string())
}

fn whole(sheet: &Sheet, at: DateTime<Utc>) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let made_at = ExcelDateTime::from_timestamp(at.timestamp())?;
    book.set_properties(&DocProperties::new().set_creation_datetime(&made_at));
    let page = book.add_worksheet();
    page.set_name(&sheet.title)?;
    page.set_freeze_panes(1, 0)?;
    let head = Format::new().set_bold().set_text_wrap();
    for (at, column) in (0..).zip(&sheet.columns) {
        page.set_column_width(at, column.width)?;
        page.write_string_with_format(0, at, column.header, &head)?;
    }
    let formats: Vec<Format> = sheet.columns.iter().map(|column| format(column.form)).collect();
    let held = Format::new().set_quote_prefix();
    for (row, cells) in (1..).zip(&sheet.rows) {
        for ((at, cell), format) in (0..).zip(cells).zip(&formats) {
            // A text that looks like a formula stays a text also when somebody edits the cell.
            let format = match cell {
                Cell::Text(text) if safe_text(text) != *text => &held,
                _ => format,
            };
            write(page, (row, at), cell, sheet.columns[usize::from(at)].form, format)?;
        }
    }
    if let (Ok(rows), Ok(columns)) =
        (u32::try_from(sheet.rows.len()), u16::try_from(sheet.columns.len()))
        && columns > 0
    {
        page.autofilter(0, 0, rows, columns - 1)?;
    }
    book.save_to_buffer()
}

fn write(
    page: &mut Worksheet,
    (row, at): (u32, u16),
    cell: &Cell,
    form: Form,
    format: &Format,
) -> Result<(), XlsxError> {
    match cell {
        Cell::Text(text) => {
            let text: String = text.chars().take(LONGEST).collect();
            page.write_string_with_format(row, at, text, format)?;
        }
        Cell::Number(value) => {
            let value = if form == Form::Money { value / 100.0 } else { *value };
            page.write_number_with_format(row, at, value, format)?;
        }
        Cell::Day(day) => {
            let (year, month) = (u16::try_from(day.year()).unwrap_or(9999), day.month() as u8);
            let day = ExcelDateTime::from_ymd(year, month, day.day() as u8)?;
            page.write_datetime_with_format(row, at, &day, format)?;
        }
        Cell::Nothing => {}
    }
    Ok(())
}

fn format(form: Form) -> Format {
    match form {
        Form::Text => Format::new(),
        Form::Count => Format::new().set_num_format("#,##0"),
        Form::Number(digits) => Format::new().set_num_format(format!("0.{}", "0".repeat(digits))),
        Form::Money => Format::new().set_num_format("#,##0.00"),
        Form::Day => Format::new().set_num_format("yyyy-mm-dd"),
    }
}
