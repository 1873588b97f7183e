//! The page that a planner takes to the meeting about a power-off: which memories outlast it.

use crate::flow::{Flow, PageSize, Running, Style};
use crate::table::{Cell, Column};
use chrono::NaiveDate;
use slotkeep_domain::swap::CAUTIONS;

/// Everything that stands on the page.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadinessSheet {
    pub page: PageSize,
    /// Name of the site.
    pub site: String,
    pub printed_on: NaiveDate,
    /// What lies without power, such as `Area HP, High-pressure pumps`.
    pub scope: String,
    /// When and how long, in one line.
    pub times: String,
    /// Why; may be empty.
    pub reason: String,
    /// The answer in one sentence.
    pub verdict: String,
    /// The least margin first.
    pub memories: Vec<MemoryLine>,
    /// What to change before, the most urgent first.
    pub first: Vec<String>,
    /// How the figures were reckoned, in one sentence.
    pub basis: String,
}

/// One controller and whether its memory outlasts the power-off.
#[derive(Debug, Clone, PartialEq)]
pub struct MemoryLine {
    /// Address of the controller's slot.
    pub slot_address: String,
    /// Model and label of the controller.
    pub controller: String,
    /// How long it lasts, such as `312 h`; what is missing where that is unknown.
    pub lasts: String,
    /// What is left at the end, such as `+240 h`.
    pub margin: String,
    /// Chance of losing the memory, such as `0.3 %`.
    pub chance: String,
    pub survives: bool,
}

/// Makes the PDF of one page.
///
/// What does not fit is counted in a last line: lines come with the least margin first, so those
/// left out are the safest. Characters that the built-in faces lack are printed as an empty square.
pub fn readiness_sheet(sheet: &ReadinessSheet) -> Vec<u8> {
    let running = Running {
        title: format!("Power-off readiness {}", sheet.site),
        head_left: format!("{} \u{2013} readiness for a power-off", sheet.site),
        head_right: format!("Printed {}", sheet.printed_on),
        foot_left: "Reckoned from the register; whoever switches off decides.".to_owned(),
    };
    let mut flow = Flow::new(sheet.page, running);
    flow.lines(Style::TITLE, 0.0, "Which memories outlast the power-off");
    flow.gap(2.0);
    flow.lines(Style::HEADING, 0.0, &sheet.scope);
    flow.lines(Style::BODY, 0.0, &sheet.times);
    if !sheet.reason.is_empty() {
        flow.lines(Style::BODY, 0.0, &sheet.reason);
    }
    flow.gap(1.5);
    flow.lines(Style::STRONG, 0.0, &sheet.verdict);
    flow.gap(1.5);
    let codes = CAUTIONS.iter().filter(|caution| caution.starts_with("This program"));
    let before: Vec<_> = BEFORE.iter().chain(codes).map(|&line| line.to_owned()).collect();
    flow.notice("Before power goes", &before);
    first(&mut flow, &sheet.first);
    memories(&mut flow, sheet);
    flow.finish()
}

/// Lines of advice that the page has room for.
const MOST_FIRST: usize = 6;

fn first(flow: &mut Flow, advice: &[String]) {
    if advice.is_empty() {
        return;
    }
    flow.heading("Change first");
    for line in advice.iter().take(MOST_FIRST) {
        let cut = one_line(flow.width_mm() - 6.0, line);
        flow.tick_box(0.0, -0.1);
        flow.lines(Style::BODY, 7.0, &cut);
        flow.gap(1.2);
    }
    if advice.len() > MOST_FIRST {
        let more = format!("and {} more", advice.len() - MOST_FIRST);
        flow.lines(Style::BODY, 7.0, &more);
    }
}

fn memories(flow: &mut Flow, sheet: &ReadinessSheet) {
    let columns = [
        Column { head: "Slot", share: 0.13 },
        Column { head: "Controller", share: 0.31 },
        Column { head: "Outlasts it", share: 0.12 },
        Column { head: "Lasts", share: 0.12 },
        Column { head: "Left at the end", share: 0.16 },
        Column { head: "Chance of loss", share: 0.16 },
    ];
    flow.heading("Controllers, the least margin first");
    let basis_mm = basis_mm(flow, sheet) + 2.0 * Style::SMALL.line_mm();
    let widths_mm: Vec<f64> = columns.iter().map(|column| column.share * flow.width_mm()).collect();
    // Each cell is cut to one line, so that the height of a row is known.
    let room = (flow.left_mm() - basis_mm - HEAD_MM) / ROW_MM;
    let room = room.floor().max(1.0) as usize;
    let shown = if sheet.memories.len() > room { room - 1 } else { sheet.memories.len() };
    let rows: Vec<_> = sheet.memories[..shown].iter().map(|line| row(line, &widths_mm)).collect();
    flow.table(&columns, &rows);
    if shown < sheet.memories.len() {
        let left_out = &sheet.memories[shown..];
        let lost = left_out.iter().filter(|line| !line.survives).count();
        let text = match lost {
            0 => format!("{} more controllers outlast it with more left.", left_out.len()),
            _ => format!("{} more controllers, {lost} of which do not outlast it.", left_out.len()),
        };
        flow.lines(Style::SMALL, 0.0, &text);
    }
    flow.lines(Style::SMALL, 0.0, &sheet.basis);
}

fn basis_mm(flow: &Flow, sheet: &ReadinessSheet) -> f64 {
    Style::SMALL.wrap(flow.width_mm(), &sheet.basis).len() as f64 * Style::SMALL.line_mm()
}

fn row(line: &MemoryLine, widths_mm: &[f64]) -> Vec<Cell> {
    let survives = if line.survives { "yes" } else { "NO" };
    let texts = [
        line.slot_address.as_str(),
        &line.controller,
        survives,
        &line.lasts,
        &line.margin,
        &line.chance,
    ];
    let cells = texts.iter().zip(widths_mm).enumerate();
    cells
        .map(|(at, (text, width_mm))| {
            let text = one_line(width_mm - 4.0, text);
            match at {
                0 => Cell::Strong(text),
                _ if !line.survives => Cell::Strong(text),
                _ => Cell::Text(text),
            }
        })
        .collect()
}

/// The first line of a text, with three dots where more would follow.
fn one_line(width_mm: f64, text: &str) -> String {
    let mut lines = Style::STRONG.wrap(width_mm, text).into_iter();
    let first = lines.next().unwrap_or_default();
    if lines.next().is_none() {
        return first;
    }
    let shorter = Style::STRONG.wrap(width_mm - 3.0, text).into_iter().next().unwrap_or_default();
    format!("{shorter}\u{2026}")
}

/// Height of a row of one line and of the head, as the table draws them.
const ROW_MM: f64 = 7.5;
const HEAD_MM: f64 = 6.4;

/// What the trade does before a power-off; common practice, no source.
const BEFORE: [&str; 3] = [
    "Save the program of every controller named here and check the copies, also of those that outlast it.",
    "Change cells that do not outlast it while power is on, by people who may do so.",
    "Hours are a careful estimate, not a promise: come back before they are over.",
];
