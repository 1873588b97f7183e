use crate::outcome::{Stop, code, eprint_quietly, told};
use crate::output;
use crate::session::{Session, json_of};
use crate::show;
use clap::Args;
use serde_json::{Value, json};
use slotkeep_api::{Failure, Payload};
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub struct Read {
    /// Pictures to look at; - reads standard input
    #[arg(value_name = "PHOTO", required = true)]
    photos: Vec<PathBuf>,
}

impl Read {
    /// Answers for every photo, puts rails that overlap together, then stops with the worst code of those that could not be read.
    pub fn run(&self, session: &Session) -> Result<(), Stop> {
        let mut answers = Vec::new();
        let mut worst = 0;
        let mut read_rails = Vec::new();
        for photo in &self.photos {
            let read = read(session, photo);
            if let Err(failure) = &read {
                worst = worst.max(code(failure.kind));
            }
            if let Ok(reading) = &read {
                read_rails.push(rails(reading));
            }
            if session.json() {
                answers.push(answer(photo, read));
            } else {
                say(photo, read)?;
            }
        }
        if session.json() {
            output::reply(&Value::Array(answers), true)?;
        } else if read_rails.len() > 1 {
            say_merged(session, read_rails)?;
        }
        if worst == 0 { Ok(()) } else { Err(Stop::Said(worst)) }
    }
}

fn read(session: &Session, photo: &Path) -> Result<Value, Failure> {
    let bytes = output::read_file(photo)?;
    json_of(session.call("label.read_photo", Payload::Bytes(bytes), false)?)
}

/// The labels of a photo rail by rail, as `label.merge_rails` takes them.
fn rails(reading: &Value) -> Value {
    let label = |at: &Value| {
        let found = &reading["found"][at.as_u64()? as usize];
        let ours = !found["thing"]["label"].is_null();
        ours.then(|| json!({"text": found["thing"]["label"], "confirm": found["confirm"]}))
    };
    let rail = |rail: &Value| -> Value {
        rail["order"].as_array().into_iter().flatten().filter_map(label).collect()
    };
    reading["rails"].as_array().into_iter().flatten().map(rail).collect()
}

/// The rails of all photos together.
fn say_merged(session: &Session, photos: Vec<Value>) -> Result<(), Stop> {
    let payload = Payload::Json(json!({ "photos": photos }));
    let merged = json_of(session.call("label.merge_rails", payload, false)?)?;
    let mut text = format!("together: {}\n", merged["message"].as_str().unwrap_or_default());
    for (number, rail) in merged["rails"].as_array().into_iter().flatten().enumerate() {
        let line = |label: &Value| {
            json!({
                "rail": number + 1,
                "label": label["thing"]["label_human"],
                "what": label["thing"]["message"],
                "photos": label["photos"],
                "confirm": label["confirm"],
            })
        };
        let lines: Value = rail["labels"].as_array().into_iter().flatten().map(line).collect();
        text += &show::render(&lines, &output::page());
        text.push('\n');
    }
    output::print(&text)?;
    Ok(())
}

fn answer(photo: &Path, read: Result<Value, Failure>) -> Value {
    let (reading, failure) = match read {
        Ok(reading) => (reading, Value::Null),
        Err(failure) => (Value::Null, json!(failure)),
    };
    json!({"photo": photo.display().to_string(), "reading": reading, "failure": failure})
}

fn say(photo: &Path, read: Result<Value, Failure>) -> Result<(), Stop> {
    match read {
        Ok(reading) => {
            let found: Vec<Value> =
                reading["found"].as_array().into_iter().flatten().map(line).collect();
            let words = reading["message"].as_str().unwrap_or_default();
            let mut text = format!("{}: {words}\n", photo.display());
            if !found.is_empty() {
                text += &show::render(&Value::Array(found), &output::page());
            }
            output::print(&(text + "\n"))?;
        }
        Err(mut failure) => {
            let name = photo.display().to_string();
            if !failure.message.contains(&name) {
                failure.message = format!("{name}: {}", failure.message);
            }
            eprint_quietly(&told(&failure));
        }
    }
    Ok(())
}

/// A label as one row: corners last, rounded to whole px.
fn line(found: &Value) -> Value {
    let thing = &found["thing"];
    let corner = |corner: &Value| {
        let px = |key: &str| corner[key].as_f64().unwrap_or_default().round();
        format!("{},{}", px("x"), px("y"))
    };
    let corners: Vec<String> =
        found["corners"].as_array().into_iter().flatten().map(corner).collect();
    json!({
        "kind": thing["kind"],
        "label": if thing["label_human"].is_null() { &thing["text"] } else { &thing["label_human"] },
        "what": thing["message"],
        "symbol": found["symbology"],
        "surety": found["surety"],
        "corners_px": corners.join(" "),
    })
}
