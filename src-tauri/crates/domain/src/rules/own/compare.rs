//! Whether a condition holds, in words.

use super::super::facts::{Answer, Fact, FactKind, fact};
use super::{Condition, Looked, Test, Value};
use crate::unit::firmware_order;
use std::borrow::Cow;
use std::cmp::Ordering;

/// Whether a condition holds, and what was compared.
pub(super) enum Holds {
    Yes(String),
    No(String),
    Unknown(String),
    /// The fact says nothing of such a thing.
    NotMeant,
}

impl Condition {
    pub(super) fn holds(&self, looked: &Looked<'_>) -> Holds {
        let Some(fact) = fact(&self.fact) else {
            return Holds::Unknown(format!("this program does not know {}", self.fact));
        };
        let answer = (fact.of)(looked);
        let holds = match &answer {
            Answer::NotMeant => return Holds::NotMeant,
            Answer::NotRecorded if self.test == Test::IsKnown => Some(false),
            _ if self.test == Test::IsKnown => Some(true),
            Answer::NotRecorded => return Holds::Unknown(not_recorded(fact)),
            Answer::Nothing => Some(false),
            answer => holds(fact, answer, &self.test, looked),
        };
        let is = is(fact, &answer);
        let wanted = self.test.wanted(fact.unit);
        match holds {
            Some(true) => Holds::Yes(match &self.test {
                Test::Is(_) | Test::IsKnown => is,
                _ => format!("{is} ({wanted})"),
            }),
            Some(false) if self.test == Test::IsKnown => Holds::No(is),
            Some(false) => Holds::No(format!("{is}; wanted: {wanted}")),
            None => Holds::Unknown(format!("{is}, which cannot be put in order with {wanted}")),
        }
    }
}

fn not_recorded(fact: &Fact) -> String {
    match fact.kind {
        FactKind::Flag => format!("whether {} is not recorded", fact.said),
        _ => format!("{} is not recorded", fact.said),
    }
}

fn is(fact: &Fact, answer: &Answer<'_>) -> String {
    let said = fact.said;
    match answer {
        Answer::Text(text) => {
            let text = match fact.kind {
                FactKind::Word(_) => Cow::Owned(text.replace('_', " ")),
                _ => text.clone(),
            };
            format!("{said} is {text}")
        }
        Answer::Number(number) => {
            // Ages are fractions of years; two places say enough.
            let number = (number * 100.0).round() / 100.0;
            format!("{said} is {}", Value::Number(number).words(fact.unit))
        }
        Answer::Flag(flag) => format!("{said}: {}", Value::Flag(*flag).words("")),
        Answer::Nothing => format!("{said}: there is none"),
        Answer::NotRecorded | Answer::NotMeant => not_recorded(fact),
    }
}

/// None where what is there cannot be put in order with what is wanted.
fn holds(fact: &Fact, answer: &Answer<'_>, test: &Test, looked: &Looked<'_>) -> Option<bool> {
    match test {
        Test::Is(value) => Some(equal(answer, value)),
        Test::OneOf(values) => Some(values.iter().any(|value| equal(answer, value))),
        Test::AtLeast(value) => order(fact, answer, value, looked).map(Ordering::is_ge),
        Test::AtMost(value) => order(fact, answer, value, looked).map(Ordering::is_le),
        Test::StartsWith(start) => Some(match answer {
            Answer::Text(text) => text.to_lowercase().starts_with(&start.to_lowercase()),
            _ => false,
        }),
        Test::IsKnown => Some(true),
    }
}

fn equal(answer: &Answer<'_>, value: &Value) -> bool {
    match (answer, value) {
        (Answer::Text(is), Value::Text(wanted)) => is.to_lowercase() == wanted.to_lowercase(),
        (Answer::Number(is), Value::Number(wanted)) => is == wanted,
        (Answer::Flag(is), Value::Flag(wanted)) => is == wanted,
        _ => false,
    }
}

fn order(fact: &Fact, answer: &Answer<'_>, value: &Value, looked: &Looked<'_>) -> Option<Ordering> {
    match (answer, value) {
        (Answer::Number(is), Value::Number(wanted)) => is.partial_cmp(wanted),
        (Answer::Text(is), Value::Text(wanted)) => match fact.kind {
            FactKind::Firmware => Some(firmware_order(is)?.cmp(&firmware_order(wanted)?)),
            FactKind::Revision => {
                let rank = |revision: &str| looked.model?.revision_rank(revision);
                Some(rank(is)?.cmp(&rank(wanted)?))
            }
            _ => None,
        },
        _ => None,
    }
}
