use super::compose::{WORDS, acts, pieces};
use super::{Asked, Facts, Procedure, Redundancy, Template, Wired, broken};
use std::collections::BTreeSet;

/// Something in a procedure that is not right, and where.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Flaw {
    /// Place of the template, counted from 0; none where a step is missing from all.
    pub template: Option<usize>,
    /// Place of the step within it.
    pub step: Option<usize>,
    /// The field that it is about; empty for the whole.
    pub field: &'static str,
    /// What stands there.
    pub found: String,
    /// What should stand there.
    pub expected: String,
}

/// Returns everything that is wrong with a procedure, each once.
///
/// Every kind of slot that there can be is composed: each must have the steps that must not be left
/// out, in the order that is held, and each template must be for some slot. A text may only name
/// what every slot of its template has.
pub fn check(procedure: &Procedure) -> Vec<Flaw> {
    let every = Facts::every();
    let mut flaws = Vec::new();
    for (at, template) in procedure.templates.iter().enumerate() {
        if procedure.templates[..at].iter().any(|other| other.name == template.name) {
            let expected = "a name that no other template has".to_owned();
            flaws.push(Flaw::of(at, None, "name", template.name.clone(), expected));
        }
        let mut met = every.iter().filter(|facts| template.when.holds(facts)).peekable();
        if met.peek().is_none() {
            let expected =
                "conditions that some slot can meet; no step of this template is ever reached";
            flaws.push(Flaw::of(at, None, "when", template.name.clone(), expected.to_owned()));
            continue;
        }
        let missing = missing(met);
        for (step, of) in template.steps.iter().enumerate() {
            for (field, text) in [("text", &of.text), ("detail", &of.detail)] {
                flaws.extend(
                    words(text, &missing)
                        .map(|(found, why)| Flaw::of(at, Some(step), field, found, why)),
                );
            }
            asks(template, at, step, &missing, &mut flaws);
        }
    }
    orders(procedure, &every, &mut flaws);
    flaws
}

impl Flaw {
    fn of(
        template: usize,
        step: Option<usize>,
        field: &'static str,
        found: String,
        expected: String,
    ) -> Self {
        Self { template: Some(template), step, field, found, expected }
    }
}

/// Words that some slot of a template has nothing for.
fn missing<'a>(met: impl Iterator<Item = &'a Facts>) -> BTreeSet<&'static str> {
    let mut missing = BTreeSet::new();
    for facts in met {
        if !facts.occupied {
            missing.extend(["out", "out_model"]);
        }
        if facts.redundancy == Redundancy::Single {
            missing.insert("partner");
        }
        if !facts.keyed {
            missing.insert("key");
        }
        if facts.loops == Wired::Nothing {
            missing.extend(["loops", "loop_count"]);
        }
        if !facts.firmware {
            missing.insert("firmware");
        }
    }
    missing
}

fn words<'a>(
    text: &'a str,
    missing: &'a BTreeSet<&'static str>,
) -> impl Iterator<Item = (String, String)> + 'a {
    pieces(text).into_iter().filter_map(|(_, word)| word).filter_map(|word| {
        let expected = if !WORDS.contains(&word) {
            format!("one of the words {}", WORDS.join(", "))
        } else if missing.contains(word) {
            format!("a word that every slot of this template has something for; {word} is not")
        } else {
            return None;
        };
        Some((format!("{{{word}}}"), expected))
    })
}

fn asks(
    template: &Template,
    at: usize,
    step: usize,
    missing: &BTreeSet<&str>,
    flaws: &mut Vec<Flaw>,
) {
    let mut flaw = |found: String, expected: &str| {
        flaws.push(Flaw::of(at, Some(step), "demand", found, expected.to_owned()));
    };
    match &template.steps[step].asks {
        Some(Asked::ScanOut) if missing.contains("out") => flaw(
            "scan_out".to_owned(),
            "occupied: true among the conditions, since an empty slot has no unit to scan",
        ),
        Some(Asked::Reading(limits))
            if !limits.low.is_finite() || !limits.high.is_finite() || limits.low > limits.high =>
        {
            flaw(limits.to_string(), "a low limit that is not above the high one");
        }
        _ => {}
    }
}

fn orders(procedure: &Procedure, every: &[Facts], flaws: &mut Vec<Flaw>) {
    let mut said = BTreeSet::new();
    for facts in every {
        let (acts, places) = acts(procedure, facts);
        for broken in broken(&acts, facts) {
            let place = broken.at.and_then(|at| places.get(at).copied());
            if !said.insert((place, broken.what.clone())) {
                continue;
            }
            let expected = format!(
                "the order and the steps that every swap keeps; for a {}",
                facts.described()
            );
            flaws.push(Flaw {
                template: place.map(|(template, _)| template),
                step: place.map(|(_, step)| step),
                field: if place.is_some() { "act" } else { "" },
                found: broken.what,
                expected,
            });
        }
    }
}
