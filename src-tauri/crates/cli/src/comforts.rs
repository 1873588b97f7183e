//! Short names for everyday work, over the same commands.

mod audit;
mod calc;
mod completion;
mod import;
mod labels;
mod lineup;
mod read;
mod safe_copy;
mod serve;
mod verify;

use crate::calls::Table;
use crate::outcome::Stop;
use crate::output;
use crate::session::Session;
use clap::{ArgMatches, FromArgMatches, Subcommand};

/// What the short names are.
#[derive(Debug, Subcommand)]
pub enum Comfort {
    /// Takes the files of a site folder in; only what differs is recorded
    Import(import::Import),
    /// Writes labels to a PDF, for sheets or a roll printer
    Labels(Box<labels::Labels>),
    /// Holds a rail or cabinet against the rules of a line-up; exit code 1 on a stop
    Lineup(lineup::Lineup),
    /// Holds photos of a rail against the register, slot by slot; exit code 1 where something is open
    Audit(audit::Audit),
    /// Lists every label in each photo, with its corners and what it is
    Read(read::Read),
    /// Checks the journal and every table made from it; exit code 1 when something is wrong
    Verify,
    /// Computes one formula of the trade from figures, without a register
    Calc(calc::Calc),
    /// Copies the store to a new file, also while it is in use
    Backup(safe_copy::Backup),
    /// Makes a store from a backup
    Restore(safe_copy::Restore),
    /// Serves the screens on this computer, and to phones where they are let in
    Serve(serve::Serve),
    /// Prints every command with its input and reply as JSON Schema; needs no store
    Schema,
    /// Prints the completion of this program's words for a shell
    Completion(completion::Completion),
}

/// The short name that was used, if one was.
pub fn chosen(matches: &ArgMatches) -> Result<Option<Comfort>, clap::Error> {
    match matches.subcommand() {
        Some((name, rest)) if Comfort::has_subcommand(name) && rest.subcommand().is_none() => {
            Comfort::from_arg_matches(matches).map(Some)
        }
        _ => Ok(None),
    }
}

pub fn run(comfort: Comfort, session: &Session, table: &Table) -> Result<(), Stop> {
    match comfort {
        Comfort::Import(import) => import.run(session),
        Comfort::Labels(labels) => labels.run(session),
        Comfort::Lineup(lineup) => lineup.run(session),
        Comfort::Audit(audit) => audit.run(session),
        Comfort::Read(read) => read.run(session),
        Comfort::Verify => verify::run(session),
        Comfort::Calc(calc) => calc.run(session),
        Comfort::Backup(backup) => backup.run(session),
        Comfort::Restore(restore) => restore.run(session),
        Comfort::Serve(serve) => serve.run(session),
        Comfort::Schema => Ok(output::print(&output::pretty(&table.json))?),
        Comfort::Completion(completion) => completion.run(table),
    }
}
