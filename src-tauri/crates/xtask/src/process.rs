//! Running other programs, saying what is being done and how long it took.

use std::ffi::OsStr;
use std::fmt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

/// Why a command of `cargo xtask` stopped, in words that say what to do.
#[derive(Debug)]
pub struct Failure(String);

impl Failure {
    pub fn new(text: impl Into<String>) -> Self {
        Self(text.into())
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl From<lexopt::Error> for Failure {
    fn from(error: lexopt::Error) -> Self {
        Self(format!("{error}. `cargo xtask help` lists what can be given."))
    }
}

/// The folder that holds the workspace's `Cargo.toml`.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .ancestors()
        .nth(3)
        .map(Path::to_path_buf)
        .unwrap_or_default()
}

/// The folder that cargo builds into, which its own settings and environment may move.
pub fn target() -> Result<PathBuf, Failure> {
    let out =
        capture(cargo().args(["metadata", "--format-version", "1", "--no-deps", "--offline"]))?;
    let metadata: serde_json::Value = serde_json::from_str(&out)
        .map_err(|e| Failure::new(format!("`cargo metadata` printed no JSON: {e}")))?;
    match metadata["target_directory"].as_str() {
        Some(folder) => Ok(PathBuf::from(folder)),
        None => Err(Failure::new("`cargo metadata` names no target directory: is cargo whole?")),
    }
}

/// The cargo that started us, at the root of the workspace.
pub fn cargo() -> Command {
    let mut command = program(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    // Rust settings of this very program's build would force other packages to build anew.
    for name in ["CARGO_MANIFEST_DIR", "CARGO_MANIFEST_PATH", "CARGO_PKG_NAME", "CARGO_PKG_VERSION"]
    {
        command.env_remove(name);
    }
    command
}

/// A program that runs at the root of the workspace.
pub fn program(name: impl AsRef<OsStr>) -> Command {
    let mut command = Command::new(name);
    command.current_dir(root());
    command
}

/// `npm` in `ui/`.
pub fn npm() -> Command {
    let mut command = Command::new(if cfg!(windows) { "npm.cmd" } else { "npm" });
    command.current_dir(root().join("ui"));
    command
}

/// Runs a step with its output in plain sight, and says how long it took.
///
/// `help` completes the failure: what the reader can do about it.
pub fn step(title: &str, command: &mut Command, help: &str) -> Result<(), Failure> {
    println!("\n== {title}\n   {}", line(command));
    let started = Instant::now();
    let status = command.stdin(Stdio::null()).status().map_err(|e| not_started(command, &e))?;
    let seconds = started.elapsed().as_secs_f64();
    if status.success() {
        println!("   {title}: done in {seconds:.1} s");
        return Ok(());
    }
    Err(Failure::new(format!(
        "{title}: stopped after {seconds:.1} s ({status}).\nThe command was: {}\n{help}",
        line(command)
    )))
}

/// Runs a program silently and returns what it printed.
pub fn capture(command: &mut Command) -> Result<String, Failure> {
    let output = command.stdin(Stdio::null()).output().map_err(|e| not_started(command, &e))?;
    if !output.status.success() {
        return Err(Failure::new(format!(
            "`{}` stopped ({}): {}",
            line(command),
            output.status,
            String::from_utf8_lossy(&output.stderr).trim()
        )));
    }
    Ok(String::from_utf8_lossy(&output.stdout).into_owned())
}

fn not_started(command: &Command, error: &std::io::Error) -> Failure {
    Failure::new(format!("`{}` could not be started: {error}", line(command)))
}

/// The command as a person would type it, without the folders of this machine.
pub fn line(command: &Command) -> String {
    let name = Path::new(command.get_program()).file_stem().unwrap_or(command.get_program());
    let mut words = vec![name.to_string_lossy().into_owned()];
    words.extend(command.get_args().map(|arg| arg.to_string_lossy().into_owned()));
    words.join(" ")
}
