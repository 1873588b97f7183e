//! The list `rules` of `site.json`: what the site sets about named rules.

use super::catalogue::word;
use super::problem::Problems;
use serde::Deserialize;
use slotkeep_domain::rules::own::OwnRule;
use slotkeep_domain::rules::{RuleSetting, Severity, check, known};
use std::collections::BTreeMap;

#[derive(Deserialize)]
pub(super) struct RuleJson {
    name: String,
    on: Option<bool>,
    severity: Option<String>,
    #[serde(default)]
    limits: BTreeMap<String, f64>,
}

/// Takes the settings and notes the first that cannot be kept.
pub(super) fn read(
    read: Vec<RuleJson>,
    own: &[OwnRule],
    problems: &mut Problems,
) -> Vec<RuleSetting> {
    let setting = |rule: RuleJson| RuleSetting {
        name: rule.name,
        on: rule.on.unwrap_or(true),
        severity: rule.severity.and_then(|text| word(SEVERITIES, &text)),
        limits: rule.limits,
    };
    let settings: Vec<RuleSetting> = read.into_iter().map(setting).collect();
    if let Err(no) = check(&settings, known()) {
        let pointer = format!("/rules/{}/{}", no.at, no.field);
        let own = own.iter().any(|rule| rule.name == no.name);
        let expected = match own && no.field == "name" {
            true => "a rule of the program: this one is in own_rules, set it there".to_owned(),
            false => no.to_do,
        };
        problems.json("site.json", &pointer, &no.value, expected);
    }
    settings
}

pub(super) const SEVERITIES: &[(&str, Severity)] =
    &[("note", Severity::Note), ("caution", Severity::Caution), ("stop", Severity::Stop)];
