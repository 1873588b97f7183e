//! The method statement of a swap, to carry along and to sign.

use super::{find, label_sheet, swap, swap_check, swap_effects};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command, File};
use crate::wire::place::LoopLine;
use crate::wire::swap::{FindingLine, OverrideInput, SwapSheetInput};
use crate::wire::swap_steps::StepLine;
use crate::wire::unit::UnitLine;
use slotkeep_domain::register::View;
use slotkeep_domain::swap::Situation;
use slotkeep_paper::{
    LoopEffect, PageSize, ScanLabel, Severity, SwapFinding, SwapSheet, SwapStep, swap_sheet,
};

pub(super) fn commands() -> Vec<Command> {
    vec![table::file("swap.sheet", "Prints the method statement of a swap (PDF).", sheet)]
}

/// What both a considered and a running swap have.
struct Printed {
    reference: String,
    slot: String,
    out: Option<UnitLine>,
    into: Option<UnitLine>,
    verdict: String,
    findings: Vec<FindingLine>,
    overrides: Vec<OverrideInput>,
    loops: Vec<LoopLine>,
    steps: Vec<StepLine>,
    expected_min: Option<f64>,
}

fn sheet(ask: &Ask<'_>, input: SwapSheetInput) -> Result<File, Failure> {
    let printed = match (input.swap, &input.slot, &input.unit) {
        (Some(id), _, _) => {
            let card = swap::shown(ask, &id)?;
            let verdict =
                format!("Swap begun on {} by {}", card.started_at.date_naive(), card.started_by);
            Printed {
                reference: id.to_string(),
                slot: card.slot,
                out: card.out,
                into: card.into,
                verdict,
                findings: card.findings,
                overrides: card.overrides,
                loops: card.loops,
                steps: card.steps,
                expected_min: card.expected_min,
            }
        }
        (None, Some(slot), Some(unit)) => {
            let today = ask.today();
            let check = ask.read(|r| {
                let (seat, spare) = swap_check::pair(r, slot, unit, today)?;
                swap_check::checked(r, &Situation { seat: &seat, spare: &spare })
            })?;
            Printed {
                reference: "not begun".to_owned(),
                slot: check.slot,
                out: check.out,
                into: Some(check.into),
                verdict: check.message,
                findings: check.findings,
                overrides: Vec::new(),
                loops: check.loops,
                steps: check.steps,
                expected_min: check.expected_min,
            }
        }
        _ => return Err(Failure::bad_input("name a swap, or a slot and a unit")),
    };
    let name = format!("method{}.pdf", printed.slot.replace(['+', '.'], "-"));
    let bytes = swap_sheet(&page(ask, printed)?);
    Ok(File { name, content_type: "application/pdf", bytes })
}

fn page(ask: &Ask<'_>, printed: Printed) -> Result<SwapSheet, Failure> {
    let (site, slot, others, revision) = ask.read(|r| {
        let site = r.site().ok_or_else(find::empty)?;
        let slot = find::slot(r, &printed.slot)?;
        let others = swap_effects::on_others(r, &slot)?;
        Ok((site.name, slot, others, find::revision(r)?))
    })?;
    let line = |unit: &UnitLine| {
        format!("{} {}, serial {}, {}", unit.model, unit.model_title, unit.serial, unit.label_human)
    };
    let key = slot.key.as_ref().map_or("no key".to_owned(), |key| format!("keyed {key}"));
    let mut scan = vec![ScanLabel {
        title: format!("Slot {}", slot.address),
        human_line: slot.label.human(),
        symbol: label_sheet::printed(slot.label.as_str())?,
    }];
    let units = [("Comes out", &printed.out), ("Goes in", &printed.into)];
    for (what, unit) in units.into_iter().filter_map(|(what, unit)| Some((what, unit.as_ref()?))) {
        scan.push(ScanLabel {
            title: format!("{what}: {}", unit.model),
            human_line: unit.label_human.clone(),
            symbol: label_sheet::printed(&unit.label)?,
        });
    }
    Ok(SwapSheet {
        page: PageSize::A4,
        site,
        printed_on: ask.today(),
        reference: printed.reference,
        revision,
        duration: match printed.expected_min {
            Some(minutes) => format!("All steps take about {}.", minutes_said(minutes)),
            None => String::new(),
        },
        slot_address: slot.address.to_string(),
        slot_detail: format!("{}, {key}", slot.title),
        unit_out: printed.out.as_ref().map(line).unwrap_or_default(),
        unit_in: printed.into.as_ref().map(line).unwrap_or_default(),
        verdict: printed.verdict,
        findings: printed.findings.iter().map(|f| finding(f, &printed.overrides)).collect(),
        loops: printed
            .loops
            .iter()
            .map(|wired| LoopEffect {
                tag: wired.tag.clone(),
                channel: wired.channel.to_string(),
                effect: effect(wired),
            })
            .collect(),
        others,
        steps: printed
            .steps
            .into_iter()
            .map(|step| SwapStep {
                check: asked(&step),
                duration: step.expected_min.map(minutes_said).unwrap_or_default(),
                text: step.text,
                detail: step.detail,
            })
            .collect(),
        scan,
    })
}

/// What is asked at a step, with room to write; what was given where it was ticked.
fn asked(step: &StepLine) -> String {
    const ROOM: &str = "______________";
    let mut said = Vec::new();
    if let Some(label) = &step.scan_label {
        said.push(format!("Label: {label}"));
    }
    if let Some(limits) = &step.reading {
        let read = step.read.map_or(ROOM.to_owned(), |read| read.to_string());
        let (low, high, unit) = (limits.low, limits.high, &limits.unit);
        said.push(format!("Reading: {read} {unit} ({low} to {high} {unit})"));
    }
    if step.photo {
        let taken = step.photo_taken.as_ref().map_or(ROOM, |photo| &photo[..12]);
        said.push(format!("Photo: {taken}"));
    }
    if step.second_person {
        said.push(format!("Second person: {}", step.second.as_deref().unwrap_or(ROOM)));
    }
    if let (Some(at), Some(by)) = (step.ticked_at, &step.ticked_by) {
        said.push(format!("Done {} UTC by {by}", at.format("%Y-%m-%d %H:%M")));
    }
    said.join("   ")
}

fn minutes_said(minutes: f64) -> String {
    match minutes.round() {
        minutes if minutes < 1.0 => "1 min".to_owned(),
        minutes if minutes < 100.0 => format!("{minutes} min"),
        minutes => format!("{} h {} min", (minutes / 60.0).floor(), minutes % 60.0),
    }
}

fn finding(finding: &FindingLine, overrides: &[OverrideInput]) -> SwapFinding {
    let taken = overrides.iter().find(|taken| taken.rule == finding.rule);
    SwapFinding {
        severity: Severity::parse(&finding.severity).unwrap_or(Severity::Stop),
        text: finding.compared.clone(),
        answer: match taken {
            Some(taken) => format!("Taken on by {}: {}", taken.person, taken.reason),
            None => finding.to_do.clone(),
        },
    }
}

fn effect(wired: &LoopLine) -> String {
    let mut text = format!("{}. ", wired.service);
    match &wired.on_loss {
        Some(effect) => text.push_str(&format!("When the signal goes: {effect}.")),
        None => text.push_str("What happens when the signal goes is not recorded: ask operations."),
    }
    if wired.safety_function {
        text.push_str(" Part of a safety function.");
    }
    text
}
