//! `cargo xtask run`: from a fresh clone to the first screen.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::packages::For;
use crate::process::{self, Failure};
use crate::{machine, screens};

/// What the person asked for.
pub struct Options {
    serve: bool,
    store: Option<PathBuf>,
    port: Option<u16>,
    lan: bool,
    release: bool,
}

impl Options {
    /// Reads the words after `run`. Fails on one that is not known.
    pub fn parse(args: &mut lexopt::Parser) -> Result<Self, Failure> {
        use lexopt::{Arg::Long, ValueExt};
        let mut options =
            Self { serve: false, store: None, port: None, lan: false, release: false };
        while let Some(arg) = args.next()? {
            match arg {
                Long("serve") => options.serve = true,
                Long("store") => options.store = Some(PathBuf::from(args.value()?)),
                Long("port") => options.port = Some(args.value()?.parse()?),
                Long("lan") => options.lan = true,
                Long("release") => options.release = true,
                other => return Err(other.unexpected().into()),
            }
        }
        Ok(options)
    }

    /// The profile's name as cargo's folder has it.
    ///
    /// Debug is the default because the first start counts: it builds in less than half the
    /// time, `cargo xtask test` reuses it, and the crates we only use are optimised all the same.
    fn profile(&self) -> &'static str {
        if self.release { "release" } else { "debug" }
    }
}

/// Sets the machine up, builds, makes a store where none is given, and opens it.
pub fn run(options: &Options) -> Result<(), Failure> {
    let window = !options.serve && has_display();
    if !window && !options.serve {
        println!("There is no display here, so the screens will be served instead.\n");
    }
    let needed: &[For] = if window { &[For::Build, For::Window] } else { &[For::Build] };
    machine::prepare(needed)?;
    screens::install()?;
    screens::build()?;
    build(options, window)?;

    let programs = process::target()?.join(options.profile());
    let store = match &options.store {
        Some(file) => std::path::absolute(file)
            .map_err(|e| Failure::new(format!("{} is no path: {e}", file.display())))?,
        None => sample_store(&programs)?,
    };
    open(options, window, &programs, &store)
}

/// Tells whether a window can be shown: only Linux can be without a display.
fn has_display() -> bool {
    let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    !cfg!(target_os = "linux") || set("DISPLAY") || set("WAYLAND_DISPLAY")
}

fn build(options: &Options, window: bool) -> Result<(), Failure> {
    let mut command = process::cargo();
    command.args(["build", "--package", "slotkeep-cli"]);
    if window {
        command.args(["--package", "slotkeep-app"]);
    }
    if options.release {
        command.arg("--release");
    }
    process::step(
        "build the program (minutes the first time, seconds after)",
        &mut command,
        "Mend what the compiler names above and start the command again.",
    )
}

/// Returns the sample site's store, importing it on the first run and keeping it afterwards.
fn sample_store(programs: &Path) -> Result<PathBuf, Failure> {
    let folder = programs.parent().unwrap_or(programs).join("sample");
    let store = folder.join("marrow-point.slotkeep");
    if store.exists() {
        println!("\n== store\n   opening the sample site's store of an earlier run");
        return Ok(store);
    }
    fs::create_dir_all(&folder)
        .map_err(|e| Failure::new(format!("{} cannot be made: {e}", folder.display())))?;
    // Import into a file aside first, so that a broken import is not taken for the sample site.
    let unfinished = folder.join("unfinished.slotkeep");
    let _ = fs::remove_file(&unfinished);
    process::step(
        "make a store from sample-site/",
        slotkeep(programs).arg("--store").arg(&unfinished).args(["import", "sample-site"]),
        "The sample site must import without a finding: mend what is named above.",
    )?;
    fs::rename(&unfinished, &store)
        .map_err(|e| Failure::new(format!("{} cannot be named: {e}", store.display())))?;
    Ok(store)
}

fn open(options: &Options, window: bool, programs: &Path, store: &Path) -> Result<(), Failure> {
    let mut command = if window {
        let mut command = process::program(programs.join(exe("slotkeep-app")));
        command.arg("--store").arg(store);
        command
    } else {
        let mut command = slotkeep(programs);
        command.arg("--store").arg(store).arg("serve");
        command
    };
    if let Some(port) = options.port {
        command.arg("--port").arg(port.to_string());
    }
    if options.lan {
        command.arg("--lan");
    }
    println!("\n== open\n   {}", process::line(&command));
    let status = command.status().map_err(|e| {
        Failure::new(format!("{} could not be started: {e}", process::line(&command)))
    })?;
    if status.success() {
        return Ok(());
    }
    Err(Failure::new(format!("{} stopped ({status}).", process::line(&command))))
}

/// The terminal program.
fn slotkeep(programs: &Path) -> Command {
    process::program(programs.join(exe("slotkeep")))
}

fn exe(name: &str) -> String {
    format!("{name}{}", std::env::consts::EXE_SUFFIX)
}
