//! `procedure.json`: the templates that the steps of a swap are composed from.

use super::catalogue::{base_kind, row, typed, word};
use super::problem::Problems;
use super::{Row, SiteFile, json};
use serde::Deserialize;
use slotkeep_domain::place::BusPosition;
use slotkeep_domain::swap::procedure::{
    Act, Asked, Flaw, Kind, Limits, Procedure, Redundancy, StepTemplate, Template, When, Wired,
    check,
};
use std::sync::LazyLock;

const NAME: &str = "procedure.json";
const SCHEMA: &str = include_str!("../../../../../schemas/files/procedure.json");

/// The templates of the program, in the form in which a site edits them.
const BUILT_IN: &str = include_str!("../procedure.json");

#[derive(Deserialize)]
struct FileJson {
    templates: Vec<TemplateJson>,
}

#[derive(Deserialize)]
struct TemplateJson {
    name: String,
    #[serde(default)]
    when: WhenJson,
    steps: Vec<StepJson>,
}

#[derive(Deserialize, Default)]
struct WhenJson {
    base: Option<Vec<String>>,
    occupied: Option<bool>,
    redundancy: Option<Vec<String>>,
    hot_swap: Option<bool>,
    bus: Option<Vec<String>>,
    intrinsically_safe: Option<bool>,
    battery: Option<bool>,
    kind: Option<Vec<String>>,
    firmware: Option<bool>,
    keyed: Option<bool>,
    loops: Option<Vec<String>>,
}

#[derive(Deserialize)]
struct StepJson {
    act: String,
    text: String,
    #[serde(default)]
    detail: String,
    demand: Option<String>,
    reading: Option<ReadingJson>,
    #[serde(default = "two")]
    minutes: f64,
}

fn two() -> f64 {
    2.0
}

#[derive(Deserialize)]
struct ReadingJson {
    unit: String,
    low: f64,
    high: f64,
}

/// The templates that the program ships with.
pub fn built_in() -> &'static Procedure {
    static PROCEDURE: LazyLock<Procedure> = LazyLock::new(|| {
        // A test holds that the file is right; an empty procedure would be refused for each swap.
        let read = serde_json::from_str::<FileJson>(BUILT_IN);
        let templates = read.map(|read| read.templates.into_iter().map(template).collect());
        Procedure { templates: templates.unwrap_or_default() }
    });
    &PROCEDURE
}

/// Reads the templates of a site; none where the file is absent or not right.
///
/// Beside what the schema asks for, every kind of slot is composed: a step that is missing, a
/// template that no slot reaches and an order that is broken are problems with their place.
pub(super) fn procedure(
    file: Option<&SiteFile>,
    problems: &mut Problems,
) -> Option<Row<Procedure>> {
    let (value, wrong) = json::read(NAME, SCHEMA, file, problems)?;
    if !wrong.is_empty() {
        return None;
    }
    let read: FileJson = typed(NAME, &value, "", problems)?;
    let mut right = true;
    for (at, template) in read.templates.iter().enumerate() {
        for (step, of) in template.steps.iter().enumerate() {
            if of.demand.is_some() && of.reading.is_some() {
                let pointer = format!("/templates/{at}/steps/{step}/reading");
                problems.json(NAME, &pointer, "a reading beside a demand", "one of them in a step");
                right = false;
            }
        }
    }
    let procedure = Procedure { templates: read.templates.into_iter().map(template).collect() };
    let flaws = check(&procedure);
    right &= flaws.is_empty();
    flaws.iter().for_each(|flaw| report(flaw, problems));
    right.then(|| row(NAME, "swap".to_owned(), procedure, &value, "", problems))
}

fn report(flaw: &Flaw, problems: &mut Problems) {
    let mut pointer = "/templates".to_owned();
    for (level, at) in [("", flaw.template), ("/steps", flaw.step)] {
        if let Some(at) = at {
            pointer.push_str(&format!("{level}/{at}"));
        }
    }
    if !flaw.field.is_empty() {
        pointer.push_str(&format!("/{}", flaw.field));
    }
    problems.json(NAME, &pointer, &flaw.found, flaw.expected.clone());
}

/// Words are looked up that the schema found right.
fn template(read: TemplateJson) -> Template {
    fn list<T: Copy>(words: Option<Vec<String>>, known: &[(&str, T)]) -> Option<Vec<T>> {
        words.map(|words| words.iter().filter_map(|text| word(known, text)).collect())
    }
    let when = read.when;
    Template {
        name: read.name,
        when: When {
            base: when.base.map(|words| words.iter().filter_map(|text| base_kind(text)).collect()),
            occupied: when.occupied,
            redundancy: list(when.redundancy, REDUNDANCIES),
            hot_swap: when.hot_swap,
            bus: list(when.bus, BUSES),
            intrinsically_safe: when.intrinsically_safe,
            battery: when.battery,
            kind: list(when.kind, KINDS),
            firmware: when.firmware,
            keyed: when.keyed,
            loops: list(when.loops, WIRED),
        },
        steps: read.steps.into_iter().map(step).collect(),
    }
}

fn step(read: StepJson) -> StepTemplate {
    let asks = match (read.reading, read.demand.as_deref()) {
        (Some(ReadingJson { unit, low, high }), _) => {
            Some(Asked::Reading(Limits { unit, low, high }))
        }
        (None, Some("scan_slot")) => Some(Asked::ScanSlot),
        (None, Some("scan_out")) => Some(Asked::ScanOut),
        (None, Some("scan_in")) => Some(Asked::ScanIn),
        (None, Some("photo")) => Some(Asked::Photo),
        (None, Some("second_person")) => Some(Asked::SecondPerson),
        (None, _) => None,
    };
    StepTemplate {
        act: Act::parse(&read.act).unwrap_or(Act::Other),
        text: read.text,
        detail: read.detail,
        asks,
        minutes: read.minutes,
    }
}

const REDUNDANCIES: &[(&str, Redundancy)] = &[
    ("single", Redundancy::Single),
    ("partner", Redundancy::Partner),
    ("partner_missing", Redundancy::PartnerMissing),
];

const BUSES: &[(&str, BusPosition)] =
    &[("none", BusPosition::Off), ("inner", BusPosition::Inner), ("end", BusPosition::End)];

const KINDS: &[(&str, Kind)] = &[
    ("module", Kind::Module),
    ("controller", Kind::Controller),
    ("power_supply", Kind::PowerSupply),
];

const WIRED: &[(&str, Wired)] = &[
    ("none", Wired::Nothing),
    ("loops", Wired::Loops),
    ("safety_function", Wired::SafetyFunction),
];
