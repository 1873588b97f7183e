//! `cargo xtask generate`: the files that are derived from the table of commands.

use std::fs;

use crate::process::{self, Failure};
use crate::screens;

/// Input and reply of every command, in JSON Schema.
const SCHEMA: &str = "schemas/api.json";
/// The same for the screens, in TypeScript.
const TYPES: &str = "ui/src/api/generated.ts";

/// Reads the words after `generate` and writes, or with `--check` compares, the derived files.
pub fn command(args: &mut lexopt::Parser) -> Result<(), Failure> {
    let mut check = false;
    while let Some(arg) = args.next()? {
        match arg {
            lexopt::Arg::Long("check") => check = true,
            other => return Err(other.unexpected().into()),
        }
    }
    process::step(
        "build the terminal program",
        // Of the whole workspace: one package alone has other features and builds everything anew.
        process::cargo().args(["build", "--workspace", "--bin", "slotkeep"]),
        "Mend what the compiler names above and start the command again.",
    )?;
    if check { self::check() } else { generate() }
}

/// Writes both files, from the table that the terminal program of this build prints.
fn generate() -> Result<(), Failure> {
    let slotkeep = format!("debug/slotkeep{}", std::env::consts::EXE_SUFFIX);
    let mut print = process::program(process::target()?.join(slotkeep));
    let schema = process::capture(print.arg("schema"))?;
    let path = process::root().join(SCHEMA);
    fs::write(&path, schema).map_err(|e| Failure::new(format!("{SCHEMA}: {e}")))?;
    screens::install()?;
    process::step(
        "types of the screens",
        process::npm().args(["run", "generate"]),
        "The TypeScript is made from schemas/api.json: mend the wire type that is named above.",
    )
}

/// Fails where a file differs from what the table of commands says now, and leaves it as it was.
pub fn check() -> Result<(), Failure> {
    let mut before = Vec::new();
    for name in [SCHEMA, TYPES] {
        let path = process::root().join(name);
        before.push((name, path.clone(), fs::read(&path).unwrap_or_default()));
    }
    let made = generate();
    let mut stale = Vec::new();
    for (name, path, old) in before {
        if fs::read(&path).unwrap_or_default() != old {
            stale.push(name);
            fs::write(&path, old).map_err(|e| Failure::new(format!("{name}: {e}")))?;
        }
    }
    made?;
    if stale.is_empty() {
        return Ok(());
    }
    Err(Failure::new(format!(
        "{} does not match the table of commands. Run `cargo xtask generate` and commit the result.",
        stale.join(" and ")
    )))
}
