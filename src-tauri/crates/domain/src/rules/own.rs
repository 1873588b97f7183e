//! Rules that a site adds to ours, as data: where a rule applies, and what must then hold.
//!
//! A condition compares one [fact](super::facts) with one thing. Nothing is nested and nothing is
//! computed. Own rules can only add findings, so they weaken nothing that is built in.

mod check;
mod compare;
mod looked;
#[cfg(test)]
mod tests;

pub use check::{OwnRefusal, check};
pub use looked::Looked;

use super::Severity;
use super::facts::{self, FactKind};
use compare::{Compared, Holds};

/// A rule of the site's own.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnRule {
    /// Unlike that of any other rule.
    pub name: String,
    /// What it asks for, in one sentence.
    pub asks: String,
    pub on: bool,
    /// How grave it is when it is broken.
    pub severity: Severity,
    /// How grave it is when data are missing to judge by; never graver than a break.
    pub unknown: Severity,
    /// What to do when it is broken, in one sentence.
    pub to_do: String,
    pub judges: Judges,
    /// It applies where all of these hold; everywhere where there are none.
    pub applies: Vec<Condition>,
    /// All of these must hold there.
    pub must: Vec<Condition>,
}

/// What a rule looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Judges {
    /// A spare for a slot.
    Swap,
    /// Each thing on each rail of a line-up.
    Item,
}

/// A fact, and what it is compared with.
#[derive(Debug, Clone, PartialEq)]
pub struct Condition {
    /// Name of a [`facts::Fact`].
    pub fact: String,
    pub test: Test,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Test {
    Is(Value),
    OneOf(Vec<Value>),
    AtLeast(Value),
    AtMost(Value),
    StartsWith(String),
    IsKnown,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    Text(String),
    Number(f64),
    Flag(bool),
}

/// What a rule says of one thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnSaid {
    pub severity: Severity,
    /// Data were missing to judge by.
    pub unknown: bool,
    pub compared: String,
    /// Empty when it is in order.
    pub to_do: String,
}

impl Judges {
    pub fn word(self) -> &'static str {
        match self {
            Self::Swap => "swap",
            Self::Item => "item",
        }
    }

    pub fn parse(word: &str) -> Option<Self> {
        [Self::Swap, Self::Item].into_iter().find(|judges| judges.word() == word)
    }
}

impl OwnRule {
    /// Judges one thing; none where the rule is switched off or does not apply.
    ///
    /// A break counts more than what is not recorded. What is not recorded never passes, and where
    /// it decides whether the rule applies, that is said too.
    pub fn judge(&self, looked: &Looked<'_>) -> Option<OwnSaid> {
        if !self.on {
            return None;
        }
        let said = |compared: Compared<'_>| compared.said();
        let mut missing = Vec::new();
        for condition in &self.applies {
            let compared = condition.compare(looked);
            match compared.holds {
                Holds::Yes => {}
                Holds::No | Holds::NotMeant => return None,
                Holds::Unknown => missing.push(compared),
            }
        }
        if !missing.is_empty() {
            let missing: Vec<_> = missing.into_iter().map(said).collect();
            let compared =
                format!("{}: whether this rule applies is not known", missing.join("; "));
            return Some(self.unknown(compared));
        }
        let (mut kept, mut broken, mut missing) = (Vec::new(), Vec::new(), Vec::new());
        for condition in &self.must {
            let compared = condition.compare(looked);
            match compared.holds {
                Holds::Yes => kept.push(compared),
                Holds::No => broken.push(compared),
                Holds::Unknown => missing.push(compared),
                Holds::NotMeant => return None,
            }
        }
        let in_words =
            |list: Vec<Compared<'_>>| list.into_iter().map(said).collect::<Vec<_>>().join("; ");
        if !broken.is_empty() {
            broken.append(&mut missing);
            return Some(OwnSaid {
                severity: self.severity,
                unknown: false,
                compared: in_words(broken),
                to_do: self.to_do.clone(),
            });
        }
        if !missing.is_empty() {
            return Some(self.unknown(in_words(missing)));
        }
        Some(OwnSaid {
            severity: Severity::Pass,
            unknown: false,
            compared: in_words(kept),
            to_do: String::new(),
        })
    }

    fn unknown(&self, compared: String) -> OwnSaid {
        OwnSaid {
            severity: self.unknown.min(self.severity),
            unknown: true,
            compared,
            to_do: "find it out, record it, and judge again".to_owned(),
        }
    }

    /// Whether any condition looks at the single unit, not only at slot and model.
    pub fn asks_of_unit(&self) -> bool {
        let mut all = self.applies.iter().chain(&self.must);
        all.any(|condition| condition.fact.starts_with("spare_"))
    }
}

impl Condition {
    /// The condition as the end of a sentence: `heat of the model is at most 4 W`.
    pub fn words(&self) -> String {
        let Some(fact) = facts::fact(&self.fact) else {
            return format!("{}, which this program does not know", self.fact);
        };
        match (fact.kind, &self.test) {
            (FactKind::Flag, Test::Is(value)) => format!("{}: {}", fact.said, value.words("")),
            (_, test) => format!("{} {}", fact.said, test.words(fact.unit)),
        }
    }
}

impl Test {
    /// `is at least 2.1`
    fn words(&self, unit: &str) -> String {
        format!("is {}", self.wanted(unit))
    }

    /// `at least 2.1`
    fn wanted(&self, unit: &str) -> String {
        match self {
            Self::Is(value) => value.words(unit),
            Self::OneOf(values) => {
                let words: Vec<_> = values.iter().map(|value| value.words(unit)).collect();
                match words.as_slice() {
                    [first @ .., last] if !first.is_empty() => {
                        format!("{} or {last}", first.join(", "))
                    }
                    words => words.join(""),
                }
            }
            Self::AtLeast(value) => format!("at least {}", value.words(unit)),
            Self::AtMost(value) => format!("at most {}", value.words(unit)),
            Self::StartsWith(start) => format!("something that begins with {start}"),
            Self::IsKnown => "recorded".to_owned(),
        }
    }
}

impl Value {
    fn words(&self, unit: &str) -> String {
        match self {
            Self::Text(text) => text.replace('_', " "),
            Self::Number(number) if unit.is_empty() => number.to_string(),
            Self::Number(number) => format!("{number} {unit}"),
            Self::Flag(true) => "yes".to_owned(),
            Self::Flag(false) => "no".to_owned(),
        }
    }
}
