//! `cargo xtask test`: every check of the project, one named step after the other.

use std::process::Command;
use std::time::Instant;

use crate::packages::For;
use crate::process::{self, Failure};
use crate::{generate, machine, screens};

/// One check. `run` gives the command or does the work itself.
struct Step {
    name: &'static str,
    what: &'static str,
    work: Work,
    help: &'static str,
}

enum Work {
    Run(fn() -> Result<Command, Failure>),
    Call(fn() -> Result<(), Failure>),
}

/// Runs the steps named, or all.
///
/// Stops at the first that fails, naming what the reader can do and how to run it alone.
pub fn test(args: &mut lexopt::Parser) -> Result<(), Failure> {
    let mut wanted = Vec::new();
    while let Some(arg) = args.next()? {
        match arg {
            lexopt::Arg::Long("list") => {
                STEPS.iter().for_each(|step| println!("{:<10} {}", step.name, step.what));
                return Ok(());
            }
            lexopt::Arg::Value(name) => wanted.push(find(&name.to_string_lossy())?),
            other => return Err(other.unexpected().into()),
        }
    }
    if wanted.is_empty() {
        wanted.extend(STEPS);
    }

    let started = Instant::now();
    machine::prepare(&[For::Build, For::Window, For::Test])?;
    screens::install()?;
    screens::build()?;
    let mut times = vec![("set-up", started.elapsed())];
    for (done, step) in wanted.iter().enumerate() {
        println!("\n== step {} of {}: {}", done + 1, wanted.len(), step.name);
        let begun = Instant::now();
        run(step).map_err(|e| {
            Failure::new(format!("{e}\nThis step alone: cargo xtask test {}", step.name))
        })?;
        times.push((step.name, begun.elapsed()));
    }
    println!("\n== all steps passed in {:.0} s", started.elapsed().as_secs_f64());
    for (name, time) in &times {
        println!("   {name:<10} {:>7.1} s", time.as_secs_f64());
    }
    println!("steps: {} passed, 0 failed", wanted.len());
    Ok(())
}

fn find(name: &str) -> Result<&'static Step, Failure> {
    STEPS.iter().find(|step| step.name == name).ok_or_else(|| {
        let names: Vec<_> = STEPS.iter().map(|step| step.name).collect();
        Failure::new(format!("\"{name}\" is no step. These are: {}.", names.join(", ")))
    })
}

fn run(step: &Step) -> Result<(), Failure> {
    match step.work {
        Work::Run(command) => process::step(step.what, &mut command()?, step.help),
        Work::Call(call) => call().map_err(|e| Failure::new(format!("{e}\n{}", step.help))),
    }
}

fn cargo(words: &[&str]) -> Result<Command, Failure> {
    let mut command = process::cargo();
    command.args(words);
    Ok(command)
}

fn npm(script: &str) -> Result<Command, Failure> {
    let mut command = process::npm();
    command.args(["run", script]);
    Ok(command)
}

/// The screens' test starts the terminal program, so it is told where it lies.
fn browser() -> Result<Command, Failure> {
    let mut command = npm("test:browser")?;
    let name = format!("slotkeep{}", std::env::consts::EXE_SUFFIX);
    command.env("SLOTKEEP", process::target()?.join("debug").join(name));
    Ok(command)
}

/// The window's test needs a display of its own, so that it neither shows nor steals the focus.
fn window() -> Result<Command, Failure> {
    let mut command = process::program("xvfb-run");
    command.args(["--auto-servernum", "--server-args=-screen 0 1400x1000x24"]);
    command.arg(process::cargo().get_program());
    // The whole workspace, though one test runs: a smaller choice would build everything anew.
    command.args(["test", "--workspace", "--features", "slotkeep-tests/window"]);
    command.args(["--test", "window", "--", "--test-threads=1"]);
    Ok(command)
}

/// Cheap ones first, so that a slip is told early.
const STEPS: &[Step] = &[
    Step {
        name: "format",
        what: "format of the Rust code",
        work: Work::Run(|| cargo(&["fmt", "--all", "--check"])),
        help: "Run `cargo fmt --all`.",
    },
    Step {
        name: "types",
        what: "types of the screens",
        work: Work::Run(|| npm("check")),
        help: "Mend the files in ui/ that are named above.",
    },
    Step {
        name: "units",
        what: "unit tests of the screens",
        work: Work::Run(|| npm("test")),
        help: "Mend the screens, or the test where the promise changed.",
    },
    Step {
        name: "lint",
        what: "lints of the Rust code",
        work: Work::Run(|| {
            let words = ["clippy", "--workspace", "--all-targets", "--all-features"];
            cargo(&[&words[..], &["--", "--deny", "warnings"]].concat())
        }),
        help: "Mend what clippy names; an exception needs a reason beside it.",
    },
    Step {
        name: "build",
        what: "build the program and its window",
        work: Work::Run(|| cargo(&["build", "--workspace"])),
        help: "Mend what the compiler names above.",
    },
    Step {
        name: "derived",
        what: "files derived from the table of commands",
        work: Work::Call(generate::check),
        help: "Derived files are committed so that a change to them is seen.",
    },
    Step {
        name: "rust",
        what: "tests of the Rust code",
        work: Work::Run(|| cargo(&["test", "--workspace"])),
        help: "Mend the code, or the test where the promise changed.",
    },
    Step {
        name: "browser",
        what: "screens in Chromium at phone and desk size",
        work: Work::Run(browser),
        help: "Pictures of the failure are in target/browser/.",
    },
    Step {
        name: "window",
        what: "the real desktop window under a virtual display",
        work: Work::Run(window),
        help: "Pictures of the window are in target/window/.",
    },
];
