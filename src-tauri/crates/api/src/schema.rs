//! The table of commands written down as JSON Schema.

use crate::{Api, Failure};
use schemars::SchemaGenerator;
use schemars::generate::SchemaSettings;
use serde_json::{Value, json};

/// Writes every command with its input and reply, and what each procedure opens with:
/// `{"$schema", "cautions": [...], "commands": [...], "$defs"}`.
pub fn table(api: &Api) -> Value {
    let mut generator = SchemaGenerator::new(SchemaSettings::draft2020_12());
    let failure = generator.subschema_for::<Failure>();
    let commands: Vec<Value> = api
        .commands()
        .map(|command| {
            let roles: Vec<_> = command.roles.iter().map(|role| role.word()).collect();
            json!({
                "name": command.name,
                "doc": command.doc,
                "access": command.access,
                "roles": roles,
                "takes": command.takes,
                "gives": command.gives,
                "input": (command.input)(&mut generator),
                "reply": (command.reply)(&mut generator),
            })
        })
        .collect();
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Commands of Slotkeep",
        "failure": failure,
        "cautions": slotkeep_domain::swap::CAUTIONS,
        "commands": commands,
        "$defs": generator.take_definitions(true),
    })
}
