//! Formulas of the trade by name, numbers in and numbers out, without a register.
//!
//! One table holds them. Names, fields, units and doc lines are read off the input types, so they
//! cannot say anything else than what is computed.

mod ageing;
mod ahead;
mod back_test;
mod battery;
mod buying;
mod calendar;
mod cells;
mod demand;
mod depots;
mod describe;
mod joint;
mod label;
mod learning;
mod levels;
mod lineup;
mod loops;
mod lots;
mod money;
mod outlook;
mod policy;
mod rates;
mod series;
mod spares;
mod substitution;
mod symbol;
mod visits;

pub use series::series;

use crate::{Failure, FailureKind};
use schemars::JsonSchema;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

/// A formula, described for a person or a program that wants to use it.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Formula {
    pub name: &'static str,
    pub doc: String,
    pub fields: Vec<Field>,
    pub reply: Vec<Field>,
}

/// One number, text or date of an input or a reply.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Field {
    /// Path with dots; `[]` marks each of a list.
    pub name: String,
    /// `number`, `integer`, `string`, `boolean`, or a choice of words.
    pub kind: String,
    /// Unit of measure; empty for pieces, ratios and texts.
    pub unit: &'static str,
    pub doc: String,
    pub required: bool,
}

/// Why a formula gave nothing.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CalcRefusal {
    #[error("there is no formula {name:?}{near}: list the formulas to see their names")]
    NoSuchFormula { name: String, near: String },
    #[error("{formula}: the input does not fit: {message}; list the formulas to see its fields")]
    Input { formula: &'static str, message: String },
    #[error("{formula}: {message}")]
    Figures { formula: &'static str, message: String },
    #[error("{formula}: the reply could not be written: {message}; report this as a fault")]
    Reply { formula: &'static str, message: String },
}

impl From<CalcRefusal> for Failure {
    fn from(refusal: CalcRefusal) -> Self {
        let kind = match refusal {
            CalcRefusal::NoSuchFormula { .. } => FailureKind::NotFound,
            CalcRefusal::Input { .. } | CalcRefusal::Figures { .. } => FailureKind::BadInput,
            CalcRefusal::Reply { .. } => FailureKind::Broken,
        };
        Self::new(kind, refusal.to_string())
    }
}

/// Lists every formula with its fields, in the order of their names.
pub fn list() -> Vec<Formula> {
    let mut formulas: Vec<Formula> = table().iter().map(|entry| (entry.describe)()).collect();
    formulas.sort_by_key(|formula| formula.name);
    formulas
}

/// Computes one formula.
///
/// Fails when there is no such formula, when a field is missing, unknown or of the wrong kind, and
/// when a figure makes no sense; each says which and what to do.
pub fn run(name: &str, input: Value) -> Result<Value, CalcRefusal> {
    let table = table();
    let Some(entry) = table.iter().find(|entry| entry.name == name) else {
        let near = table
            .iter()
            .map(|entry| (strsim::jaro_winkler(entry.name, name), entry.name))
            .filter(|(likeness, _)| *likeness > 0.75)
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .map_or(String::new(), |(_, near)| format!(", but {near:?}"));
        return Err(CalcRefusal::NoSuchFormula { name: name.to_owned(), near });
    };
    (entry.run)(input)
}

/// An input type that knows its formula. Its doc comment describes the formula.
trait Calc: DeserializeOwned + JsonSchema {
    const NAME: &'static str;
    type Reply: Serialize + JsonSchema;

    /// Fails with a sentence that names the figure that makes no sense.
    fn reckon(self) -> Result<Self::Reply, String>;
}

struct Entry {
    name: &'static str,
    describe: fn() -> Formula,
    run: fn(Value) -> Result<Value, CalcRefusal>,
}

fn entry<Input: Calc>() -> Entry {
    Entry { name: Input::NAME, describe: describe::formula::<Input>, run: run_with::<Input> }
}

fn run_with<Input: Calc>(input: Value) -> Result<Value, CalcRefusal> {
    let formula = Input::NAME;
    let input: Input = serde_json::from_value(input)
        .map_err(|error| CalcRefusal::Input { formula, message: error.to_string() })?;
    let reply = input.reckon().map_err(|message| CalcRefusal::Figures { formula, message })?;
    let reply = serde_json::to_value(reply)
        .map_err(|error| CalcRefusal::Reply { formula, message: error.to_string() })?;
    match describe::hole(&reply, &describe::reply_fields::<Input>()) {
        Some(field) => Err(CalcRefusal::Figures {
            formula,
            message: format!(
                "{field} comes out larger than numbers go, or is none: check the figures given"
            ),
        }),
        None => Ok(reply),
    }
}

fn table() -> Vec<Entry> {
    let mut table = battery::entries();
    table.extend(cells::entries());
    table.extend(visits::entries());
    table.extend(spares::entries());
    table.extend(lots::entries());
    table.extend(levels::entries());
    table.extend(buying::entries());
    table.extend(joint::entries());
    table.extend(calendar::entries());
    table.extend(demand::entries());
    table.extend(back_test::entries());
    table.extend(outlook::entries());
    table.extend(rates::entries());
    table.extend(ageing::entries());
    table.extend(ahead::entries());
    table.extend(policy::entries());
    table.extend(learning::entries());
    table.extend(depots::entries());
    table.extend(money::entries());
    table.extend(substitution::entries());
    table.extend(loops::entries());
    table.extend(lineup::entries());
    table.extend(label::entries());
    table.extend(symbol::entries());
    table
}

/// Takes a figure of zero or more.
fn at_least_zero(name: &str, figure: f64) -> Result<f64, String> {
    if figure.is_finite() && figure >= 0.0 {
        Ok(figure)
    } else {
        Err(format!("{name} is {figure}: give a number of zero or more"))
    }
}

/// Takes a figure above zero.
fn above_zero(name: &str, figure: f64) -> Result<f64, String> {
    if figure.is_finite() && figure > 0.0 {
        Ok(figure)
    } else {
        Err(format!("{name} is {figure}: give a number above zero"))
    }
}

/// Takes a probability that is neither impossible nor certain.
fn inside(name: &str, probability: f64) -> Result<f64, String> {
    if probability > 0.0 && probability < 1.0 {
        Ok(probability)
    } else {
        Err(format!("{name} is {probability}: give a number between 0 and 1"))
    }
}
