//! `slotkeep`: every command of the register in the terminal.

mod arguments;
mod calls;
mod comforts;
mod field;
mod outcome;
mod output;
mod program;
mod session;
mod show;

use outcome::Stop;
use std::process::ExitCode;

/// Imports and checks make and drop millions of small texts, which costs the system's own
/// allocator a fifth of the time.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(stop) => stop.tell(),
    }
}

fn run() -> Result<(), Stop> {
    let table = calls::table()?;
    let matches = program::program(&table).try_get_matches()?;
    let globals = program::globals(&matches)?;
    let session = session::Session::new(globals);
    let Some((word, rest)) = matches.subcommand() else { return Ok(()) };
    match comforts::chosen(&matches)? {
        Some(comfort) => comforts::run(comfort, &session, &table),
        None => calls::run(&table, word, rest, &session),
    }
}
