//! One run of the program: which store, who, and how long work shows its progress.

use crate::outcome::Stop;
use crate::output;
use crate::program::Globals;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use serde_json::{Value, json};
use slotkeep_api::{Api, Caller, Failure, FailureKind, Payload, Reply};
use slotkeep_store::Store;
use std::cell::OnceCell;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Who asks of which store; the store is opened when it is first needed.
pub struct Session {
    globals: Globals,
    api: OnceCell<Arc<Api>>,
}

impl Session {
    pub fn new(globals: Globals) -> Self {
        Self { globals, api: OnceCell::new() }
    }

    pub fn json(&self) -> bool {
        self.globals.json
    }

    /// Calls a command with JSON or bytes, showing progress on a terminal.
    ///
    /// A store that is not there is made only by a command that `writes`.
    pub fn call(&self, name: &str, payload: Payload, writes: bool) -> Result<Reply, Failure> {
        let api = self.api(writes)?;
        let bar = bar();
        let mut progress = |what: &str, done: u64, total: u64| {
            bar.set_length(total);
            bar.set_message(what.to_owned());
            bar.set_position(done);
        };
        let reply = api.call(name, payload, &self.caller(), chrono::Utc::now(), &mut progress);
        bar.finish_and_clear();
        reply
    }

    /// Asks with JSON where JSON is the answer.
    pub fn ask(&self, name: &str, input: Value, writes: bool) -> Result<Value, Failure> {
        json_of(self.call(name, Payload::Json(input), writes)?)
    }

    /// Writes a file that a command made, and says where.
    pub fn keep(&self, file: &[u8], path: &Path, force: bool) -> Result<(), Stop> {
        if path == Path::new("-") {
            return Ok(std::io::Write::write_all(&mut std::io::stdout(), file)?);
        }
        output::write_file(path, file, force)?;
        let shown = path.display().to_string();
        let bytes = file.len();
        let said = json!({"path": shown, "bytes": bytes});
        if self.json() {
            Ok(output::reply(&said, true)?)
        } else {
            Ok(output::print(&format!("{shown} written ({bytes} bytes)\n"))?)
        }
    }

    /// The path of the store: as given, or the one in the person's data folder.
    pub fn store_path(&self) -> Result<PathBuf, Failure> {
        let own = || dirs::data_dir().map(|folder| folder.join("slotkeep").join("site.slotkeep"));
        self.globals.store.clone().or_else(own).ok_or_else(|| {
            Failure::bad_input("no data folder is known here: name a store with --store FILE")
        })
    }

    pub fn person(&self) -> Result<String, Failure> {
        let given = self.globals.person.clone();
        given.or_else(|| whoami::username().ok()).filter(|name| !name.is_empty()).ok_or_else(|| {
            Failure::bad_input("your login name is not known: give your name with --person NAME")
        })
    }

    fn caller(&self) -> Caller {
        let host = whoami::hostname().unwrap_or_else(|_| "this machine".to_owned());
        let person = self.person().unwrap_or_default();
        Caller::owner(person, format!("terminal on {host}"))
    }

    /// The commands over the store, which is opened now if it is not yet.
    pub fn api(&self, writes: bool) -> Result<Arc<Api>, Failure> {
        if let Some(api) = self.api.get() {
            return Ok(api.clone());
        }
        self.person()?;
        let path = self.store_path()?;
        if !writes && !path.exists() {
            return Err(Failure::new(
                FailureKind::NotFound,
                format!(
                    "there is no store {}: make one with `slotkeep import FOLDER`, or name \
                     another with --store FILE",
                    path.display()
                ),
            ));
        }
        let store = Store::open(&path)?;
        Ok(self.api.get_or_init(|| Arc::new(Api::new(store))).clone())
    }
}

/// The JSON of a reply.
pub fn json_of(reply: Reply) -> Result<Value, Failure> {
    match reply {
        Reply::Json(value) => Ok(value),
        Reply::File(file) => Err(Failure::new(
            FailureKind::Broken,
            format!("the file {} came where a table was expected", file.name),
        )),
    }
}

/// A bar on standard error; unseen where that is no terminal.
fn bar() -> ProgressBar {
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr_with_hz(10));
    let style = ProgressStyle::with_template("{msg} {wide_bar} {human_pos}/{human_len} {eta}");
    if let Ok(style) = style {
        bar.set_style(style);
    }
    bar
}
