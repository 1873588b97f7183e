//! Tables whose rows wrap, break over pages and repeat their head.

use crate::flow::{Flow, Style, TICK_MM};

/// One column: its head, and its share of the width.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Column {
    pub head: &'static str,
    pub share: f64,
}

#[derive(Debug, Clone)]
pub(crate) enum Cell {
    Text(String),
    Strong(String),
    /// A box to tick.
    Tick,
    /// Room to write by hand.
    Blank,
}

/// A row laid out: the lines of each cell, as far as they are not yet on paper.
struct Row {
    cells: Vec<(Style, Vec<String>)>,
    ticks: Vec<usize>,
    blanks: Vec<usize>,
    least_mm: f64,
}

impl Row {
    fn lines(&self) -> usize {
        self.cells.iter().map(|(_, lines)| lines.len()).max().unwrap_or(0)
    }

    fn height_mm(&self) -> f64 {
        (self.lines() as f64 * Style::BODY.line_mm() + 2.0 * PAD_MM).max(self.least_mm)
    }
}

impl Flow {
    /// Draws a table. A row that is higher than a page is broken between lines.
    pub(crate) fn table(&mut self, columns: &[Column], rows: &[Vec<Cell>]) {
        let total: f64 = columns.iter().map(|column| column.share).sum();
        let widths: Vec<f64> =
            columns.iter().map(|column| column.share / total * self.width_mm()).collect();
        let first_mm = rows.first().map_or(0.0, |row| lay_out(row, &widths).height_mm());
        self.keep(HEAD_MM + first_mm.min(self.page_mm() / 2.0));
        self.table_head(columns, &widths);
        for row in rows {
            let mut row = lay_out(row, &widths);
            if row.height_mm() > self.left_mm() && HEAD_MM + row.height_mm() <= self.page_mm() {
                self.new_page();
                self.table_head(columns, &widths);
            }
            while row.height_mm() > self.left_mm() {
                let room_mm = self.left_mm() - 2.0 * PAD_MM;
                let fitting = (room_mm / Style::BODY.line_mm()).floor().max(0.0) as usize;
                if fitting > 0 {
                    let head = split(&mut row, fitting);
                    self.table_row(&head, &widths);
                }
                self.new_page();
                self.table_head(columns, &widths);
            }
            self.table_row(&row, &widths);
        }
        self.gap(2.0);
    }

    /// Draws a heading and a row to sign for each role, all on one page.
    pub(crate) fn signatures(&mut self, roles: &[&str]) {
        let columns = [
            Column { head: "Role", share: 0.24 },
            Column { head: "Name", share: 0.30 },
            Column { head: "Date and time", share: 0.20 },
            Column { head: "Signature", share: 0.26 },
        ];
        let rows: Vec<_> = roles
            .iter()
            .map(|&role| vec![Cell::Strong(role.into()), Cell::Blank, Cell::Blank, Cell::Blank])
            .collect();
        self.keep(HEADING_MM + HEAD_MM + rows.len() as f64 * (WRITING_MM + 2.0));
        self.heading("Signatures");
        self.table(&columns, &rows);
    }

    fn table_head(&mut self, columns: &[Column], widths: &[f64]) {
        let width_mm = self.width_mm();
        self.fill(0.0, 0.0, (width_mm, HEAD_MM), 0.88);
        let mut x_mm = 0.0;
        for (column, width_mm) in columns.iter().zip(widths) {
            self.put(HEAD, x_mm + PAD_MM, (HEAD_MM - HEAD.line_mm()) / 2.0, column.head);
            x_mm += width_mm;
        }
        self.gap(HEAD_MM);
    }

    fn table_row(&mut self, row: &Row, widths: &[f64]) {
        let mut x_mm = 0.0;
        for (index, ((style, lines), width_mm)) in row.cells.iter().zip(widths).enumerate() {
            for (number, line) in lines.iter().enumerate() {
                let down_mm = PAD_MM + number as f64 * Style::BODY.line_mm();
                self.put(*style, x_mm + PAD_MM, down_mm, line);
            }
            if row.ticks.contains(&index) {
                self.tick_box(x_mm + PAD_MM, PAD_MM - 0.1);
            }
            // Whoever writes by hand should see where a cell ends.
            if index > 0 && row.blanks.contains(&index) {
                self.fill(x_mm, 0.0, (0.15, row.height_mm()), 0.0);
            }
            x_mm += width_mm;
        }
        let width_mm = self.width_mm();
        self.rule(0.0, row.height_mm(), width_mm, 0.35);
        self.gap(row.height_mm());
    }
}

fn lay_out(row: &[Cell], widths: &[f64]) -> Row {
    let mut least_mm = 0.0_f64;
    let mut ticks = Vec::new();
    let mut blanks = Vec::new();
    let mut cells = Vec::new();
    for (index, (cell, width_mm)) in row.iter().zip(widths).enumerate() {
        let text_mm = width_mm - 2.0 * PAD_MM;
        cells.push(match cell {
            Cell::Text(text) => (Style::BODY, Style::BODY.wrap(text_mm, text)),
            Cell::Strong(text) => (Style::STRONG, Style::STRONG.wrap(text_mm, text)),
            Cell::Tick => {
                ticks.push(index);
                least_mm = least_mm.max(TICK_MM + 2.0 * PAD_MM);
                (Style::BODY, Vec::new())
            }
            Cell::Blank => {
                blanks.push(index);
                least_mm = least_mm.max(WRITING_MM);
                (Style::BODY, Vec::new())
            }
        });
    }
    Row { cells, ticks, blanks, least_mm }
}

/// Takes the first lines off a row; boxes to tick go with them.
fn split(row: &mut Row, count: usize) -> Row {
    let cells = row
        .cells
        .iter_mut()
        .map(|(style, lines)| (*style, lines.drain(..count.min(lines.len())).collect()))
        .collect();
    let ticks = std::mem::take(&mut row.ticks);
    Row { cells, ticks, blanks: Vec::new(), least_mm: 0.0 }
}

const HEAD: Style = Style { face: crate::fonts::Face::Bold, size_pt: 8.5 };
const HEAD_MM: f64 = 6.4;
const PAD_MM: f64 = 1.5;
/// Height of a row in which somebody writes.
const WRITING_MM: f64 = 9.0;
/// Height of a heading with the room above it, at most.
const HEADING_MM: f64 = 12.0;
