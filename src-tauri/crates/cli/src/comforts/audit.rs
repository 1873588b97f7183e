use crate::outcome::Stop;
use crate::output;
use crate::session::{Session, json_of};
use clap::Args;
use serde_json::{Value, json};
use slotkeep_api::{Failure, Payload};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub struct Audit {
    /// Photos of one rail; - reads standard input
    #[arg(value_name = "PHOTO", required = true)]
    photos: Vec<PathBuf>,
    /// The rail, e.g. +K12.2; the one that has most of what is seen, where left out
    #[arg(long, value_name = "ADDRESS")]
    rail: Option<String>,
    /// Record the audit, so that what differs can be settled
    #[arg(long)]
    record: bool,
    /// Keep the photos with it, without position and the like
    #[arg(long, requires = "record")]
    keep: bool,
    /// A remark for the record
    #[arg(long, value_name = "TEXT", requires = "record", default_value = "")]
    note: String,
    /// Show slots that are as registered too
    #[arg(long)]
    all: bool,
}

impl Audit {
    /// Says what the photos show of each slot; what is open ends with exit code 1.
    pub fn run(&self, session: &Session) -> Result<(), Stop> {
        let read = self.photos.iter().map(|photo| Taken::read(session, photo));
        let taken: Vec<Taken> = read.collect::<Result<_, Failure>>()?;
        let mut photos: Vec<Value> = taken.iter().map(|taken| taken.seen.clone()).collect();
        let look = json!({ "rail": self.rail, "photos": photos });
        let mut reply = session.ask("audit.look", look, false)?;
        if self.record {
            // Only now, so that nothing is kept for an audit that is not recorded.
            for (taken, seen) in taken.into_iter().zip(&mut photos).filter(|_| self.keep) {
                seen["photo"] = taken.keep(session)?;
            }
            let record = json!({ "rail": reply["rail"], "photos": photos, "note": self.note });
            reply = session.ask("audit.record", record, true)?;
        }
        let open = reply["counts"]["open"].as_u64().unwrap_or(0);
        if session.json() {
            output::reply(&reply, true)?;
        } else {
            output::reply(&self.shown(&reply), false)?;
        }
        if open > 0 { Err(Stop::Said(1)) } else { Ok(()) }
    }

    /// The sentence, and a row for each slot.
    fn shown(&self, reply: &Value) -> Value {
        let slots = reply["slots"].as_array().into_iter().flatten();
        let slots = slots.filter(|slot| {
            self.all || !["present", "empty"].contains(&slot["found"].as_str().unwrap_or_default())
        });
        let row = |slot: &Value| json!({ "slot": slot["slot"], "found": slot["found"], "what": slot["message"] });
        let mut shown = json!({ "message": reply["message"] });
        shown["slots"] = slots.map(row).collect();
        let loose = reply["loose"].as_array().into_iter().flatten();
        let loose: Vec<Value> = loose
            .map(|label| json!({ "label": label["label_human"], "what": label["message"] }))
            .collect();
        if !loose.is_empty() {
            shown["slot_not_certain"] = Value::Array(loose);
        }
        shown
    }
}

/// A photo and what is seen in it.
struct Taken {
    name: String,
    bytes: Vec<u8>,
    seen: Value,
}

impl Taken {
    fn read(session: &Session, photo: &Path) -> Result<Self, Failure> {
        let (name, bytes) = (photo.display().to_string(), output::read_file(photo)?);
        let reading = session.call("label.read_photo", Payload::Bytes(bytes.clone()), false);
        let reading = reading.map_err(|failure| named(failure, &name))?;
        Ok(Self { seen: seen(&json_of(reading)?), bytes, name })
    }

    /// Keeps it and returns its name in the store.
    fn keep(self, session: &Session) -> Result<Value, Failure> {
        let kept = session.call("photo.add", Payload::Bytes(self.bytes), true);
        Ok(json_of(kept.map_err(|failure| named(failure, &self.name))?)?["photo"].clone())
    }
}

/// Says of which file a failure speaks.
fn named(mut failure: Failure, name: &str) -> Failure {
    if !failure.message.contains(name) {
        failure.message = format!("{name}: {}", failure.message);
    }
    failure
}

/// A reading as `audit.look` takes it.
fn seen(reading: &Value) -> Value {
    let label = |found: &Value| {
        let thing = &found["thing"];
        let text = if thing["label"].is_null() { &thing["text"] } else { &thing["label"] };
        json!({ "text": text, "confirm": found["confirm"], "corners": found["corners"] })
    };
    let labels: Value = reading["found"].as_array().into_iter().flatten().map(label).collect();
    let rails = reading["rails"].as_array().into_iter().flatten();
    json!({
        "width_px": reading["width_px"],
        "height_px": reading["height_px"],
        "labels": labels,
        "rails": rails.map(|rail| rail["order"].clone()).collect::<Value>(),
    })
}
