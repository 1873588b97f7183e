use crate::ask::{Ask, Stamp};
use crate::{Failure, FailureKind};
use chrono::{DateTime, Utc};
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use slotkeep_domain::people::Role;
use uuid::Uuid;

/// One command: its name, what it does, who may call it, and what it takes and gives.
pub struct Command {
    /// `noun.verb`.
    pub name: &'static str,
    /// One sentence for people.
    pub doc: &'static str,
    pub access: Access,
    /// Who may call it; the owner always may. Empty: everybody who was let in.
    pub roles: &'static [Role],
    pub takes: Takes,
    pub gives: Gives,
    pub input: fn(&mut SchemaGenerator) -> Schema,
    pub reply: fn(&mut SchemaGenerator) -> Schema,
    pub(crate) run: Run,
}

type Run = Box<dyn Fn(&Ask<'_>, Payload) -> Result<Reply, Failure> + Send + Sync>;

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Access {
    Read,
    Write,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Takes {
    Json,
    /// A raw body, e.g. a photo.
    Bytes,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Gives {
    Json,
    /// A file, e.g. a PDF.
    File,
}

/// What a caller sends.
#[derive(Debug, Clone)]
pub enum Payload {
    Json(Value),
    Bytes(Vec<u8>),
}

/// What a caller gets.
#[derive(Debug, Clone)]
pub enum Reply {
    Json(Value),
    File(File),
}

/// A file made by a command.
#[derive(Debug, Clone)]
pub struct File {
    pub name: String,
    pub content_type: &'static str,
    pub bytes: Vec<u8>,
}

pub(crate) const EVERYBODY: &[Role] = &[];
pub(crate) const PLANNER: &[Role] = &[Role::Planner];
pub(crate) const HANDS: &[Role] = &[Role::Technician, Role::Planner];
pub(crate) const STORES: &[Role] = &[Role::Clerk, Role::Planner];
pub(crate) const RECORDERS: &[Role] = &[Role::Technician, Role::Planner, Role::Clerk];
pub(crate) const OWNER: &[Role] = &[Role::Owner];

/// A question: JSON in, JSON out, nothing changes.
pub(crate) fn ask<I, O>(
    name: &'static str,
    doc: &'static str,
    run: fn(&Ask<'_>, I) -> Result<O, Failure>,
) -> Command
where
    I: DeserializeOwned + JsonSchema + 'static,
    O: Serialize + JsonSchema + 'static,
{
    Command {
        name,
        doc,
        access: Access::Read,
        roles: EVERYBODY,
        takes: Takes::Json,
        gives: Gives::Json,
        input: SchemaGenerator::subschema_for::<I>,
        reply: SchemaGenerator::subschema_for::<O>,
        run: Box::new(move |ask, payload| json(&run(ask, parse(json_of(payload)?)?)?)),
    }
}

/// A question about raw bytes.
pub(crate) fn look<O>(
    name: &'static str,
    doc: &'static str,
    run: fn(&Ask<'_>, &[u8]) -> Result<O, Failure>,
) -> Command
where
    O: Serialize + JsonSchema + 'static,
{
    Command {
        name,
        doc,
        access: Access::Read,
        roles: EVERYBODY,
        takes: Takes::Bytes,
        gives: Gives::Json,
        input: SchemaGenerator::subschema_for::<()>,
        reply: SchemaGenerator::subschema_for::<O>,
        run: Box::new(move |ask, payload| match payload {
            Payload::Bytes(bytes) => json(&run(ask, &bytes)?),
            Payload::Json(_) => Err(Failure::bad_input("send the file itself, not JSON")),
        }),
    }
}

/// A question answered by a file.
pub(crate) fn file<I>(
    name: &'static str,
    doc: &'static str,
    run: fn(&Ask<'_>, I) -> Result<File, Failure>,
) -> Command
where
    I: DeserializeOwned + JsonSchema + 'static,
{
    Command {
        name,
        doc,
        access: Access::Read,
        roles: EVERYBODY,
        takes: Takes::Json,
        gives: Gives::File,
        input: SchemaGenerator::subschema_for::<I>,
        reply: SchemaGenerator::subschema_for::<()>,
        run: Box::new(move |ask, payload| Ok(Reply::File(run(ask, parse(json_of(payload)?)?)?))),
    }
}

/// A record: changes the register under an id and a time that the caller may give.
///
/// Besides its own fields the input may carry `id` (UUIDv7), `happened_at` (RFC 3339),
/// `corrects` (the id of an entry) and `queued` (it waited in a device's outbox).
pub(crate) fn record<I, O>(
    name: &'static str,
    doc: &'static str,
    roles: &'static [Role],
    run: fn(&Ask<'_>, &Stamp, I) -> Result<O, Failure>,
) -> Command
where
    I: DeserializeOwned + JsonSchema + 'static,
    O: Serialize + JsonSchema + 'static,
{
    Command {
        name,
        doc,
        access: Access::Write,
        roles,
        takes: Takes::Json,
        gives: Gives::Json,
        input: stamped_schema::<I>,
        reply: SchemaGenerator::subschema_for::<O>,
        run: Box::new(move |ask, payload| {
            let mut input = json_of(payload)?;
            let kept = input.clone();
            let (stamp, queued) = stamp(ask, &mut input)?;
            let done = parse(input).and_then(|input| run(ask, &stamp, input));
            match done {
                Err(failure) if queued && failure.kind != FailureKind::Broken => {
                    Err(set_aside(ask, name, &stamp, &kept, failure))
                }
                done => json(&done?),
            }
        }),
    }
}

impl Command {
    /// Restricts a question to some roles.
    pub(crate) fn only(self, roles: &'static [Role]) -> Self {
        Self { roles, ..self }
    }

    /// States that a command changes something though it appends no single entry of its own.
    pub(crate) fn writes(self) -> Self {
        Self { access: Access::Write, ..self }
    }
}

/// The fields that every record may carry besides its own.
#[derive(serde::Deserialize, JsonSchema, Default)]
struct Stamped {
    /// Made where the thing was recorded (UUIDv7): sending it twice changes nothing.
    id: Option<Uuid>,
    /// When it happened; now, where nothing is given.
    happened_at: Option<DateTime<Utc>>,
    /// The entry that this one puts right.
    corrects: Option<Uuid>,
    /// It waited in a device's outbox: what no longer fits is kept for a person to settle.
    queued: Option<bool>,
}

fn stamped_schema<I: JsonSchema>(generator: &mut SchemaGenerator) -> Schema {
    let mut own = I::json_schema(generator);
    let stamped = Stamped::json_schema(generator);
    let fields = stamped.get("properties").and_then(Value::as_object).cloned();
    let object = own.ensure_object();
    let properties =
        object.entry("properties").or_insert_with(|| Value::Object(Default::default()));
    if let (Some(properties), Some(fields)) = (properties.as_object_mut(), fields) {
        properties.extend(fields);
    }
    own
}

/// Takes the common fields out of an input.
fn stamp(ask: &Ask<'_>, input: &mut Value) -> Result<(Stamp, bool), Failure> {
    let mut common = serde_json::Map::new();
    if let Some(fields) = input.as_object_mut() {
        for name in ["id", "happened_at", "corrects", "queued"] {
            if let Some(value) = fields.shift_remove(name) {
                common.insert(name.to_owned(), value);
            }
        }
    }
    let common: Stamped = parse(Value::Object(common))?;
    let at = common.happened_at.unwrap_or(ask.now);
    if at > ask.now + chrono::Duration::minutes(5) {
        return Err(Failure::bad_input(format!(
            "it happened at {at}, which is later than now: set the clock of the device right"
        )));
    }
    let id = common.id.unwrap_or_else(Uuid::now_v7);
    let stamp = Stamp { id, at: at.min(ask.now), corrects: common.corrects };
    Ok((stamp, common.queued.unwrap_or(false)))
}

fn set_aside(
    ask: &Ask<'_>,
    command: &str,
    stamp: &Stamp,
    input: &Value,
    failure: Failure,
) -> Failure {
    let aside = slotkeep_store::SetAside {
        id: stamp.id,
        received_at: ask.now,
        person: ask.caller.person.clone(),
        device: ask.caller.device.clone(),
        command: command.to_owned(),
        input: input.to_string(),
        refusal: failure.message.clone(),
        settled: None,
    };
    let kept: Result<(), Failure> = ask.store.write(|writer| Ok(writer.set_aside(&aside)?));
    match kept {
        Ok(()) => Failure {
            kind: FailureKind::SetAside,
            message: format!(
                "{}; the record was kept: settle it in the journal",
                failure.message.trim_end_matches('.')
            ),
            details: failure.details,
        },
        Err(fault) => fault,
    }
}

fn json_of(payload: Payload) -> Result<Value, Failure> {
    match payload {
        Payload::Json(Value::Null) => Ok(Value::Object(Default::default())),
        Payload::Json(value) => Ok(value),
        Payload::Bytes(_) => Err(Failure::bad_input("send JSON, not a file")),
    }
}

fn parse<I: DeserializeOwned>(value: Value) -> Result<I, Failure> {
    serde_json::from_value(value)
        .map_err(|error| Failure::bad_input(format!("the input cannot be read: {error}")))
}

fn json<O: Serialize>(reply: &O) -> Result<Reply, Failure> {
    serde_json::to_value(reply)
        .map(Reply::Json)
        .map_err(|error| Failure::new(FailureKind::Broken, error.to_string()))
}
