//! The table of commands as the terminal sees it.

use crate::arguments;
use crate::field::{Field, fields};
use crate::outcome::Stop;
use crate::output;
use crate::session::Session;
use clap::{ArgMatches, Command};
use serde_json::Value;
use slotkeep_api::{Api, Failure, Payload, Reply, schema};
use slotkeep_store::Store;
use std::path::{Path, PathBuf};

/// SQLite's name for a database that never touches the disk.
const NO_FILE: &str = ":memory:";

/// Every command, and the JSON that it was read from.
pub struct Table {
    pub json: Value,
    pub calls: Vec<Call>,
}

/// One command: `unit.card` is the verb `card` of the noun `unit`.
pub struct Call {
    pub name: String,
    pub noun: String,
    pub verb: String,
    pub doc: String,
    pub roles: Vec<String>,
    pub writes: bool,
    pub takes_bytes: bool,
    pub gives_file: bool,
    pub fields: Vec<Field>,
}

/// Writes the table of commands down; no store is needed for it.
pub fn table() -> Result<Table, Failure> {
    let api = Api::new(Store::open(Path::new(NO_FILE))?);
    let json = schema::table(&api);
    let commands = json["commands"].as_array().into_iter().flatten();
    let calls = commands.map(|command| Call::read(command, &json["$defs"])).collect();
    Ok(Table { json, calls })
}

impl Call {
    fn read(command: &Value, definitions: &Value) -> Self {
        let text = |key: &str| command[key].as_str().unwrap_or_default().to_owned();
        let name = text("name");
        let (noun, verb) = name.split_once('.').unwrap_or((&name, ""));
        let writes = command["access"] == "write";
        let roles = command["roles"].as_array().into_iter().flatten();
        Self {
            noun: noun.replace('_', "-"),
            verb: verb.replace('_', "-"),
            doc: text("doc"),
            roles: roles.filter_map(Value::as_str).map(str::to_owned).collect(),
            writes,
            takes_bytes: command["takes"] == "bytes",
            gives_file: command["gives"] == "file",
            fields: fields(&command["input"], definitions, writes),
            name,
        }
    }
}

/// Makes one sub-command for each noun, with its verbs below it.
pub fn nouns(table: &Table) -> Vec<Command> {
    let mut names: Vec<&str> = table.calls.iter().map(|call| call.noun.as_str()).collect();
    names.dedup();
    names.into_iter().map(|noun| noun_command(table, noun)).collect()
}

fn noun_command(table: &Table, noun: &str) -> Command {
    let verbs: Vec<&Call> = table.calls.iter().filter(|call| call.noun == noun).collect();
    let list: Vec<&str> = verbs.iter().map(|call| call.verb.as_str()).collect();
    Command::new(noun.to_owned())
        .about(list.join(", "))
        .long_about(format!("Commands about: {noun}."))
        .subcommand_required(true)
        .arg_required_else_help(true)
        .disable_help_subcommand(true)
        .subcommands(verbs.into_iter().map(arguments::command))
}

/// Calls the command that was named, and prints its reply or writes its file.
pub fn run(table: &Table, noun: &str, matches: &ArgMatches, session: &Session) -> Result<(), Stop> {
    let named = matches.subcommand().and_then(|(verb, rest)| {
        let call = table.calls.iter().find(|call| call.noun == noun && call.verb == verb);
        call.map(|call| (call, rest))
    });
    let Some((call, matches)) = named else { return Ok(()) };
    let payload = if call.takes_bytes {
        let path = matches.get_one::<PathBuf>("file");
        Payload::Bytes(output::read_file(path.map_or(Path::new("-"), PathBuf::as_path))?)
    } else {
        Payload::Json(arguments::input(call, matches))
    };
    match session.call(&call.name, payload, call.writes)? {
        Reply::Json(value) => Ok(output::reply(&value, session.json())?),
        Reply::File(file) => {
            let given = call.gives_file.then(|| matches.get_one::<PathBuf>("out")).flatten();
            let path = given.cloned().unwrap_or_else(|| PathBuf::from(&file.name));
            let force = call.gives_file && matches.get_flag("force");
            session.keep(&file.bytes, &path, force)
        }
    }
}
