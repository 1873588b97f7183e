//! The line-up of a cabinet, drawn to scale: every rail with all that stands on it.

use crate::flow::{Flow, PageSize, Running, Style};
use crate::fonts::{Face, printable};
use crate::table::{Cell, Column};
use chrono::NaiveDate;
use slotkeep_domain::swap::CAUTIONS;

/// Everything that stands on the line-up sheets of one cabinet.
#[derive(Debug, Clone, PartialEq)]
pub struct LineupSheet {
    pub page: PageSize,
    pub site: String,
    pub printed_on: NaiveDate,
    /// State of the register that is drawn, such as `4885 entries, 1a2b3c4d5e6f`.
    pub revision: String,
    /// Address and title.
    pub cabinet: String,
    /// From top to bottom.
    pub rails: Vec<DrawnRail>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct DrawnRail {
    /// Such as `+K12.2`.
    pub address: String,
    pub title: String,
    /// How its supply and its buses hang together with other rails, a sentence each.
    pub joins: Vec<String>,
    pub length_mm: f64,
    /// Left to right.
    pub items: Vec<DrawnItem>,
    /// What the rules find, the graver first, a sentence each.
    pub findings: Vec<String>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct DrawnItem {
    /// Left edge from the left end of the rail.
    pub x_mm: f64,
    pub width_mm: f64,
    pub look: Look,
    /// Number of a slot; empty for other things.
    pub number: String,
    /// Letters of its key; empty where it has none.
    pub key: String,
    /// What it is, in words.
    pub what: String,
    /// What stands there, by model and serial number.
    pub standing: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    Filled,
    Empty,
    Terminator,
    EndSupport,
    Blank,
    Base,
}

/// Makes the PDF of a line-up.
///
/// All rails have one scale, the largest of ISO 5455 (from memory) at which the longest of them
/// fits on the page. Characters that the built-in faces lack are printed as an empty square.
pub fn lineup_sheet(sheet: &LineupSheet) -> Vec<u8> {
    let running = Running {
        title: format!("Line-up {}", sheet.cabinet),
        head_left: format!("{} \u{2013} line-up of {}", sheet.site, sheet.cabinet),
        head_right: format!("printed on {}", sheet.printed_on),
        foot_left: format!("Register: {}", sheet.revision),
    };
    let mut flow = Flow::new(sheet.page, running);
    let longest_mm = sheet.rails.iter().map(|rail| rail.length_mm).fold(1.0, f64::max);
    let scale = scale(longest_mm, flow.width_mm());
    flow.lines(Style::TITLE, 0.0, &sheet.cabinet);
    flow.lines(
        Style::BODY,
        0.0,
        &format!(
            "Scale 1 : {scale}. Filled slots have a thick frame, empty ones a thin one with a \
             stroke; T terminator, E end support, B base without number; blanks are hatched."
        ),
    );
    flow.gap(1.5);
    let codes = CAUTIONS.iter().filter(|caution| caution.starts_with("This program"));
    let before = [
        "Compare with what stands in the cabinet before you rely on it.".to_owned(),
        "Permit, isolation and work on intrinsically safe circuits follow the rules of the site."
            .to_owned(),
    ];
    let notice: Vec<_> = before.into_iter().chain(codes.map(|&line| line.to_owned())).collect();
    flow.notice("Before work", &notice);
    for (at, rail) in sheet.rails.iter().enumerate() {
        if at > 0 {
            flow.new_page();
        }
        drawn(&mut flow, rail, f64::from(scale));
    }
    flow.finish()
}

/// Reductions of ISO 5455.
const SCALES: [u32; 6] = [1, 2, 5, 10, 20, 50];

fn scale(longest_mm: f64, width_mm: f64) -> u32 {
    let fits = |scale: &u32| longest_mm / f64::from(*scale) <= width_mm;
    SCALES.into_iter().find(fits).unwrap_or(100)
}

fn drawn(flow: &mut Flow, rail: &DrawnRail, scale: f64) {
    flow.heading(&format!("{} {}", rail.address, rail.title));
    if let Some(joins) = sentence(&rail.joins) {
        flow.lines(Style::BODY, 0.0, &printable(&joins));
        flow.gap(2.0);
    }
    flow.keep(DRAWING_MM + 3.0 * Style::BODY.line_mm());
    flow.fill(0.0, ITEM_MM * 0.36, (rail.length_mm / scale, 35.0 / scale), 0.7);
    for item in &rail.items {
        shape(flow, item, scale);
    }
    ruler(flow, rail.length_mm, scale);
    flow.gap(DRAWING_MM);
    let columns = [
        Column { head: "From", share: 0.09 },
        Column { head: "Width", share: 0.09 },
        Column { head: "Slot", share: 0.08 },
        Column { head: "Key", share: 0.08 },
        Column { head: "What it is", share: 0.33 },
        Column { head: "Standing there", share: 0.33 },
    ];
    let rows = rail.items.iter().map(|item| {
        vec![
            Cell::Text(mm(item.x_mm)),
            Cell::Text(mm(item.width_mm)),
            Cell::Strong(printable(&item.number)),
            Cell::Strong(printable(&item.key)),
            Cell::Text(printable(&item.what)),
            Cell::Text(printable(&item.standing)),
        ]
    });
    flow.table(&columns, &rows.collect::<Vec<_>>());
    if !rail.findings.is_empty() {
        flow.heading(&format!("What the rules find on {}", rail.address));
        for finding in &rail.findings {
            flow.lines(Style::BODY, 0.0, &printable(finding));
            flow.gap(0.8);
        }
    }
}

/// Clauses as one sentence; none where there are none.
pub(crate) fn sentence(clauses: &[String]) -> Option<String> {
    let text = clauses.join("; ");
    let mut letters = text.chars();
    let first = letters.next()?;
    Some(format!("{}{}.", first.to_uppercase(), letters.as_str()))
}

fn mm(value: f64) -> String {
    format!("{} mm", (value * 10.0).round() / 10.0)
}

fn shape(flow: &mut Flow, item: &DrawnItem, scale: f64) {
    let (x_mm, width_mm) = (item.x_mm / scale, item.width_mm / scale);
    let low = matches!(item.look, Look::Terminator | Look::EndSupport | Look::Blank);
    let (top_mm, height_mm) = if low { (ITEM_MM * 0.2, ITEM_MM * 0.6) } else { (0.0, ITEM_MM) };
    let (grey, line_mm) = match item.look {
        Look::Filled => (1.0, 0.5),
        Look::Empty | Look::Blank | Look::Base => (1.0, 0.15),
        Look::Terminator => (0.75, 0.3),
        Look::EndSupport => (0.85, 0.3),
    };
    flow.fill(x_mm, top_mm, (width_mm, height_mm), grey);
    if item.look == Look::Blank {
        let mut down_mm = top_mm + 1.0;
        while down_mm < top_mm + height_mm {
            flow.fill(x_mm, down_mm, (width_mm, 0.15), 0.0);
            down_mm += 1.5;
        }
    }
    if item.look == Look::Empty {
        flow.fill(x_mm, top_mm + height_mm - 4.0, (width_mm, 0.15), 0.0);
    }
    outline(flow, (x_mm, top_mm), (width_mm, height_mm), line_mm);
    let mark = match item.look {
        Look::Terminator => "T",
        Look::EndSupport => "E",
        Look::Base => "B",
        _ => &item.number,
    };
    middle(flow, NUMBER, x_mm, width_mm, top_mm + height_mm / 2.0 - 4.0, mark);
    middle(flow, KEY, x_mm, width_mm, top_mm + height_mm / 2.0, &item.key);
}

/// Writes a text in the middle of a width if it goes in.
fn middle(flow: &mut Flow, style: Style, x_mm: f64, width_mm: f64, down_mm: f64, text: &str) {
    let text = printable(text);
    let text_mm = style.face.width_mm(style.size_pt, &text);
    if text_mm <= width_mm {
        flow.put(style, x_mm + (width_mm - text_mm) / 2.0, down_mm, &text);
    }
}

fn outline(flow: &mut Flow, at: (f64, f64), size: (f64, f64), line_mm: f64) {
    let ((x, y), (width, height)) = (at, size);
    flow.fill(x, y, (width, line_mm), 0.0);
    flow.fill(x, y + height - line_mm, (width, line_mm), 0.0);
    flow.fill(x, y, (line_mm, height), 0.0);
    flow.fill(x + width - line_mm, y, (line_mm, height), 0.0);
}

/// Every 100 mm of the rail below it.
fn ruler(flow: &mut Flow, length_mm: f64, scale: f64) {
    let y_mm = ITEM_MM + 2.0;
    flow.fill(0.0, y_mm, (length_mm / scale, 0.2), 0.0);
    let marks = (length_mm / 100.0).floor() as u32;
    for at in (0..=marks).map(|mark| mark * 100) {
        let x_mm = f64::from(at) / scale;
        flow.fill(x_mm, y_mm, (0.2, 1.5), 0.0);
        flow.put(RULER, x_mm + 0.6, y_mm + 0.6, &at.to_string());
    }
}

const NUMBER: Style = Style { face: Face::Bold, size_pt: 7.5 };
const KEY: Style = Style { face: Face::Bold, size_pt: 6.5 };
const RULER: Style = Style { face: Face::Regular, size_pt: 6.5 };
/// Height of a module on paper. Heights are not recorded, so they are not to scale.
const ITEM_MM: f64 = 24.0;
const DRAWING_MM: f64 = ITEM_MM + 8.0;
