//! Any reply as text for people: tables for lists, lines of name and value for one thing.
//!
//! Knows no command: the shape of the JSON decides, and the names of its fields are the words.

mod cell;
mod list;

use cell::{header, is_inline, is_list_of_things, text, without_twins};
use comfy_table::{Attribute, Cell, ContentArrangement, LineStyle, Table, TableStyle};
use serde_json::{Map, Value};

/// Where the text will stand.
#[derive(Debug, Clone, Copy)]
pub struct Page {
    /// Characters in a line; none where lines may be of any length.
    pub width: Option<usize>,
    /// Whether headings may be bold.
    pub bold: bool,
}

/// Writes a reply as text that ends with a line break.
pub fn render(value: &Value, page: &Page) -> String {
    let mut out = String::new();
    match value {
        Value::Array(list) if list.is_empty() => out.push_str("Nothing to show.\n"),
        Value::Array(list) if is_list_of_things(value) => list::table(&mut out, list, page, false),
        Value::Array(list) => list.iter().for_each(|one| line(&mut out, &cell::cell(one))),
        Value::Object(thing) => whole(&mut out, thing, page),
        Value::Null => {}
        scalar => line(&mut out, &text(scalar)),
    }
    out
}

/// One thing, its sentence first.
fn whole(out: &mut String, thing: &Map<String, Value>, page: &Page) {
    let mut thing = thing.clone();
    if let Some(Value::String(message)) = thing.get("message") {
        line(out, &upper(message));
        thing.shift_remove("message");
    }
    object(out, &thing, "", 0, page);
}

fn object(out: &mut String, thing: &Map<String, Value>, path: &str, depth: usize, page: &Page) {
    let (own, nested): (Vec<_>, Vec<_>) = without_twins(thing)
        .into_iter()
        .partition(|(_, value)| is_inline(value) && !is_list_of_things(value));
    if !own.is_empty() {
        let mut table = bare(page);
        for (name, value) in own {
            table.add_row([header(name), cell::cell(value)]);
        }
        line(out, &table.trim_fmt());
    }
    for (name, value) in nested {
        let title =
            if path.is_empty() { header(name) } else { format!("{path}: {}", header(name)) };
        match value {
            Value::Object(inner) => {
                heading(out, &title, page);
                object(out, inner, &title, depth + 1, page);
            }
            Value::Array(rows) => {
                heading(out, &format!("{title} ({})", rows.len()), page);
                list::table(out, rows, page, depth == 0);
                if depth == 0 {
                    deeper(out, rows, &title, page);
                }
            }
            _ => {}
        }
    }
}

/// The lists within the rows of a list, each under the name of its row.
fn deeper(out: &mut String, rows: &[Value], path: &str, page: &Page) {
    for row in rows.iter().filter_map(Value::as_object) {
        let name = cell::first_word(row);
        for (field, value) in row.iter().filter(|(_, value)| is_list_of_things(value)) {
            let Value::Array(rows) = value else { continue };
            let title = format!("{path}: {name}: {}", header(field));
            heading(out, &format!("{title} ({})", rows.len()), page);
            list::table(out, rows, page, false);
        }
    }
}

fn heading(out: &mut String, title: &str, page: &Page) {
    let title = upper(title);
    out.push('\n');
    line(out, &if page.bold { format!("\x1b[1m{title}\x1b[0m") } else { title });
}

fn line(out: &mut String, text: &str) {
    out.push_str(text.trim_end());
    out.push('\n');
}

/// A table without frame, its header underlined.
fn bare(page: &Page) -> Table {
    let mut table = Table::new();
    table.load_style(TableStyle::new().header_separator(LineStyle::new('─', '─', '─', '─')));
    table.force_no_tty();
    if page.bold {
        table.enforce_styling();
    }
    if let Some(width) = page.width {
        table.set_content_arrangement(ContentArrangement::Dynamic);
        table.set_width(u16::try_from(width).unwrap_or(u16::MAX));
    }
    table
}

fn head_cell(title: &str, page: &Page) -> Cell {
    let cell = Cell::new(title);
    if page.bold { cell.add_attribute(Attribute::Bold) } else { cell }
}

/// A sentence or title with a capital first letter.
fn upper(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests;
