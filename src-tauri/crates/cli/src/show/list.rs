//! A list of things as a table whose columns fit the page.

use super::cell::{cell, header, is_inline, is_list_of_things, without_twins};
use super::{Page, bare, head_cell, line};
use comfy_table::{CellAlignment, ColumnConstraint, Width};
use serde_json::{Map, Value};

/// Words without a space that are longer are for programs (a hash, a symbol's modules).
const READABLE: usize = 80;
/// From here on a word takes more room than it says (an id).
const LONG_WORD: usize = 30;
/// A text may be broken into lines of this length, never shorter.
const NARROW: usize = 16;
/// Blanks around a column.
const PADDING: usize = 3;
/// Of these, what does not count as the column's own width.
const BETWEEN: u16 = 1;

struct Column {
    title: String,
    cells: Vec<String>,
    figures: bool,
    things: bool,
    /// Where it stands among the fields of a thing within the row.
    inner: Option<usize>,
}

/// Writes the rows below one header line; lists within the rows may be shown elsewhere.
pub fn table(out: &mut String, rows: &[Value], page: &Page, things_elsewhere: bool) {
    let rows: Vec<&Map<String, Value>> = rows.iter().filter_map(Value::as_object).collect();
    if rows.is_empty() {
        return;
    }
    let mut columns = columns(&rows);
    if things_elsewhere {
        columns.retain(|column| !column.things);
    }
    let mut left_out = Vec::new();
    leave_out(&mut columns, &mut left_out, |column| column.longest_word() > READABLE);
    match page.width {
        Some(width) => fit(&mut columns, &mut left_out, width),
        // Programs that sort and search take a line as a row.
        None => columns.iter_mut().for_each(Column::join_lines),
    }
    let mut table = bare(page);
    table.set_header(columns.iter().map(|column| head_cell(&column.title, page)));
    for row in 0..rows.len() {
        table.add_row(columns.iter().map(|column| column.cells[row].as_str()));
    }
    for (column, shown) in columns.iter().zip(table.column_iter_mut()) {
        let least = u16::try_from(column.least_width()).unwrap_or(u16::MAX);
        shown.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(least - BETWEEN)));
        if column.figures {
            shown.set_cell_alignment(CellAlignment::Right);
        }
    }
    line(out, &table.trim_fmt());
    if !left_out.is_empty() {
        line(out, &format!("Not shown here: {} (--json shows all).", left_out.join(", ")));
    }
}

/// The columns of the rows: one for each field, and one for each field of a thing within.
fn columns(rows: &[&Map<String, Value>]) -> Vec<Column> {
    let mut columns = Vec::new();
    for name in names(rows.iter().map(|row| without_twins(row))) {
        let values: Vec<&Value> =
            rows.iter().map(|row| row.get(name).unwrap_or(&Value::Null)).collect();
        let inner: Vec<&Map<String, Value>> = values.iter().filter_map(|v| v.as_object()).collect();
        if values.iter().all(|value| is_inline(value) || value.is_array()) || inner.is_empty() {
            columns.push(Column::new(header(name), &values, None));
            continue;
        }
        let fields = names(inner.iter().map(|thing| without_twins(thing)));
        for (place, field) in fields.into_iter().enumerate() {
            let values: Vec<&Value> = values.iter().map(|value| &value[field]).collect();
            let taken = columns.iter().any(|column: &Column| column.title == header(field));
            let title =
                if taken { format!("{} {}", header(name), header(field)) } else { header(field) };
            columns.push(Column::new(title, &values, Some(place)));
        }
    }
    columns
}

/// Names of fields in the order in which they first come.
fn names<'a>(rows: impl Iterator<Item = Vec<(&'a str, &'a Value)>>) -> Vec<&'a str> {
    let mut names = Vec::new();
    for (name, _) in rows.flatten() {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

impl Column {
    fn new(title: String, values: &[&Value], inner: Option<usize>) -> Self {
        Self {
            title,
            cells: values.iter().map(|value| cell(value)).collect(),
            figures: values.iter().all(|v| v.is_number() || v.is_null())
                && values.iter().any(|v| v.is_number()),
            things: values.iter().any(|value| is_list_of_things(value)),
            inner,
        }
    }

    fn join_lines(&mut self) {
        for cell in &mut self.cells {
            *cell = cell.replace('\n', "; ");
        }
    }

    fn longest_word(&self) -> usize {
        let words = self.cells.iter().flat_map(|cell| cell.split_whitespace());
        words.map(|word| word.chars().count()).max().unwrap_or(0)
    }

    /// The least width that keeps words whole and short texts on one line.
    fn least_width(&self) -> usize {
        let title = self.title.split(' ').map(|word| word.chars().count()).max().unwrap_or(0);
        let lines = self.cells.iter().flat_map(|cell| cell.lines());
        let longest = lines.map(|line| line.chars().count()).max().unwrap_or(0);
        let text = longest.min(NARROW).max(self.longest_word().min(longest));
        title.max(text) + PADDING
    }

    fn is_blank(&self) -> bool {
        self.cells.iter().all(String::is_empty)
    }

    fn says_the_same(&self) -> bool {
        self.cells.len() > 1 && self.cells.iter().all(|cell| *cell == self.cells[0])
    }

    /// Sentences say what the other columns mean; where to go and by when is what lists are for.
    fn is_wanted(&self) -> bool {
        const WANTED: [&str; 9] = [
            "message",
            "reason",
            "reasons",
            "about",
            "severity",
            "state",
            "place",
            "due on",
            "order now",
        ];
        WANTED.contains(&self.title.as_str())
    }

    /// Two fields are enough to name a thing within the row.
    fn is_detail(&self) -> bool {
        self.inner.is_some_and(|place| place >= 2) && !self.is_wanted()
    }
}

/// Leaves columns out until the rest fits: first those that say least, and of these the widest.
fn fit(columns: &mut Vec<Column>, left_out: &mut Vec<String>, width: usize) {
    let says_less: [fn(&Column) -> bool; 7] = [
        Column::is_blank,
        |column| column.longest_word() > LONG_WORD,
        |column| column.things,
        |column| column.says_the_same() && !column.is_wanted(),
        Column::is_detail,
        |column| !column.is_wanted(),
        |_| true,
    ];
    for less in says_less {
        while columns.iter().map(Column::least_width).sum::<usize>() >= width {
            // The first column names the row.
            let rest = columns.iter().enumerate().skip(1).filter(|(_, column)| less(column));
            let Some((at, _)) = rest.max_by_key(|(_, column)| column.least_width()) else { break };
            let column = columns.remove(at);
            if !column.is_blank() {
                left_out.push(column.title);
            }
        }
    }
}

fn leave_out(
    columns: &mut Vec<Column>,
    left_out: &mut Vec<String>,
    unfit: impl Fn(&Column) -> bool,
) {
    columns.retain(|column| {
        let unfit = unfit(column);
        if unfit {
            left_out.push(column.title.clone());
        }
        !unfit
    });
}
