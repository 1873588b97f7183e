//! One command of the table as a sub-command: its options, and the JSON they make.

use crate::calls::Call;
use crate::field::{Field, Kind};
use clap::{Arg, ArgAction, ArgGroup, ArgMatches, Command, builder::ValueParser, value_parser};
use serde_json::{Map, Value};
use std::path::PathBuf;

/// Names of options that the program keeps for itself.
const TAKEN: [&str; 6] = ["store", "person", "json", "out", "force", "help"];

/// Makes the sub-command of one call.
pub fn command(call: &Call) -> Command {
    let mut command = Command::new(call.verb.clone()).about(call.doc.clone());
    if !call.roles.is_empty() {
        command = command.after_help(format!("May be done by: {}.", call.roles.join(", ")));
    }
    if call.takes_bytes {
        let file = Arg::new("file").value_name("FILE").required(true);
        let file = file.value_parser(value_parser!(PathBuf));
        command = command.arg(file.help("The file to look at; - reads standard input"));
    }
    let first = first(&call.fields);
    for field in &call.fields {
        if first == Some(field) {
            command = with_first(command, field);
        } else {
            command = command.arg(option(field).required(field.required));
        }
    }
    if call.gives_file {
        command = command
            .arg(
                Arg::new("out")
                    .long("out")
                    .value_name("FILE")
                    .value_parser(value_parser!(PathBuf))
                    .help("Where to write the file; under its own name here, where left out"),
            )
            .arg(
                Arg::new("force")
                    .long("force")
                    .action(ArgAction::SetTrue)
                    .help("Replace a file that is there already"),
            );
    }
    command
}

/// The field that may be given without naming it: the first text that must be there.
fn first(fields: &[Field]) -> Option<&Field> {
    fields.iter().find(|field| field.required && field.kind == Kind::Text)
}

/// Adds a field both in the first place and as an option; one of them must be given.
fn with_first(command: Command, field: &Field) -> Command {
    let name = field.name.to_uppercase();
    let place = Arg::new(place_id(field))
        .value_name(name.clone())
        .value_parser(parser(&field.kind))
        .help(help(field));
    let long = option(field).help(format!("{name}, by its name"));
    let group = ArgGroup::new(format!("{} given", field.name));
    command
        .arg(place)
        .arg(long)
        .group(group.args([place_id(field), field.name.clone()]).required(true).multiple(false))
}

fn place_id(field: &Field) -> String {
    format!("{} in place", field.name)
}

fn option(field: &Field) -> Arg {
    let mut arg = Arg::new(field.name.clone())
        .long(long(&field.name))
        .value_name(field.kind.stands_for())
        .value_parser(parser(&field.kind))
        .allow_negative_numbers(true)
        .help(help(field));
    if matches!(field.kind, Kind::List(_)) {
        arg = arg.action(ArgAction::Append);
    }
    if field.kind == Kind::Truth && !field.required {
        arg = arg.num_args(0..=1).require_equals(true).default_missing_value("true");
    }
    if field.stamp {
        arg = arg.help_heading("When it was recorded elsewhere");
    }
    arg
}

/// The name of a field's option: with dashes, and prefixed where the program uses it itself.
pub fn long(name: &str) -> String {
    let dashed = name.replace('_', "-");
    if TAKEN.contains(&dashed.as_str()) { format!("its-{dashed}") } else { dashed }
}

fn help(field: &Field) -> String {
    let mut words = field.doc.trim_end_matches('.').to_owned();
    let mut add = |more: &str| {
        if !words.is_empty() {
            words.push_str("; ");
        }
        words.push_str(more);
    };
    match &field.kind {
        Kind::List(_) => add("may be repeated"),
        Kind::Json { shape } => add(&format!("as {shape}")),
        _ => {}
    }
    words
}

fn parser(kind: &Kind) -> ValueParser {
    let kind = kind.clone();
    ValueParser::new(move |text: &str| kind.parse(text))
}

/// Puts the options that were given together as the input of the call.
pub fn input(call: &Call, matches: &ArgMatches) -> Value {
    let first = first(&call.fields);
    let mut input = Map::new();
    for field in &call.fields {
        let mut values: Vec<Value> =
            matches.get_many(&field.name).into_iter().flatten().cloned().collect();
        if first == Some(field) {
            values.extend(matches.get_one::<Value>(&place_id(field)).cloned());
        }
        if values.is_empty() {
            continue;
        }
        let value = match field.kind {
            Kind::List(_) => Value::Array(values),
            _ => values.swap_remove(0),
        };
        input.insert(field.name.clone(), value);
    }
    Value::Object(input)
}
