//! `cargo xtask bench`: the speed that the project promises, measured and printed.

use crate::process::{self, Failure};

/// Runs every bench of the workspace's tests, or the one of that name.
pub fn bench(args: &mut lexopt::Parser) -> Result<(), Failure> {
    let mut command = process::cargo();
    command.args(["bench", "--package", "slotkeep-tests"]);
    match args.next()? {
        Some(lexopt::Arg::Value(name)) => command.arg("--bench").arg(name),
        Some(other) => return Err(other.unexpected().into()),
        None => command.arg("--benches"),
    };
    crate::no_more(args)?;
    process::step(
        "benches",
        &mut command,
        "The benches are the files in tests/benches/; give one of their names.",
    )
}
