//! The list `own_rules` of `site.json`: rules that the site adds to ours.

use super::catalogue::word;
use super::named_rules::SEVERITIES;
use super::problem::{Problems, nearest};
use serde::Deserialize;
use slotkeep_domain::rules::Severity;
use slotkeep_domain::rules::own::{Condition, Judges, OwnRule, Test, Value, check};

const NAME: &str = "site.json";

#[derive(Deserialize)]
pub(super) struct OwnRuleJson {
    name: String,
    asks: String,
    on: Option<bool>,
    severity: String,
    unknown: Option<String>,
    to_do: String,
    judges: String,
    #[serde(default)]
    r#where: Vec<ConditionJson>,
    must: Vec<ConditionJson>,
}

#[derive(Deserialize)]
struct ConditionJson {
    fact: String,
    is: Option<ValueJson>,
    one_of: Option<Vec<ValueJson>>,
    at_least: Option<ValueJson>,
    at_most: Option<ValueJson>,
    starts_with: Option<String>,
    is_known: Option<bool>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum ValueJson {
    Flag(bool),
    Number(f64),
    Text(String),
}

/// Takes the rules and notes everything that cannot be kept.
pub(super) fn read(read: Vec<OwnRuleJson>, problems: &mut Problems) -> Vec<OwnRule> {
    let before = problems.list.len();
    let rules = read.into_iter().enumerate();
    let rules: Vec<_> = rules.map(|(at, rule)| one(at, rule, problems)).collect();
    if problems.list.len() > before {
        return rules;
    }
    for no in check(&rules) {
        let near = nearest(&no.value, no.words.iter().copied());
        let near = near.map_or(String::new(), |near| format!("; the nearest is {near}"));
        let pointer = format!("/own_rules/{}/{}", no.at, no.field);
        problems.json(NAME, &pointer, &no.value, format!("{}{near}", no.to_do));
    }
    rules
}

fn one(at: usize, rule: OwnRuleJson, problems: &mut Problems) -> OwnRule {
    let severity = word(SEVERITIES, &rule.severity).unwrap_or(Severity::Stop);
    let unknown = rule.unknown.and_then(|text| word(SEVERITIES, &text));
    let mut conditions = |list: &str, read: Vec<ConditionJson>| {
        let all = read.into_iter().enumerate();
        let read = all.filter_map(|(number, read)| {
            condition(&format!("/own_rules/{at}/{list}/{number}"), read, problems)
        });
        read.collect::<Vec<_>>()
    };
    OwnRule {
        applies: conditions("where", rule.r#where),
        must: conditions("must", rule.must),
        name: rule.name,
        asks: rule.asks,
        on: rule.on.unwrap_or(true),
        severity,
        unknown: unknown.unwrap_or(Severity::Caution.min(severity)),
        to_do: rule.to_do,
        judges: Judges::parse(&rule.judges).unwrap_or(Judges::Swap),
    }
}

fn condition(pointer: &str, read: ConditionJson, problems: &mut Problems) -> Option<Condition> {
    let one_of = read.one_of.map(|values| values.into_iter().map(value).collect());
    let tests = [
        read.is.map(value).map(Test::Is),
        one_of.map(Test::OneOf),
        read.at_least.map(value).map(Test::AtLeast),
        read.at_most.map(value).map(Test::AtMost),
        read.starts_with.map(Test::StartsWith),
        read.is_known.map(|_| Test::IsKnown),
    ];
    let mut tests = tests.into_iter().flatten();
    match (tests.next(), tests.next()) {
        (Some(test), None) => Some(Condition { fact: read.fact, test }),
        (first, _) => {
            let found = if first.is_some() { "more than one" } else { "" };
            let expected = "exactly one comparison: is, one_of, at_least, at_most, starts_with or \
                            is_known";
            problems.json(NAME, pointer, found, expected);
            None
        }
    }
}

fn value(read: ValueJson) -> Value {
    match read {
        ValueJson::Flag(flag) => Value::Flag(flag),
        ValueJson::Number(number) => Value::Number(number),
        ValueJson::Text(text) => Value::Text(text),
    }
}
