use crate::outcome::Stop;
use crate::output;
use crate::session::Session;
use clap::Args;
use serde_json::{Value, json};

#[derive(Debug, Args)]
pub struct Lineup {
    /// A cabinet or a rail, e.g. +K12 or +K12.2
    #[arg(value_name = "ADDRESS")]
    address: String,
    /// Show what is in order too
    #[arg(long)]
    all: bool,
}

impl Lineup {
    /// Prints what the rules find; a stop ends with exit code 1.
    pub fn run(&self, session: &Session) -> Result<(), Stop> {
        let mut reply = session.ask("lineup.check", json!({ "address": self.address }), false)?;
        let stops = reply["stops"].as_u64().unwrap_or(0);
        if session.json() {
            output::reply(&reply, true)?;
        } else {
            if let Some(findings) = reply["findings"].as_array_mut() {
                findings.retain(|finding| self.all || finding["severity"] != "pass");
                findings.iter_mut().for_each(readable);
            }
            let passed = reply["findings"].as_array().is_some_and(Vec::is_empty);
            let said = if passed { json!({"message": reply["message"]}) } else { shown(&reply) };
            output::reply(&said, false)?;
        }
        if stops > 0 { Err(Stop::Said(1)) } else { Ok(()) }
    }
}

/// The sentence and the findings: the counts stand in the sentence already.
fn shown(reply: &Value) -> Value {
    json!({"message": reply["message"], "findings": reply["findings"]})
}

/// Says "stop" and "stop, not known" in one word of a column.
fn readable(finding: &mut Value) {
    let unknown = finding["unknown"] == true;
    if let Some(fields) = finding.as_object_mut() {
        fields.shift_remove("unknown");
        if unknown {
            let severity = fields["severity"].as_str().unwrap_or_default();
            let said = format!("{severity}, not known");
            fields.insert("severity".to_owned(), Value::String(said));
        }
    }
}
