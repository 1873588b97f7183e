use crate::outcome::Stop;
use crate::output;
use crate::session::Session;
use clap::Args;
use serde_json::json;
use slotkeep_api::Failure;
use slotkeep_store::Store;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub struct Backup {
    /// Where to write the copy; must not be there yet
    #[arg(value_name = "FILE")]
    to: PathBuf,
}

#[derive(Debug, Args)]
pub struct Restore {
    /// A file made by `slotkeep backup`
    #[arg(value_name = "FILE")]
    from: PathBuf,
    /// Where the store shall be; must not be there yet
    #[arg(long, value_name = "STORE")]
    to: PathBuf,
}

impl Backup {
    pub fn run(&self, session: &Session) -> Result<(), Stop> {
        new(&self.to)?;
        let report = session.ask("site.backup", json!({"to": utf8(&self.to)?}), false)?;
        Ok(output::reply(&report, session.json())?)
    }
}

impl Restore {
    pub fn run(&self, session: &Session) -> Result<(), Stop> {
        new(&self.to)?;
        Store::restore(&self.from, &self.to).map_err(Failure::from)?;
        let path = self.to.display().to_string();
        let message = format!("the store {path} is made from {}", self.from.display());
        Ok(output::reply(&json!({"path": path, "message": message}), session.json())?)
    }
}

fn new(path: &Path) -> Result<(), Failure> {
    if path.exists() {
        return Err(Failure::refused(format!(
            "{} is there already and is kept: choose another name or move it away",
            path.display()
        )));
    }
    Ok(())
}

fn utf8(path: &Path) -> Result<&str, Failure> {
    path.to_str().ok_or_else(|| {
        Failure::bad_input(format!("{} is not written in UTF-8: rename it", path.display()))
    })
}
