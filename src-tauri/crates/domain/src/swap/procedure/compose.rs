use super::{Act, Asked, Broken, Demand, Facts, Procedure, Step, broken};
use crate::label::LabelCode;
use crate::place::RailAddress;
use crate::swap::Situation;

/// What the words in braces stand for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Names {
    pub slot: (String, LabelCode),
    pub rail: String,
    /// The rail on which its power supplies stand.
    pub supply_rail: String,
    /// Every rail that hangs on them.
    pub fed_rails: Vec<String>,
    /// Label and model of what comes out.
    pub out: Option<(LabelCode, String)>,
    /// Label and model of what goes in.
    pub into: (LabelCode, String),
    pub key: Option<String>,
    pub partner: Option<String>,
    /// Tags of the loops.
    pub loops: Vec<String>,
    pub firmware: Option<String>,
    pub bus_address: Option<u32>,
}

/// Words in braces that a text may hold.
pub(super) const WORDS: [&str; 14] = [
    "slot",
    "rail",
    "supply_rail",
    "fed_rails",
    "out",
    "out_model",
    "in",
    "in_model",
    "key",
    "partner",
    "loops",
    "loop_count",
    "firmware",
    "bus_address",
];

/// Composes the steps of one swap.
///
/// Fails with every rule that the templates break for this slot; then there are no steps, since a
/// wrong order is worse than none.
pub fn compose(
    procedure: &Procedure,
    facts: &Facts,
    names: &Names,
) -> Result<Vec<Step>, Vec<Broken>> {
    let mut steps = Vec::new();
    let mut acts = Vec::new();
    for template in procedure.templates.iter().filter(|template| template.when.holds(facts)) {
        for (at, step) in template.steps.iter().enumerate() {
            acts.push(step.act);
            steps.push(Step {
                text: names.fill(&step.text),
                detail: names.fill(&step.detail),
                demand: step.asks.as_ref().and_then(|asked| names.demand(asked)),
                name: Some(format!("{}.{}", template.name, at + 1)),
                act: Some(step.act),
                minutes: Some(step.minutes),
            });
        }
    }
    let broken = broken(&acts, facts);
    if broken.is_empty() { Ok(steps) } else { Err(broken) }
}

/// Acts of the templates that fit, each with its template and its place within it.
pub(super) fn acts(procedure: &Procedure, facts: &Facts) -> (Vec<Act>, Vec<(usize, usize)>) {
    let mut acts = Vec::new();
    let mut places = Vec::new();
    for (template, of) in procedure.templates.iter().enumerate() {
        if of.when.holds(facts) {
            acts.extend(of.steps.iter().map(|step| step.act));
            places.extend((0..of.steps.len()).map(|step| (template, step)));
        }
    }
    (acts, places)
}

impl Names {
    pub fn of(s: &Situation<'_>) -> Self {
        let rail = s.seat.slot.address.rail();
        let (supply_rail, fed_rails) = supplies(s, &rail);
        Self {
            slot: (s.seat.slot.address.to_string(), s.seat.slot.label),
            rail: rail.to_string(),
            supply_rail,
            fed_rails,
            out: s.seat.outgoing.as_ref().map(|(unit, _)| (unit.label, unit.model.to_string())),
            into: (s.spare.unit.label, s.spare.unit.model.to_string()),
            key: s.seat.slot.key.as_ref().map(ToString::to_string),
            partner: s.seat.partner.as_ref().map(|(address, _)| address.to_string()),
            loops: s.seat.loops.iter().map(|wired| wired.tag.clone()).collect(),
            firmware: s.seat.slot.min_firmware.clone(),
            bus_address: s.seat.slot.bus_address,
        }
    }

    fn demand(&self, asked: &Asked) -> Option<Demand> {
        Some(match asked {
            Asked::ScanSlot => Demand::Slot(self.slot.1),
            Asked::ScanOut => Demand::Unit(self.out.as_ref()?.0),
            Asked::ScanIn => Demand::Unit(self.into.0),
            Asked::Reading(limits) => Demand::Reading(limits.clone()),
            Asked::Photo => Demand::Photo,
            Asked::SecondPerson => Demand::SecondPerson,
        })
    }

    fn word(&self, word: &str) -> Option<String> {
        let counted = |n: usize| if n == 1 { "1 loop".to_owned() } else { format!("{n} loops") };
        Some(match word {
            "slot" => self.slot.0.clone(),
            "rail" => self.rail.clone(),
            "supply_rail" => self.supply_rail.clone(),
            "fed_rails" => self.fed_rails.join(" and "),
            "out" => self.out.as_ref()?.0.human(),
            "out_model" => self.out.as_ref()?.1.clone(),
            "in" => self.into.0.human(),
            "in_model" => self.into.1.clone(),
            "key" => self.key.clone()?,
            "partner" => self.partner.clone()?,
            "loops" => self.loops.join(", "),
            "loop_count" => counted(self.loops.len()),
            "firmware" => self.firmware.clone()?,
            "bus_address" => self.bus_address.map_or_else(
                || "that of the unit that came out".to_owned(),
                |address| address.to_string(),
            ),
            _ => return None,
        })
    }

    fn fill(&self, text: &str) -> String {
        let mut filled = String::with_capacity(text.len());
        for (words, word) in pieces(text) {
            filled.push_str(words);
            if let Some(word) = word {
                match self.word(word) {
                    Some(found) => filled.push_str(&found),
                    None => filled.push_str(word),
                }
            }
        }
        filled
    }
}

/// The rail on which the power supplies of a rail stand, and all that hang on them.
fn supplies(s: &Situation<'_>, rail: &RailAddress) -> (String, Vec<String>) {
    let known = s.seat.cabinet.as_ref().and_then(|cabinet| Some((cabinet, cabinet.rail(rail)?)));
    let Some((cabinet, known)) = known else {
        return (rail.to_string(), vec![rail.to_string()]);
    };
    let source = cabinet.source(known);
    let fed = cabinet.rails.iter().filter(|one| cabinet.source(one).address == source.address);
    (source.address.to_string(), fed.map(|one| one.address.to_string()).collect())
}

/// Cuts a text into what stands before each word in braces, and that word.
pub(super) fn pieces(text: &str) -> Vec<(&str, Option<&str>)> {
    let mut pieces = Vec::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        match after.split_once('}') {
            Some((word, behind)) => {
                pieces.push((before, Some(word)));
                rest = behind;
            }
            None => break,
        }
    }
    pieces.push((rest, None));
    pieces
}
