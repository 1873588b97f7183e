//! Rows of the audits of rails.

use super::{stored, text};
use chrono::{DateTime, Utc};
use slotkeep_domain::audit::{Audit, Finding, Found, Settled, Settlement};
use slotkeep_domain::journal::{AuditSettled, RailAudited};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::photo::PhotoHash;
use slotkeep_domain::place::{RailAddress, SlotAddress};
use std::collections::BTreeMap;
use uuid::Uuid;

stored! {
    Finding as FindingRow {
        slot: SlotAddress, found: Found,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        registered: Option<LabelCode>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seen: Option<LabelCode>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        with: Option<SlotAddress>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        photo: Option<PhotoHash>,
    }
    Settled as SettledRow {
        entry: Uuid, at: DateTime<Utc>, person: String, how: Settlement,
        reprint: bool, note: String,
    }
    Audit as AuditRow {
        rail: RailAddress, id: Uuid, at: DateTime<Utc>, person: String, pictures: u32,
        photos: Vec<PhotoHash>, findings: Vec<Finding>, loose: Vec<LabelCode>,
        settled: BTreeMap<SlotAddress, Settled>,
    }
    RailAudited as RailAuditedRow {
        rail: RailAddress, pictures: u32, photos: Vec<PhotoHash>, findings: Vec<Finding>,
        loose: Vec<LabelCode>, note: String,
    }
    AuditSettled as AuditSettledRow {
        audit: Uuid, slot: SlotAddress, how: Settlement, registered: Option<LabelCode>,
        unit: Option<LabelCode>, exchanged: Vec<(SlotAddress, LabelCode)>, reprint: bool,
        photo: Option<PhotoHash>, note: String,
    }
}

text! {
    Found, "finding of an audit", |v: &Found| v.word().to_owned(),
        |t: &str| Found::parse(t).ok_or_else(|| t.to_owned());
    Settlement, "settlement of a finding", |v: &Settlement| v.word().to_owned(),
        |t: &str| Settlement::parse(t).ok_or_else(|| t.to_owned());
}
