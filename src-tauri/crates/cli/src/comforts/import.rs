use crate::outcome::{Stop, code, eprint_quietly, told};
use crate::session::Session;
use crate::{output, show};
use clap::Args;
use serde_json::{Value, json};
use slotkeep_api::site_files::{SiteFile, parse};
use slotkeep_api::{Detail, Failure, FailureKind};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub struct Import {
    /// Folder with site.json and the tables of the site
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
    /// Only say what would be recorded
    #[arg(long)]
    try_only: bool,
}

impl Import {
    pub fn run(&self, session: &Session) -> Result<(), Stop> {
        let files = site_files(&self.folder)?;
        let sent: Vec<Value> =
            files.iter().map(|(name, text)| json!({"name": name, "text": text})).collect();
        let input = json!({"files": sent, "try_only": self.try_only});
        match session.ask("site.import", input, true) {
            Ok(report) => Ok(output::reply(&report, session.json())?),
            Err(failure) if failure.details.is_empty() => Err(failure.into()),
            Err(failure) => Err(bad_rows(failure, files)),
        }
    }
}

/// Reads the tables and JSON files of a folder; whatever else lies there is not of the site.
fn site_files(folder: &Path) -> Result<Vec<(String, String)>, Failure> {
    let unreadable = |error: std::io::Error| {
        let folder = folder.display();
        Failure::bad_input(format!(
            "the folder {folder} cannot be read ({error}): name one with the files of a site"
        ))
    };
    let mut files = Vec::new();
    let mut bad = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let ending = path.extension().unwrap_or_default();
        if name.starts_with('.') || !(ending == "csv" || ending == "json") || !path.is_file() {
            continue;
        }
        match String::from_utf8(output::read_file(&path)?) {
            Ok(text) => files.push((name, text)),
            Err(error) => bad.push(not_utf8(name, &error)),
        }
    }
    files.sort();
    match (files.is_empty(), bad.is_empty()) {
        (_, false) => Err(Failure {
            kind: FailureKind::BadInput,
            message: "nothing was imported: save these files as UTF-8 and try again".to_owned(),
            details: bad,
        }),
        (true, _) => Err(Failure::bad_input(format!(
            "there is no .csv or .json file in {}: name a folder with the files of a site",
            folder.display()
        ))),
        _ => Ok(files),
    }
}

fn not_utf8(name: String, error: &std::string::FromUtf8Error) -> Detail {
    let sound = &error.as_bytes()[..error.utf8_error().valid_up_to()];
    let line = sound.iter().filter(|byte| **byte == b'\n').count() + 1;
    Detail { place: format!("{name}, line {line}"), message: "is not UTF-8".to_owned() }
}

/// Shows every bad row as a table: where it stands, what stands there, what was expected.
fn bad_rows(failure: Failure, files: Vec<(String, String)>) -> Stop {
    let files: Vec<SiteFile> =
        files.into_iter().map(|(name, text)| SiteFile { name, bytes: text.into_bytes() }).collect();
    // Rows that are right by themselves but do not fit the register have one sentence each.
    let rows: Vec<Value> = match parse(&files, chrono::Utc::now().date_naive()) {
        Ok(_) => return failure.into(),
        Err(problems) => problems
            .into_iter()
            .map(|problem| {
                json!({
                    "file": problem.file,
                    "line": (problem.line > 0).then_some(problem.line),
                    "column": (problem.column > 0).then_some(problem.column),
                    "field": problem.field,
                    "stands_there": problem.value,
                    "expected": problem.expected,
                })
            })
            .collect(),
    };
    let alone = Failure { details: Vec::new(), ..failure };
    eprint_quietly(&told(&alone));
    eprint_quietly(&show::render(&Value::Array(rows), &output::page()));
    Stop::Said(code(alone.kind))
}
