//! Whether a site's own rules say what can be asked.

use super::super::facts::{AskedOf, FACTS, Fact, FactKind, fact};
use super::super::known;
use super::{Condition, Judges, OwnRule, Test, Value};
use crate::unit::firmware_order;

/// What of a rule cannot be kept, and what to write instead.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{field} of own rule {at} is {value}: {to_do}")]
pub struct OwnRefusal {
    /// Which of the rules, from 0.
    pub at: usize,
    /// Field within it, e.g. `name` or `must/0/at_least`.
    pub field: String,
    pub value: String,
    pub to_do: String,
    /// Words that could have been meant, where the value is none of them.
    pub words: Vec<&'static str>,
}

/// Returns everything that cannot be kept: names that are taken, missing data graver than a break,
/// nothing that must hold, facts that do not exist or do not belong there, and comparisons that do
/// not fit their fact.
pub fn check(rules: &[OwnRule]) -> Vec<OwnRefusal> {
    let mut refused = Vec::new();
    for (at, rule) in rules.iter().enumerate() {
        let mut refuse = |field: &str, value: String, to_do: String, words: Vec<&'static str>| {
            refused.push(OwnRefusal { at, field: field.to_owned(), value, to_do, words });
        };
        if known().any(|ours| ours.name == rule.name) {
            let to_do = "a name of its own: one of the built-in rules has this one; what it does is \
                         set in rules";
            refuse("name", rule.name.clone(), to_do.to_owned(), Vec::new());
        }
        if rules[..at].iter().any(|before| before.name == rule.name) {
            refuse("name", rule.name.clone(), "each own rule once".to_owned(), Vec::new());
        }
        if rule.unknown > rule.severity {
            let to_do = format!("at most {}, as grave as a break", rule.severity.word());
            refuse("unknown", rule.unknown.word().to_owned(), to_do, Vec::new());
        }
        if rule.must.is_empty() {
            let to_do = "at least one condition: without one the rule asks for nothing";
            refuse("must", String::new(), to_do.to_owned(), Vec::new());
        }
        for (list, conditions) in [("where", &rule.applies), ("must", &rule.must)] {
            for (number, condition) in conditions.iter().enumerate() {
                if let Err((field, value, to_do, words)) = fits(condition, rule.judges) {
                    refuse(&format!("{list}/{number}/{field}"), value, to_do, words);
                }
            }
        }
    }
    refused
}

type No = (&'static str, String, String, Vec<&'static str>);

fn fits(condition: &Condition, judges: Judges) -> Result<(), No> {
    let of = |asked: AskedOf| match judges {
        Judges::Swap => asked.swaps(),
        Judges::Item => asked.items(),
    };
    let called = match judges {
        Judges::Swap => "swaps",
        Judges::Item => "items of a line-up",
    };
    let Some(fact) = fact(&condition.fact).filter(|fact| of(fact.asked_of)) else {
        let to_do = match fact(&condition.fact) {
            None => format!("a fact that rules of {called} may ask"),
            Some(_) => format!("a fact that rules of {called} may ask; this one is not theirs"),
        };
        let words = FACTS.iter().filter(|fact| of(fact.asked_of)).map(|fact| fact.name);
        return Err(("fact", condition.fact.clone(), to_do, words.collect()));
    };
    let (field, values, orders) = match &condition.test {
        Test::IsKnown => return Ok(()),
        Test::StartsWith(start) => return starts(fact, start),
        Test::Is(value) => ("is", std::slice::from_ref(value), false),
        Test::OneOf(values) => ("one_of", values.as_slice(), false),
        Test::AtLeast(value) => ("at_least", std::slice::from_ref(value), true),
        Test::AtMost(value) => ("at_most", std::slice::from_ref(value), true),
    };
    if values.is_empty() {
        return Err((field, String::new(), "at least one value".to_owned(), Vec::new()));
    }
    let in_order = matches!(fact.kind, FactKind::Number | FactKind::Firmware | FactKind::Revision);
    if orders && !in_order {
        let to_do = format!("is or one_of: {} has no order", fact.name);
        return Err((field, values[0].words(""), to_do, Vec::new()));
    }
    for value in values {
        typed(fact, value, orders).map_err(|(to_do, words)| {
            let value = match value {
                Value::Text(text) => text.clone(),
                Value::Number(number) => number.to_string(),
                Value::Flag(flag) => flag.to_string(),
            };
            (field, value, to_do, words)
        })?;
    }
    Ok(())
}

fn starts(fact: &Fact, start: &str) -> Result<(), No> {
    match fact.kind {
        FactKind::Text | FactKind::Firmware | FactKind::Revision if !start.is_empty() => Ok(()),
        FactKind::Text | FactKind::Firmware | FactKind::Revision => {
            Err(("starts_with", String::new(), "a text".to_owned(), Vec::new()))
        }
        _ => {
            let to_do = format!("another comparison: {} is no free text", fact.name);
            Err(("starts_with", start.to_owned(), to_do, Vec::new()))
        }
    }
}

fn typed(fact: &Fact, value: &Value, orders: bool) -> Result<(), (String, Vec<&'static str>)> {
    let no = |to_do: String| Err((to_do, Vec::new()));
    match (fact.kind, value) {
        (FactKind::Word(words), Value::Text(text)) => match words.contains(&text.as_str()) {
            true => Ok(()),
            false => Err((format!("one of {}", words.join(", ")), words.to_vec())),
        },
        (FactKind::Firmware, Value::Text(text)) if orders && firmware_order(text).is_none() => {
            no("dotted numbers such as 2.10, which can be put in order".to_owned())
        }
        (FactKind::Text | FactKind::Firmware | FactKind::Revision, Value::Text(text))
            if !text.is_empty() =>
        {
            Ok(())
        }
        (FactKind::Flag, Value::Flag(_)) => Ok(()),
        (FactKind::Number, Value::Number(number)) if number.is_finite() => Ok(()),
        (FactKind::Word(words), _) => no(format!("one of {}", words.join(", "))),
        (FactKind::Flag, _) => no(format!("true or false: {} is a yes or no", fact.name)),
        (FactKind::Number, _) if fact.unit.is_empty() => no("a number".to_owned()),
        (FactKind::Number, _) => no(format!("a number, {}", fact.unit)),
        _ => no(format!("a text in quotes: {} is no number", fact.name)),
    }
}
