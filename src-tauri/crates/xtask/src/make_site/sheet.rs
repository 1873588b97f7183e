use chrono::NaiveDate;
use std::fmt::{Display, Write};

/// A CSV file in the making.
pub struct Sheet {
    pub name: &'static str,
    pub text: String,
}

impl Sheet {
    pub fn new(name: &'static str, heading: &str) -> Self {
        Self { name, text: format!("{heading}\n") }
    }

    /// Adds a row; the caller gives as many cells as the heading has.
    pub fn row(&mut self, cells: &[&dyn Display]) {
        let mut cell = String::new();
        for (at, value) in cells.iter().enumerate() {
            if at > 0 {
                self.text.push(',');
            }
            cell.clear();
            // Writing to a string cannot fail.
            let _ = write!(cell, "{value}");
            if cell.contains([',', '"', '\n']) {
                let _ = write!(self.text, "\"{}\"", cell.replace('"', "\"\""));
            } else {
                self.text.push_str(&cell);
            }
        }
        self.text.push('\n');
    }
}

/// A date, or an empty cell.
pub fn maybe(date: Option<NaiveDate>) -> String {
    date.map_or(String::new(), |date| date.to_string())
}
