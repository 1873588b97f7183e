//! What goes to standard output and to files.

use crate::show::{self, Page};
use serde_json::Value;
use slotkeep_api::{Failure, FailureKind};
use std::fs::OpenOptions;
use std::io::{self, IsTerminal, Write};
use std::path::Path;

/// Writes text to standard output.
pub fn print(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()
}

/// Prints a reply: as it is for programs, as tables for people.
pub fn reply(value: &Value, json: bool) -> io::Result<()> {
    if json { print(&pretty(value)) } else { print(&show::render(value, &page())) }
}

/// JSON with line breaks and one at the end.
pub fn pretty(value: &Value) -> String {
    format!("{value:#}\n")
}

/// The page that standard output is: as wide as the terminal, endless elsewhere.
pub fn page() -> Page {
    let terminal = io::stdout().is_terminal();
    let columns = std::env::var("COLUMNS").ok().and_then(|text| text.parse().ok());
    let seen = comfy_table::Table::new().width().filter(|_| terminal).map(usize::from);
    let plain = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    Page { width: columns.or(seen).filter(|width| *width >= 20), bold: terminal && !plain }
}

/// Writes a file; one that is there already is kept unless it may be replaced.
///
/// Fails when the file exists and `replace` is false, or when it cannot be written.
pub fn write_file(path: &Path, bytes: &[u8], replace: bool) -> Result<(), Failure> {
    let mut options = OpenOptions::new();
    options.write(true);
    if replace {
        options.create(true).truncate(true)
    } else {
        options.create_new(true)
    };
    let written = options.open(path).and_then(|mut file| file.write_all(bytes));
    written.map_err(|error| match error.kind() {
        io::ErrorKind::AlreadyExists => Failure::refused(format!(
            "{} is there already: name another file with --out, or replace it with --force",
            path.display()
        )),
        _ => Failure::new(
            FailureKind::Refused,
            format!("{} cannot be written ({error}): name another file with --out", path.display()),
        ),
    })
}

/// Reads a file, or standard input where the name is `-`.
///
/// Fails with the name of the file.
pub fn read_file(path: &Path) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    let read = if path == Path::new("-") {
        io::Read::read_to_end(&mut io::stdin().lock(), &mut bytes).map(|_| bytes)
    } else {
        std::fs::read(path)
    };
    read.map_err(|error| {
        Failure::bad_input(format!(
            "{} cannot be read ({error}): check the name and its rights",
            path.display()
        ))
    })
}
