//! `site.json`: what it says, once its schema found it right.

use super::catalogue::{row, typed};
use super::named_rules::{self, RuleJson};
use super::own_rules::{self, OwnRuleJson};
use super::problem::Problems;
use super::rules::{self, RulesJson};
use super::spares_rules::{self, SparesJson};
use super::{Row, SiteFile, json};
use serde::Deserialize;
use slotkeep_domain::key::KeyScheme;
use slotkeep_domain::label::SitePrefix;
use slotkeep_domain::place::{BatteryRules, Choice, Site as Settings};

const SITE: &str = include_str!("../../../../../schemas/files/site.json");

#[derive(Deserialize)]
struct SiteJson {
    name: String,
    label_prefix: String,
    temperature_c: f64,
    shelf_temperature_c: f64,
    battery_age_limit_y: Option<f64>,
    protection: f64,
    hold_up_required_h: f64,
    #[serde(default = "ninety")]
    visit_window_d: u32,
    #[serde(default)]
    battery_rules: Option<RulesJson>,
    #[serde(default)]
    spares_rules: Option<SparesJson>,
    #[serde(default)]
    rules: Vec<RuleJson>,
    #[serde(default)]
    own_rules: Vec<OwnRuleJson>,
    #[serde(default)]
    failure_modes: Vec<ChoiceJson>,
    #[serde(default)]
    failure_causes: Vec<ChoiceJson>,
    #[serde(default)]
    detection_methods: Vec<ChoiceJson>,
}

fn ninety() -> u32 {
    90
}

#[derive(Deserialize)]
struct ChoiceJson {
    code: String,
    title: String,
}

#[derive(Deserialize)]
struct KeySchemeJson {
    name: String,
    title: String,
    keys: u32,
    letters: String,
    intrinsically_safe: bool,
}

/// Reads the settings and key schemes of `site.json`.
pub(super) fn settings(
    file: Option<&SiteFile>,
    problems: &mut Problems,
) -> (Option<Row<Settings>>, Vec<Row<KeyScheme>>) {
    const NAME: &str = "site.json";
    if file.is_none() {
        problems.file(NAME, 0, "", "this file beside the others: it names the site");
        problems.unread.insert(NAME);
    }
    let Some((mut value, wrong)) = json::read(NAME, SITE, file, problems) else {
        return (None, Vec::new());
    };
    if !wrong.is_empty() {
        problems.unread.insert(NAME);
        return (None, Vec::new());
    }
    let schemes = value["key_schemes"].take();
    let list = schemes.as_array().map(Vec::as_slice).unwrap_or_default();
    let mut key_schemes: Vec<Row<KeyScheme>> = Vec::new();
    for (at, scheme) in list.iter().enumerate() {
        let pointer = format!("/key_schemes/{at}");
        let Some(read) = typed::<KeySchemeJson>(NAME, scheme, &pointer, problems) else { continue };
        if key_schemes.iter().any(|row| row.key == read.name) {
            problems.json(NAME, &format!("{pointer}/name"), &read.name, "each key scheme once");
        }
        let value = KeyScheme {
            name: read.name,
            title: read.title,
            keys: read.keys,
            letters: read.letters,
            intrinsically_safe: read.intrinsically_safe,
        };
        key_schemes.push(row(NAME, value.name.clone(), value, scheme, &pointer, problems));
    }
    let Some(read) = typed::<SiteJson>(NAME, &value, "", problems) else {
        return (None, key_schemes);
    };
    let prefix = match SitePrefix::parse(&read.label_prefix) {
        Ok(prefix) => prefix,
        Err(why) => {
            problems.json(NAME, "/label_prefix", &read.label_prefix, why.to_string());
            return (None, key_schemes);
        }
    };
    let own_rules = own_rules::read(read.own_rules, problems);
    let settings = Settings {
        name: read.name,
        prefix,
        temperature_c: read.temperature_c,
        shelf_temperature_c: read.shelf_temperature_c,
        battery_age_limit_y: read.battery_age_limit_y,
        protection: read.protection,
        hold_up_required_h: read.hold_up_required_h,
        visit_window_d: read.visit_window_d,
        battery_rules: read
            .battery_rules
            .map_or_else(BatteryRules::default, |r| rules::read(r, problems)),
        spares_rules: read.spares_rules.map(|r| spares_rules::read(r, read.protection, problems)),
        rules: named_rules::read(read.rules, &own_rules, problems),
        own_rules,
        failure_modes: choices("failure_modes", read.failure_modes, problems),
        failure_causes: choices("failure_causes", read.failure_causes, problems),
        detection_methods: choices("detection_methods", read.detection_methods, problems),
    };
    (Some(row(NAME, "site".to_owned(), settings, &value, "", problems)), key_schemes)
}

fn choices(list: &str, read: Vec<ChoiceJson>, problems: &mut Problems) -> Vec<Choice> {
    let mut choices: Vec<Choice> = Vec::new();
    for (at, ChoiceJson { code, title }) in read.into_iter().enumerate() {
        if choices.iter().any(|choice| choice.code == code) {
            problems.json("site.json", &format!("/{list}/{at}/code"), &code, "each code once");
        }
        choices.push(Choice { code, title });
    }
    choices
}
