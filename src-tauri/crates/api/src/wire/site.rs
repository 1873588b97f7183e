use super::Choice;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What the home screen shows.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Summary {
    /// Name of the site; none in an empty store.
    pub name: Option<String>,
    pub label_prefix: Option<String>,
    /// Nothing was imported yet.
    pub empty: bool,
    pub person: String,
    pub device: String,
    pub roles: Vec<String>,
    pub counts: Counts,
    /// What somebody should look at, most urgent first.
    pub attention: Vec<Attention>,
    pub failure_modes: Vec<Choice>,
    pub failure_causes: Vec<Choice>,
    pub detection_methods: Vec<Choice>,
    /// Number of the newest entry of the journal.
    pub entries: i64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Counts {
    pub cabinets: u64,
    pub rails: u64,
    pub slots: u64,
    pub units: u64,
    pub models: u64,
    pub loops: u64,
    pub lots: u64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Attention {
    /// `battery`, `unit`, `swap`, `order`, `lot` or `set_aside`.
    pub about: String,
    /// Label, address or id of the thing.
    pub subject: String,
    pub message: String,
    pub urgent: bool,
}

/// The files of a site folder.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ImportInput {
    /// Files of a site folder.
    pub files: Vec<ImportFile>,
    /// Only say what would be recorded.
    #[serde(default)]
    pub try_only: bool,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ImportFile {
    /// Name within the folder, e.g. `slots.csv`.
    pub name: String,
    /// All that stands in it.
    pub text: String,
}

/// What an import did.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ImportReport {
    /// Entries recorded, or that would be.
    pub entries: u64,
    /// Rows that said nothing new.
    pub unchanged: u64,
    /// Entries by kind.
    pub kinds: Vec<KindCount>,
    /// What was left as it is, with the reason.
    pub notes: Vec<String>,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct KindCount {
    pub kind: String,
    pub count: u64,
}

/// Where to write a copy of the store.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BackupInput {
    /// Path of a file that does not exist yet.
    pub to: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BackupReport {
    pub path: String,
    pub message: String,
}

/// What to look for.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FindInput {
    /// Beginning of a label, address, serial, tag, part number, bin or lot code.
    pub text: String,
    /// How many answers at most (20).
    pub limit: Option<u32>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Found {
    /// `unit`, `slot`, `cabinet`, `loop`, `model`, `bin` or `lot`.
    pub kind: String,
    /// Label or address to open it by.
    pub key: String,
    /// The name that matched.
    pub name: String,
    pub about: String,
}
