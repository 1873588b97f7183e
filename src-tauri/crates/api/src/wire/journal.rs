use chrono::{DateTime, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EntryLine {
    pub seq: i64,
    pub id: Uuid,
    pub at: DateTime<Utc>,
    pub person: String,
    pub device: String,
    /// E.g. `unit-moved`.
    pub kind: String,
    /// What happened, in a sentence.
    pub message: String,
    /// Names of the kept photos that it goes by.
    pub photos: Vec<String>,
    pub corrects: Option<Uuid>,
    /// SHA-256 of the entry and of the chain before it, in hexadecimal.
    pub hash: String,
}

#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JournalInput {
    /// Only entries about this label, address, tag or part number.
    pub subject: Option<String>,
    /// Only entries of this kind.
    pub kind: Option<String>,
    /// Only entries before this number.
    pub before_seq: Option<i64>,
    /// How many at most (50).
    pub limit: Option<u32>,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NoteInput {
    /// Label, address, tag or part number.
    pub subject: String,
    /// The remark.
    pub text: String,
}

/// What a check of the whole store found.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct VerifyReport {
    pub clean: bool,
    pub entries: u64,
    pub records: u64,
    /// How many differences there are in all.
    pub count: u64,
    pub differences: Vec<DifferenceLine>,
    /// Hash of the newest entry, in hexadecimal.
    pub head: String,
    pub message: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DifferenceLine {
    pub place: String,
    pub what: String,
}

/// A record that no longer fitted when it arrived.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SetAsideLine {
    pub id: Uuid,
    pub received_at: DateTime<Utc>,
    pub person: String,
    pub device: String,
    pub command: String,
    /// What was sent, as JSON.
    pub input: String,
    pub refusal: String,
}

#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SettleInput {
    /// Id of the record that was set aside.
    pub record: Uuid,
    /// What was done about it.
    pub settled: String,
}
