//! Rows of swaps and of the templates that their steps come from.

use super::{stored, text};
use chrono::{DateTime, Utc};
use slotkeep_domain::journal::Override;
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::model::BaseKind;
use slotkeep_domain::photo::PhotoHash;
use slotkeep_domain::place::{BusPosition, SlotAddress};
use slotkeep_domain::swap::procedure::{
    Act, Asked, Kind, Procedure, Redundancy, StepTemplate, Template, When, Wired,
};
use slotkeep_domain::swap::{
    Demand, Finding, Limits, Plan, RuleOf, Severity, Step, Swap, SwapState, Tick,
};
use uuid::Uuid;

stored! {
    Finding as FindingRow {
        rule: RuleOf, severity: Severity,
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        unknown: bool,
        compared: String, to_do: String,
    }
    Step as StepRow {
        text: String, detail: String, demand: Option<Demand>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        name: Option<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        act: Option<Act>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        minutes: Option<f64>,
    }
    When as WhenRow {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        base: Option<Vec<BaseKind>>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        occupied: Option<bool>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        redundancy: Option<Vec<Redundancy>>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        hot_swap: Option<bool>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        bus: Option<Vec<BusPosition>>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        intrinsically_safe: Option<bool>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        battery: Option<bool>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        kind: Option<Vec<Kind>>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        firmware: Option<bool>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        keyed: Option<bool>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        loops: Option<Vec<Wired>>,
    }
    StepTemplate as StepTemplateRow {
        act: Act, text: String, detail: String, asks: Option<Asked>, minutes: f64,
    }
    Template as TemplateRow { name: String, when: When, steps: Vec<StepTemplate> }
    Procedure as ProcedureRow { templates: Vec<Template> }
    Plan as PlanRow { findings: Vec<Finding>, steps: Vec<Step> }
    Override as OverrideRow { rule: String, person: String, reason: String }
    Tick as TickRow {
        at: DateTime<Utc>, person: String, scanned: Option<LabelCode>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reading: Option<f64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        photo: Option<PhotoHash>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        second: Option<String>,
    }
    Swap as SwapRow {
        id: Uuid, slot: SlotAddress, out: Option<LabelCode>, into: LabelCode,
        started_at: DateTime<Utc>, started_by: String, plan: Plan, overrides: Vec<Override>,
        ticks: Vec<Tick>, state: SwapState,
    }
}

text! {
    Demand, "demand of a step", write_demand, read_demand;
    Asked, "demand of a template", write_asked, read_asked;
    SwapState, "state of a swap", write_state, read_state;
}

fn write_demand(demand: &Demand) -> String {
    match demand {
        Demand::Slot(label) => format!("slot:{}", label.as_str()),
        Demand::Unit(label) => format!("unit:{}", label.as_str()),
        Demand::Reading(limits) => format!("reading:{}", write_limits(limits)),
        Demand::Photo => "photo".to_owned(),
        Demand::SecondPerson => "second_person".to_owned(),
    }
}

fn write_limits(limits: &Limits) -> String {
    format!("{} {} {}", limits.low, limits.high, limits.unit)
}

fn read_limits(text: &str) -> Option<Limits> {
    let (low, rest) = text.split_once(' ')?;
    let (high, unit) = rest.split_once(' ')?;
    Some(Limits { low: low.parse().ok()?, high: high.parse().ok()?, unit: unit.to_owned() })
}

fn write_asked(asked: &Asked) -> String {
    match asked {
        Asked::ScanSlot => "scan_slot".to_owned(),
        Asked::ScanOut => "scan_out".to_owned(),
        Asked::ScanIn => "scan_in".to_owned(),
        Asked::Reading(limits) => format!("reading:{}", write_limits(limits)),
        Asked::Photo => "photo".to_owned(),
        Asked::SecondPerson => "second_person".to_owned(),
    }
}

fn read_asked(text: &str) -> Result<Asked, String> {
    let limits = text.strip_prefix("reading:").and_then(read_limits);
    match (text, limits) {
        (_, Some(limits)) => Ok(Asked::Reading(limits)),
        ("scan_slot", _) => Ok(Asked::ScanSlot),
        ("scan_out", _) => Ok(Asked::ScanOut),
        ("scan_in", _) => Ok(Asked::ScanIn),
        ("photo", _) => Ok(Asked::Photo),
        ("second_person", _) => Ok(Asked::SecondPerson),
        _ => Err(text.to_owned()),
    }
}

fn read_demand(text: &str) -> Result<Demand, String> {
    match text {
        "photo" => return Ok(Demand::Photo),
        "second_person" => return Ok(Demand::SecondPerson),
        _ => {}
    }
    let (kind, label) = text.split_once(':').ok_or_else(|| text.to_owned())?;
    if kind == "reading" {
        return read_limits(label).map(Demand::Reading).ok_or_else(|| text.to_owned());
    }
    let label = LabelCode::parse(label).map_err(|refusal| refusal.to_string())?;
    match kind {
        "slot" => Ok(Demand::Slot(label)),
        "unit" => Ok(Demand::Unit(label)),
        _ => Err(text.to_owned()),
    }
}

fn write_state(state: &SwapState) -> String {
    match state {
        SwapState::Open => "open".to_owned(),
        SwapState::Finished => "finished".to_owned(),
        SwapState::Abandoned(left) => format!("abandoned:{left}"),
    }
}

fn read_state(text: &str) -> Result<SwapState, String> {
    match text.split_once(':') {
        None if text == "open" => Ok(SwapState::Open),
        None if text == "finished" => Ok(SwapState::Finished),
        Some(("abandoned", left)) => Ok(SwapState::Abandoned(left.to_owned())),
        _ => Err(text.to_owned()),
    }
}
