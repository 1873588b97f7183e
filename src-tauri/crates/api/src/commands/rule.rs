//! Rules as the site keeps them, and what rules of its own may ask.

use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::Nothing;
use crate::wire::rule::{FactLine, LimitLine, RuleLine};
use slotkeep_domain::place::Site;
use slotkeep_domain::rules::facts::{FACTS, Fact, FactKind};
use slotkeep_domain::rules::own::{Judges, OwnRule};
use slotkeep_domain::rules::{Rule, kept};

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask("rule.facts", "Lists what a site's own rules may ask.", facts)]
}

/// Our rules as the site keeps them, then those that the site added.
pub(super) fn lines<'a>(
    site: Option<&Site>,
    ours: impl Iterator<Item = &'a Rule>,
    judges: Judges,
) -> Vec<RuleLine> {
    let settings = site.map(|site| site.rules.as_slice()).unwrap_or_default();
    let own = site.map(|site| site.own_rules.as_slice()).unwrap_or_default();
    let ours = ours.map(|rule| {
        let here = kept(rule, settings);
        let limits = rule.limits.iter().map(|limit| LimitLine {
            name: limit.name.to_owned(),
            doc: limit.doc.to_owned(),
            unit: unit(limit.name).to_owned(),
            value: here.limit(limit.name),
            ours: limit.value,
            least: limit.least,
            most: limit.most,
        });
        let limits: Vec<_> = limits.collect();
        RuleLine {
            name: rule.name.to_owned(),
            asks: rule.asks.to_owned(),
            own: false,
            on: here.on,
            severity: here.severity.word().to_owned(),
            ours: Some(rule.severity.word().to_owned()),
            unknown: here.unknown().word().to_owned(),
            fixed: rule.fixed,
            set: !here.on
                || here.severity != rule.severity
                || limits.iter().any(|limit| limit.value != limit.ours),
            limits,
            source: rule.source.to_owned(),
            to_do: String::new(),
            applies: Vec::new(),
            must: Vec::new(),
        }
    });
    ours.chain(own.iter().filter(|rule| rule.judges == judges).map(own_line)).collect()
}

/// The unit that a limit carries in its name; empty for pieces.
fn unit(limit: &str) -> &'static str {
    const UNITS: &[(&str, &str)] = &[
        ("_w_m2_k", "W/(m²·K)"),
        ("_pct_k", "%/K"),
        ("_pct", "%"),
        ("_mm", "mm"),
        ("_c", "°C"),
        ("_v", "V"),
    ];
    UNITS.iter().find(|(ending, _)| limit.ends_with(ending)).map_or("", |(_, unit)| unit)
}

fn own_line(rule: &OwnRule) -> RuleLine {
    RuleLine {
        name: rule.name.clone(),
        asks: rule.asks.clone(),
        own: true,
        on: rule.on,
        severity: rule.severity.word().to_owned(),
        ours: None,
        unknown: rule.unknown.word().to_owned(),
        fixed: false,
        set: true,
        limits: Vec::new(),
        source: String::new(),
        to_do: rule.to_do.clone(),
        applies: rule.applies.iter().map(|condition| condition.words()).collect(),
        must: rule.must.iter().map(|condition| condition.words()).collect(),
    }
}

fn facts(_: &Ask<'_>, _: Nothing) -> Result<Vec<FactLine>, Failure> {
    Ok(FACTS.iter().map(fact).collect())
}

fn fact(fact: &Fact) -> FactLine {
    let (kind, comparisons): (_, &[&str]) = match fact.kind {
        FactKind::Text => ("text", &["is", "one_of", "starts_with", "is_known"]),
        FactKind::Word(_) => ("word", &["is", "one_of", "is_known"]),
        FactKind::Flag => ("yes_no", &["is", "is_known"]),
        FactKind::Number => ("number", &["is", "one_of", "at_least", "at_most", "is_known"]),
        FactKind::Firmware => ("firmware", ORDERED_TEXT),
        FactKind::Revision => ("revision", ORDERED_TEXT),
    };
    let words = match fact.kind {
        FactKind::Word(words) => words,
        _ => &[],
    };
    FactLine {
        name: fact.name.to_owned(),
        said: fact.said.to_owned(),
        kind: kind.to_owned(),
        words: words.iter().map(|word| (*word).to_owned()).collect(),
        unit: fact.unit.to_owned(),
        comparisons: comparisons.iter().map(|word| (*word).to_owned()).collect(),
        swaps: fact.asked_of.swaps(),
        items: fact.asked_of.items(),
    }
}

const ORDERED_TEXT: &[&str] = &["is", "one_of", "at_least", "at_most", "starts_with", "is_known"];
