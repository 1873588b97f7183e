//! Rows of a site's own rules.

use super::{RowFault, Stored, stored};
use serde::{Deserialize, Serialize};
use slotkeep_domain::rules::own::{Condition, Judges, OwnRule, Test, Value};
use slotkeep_domain::swap::Severity;

stored! {
    OwnRule as OwnRuleRow {
        name: String, asks: String, on: bool, severity: Severity, unknown: Severity,
        to_do: String, judges: Judges, applies: Vec<Condition>, must: Vec<Condition>,
    }
    Condition as ConditionRow { fact: String, test: Test }
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TestRow {
    Is(ValueRow),
    OneOf(Vec<ValueRow>),
    AtLeast(ValueRow),
    AtMost(ValueRow),
    StartsWith(String),
    IsKnown,
}

#[derive(Serialize, Deserialize)]
#[serde(untagged)]
pub enum ValueRow {
    Flag(bool),
    Number(f64),
    Text(String),
}

impl Stored for Test {
    type Row = TestRow;

    fn to_row(&self) -> TestRow {
        match self {
            Self::Is(value) => TestRow::Is(value.to_row()),
            Self::OneOf(values) => TestRow::OneOf(values.to_row()),
            Self::AtLeast(value) => TestRow::AtLeast(value.to_row()),
            Self::AtMost(value) => TestRow::AtMost(value.to_row()),
            Self::StartsWith(start) => TestRow::StartsWith(start.clone()),
            Self::IsKnown => TestRow::IsKnown,
        }
    }

    fn from_row(row: TestRow) -> Result<Self, RowFault> {
        Ok(match row {
            TestRow::Is(value) => Self::Is(Value::from_row(value)?),
            TestRow::OneOf(values) => Self::OneOf(Vec::from_row(values)?),
            TestRow::AtLeast(value) => Self::AtLeast(Value::from_row(value)?),
            TestRow::AtMost(value) => Self::AtMost(Value::from_row(value)?),
            TestRow::StartsWith(start) => Self::StartsWith(start),
            TestRow::IsKnown => Self::IsKnown,
        })
    }
}

impl Stored for Value {
    type Row = ValueRow;

    fn to_row(&self) -> ValueRow {
        match self {
            Self::Flag(flag) => ValueRow::Flag(*flag),
            Self::Number(number) => ValueRow::Number(*number),
            Self::Text(text) => ValueRow::Text(text.clone()),
        }
    }

    fn from_row(row: ValueRow) -> Result<Self, RowFault> {
        Ok(match row {
            ValueRow::Flag(flag) => Self::Flag(flag),
            ValueRow::Number(number) => Self::Number(number),
            ValueRow::Text(text) => Self::Text(text),
        })
    }
}
