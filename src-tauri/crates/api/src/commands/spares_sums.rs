//! Figures with what they were reckoned from, as lines that open.

use crate::wire::spares::SumLine;
use chrono::NaiveDate;

/// A figure that was put in.
pub(super) fn given(what: &str, value: impl Into<f64>, unit: &str) -> SumLine {
    sum(what, value, unit, "", Vec::new())
}

/// A figure with its parts and how they make it.
pub(super) fn sum(
    what: &str,
    value: impl Into<f64>,
    unit: &str,
    rule: &str,
    parts: Vec<SumLine>,
) -> SumLine {
    SumLine {
        what: what.to_owned(),
        value: Some(value.into()).filter(|value: &f64| value.is_finite()),
        day: None,
        unit: unit.to_owned(),
        rule: rule.to_owned(),
        parts,
    }
}

/// Money of so many cents.
pub(super) fn money(what: &str, cents: i64, rule: &str, parts: Vec<SumLine>) -> SumLine {
    sum(what, cents as f64 / 100.0, "of money", rule, parts)
}

/// A day that was found.
pub(super) fn day(what: &str, day: Option<NaiveDate>, rule: &str, parts: Vec<SumLine>) -> SumLine {
    SumLine {
        what: what.to_owned(),
        value: None,
        day,
        unit: String::new(),
        rule: rule.to_owned(),
        parts,
    }
}
