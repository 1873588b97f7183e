//! The screens: their packages and their build, each done only when something changed.

use std::fs;
use std::path::Path;
use std::time::SystemTime;

use crate::process::{self, Failure};

/// What the build of the screens reads, inside `ui/`.
const SOURCES: &[&str] = &["src", "public", "index.html", "package-lock.json"];

/// Installs the packages that `package-lock.json` names, when they differ from those installed.
pub fn install() -> Result<(), Failure> {
    let ui = process::root().join("ui");
    let lock = ui.join("package-lock.json");
    let wanted = fs::read(&lock).map_err(|e| {
        Failure::new(format!("ui/package-lock.json cannot be read ({e}): is the clone whole?"))
    })?;
    // The copy is written after a successful install, so a broken one is done again.
    let stamp = ui.join("node_modules/.slotkeep-lock.json");
    if fs::read(&stamp).is_ok_and(|installed| installed == wanted) {
        return Ok(());
    }
    process::step(
        "packages of the screens",
        process::npm().args(["ci", "--no-audit", "--no-fund"]),
        "Is the npm registry reachable? Start the command again when it is.",
    )?;
    fs::write(&stamp, wanted).map_err(|e| Failure::new(format!("ui/node_modules: {e}")))
}

/// Builds `ui/dist` when a source is newer than it.
pub fn build() -> Result<(), Failure> {
    let ui = process::root().join("ui");
    let built = modified(&ui.join("dist/index.html"));
    let newest = newest(&ui)?;
    if built.is_some_and(|built| built > newest) {
        return Ok(());
    }
    process::step(
        "build the screens",
        process::npm().args(["run", "build"]),
        "Mend what is named above in ui/ and start the command again.",
    )
}

/// The time of the newest thing that the build reads, settings at the top of `ui/` included.
fn newest(ui: &Path) -> Result<SystemTime, Failure> {
    let mut newest = SystemTime::UNIX_EPOCH;
    let mut open: Vec<_> = SOURCES.iter().map(|name| ui.join(name)).collect();
    for entry in fs::read_dir(ui).map_err(|e| Failure::new(format!("ui/: {e}")))?.flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.ends_with(".json") || name.contains(".config.") {
            open.push(entry.path());
        }
    }
    while let Some(path) = open.pop() {
        newest = newest.max(modified(&path).unwrap_or(SystemTime::UNIX_EPOCH));
        if path.is_dir() {
            let entries = fs::read_dir(&path)
                .map_err(|e| Failure::new(format!("{} cannot be read: {e}", path.display())))?;
            open.extend(entries.flatten().map(|entry| entry.path()));
        }
    }
    Ok(newest)
}

fn modified(path: &Path) -> Option<SystemTime> {
    fs::metadata(path).and_then(|m| m.modified()).ok()
}
