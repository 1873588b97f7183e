//! The rules of a line-up: a table of names, and one function for each.

mod keys;
mod on_bus;
mod power;
mod row;
mod safe;
mod table;
#[cfg(test)]
mod tests;

pub use table::RULES;

use super::{Cabinet, Rail};
use crate::rules::own::{Judges, Looked, OwnRule};
use crate::rules::{Kept, Rule, RuleSetting, Severity, kept};
use std::borrow::Cow;

/// One thing that a rule compared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Name of the rule.
    pub rule: Cow<'static, str>,
    /// Whether it is one of the site's own rules.
    pub own: bool,
    pub severity: Severity,
    /// Data were missing to judge by.
    pub unknown: bool,
    /// Address of the cabinet, rail or slot that it is about.
    pub at: String,
    /// What was compared, in one sentence.
    pub compared: String,
    /// What to do about it; empty when it is in order.
    pub to_do: String,
}

/// A rule of a line-up and the function that judges it.
#[derive(Debug, Clone, Copy)]
pub struct LineupRule {
    pub spec: Rule,
    judge: Judge,
}

#[derive(Debug, Clone, Copy)]
enum Judge {
    Rail(fn(&Cabinet, &Rail, &mut Findings<'_>)),
    Cabinet(fn(&Cabinet, &mut Findings<'_>)),
}

/// What a rule is and does without a site's settings.
pub fn specs() -> impl Iterator<Item = &'static Rule> + Clone {
    RULES.iter().map(|rule| &rule.spec)
}

/// Holds every rail of a cabinet, and the cabinet itself, against our rules and the site's own.
///
/// Missing data are a finding of their own and never a pass. A rule that has nothing to look at
/// (no bus, no key) finds nothing. In the order of the rails, within a rail of the rules, the
/// site's own after ours; what is about the whole cabinet comes last.
pub fn check(cabinet: &Cabinet, settings: &[RuleSetting], own: &[OwnRule]) -> Vec<Finding> {
    let rules: Vec<(Judge, Kept<'_>)> = RULES
        .iter()
        .map(|rule| (rule.judge, kept(&rule.spec, settings)))
        .filter(|(_, kept)| kept.on)
        .collect();
    let mut found = Vec::new();
    for rail in &cabinet.rails {
        for (judge, kept) in &rules {
            if let Judge::Rail(judge) = judge {
                judge(cabinet, rail, &mut Findings { kept, found: &mut found });
            }
        }
        found.extend(of_the_site(cabinet, rail, own));
    }
    for (judge, kept) in &rules {
        if let Judge::Cabinet(judge) = judge {
            judge(cabinet, &mut Findings { kept, found: &mut found });
        }
    }
    found
}

/// What the site's own rules find on a rail, rule by rule, left to right.
fn of_the_site<'a>(
    cabinet: &'a Cabinet,
    rail: &'a Rail,
    own: &'a [OwnRule],
) -> impl Iterator<Item = Finding> + 'a {
    let of_items = own.iter().filter(|rule| rule.judges == Judges::Item);
    of_items.flat_map(move |rule| {
        rail.items.iter().filter_map(move |item| {
            let said = rule.judge(&Looked::item(cabinet, rail, item))?;
            let (at, compared) = match item.place() {
                Some(place) => (place.address.to_string(), said.compared),
                None => {
                    let name = rail.name_of(item);
                    (rail.address.to_string(), format!("{name}: {}", said.compared))
                }
            };
            let rule = Cow::Owned(rule.name.clone());
            let (severity, unknown, to_do) = (said.severity, said.unknown, said.to_do);
            Some(Finding { rule, own: true, severity, unknown, at, compared, to_do })
        })
    })
}

/// Where a rule puts what it finds.
struct Findings<'a> {
    kept: &'a Kept<'a>,
    found: &'a mut Vec<Finding>,
}

impl Findings<'_> {
    fn limit(&self, name: &str) -> f64 {
        self.kept.limit(name)
    }

    fn pass(&mut self, at: &impl ToString, compared: impl Into<String>) {
        self.put(Severity::Pass, false, at.to_string(), compared.into(), String::new());
    }

    fn broken(&mut self, at: &impl ToString, compared: String, to_do: &str) {
        self.put(self.kept.severity, false, at.to_string(), compared, to_do.to_owned());
    }

    fn unknown(&mut self, at: &impl ToString, compared: String, to_do: &str) {
        self.put(self.kept.unknown(), true, at.to_string(), compared, to_do.to_owned());
    }

    fn put(&mut self, severity: Severity, unknown: bool, at: String, said: String, to_do: String) {
        let rule = Cow::Borrowed(self.kept.rule.name);
        self.found.push(Finding { rule, own: false, severity, unknown, at, compared: said, to_do });
    }

    /// How many findings there are, to see later whether a rule added one.
    fn count(&self) -> usize {
        self.found.len()
    }
}

/// A few names, and how many more there are.
fn named(names: &[String]) -> String {
    const SHOWN: usize = 3;
    match names.len() {
        0..=SHOWN => names.join(", "),
        more => format!("{} and {} more", names[..SHOWN].join(", "), more - SHOWN),
    }
}

/// A figure without needless digits.
fn figure(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}
