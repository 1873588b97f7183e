//! The command line: options for every command, short names, and the table below them.

use crate::calls::{self, Table};
use crate::comforts::Comfort;
use crate::outcome::EXIT_CODES;
use clap::{ArgMatches, Args, Command, FromArgMatches, Subcommand};
use std::path::PathBuf;

const ABOUT: &str = "Keeps the register of what stands in which slot of which cabinet: units, \
    batteries, swaps and spares";

const LONG_ABOUT: &str = "Keeps the register of what stands in which slot of which cabinet: \
    units, batteries, swaps and spares.\n\n\
    Everyday work has short names (import, labels, read, verify, …). Below them stands every \
    command of the register by its noun: `slotkeep unit card LABEL`. Replies are tables for \
    people; --json prints them for programs. Begin with `slotkeep import FOLDER`.";

const EVERYWHERE: &str = "For every command";

/// Options that go with every command.
#[derive(Debug, Clone, Args)]
pub struct Globals {
    /// The file that holds the register; slotkeep/site.slotkeep in your data folder, where left out
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    #[arg(value_name = "FILE", env = "SLOTKEEP_STORE", hide_env_values = true)]
    pub store: Option<PathBuf>,

    /// Who does this, for the journal; your login name, where left out
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    #[arg(value_name = "NAME", env = "SLOTKEEP_PERSON", hide_env_values = true)]
    pub person: Option<String>,

    /// Print replies as JSON
    #[arg(long, global = true, help_heading = EVERYWHERE)]
    pub json: bool,
}

/// Makes the whole command line. A short name that is a noun too takes the noun's verbs below it.
pub fn program(table: &Table) -> Command {
    let program = Globals::augment_args(Command::new("slotkeep"));
    // The words come last: the derived parts would put their own doc comments there.
    let program = calls::nouns(table).into_iter().fold(
        Comfort::augment_subcommands(program),
        |program, noun| match noun.get_name().to_owned() {
            name if Comfort::has_subcommand(&name) => program.mut_subcommand(name, |word| {
                word.subcommands(noun.get_subcommands().cloned())
                    .args_conflicts_with_subcommands(true)
                    .subcommand_negates_reqs(true)
                    .disable_help_subcommand(true)
            }),
            _ => program.subcommand(noun),
        },
    );
    program
        .version(env!("CARGO_PKG_VERSION"))
        .about(ABOUT)
        .long_about(LONG_ABOUT)
        .after_help(EXIT_CODES)
        .subcommand_required(true)
        .arg_required_else_help(true)
        .disable_help_subcommand(true)
        .max_term_width(100)
}

/// Reads the options that go with every command.
pub fn globals(matches: &ArgMatches) -> Result<Globals, clap::Error> {
    Globals::from_arg_matches(matches)
}
