//! Python libraries that benches compare with, in a virtual environment of their own.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Python with some packages.
pub struct Python {
    program: PathBuf,
}

impl Python {
    /// Finds the environment of that name beside the build, or makes it from `packages`; `imports`
    /// must then work. Says so and gives none where that fails.
    pub fn with(name: &str, packages: &[&str], imports: &str) -> Option<Self> {
        let folder = std::env::var_os("CARGO_TARGET_DIR")
            .map_or(crate::root().join("target"), PathBuf::from)
            .join(name);
        let program = folder.join("bin").join("python");
        let works = |program: &Path| {
            let tried = Command::new(program).args(["-c", imports]).output();
            tried.is_ok_and(|output| output.status.success())
        };
        if !works(&program) {
            let made = Command::new("python3").args(["-m", "venv"]).arg(&folder).status();
            let filled = Command::new(&program)
                .args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check"])
                .args(packages)
                .status();
            if made.is_err() || filled.is_err() || !works(&program) {
                println!(
                    "Python with {} could not be set up: nothing else is measured",
                    packages.join(", ")
                );
                return None;
            }
        }
        Some(Self { program })
    }

    /// What a script prints for an input. Panics where Python cannot be started.
    pub fn answer(&self, script: &str, input: &[u8]) -> Vec<u8> {
        let mut child = Command::new(&self.program)
            .args(["-c", script])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("Python");
        let mut to_child = child.stdin.take().expect("its input");
        to_child.write_all(input).expect("an input that is read");
        drop(to_child);
        child.wait_with_output().expect("its answer").stdout
    }
}
