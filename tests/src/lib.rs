//! Shared set-up of the tests of the whole program.

pub mod made_photos;
pub mod measure;
pub mod python;
pub mod series;

use chrono::{DateTime, TimeZone, Utc};
use serde_json::{Value, json};
use slotkeep_api::{Api, Caller, Failure, Payload, Reply, Role};
use slotkeep_domain::journal::{Body, Entry};
use slotkeep_store::{Store, StoreFault};
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// A store in a folder of its own that goes when the test ends.
pub struct Plant {
    pub folder: tempfile::TempDir,
    pub api: Api,
    pub caller: Caller,
    pub now: DateTime<Utc>,
}

/// The folder of the repository.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The day on which the tests' plants live.
pub fn noon() -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2026, 11, 25, 12, 0, 0).unwrap()
}

/// The files of a site folder, as `site.import` takes them.
pub fn files_of(folder: &Path) -> Vec<Value> {
    let mut files: Vec<Value> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .map(|path| {
            json!({
                "name": path.file_name().unwrap().to_string_lossy(),
                "text": std::fs::read_to_string(&path).unwrap(),
            })
        })
        .collect();
    files.sort_by_key(|file| file["name"].to_string());
    files
}

impl Plant {
    pub fn empty() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(&folder.path().join("site.sqlite")).unwrap();
        Self {
            folder,
            api: Api::new(store),
            caller: Caller::owner("tester", "test bench"),
            now: noon(),
        }
    }

    /// A store with the sample site in it.
    pub fn sample() -> Self {
        let plant = Self::empty();
        plant.call("site.import", json!({ "files": files_of(&root().join("sample-site")) }));
        plant
    }

    /// A copy of a frozen store.
    pub fn frozen(name: &str) -> Self {
        let mut plant = Self::empty();
        let path = plant.folder.path().join(name);
        std::fs::copy(root().join("tests/fixtures/store").join(name), &path).unwrap();
        plant.api = Api::new(Store::open(&path).unwrap());
        plant
    }

    /// Goes on as a person with one role.
    pub fn as_role(mut self, role: Role) -> Self {
        self.caller.roles = vec![role];
        self
    }

    pub fn try_call(&self, name: &str, input: Value) -> Result<Value, Failure> {
        let reply = self.api.call(
            name,
            Payload::Json(input),
            &self.caller,
            self.now,
            &mut |_: &str, _, _| {},
        )?;
        match reply {
            Reply::Json(value) => Ok(value),
            Reply::File(file) => panic!("{name} gave a file {}", file.name),
        }
    }

    /// Calls a command that must succeed.
    pub fn call(&self, name: &str, input: Value) -> Value {
        self.try_call(name, input).unwrap_or_else(|failure| panic!("{name}: {failure:#?}"))
    }

    /// Calls a command that must fail, and returns what it says.
    pub fn refused(&self, name: &str, input: Value) -> Failure {
        match self.try_call(name, input) {
            Ok(reply) => panic!("{name} was not refused: {reply}"),
            Err(failure) => failure,
        }
    }

    /// Records a body as it is, past the commands, and returns the id of its entry.
    pub fn record(&self, corrects: Option<Uuid>, body: Body) -> Result<Uuid, StoreFault> {
        let id = Uuid::now_v7();
        let entry = Entry {
            id,
            at: self.now,
            person: "tester".to_owned(),
            device: "test bench".to_owned(),
            corrects,
            source: None,
            body,
        };
        self.api.store().write(|writer| writer.record(&entry)).map(|_| id)
    }

    /// Calls a command that gives a file.
    pub fn file(&self, name: &str, input: Value) -> Vec<u8> {
        let payload = Payload::Json(input);
        let reply = self.api.call(name, payload, &self.caller, self.now, &mut |_: &str, _, _| {});
        match reply {
            Ok(Reply::File(file)) => file.bytes,
            other => panic!("{name}: {other:?}"),
        }
    }

    /// Sends raw bytes, such as a photo.
    pub fn send(&self, name: &str, bytes: Vec<u8>) -> Result<Value, Failure> {
        let payload = Payload::Bytes(bytes);
        let reply =
            self.api.call(name, payload, &self.caller, self.now, &mut |_: &str, _, _| {})?;
        match reply {
            Reply::Json(value) => Ok(value),
            Reply::File(file) => panic!("{name} gave a file {}", file.name),
        }
    }

    /// Ticks the next step of a swap with everything that it demands.
    pub fn tick(&self, swap: &Value) -> Value {
        self.call("swap.tick", tick_of(swap))
    }

    pub fn verify_clean(&self) {
        let report = self.call("journal.verify", json!({}));
        assert_eq!(report["clean"], json!(true), "{report:#}");
    }
}

/// What ticks the next step of a swap, with everything that it demands.
pub fn tick_of(swap: &Value) -> Value {
    let next = swap["next_step"].as_u64().expect("a step that is not ticked");
    let step = &swap["steps"][next as usize - 1];
    let mut input = json!({ "swap": swap["swap"], "step": next, "scanned": step["scan_label"] });
    if let Some(low) = step["reading"]["low"].as_f64() {
        input["reading"] = json!(low);
    }
    if step["photo"] == true {
        input["photo_data"] = json!(SMALL_PHOTO);
    }
    if step["second_person"] == true {
        input["second"] = json!("second person");
    }
    input
}

/// A PNG of one pixel, in Base64.
pub const SMALL_PHOTO: &str = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9Q\
                               DwADhgGAWjR9awAAAABJRU5ErkJggg==";

/// Items of a list that a condition selects.
pub fn only(list: &Value, keep: impl Fn(&Value) -> bool) -> Vec<&Value> {
    list.as_array().expect("a list").iter().filter(|item| keep(item)).collect()
}
