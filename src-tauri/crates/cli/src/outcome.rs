//! Exit codes, and how the program says why it stopped.

use slotkeep_api::{Detail, Failure, FailureKind};
use std::fmt::Write as _;
use std::io;
use std::process::ExitCode;

/// What the exit codes mean, for the help.
pub const EXIT_CODES: &str = "\
Exit codes:
  0  done
  1  refused, not found, or a check found something
  2  the command line or the input cannot be understood
  3  the store or the program failed";

/// Why the program ends before its work is done.
#[derive(Debug)]
pub enum Stop {
    /// The command line, or the help that was asked for.
    CommandLine(clap::Error),
    Failed(Failure),
    /// Everything was said already; only the code is left.
    Said(u8),
    /// The output could not be written.
    Output(io::Error),
}

impl Stop {
    /// Says why on standard error and gives the exit code.
    pub fn tell(self) -> ExitCode {
        match self {
            Self::CommandLine(error) => {
                // Nobody is left to hear when this fails too.
                let _ = error.print();
                ExitCode::from(u8::from(error.use_stderr()) * 2)
            }
            Self::Failed(failure) => {
                eprint_quietly(&told(&failure));
                ExitCode::from(code(failure.kind))
            }
            Self::Said(code) => ExitCode::from(code),
            // The reader (a pager, `head`) had enough.
            Self::Output(error) if error.kind() == io::ErrorKind::BrokenPipe => ExitCode::SUCCESS,
            Self::Output(error) => {
                eprint_quietly(&format!("slotkeep: the output cannot be written: {error}\n"));
                ExitCode::from(3)
            }
        }
    }
}

/// The exit code of a failure.
pub fn code(kind: FailureKind) -> u8 {
    match kind {
        FailureKind::BadInput => 2,
        FailureKind::NotIdentified
        | FailureKind::NotAllowed
        | FailureKind::NotFound
        | FailureKind::Refused
        | FailureKind::SetAside => 1,
        FailureKind::Broken => 3,
    }
}

/// A failure as text: a sentence, and a line for each single place.
pub fn told(failure: &Failure) -> String {
    let mut text = format!("slotkeep: {}\n", failure.message.trim_end());
    for Detail { place, message } in &failure.details {
        let _ = writeln!(text, "  {place}: {message}");
    }
    text
}

/// Writes to standard error; a closed one is no reason to fall over.
pub fn eprint_quietly(text: &str) {
    let _ = io::Write::write_all(&mut io::stderr(), text.as_bytes());
}

impl From<clap::Error> for Stop {
    fn from(error: clap::Error) -> Self {
        Self::CommandLine(error)
    }
}

impl From<Failure> for Stop {
    fn from(failure: Failure) -> Self {
        Self::Failed(failure)
    }
}

impl From<io::Error> for Stop {
    fn from(error: io::Error) -> Self {
        Self::Output(error)
    }
}
