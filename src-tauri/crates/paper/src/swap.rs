//! The method statement of a swap: cautions, verdict, loops, steps with their checks, signatures.

use crate::Symbol;
use crate::flow::{Flow, PageSize, Running, StepText, Style, symbol_side_mm};
use crate::fonts::printable;
use crate::table::{Cell, Column};
use chrono::NaiveDate;
use slotkeep_domain::swap::CAUTIONS;
pub use slotkeep_domain::swap::Severity;

/// Everything that stands on the sheet of one swap.
#[derive(Debug, Clone, PartialEq)]
pub struct SwapSheet {
    pub page: PageSize,
    /// Name of the site.
    pub site: String,
    pub printed_on: NaiveDate,
    /// How the swap is found again in the register.
    pub reference: String,
    /// The state of the register that this was printed from, such as `entry 1208, 6ca85511`.
    pub revision: String,
    /// How long all steps will take, in words; may be empty.
    pub duration: String,
    /// Address of the slot.
    pub slot_address: String,
    /// What the slot is for and how its base is keyed, in one line; may be empty.
    pub slot_detail: String,
    /// The unit that comes out, in one line; empty when the slot is free.
    pub unit_out: String,
    /// The unit that goes in, in one line.
    pub unit_in: String,
    /// The verdict in one sentence.
    pub verdict: String,
    pub findings: Vec<SwapFinding>,
    pub loops: Vec<LoopEffect>,
    /// What happens to other units, in a sentence; empty where nothing does.
    pub others: String,
    pub steps: Vec<SwapStep>,
    /// Labels to scan from the sheet: slot, unit that comes out, unit that goes in.
    pub scan: Vec<ScanLabel>,
}

/// One thing that was compared.
#[derive(Debug, Clone, PartialEq)]
pub struct SwapFinding {
    pub severity: Severity,
    /// What was compared, in one sentence.
    pub text: String,
    /// What to do about it, or who overrode it and why; may be empty.
    pub answer: String,
}

/// What the swap does to one loop.
#[derive(Debug, Clone, PartialEq)]
pub struct LoopEffect {
    pub tag: String,
    pub channel: String,
    pub effect: String,
}

/// One thing to do and tick.
#[derive(Debug, Clone, PartialEq)]
pub struct SwapStep {
    pub text: String,
    /// Why, or what to look for; may be empty.
    pub detail: String,
    /// What must be scanned, read or seen, with room to fill it in; may be empty.
    pub check: String,
    /// How long it will take, in words; may be empty.
    pub duration: String,
}

/// A symbol to scan from the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct ScanLabel {
    /// What is scanned, such as `Slot +K12.2.07`.
    pub title: String,
    pub human_line: String,
    pub symbol: Symbol,
}

/// Makes the PDF of a swap, cautions first.
///
/// Characters that the built-in faces lack are printed as an empty square.
pub fn swap_sheet(sheet: &SwapSheet) -> Vec<u8> {
    let running = Running {
        title: format!("Method statement {}", sheet.slot_address),
        head_left: format!("{} \u{2013} swap at {}", sheet.site, sheet.slot_address),
        head_right: format!("Printed {}", sheet.printed_on),
        foot_left: format!("Register: {}. Swap: {}", sheet.revision, sheet.reference),
    };
    let mut flow = Flow::new(sheet.page, running);
    flow.lines(Style::TITLE, 0.0, &format!("Method statement {}", sheet.slot_address));
    flow.gap(2.0);
    let cautions: Vec<_> = CAUTIONS.iter().map(|&caution| caution.to_owned()).collect();
    flow.notice("Before any work", &cautions);
    particulars(&mut flow, sheet);
    verdict(&mut flow, sheet);
    loops(&mut flow, sheet);
    steps(&mut flow, sheet);
    flow.signatures(&["Technician", "Second person", "Control room"]);
    flow.finish()
}

fn steps(flow: &mut Flow, sheet: &SwapSheet) {
    flow.heading("Steps");
    let mut lead = "In this order; each is ticked with initials and time.".to_owned();
    if !sheet.duration.is_empty() {
        lead.push_str(&format!(" {}", sheet.duration));
    }
    flow.lines(Style::BODY, 0.0, &lead);
    flow.gap(2.0);
    for (index, step) in sheet.steps.iter().enumerate() {
        let aside = &step.duration;
        let text = StepText { text: &step.text, detail: &step.detail, check: &step.check, aside };
        flow.step(index + 1, &text);
    }
}

fn particulars(flow: &mut Flow, sheet: &SwapSheet) {
    let none = || "None, the slot is free.".to_owned();
    let unit_out = if sheet.unit_out.is_empty() { none() } else { sheet.unit_out.clone() };
    let mut slot = sheet.slot_address.clone();
    if !sheet.slot_detail.is_empty() {
        slot = format!("{slot} \u{2013} {}", sheet.slot_detail);
    }
    flow.heading("What is swapped");
    for (name, value) in [("Slot", &slot), ("Out", &unit_out), ("In", &sheet.unit_in)] {
        flow.keep(Style::BODY.line_mm());
        flow.put(Style::STRONG, 0.0, 0.0, name);
        flow.lines(Style::BODY, 16.0, value);
        flow.gap(0.8);
    }
    scan_row(flow, &sheet.scan);
}

pub(crate) fn scan_row(flow: &mut Flow, labels: &[ScanLabel]) {
    let Some(side_mm) = labels.iter().map(|label| symbol_side_mm(&label.symbol)).reduce(f64::max)
    else {
        return;
    };
    // Two symbols side by side need so much room that a camera sees one at a time.
    flow.gap(1.0);
    let cell_mm = flow.width_mm() / 2.0;
    for pair in labels.chunks(2) {
        flow.keep(side_mm);
        for (index, label) in pair.iter().enumerate() {
            let x_mm = index as f64 * cell_mm;
            let side_mm = flow.symbol(&label.symbol, x_mm, 0.0);
            let text_mm = cell_mm - side_mm - 2.0;
            let mut down_mm = side_mm / 2.0 - Style::STRONG.line_mm() - 1.0;
            for line in Style::BODY.wrap(text_mm, &label.title).iter().take(2) {
                flow.put(Style::BODY, x_mm + side_mm, down_mm, line);
                down_mm += Style::BODY.line_mm();
            }
            let human = printable(&label.human_line);
            flow.put(Style::STRONG, x_mm + side_mm, down_mm, &human);
        }
        flow.gap(side_mm);
    }
}

fn verdict(flow: &mut Flow, sheet: &SwapSheet) {
    flow.heading("Verdict");
    flow.lines(Style::STRONG, 0.0, &sheet.verdict);
    flow.gap(1.5);
    if sheet.findings.is_empty() {
        return;
    }
    let columns = [
        Column { head: "Severity", share: 0.13 },
        Column { head: "What was compared", share: 0.47 },
        Column { head: "What to do", share: 0.40 },
    ];
    let mut findings: Vec<_> = sheet.findings.iter().collect();
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    let rows: Vec<_> = findings
        .iter()
        .map(|finding| {
            vec![
                Cell::Strong(severity_word(finding.severity).to_owned()),
                Cell::Text(finding.text.clone()),
                Cell::Text(finding.answer.clone()),
            ]
        })
        .collect();
    flow.table(&columns, &rows);
}

fn severity_word(severity: Severity) -> &'static str {
    match severity {
        Severity::Pass => "In order",
        Severity::Note => "Note",
        Severity::Caution => "Caution",
        Severity::Stop => "STOP",
    }
}

fn loops(flow: &mut Flow, sheet: &SwapSheet) {
    flow.heading("Effects on running loops");
    if !sheet.others.is_empty() {
        flow.lines(Style::STRONG, 0.0, &sheet.others);
        flow.gap(1.5);
    }
    if sheet.loops.is_empty() {
        flow.lines(
            Style::BODY,
            0.0,
            "The register knows no loop on this slot. Confirm it with operations.",
        );
        return;
    }
    flow.lines(Style::BODY, 0.0, "Operations sign each loop before the unit is touched.");
    flow.gap(1.5);
    let columns = [
        Column { head: "Loop", share: 0.18 },
        Column { head: "Channel", share: 0.12 },
        Column { head: "Effect", share: 0.44 },
        Column { head: "Cleared by (sign)", share: 0.26 },
    ];
    let rows: Vec<_> = sheet
        .loops
        .iter()
        .map(|effect| {
            vec![
                Cell::Strong(effect.tag.clone()),
                Cell::Text(effect.channel.clone()),
                Cell::Text(effect.effect.clone()),
                Cell::Blank,
            ]
        })
        .collect();
    flow.table(&columns, &rows);
}
