//! Whether a condition holds, in words.

use super::super::facts::{Answer, Fact, FactKind, fact};
use super::{Condition, Looked, Test, Value};
use crate::unit::firmware_order;
use std::borrow::Cow;
use std::cmp::Ordering;

/// Whether a condition holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Holds {
    Yes,
    No,
    Unknown,
    /// The fact says nothing of such a thing.
    NotMeant,
}

/// A condition beside what the fact answers; in words only where somebody asks for them, since most
/// conditions of most rules say nothing in the end.
pub(super) struct Compared<'a> {
    pub holds: Holds,
    condition: &'a Condition,
    fact: Option<&'static Fact>,
    answer: Answer<'a>,
}

impl Condition {
    pub(super) fn compare<'a>(&'a self, looked: &Looked<'a>) -> Compared<'a> {
        let Some(fact) = fact(&self.fact) else {
            let answer = Answer::NotRecorded;
            return Compared { holds: Holds::Unknown, condition: self, fact: None, answer };
        };
        let answer = (fact.of)(looked);
        let holds = match (&answer, &self.test) {
            (Answer::NotMeant, _) => Holds::NotMeant,
            (Answer::NotRecorded, Test::IsKnown) => Holds::No,
            (_, Test::IsKnown) => Holds::Yes,
            (Answer::NotRecorded, _) => Holds::Unknown,
            (Answer::Nothing, _) => Holds::No,
            (answer, test) => match holds(fact, answer, test, looked) {
                Some(true) => Holds::Yes,
                Some(false) => Holds::No,
                None => Holds::Unknown,
            },
        };
        Compared { holds, condition: self, fact: Some(fact), answer }
    }
}

impl Compared<'_> {
    /// What was compared, in words.
    pub(super) fn said(&self) -> String {
        let Some(fact) = self.fact else {
            return format!("this program does not know {}", self.condition.fact);
        };
        let is = is(fact, &self.answer);
        let test = &self.condition.test;
        let wanted = || test.wanted(fact.unit);
        match (self.holds, &self.answer, test) {
            (Holds::Unknown, Answer::NotRecorded, _) | (Holds::NotMeant, ..) => is,
            (Holds::Unknown, ..) => {
                format!("{is}, which cannot be put in order with {}", wanted())
            }
            (Holds::Yes, _, Test::Is(_)) | (_, _, Test::IsKnown) => is,
            (Holds::Yes, ..) => format!("{is} ({})", wanted()),
            (Holds::No, ..) => format!("{is}; wanted: {}", wanted()),
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
        (Answer::Text(is), Value::Text(wanted)) => {
            is.eq_ignore_ascii_case(wanted)
                || !(is.is_ascii() && wanted.is_ascii())
                    && is.to_lowercase() == wanted.to_lowercase()
        }
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
