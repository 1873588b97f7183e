//! Takes a site folder in: each row that says something new becomes an entry.
//!
//! The register remembers what each row said when it was last taken in. A row that says the same
//! is passed over, so that importing a folder again changes nothing, also after units were moved
//! by people since. With any bad row nothing is taken in.

mod plan;
mod power;
mod removals;
mod to_come;
mod units;

use crate::ask::{Ask, Stamp};
use crate::site_files::{Problem, SiteFile, parse};
use crate::wire::site::{ImportInput, ImportReport, KindCount};
use crate::{Detail, Failure, FailureKind};
use plan::{Origin, Plan};
use slotkeep_store::Batch;
use std::collections::BTreeMap;

/// Takes the files in and says what became of them.
///
/// Fails with every bad row, with file, line, column, value and what was expected.
pub(crate) fn take_in(
    ask: &Ask<'_>,
    stamp: &Stamp,
    input: ImportInput,
) -> Result<ImportReport, Failure> {
    let files: Vec<SiteFile> = input
        .files
        .into_iter()
        .map(|file| SiteFile { name: file.name, bytes: file.text.into_bytes() })
        .collect();
    ask.progress("reading files", 0, 1);
    let site = parse(&files, ask.today()).map_err(bad_rows)?;
    ask.progress("reading files", 1, 1);
    let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
    let origin = Origin {
        at: stamp.at,
        person: ask.caller.person.clone(),
        device: ask.caller.device.clone(),
    };
    let rows = site.rows();
    ask.store.write(|writer| {
        let plan = |batch: &mut Batch| {
            let plan = Plan::make(&site, &names, batch, &origin);
            if plan.problems.is_empty() {
                Ok(report(&plan, batch.kinds(), input.try_only))
            } else {
                Err(failed(plan.problems))
            }
        };
        writer.batch(input.try_only, plan, &mut |done| ask.progress("recording", done, rows))
    })
}

fn report(plan: &Plan, kinds: &BTreeMap<&str, u64>, try_only: bool) -> ImportReport {
    let entries = kinds.values().sum();
    let message = match (entries, try_only) {
        (0, _) => format!("nothing new: {} rows say what they said before", plan.unchanged),
        (n, true) => format!("{n} entries would be recorded; nothing was"),
        (n, false) => format!("{n} entries recorded, {} rows said nothing new", plan.unchanged),
    };
    ImportReport {
        entries,
        unchanged: plan.unchanged,
        kinds: kinds
            .iter()
            .map(|(kind, count)| KindCount { kind: (*kind).to_owned(), count: *count })
            .collect(),
        notes: plan.notes.clone(),
        message,
    }
}

fn bad_rows(problems: Vec<Problem>) -> Failure {
    failed(
        problems
            .into_iter()
            .map(|problem| Detail {
                place: place_of(&problem),
                message: if problem.value.is_empty() {
                    format!("nothing stands there; expected {}", problem.expected)
                } else {
                    format!("{:?} stands there; expected {}", problem.value, problem.expected)
                },
            })
            .collect(),
    )
}

fn place_of(problem: &Problem) -> String {
    let mut place = problem.file.clone();
    if problem.line > 0 {
        place.push_str(&format!(", line {}", problem.line));
    }
    if problem.column > 0 {
        place.push_str(&format!(", column {}", problem.column));
    }
    if !problem.field.is_empty() {
        place.push_str(&format!(" ({})", problem.field));
    }
    place
}

fn failed(details: Vec<Detail>) -> Failure {
    let rows = if details.len() == 1 { "1 row is" } else { &format!("{} rows are", details.len()) };
    Failure {
        kind: FailureKind::BadInput,
        message: format!("{rows} wrong, so nothing was imported: correct the files and try again"),
        details,
    }
}
