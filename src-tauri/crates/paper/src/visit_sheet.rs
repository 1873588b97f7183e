//! The work sheet of one visit: what to take, and the labels to scan at each change.

use crate::flow::{Flow, PageSize, Running, Style, symbol_side_mm};
use crate::fonts::printable;
use crate::swap::ScanLabel;
use crate::visits::{LITHIUM, done_by};
use chrono::NaiveDate;
use slotkeep_domain::swap::CAUTIONS;

/// Everything that stands on the sheet of one visit.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitSheet {
    pub page: PageSize,
    /// Name of the site.
    pub site: String,
    pub printed_on: NaiveDate,
    pub on: NaiveDate,
    /// What is visited, such as `+K12, Filter bed 1`.
    pub scope: String,
    /// Work of the visit and whether it is made in a power-off, in one line.
    pub work: String,
    /// What to take along or order before, a line each.
    pub take: Vec<String>,
    pub changes: Vec<SheetChange>,
}

/// One battery to change.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetChange {
    /// Address of the controller's slot.
    pub slot_address: String,
    /// Battery that it takes and its last day, in one line.
    pub battery: String,
    /// Whether the controller must have power meanwhile, in one line.
    pub power: String,
    /// The controller's label.
    pub controller: ScanLabel,
    /// The lot's label; none where the battery has to be ordered first.
    pub lot: Option<ScanLabel>,
}

/// Makes the PDF of the work sheet of a visit, cautions first.
///
/// Characters that the built-in faces lack are printed as an empty square.
pub fn visit_sheet(sheet: &VisitSheet) -> Vec<u8> {
    let running = Running {
        title: format!("Battery visit {} {}", sheet.on, sheet.scope),
        head_left: format!("{} \u{2013} battery visit {}", sheet.site, sheet.on),
        head_right: format!("Printed {}", sheet.printed_on),
        foot_left: "Record each change in the register by scanning controller and lot.".to_owned(),
    };
    let mut flow = Flow::new(sheet.page, running);
    flow.lines(Style::TITLE, 0.0, &format!("{} \u{2013} {}", sheet.on, sheet.scope));
    flow.lines(Style::BODY, 0.0, &sheet.work);
    flow.gap(2.0);
    flow.notice("Lithium cells", &LITHIUM.map(str::to_owned));
    flow.notice("Before any work", &CAUTIONS.map(str::to_owned));
    flow.heading("Take along");
    for line in &sheet.take {
        flow.keep(Style::BODY.line_mm() + 1.2);
        flow.tick_box(0.0, -0.1);
        flow.lines(Style::BODY, 7.0, line);
        flow.gap(1.2);
    }
    flow.heading("Changes");
    for change in &sheet.changes {
        draw(&mut flow, change);
    }
    done_by(&mut flow);
    flow.finish()
}

/// One change, kept on one page: what it is, both labels, and what was found.
fn draw(flow: &mut Flow, change: &SheetChange) {
    let side_mm = symbol_side_mm(&change.controller.symbol);
    let line_mm = Style::BODY.line_mm();
    flow.keep(Style::STRONG.line_mm() + 2.0 * line_mm + side_mm + WRITING_MM + 3.0);
    let width_mm = flow.width_mm();
    flow.rule(0.0, -1.0, width_mm, 0.35);
    flow.lines(Style::STRONG, 0.0, &format!("{}: {}", change.slot_address, change.battery));
    flow.lines(Style::BODY, 0.0, &change.power);
    // Side by side with so much room between that a camera sees one at a time.
    label(flow, &change.controller, 0.0);
    match &change.lot {
        Some(lot) => label(flow, lot, width_mm / 2.0),
        None => {
            let down_mm = side_mm / 2.0 - Style::STRONG.line_mm();
            flow.put(Style::STRONG, width_mm / 2.0, down_mm, "None on the shelf: order first.");
        }
    }
    flow.gap(side_mm);
    found(flow);
    flow.gap(3.0);
}

fn label(flow: &mut Flow, label: &ScanLabel, x_mm: f64) {
    let side_mm = flow.symbol(&label.symbol, x_mm, 0.0);
    let text_mm = flow.width_mm() / 2.0 - side_mm - 2.0;
    let mut down_mm = side_mm / 2.0 - Style::STRONG.line_mm() - 1.0;
    for line in Style::BODY.wrap(text_mm, &label.title).iter().take(2) {
        flow.put(Style::BODY, x_mm + side_mm, down_mm, line);
        down_mm += Style::BODY.line_mm();
    }
    flow.put(Style::STRONG, x_mm + side_mm, down_mm, &printable(&label.human_line));
}

/// Boxes to tick where the phone stays outside: the register wants the same answers.
fn found(flow: &mut Flow) {
    let mut x_mm = 0.0;
    for text in ["Program saved", "Powered", "Old cell good", "weak", "spent"] {
        flow.tick_box(x_mm, 0.2);
        flow.put(Style::BODY, x_mm + 6.0, 0.2, text);
        x_mm += 10.0 + Style::BODY.face.width_mm(Style::BODY.size_pt, text);
    }
    flow.put(Style::BODY, x_mm, 0.2, "Voltage");
    let line_mm = x_mm + 2.0 + Style::BODY.face.width_mm(Style::BODY.size_pt, "Voltage");
    flow.rule(line_mm, Style::BODY.line_mm(), 18.0, 0.5);
    flow.put(Style::BODY, line_mm + 19.0, 0.2, "mV");
    flow.gap(WRITING_MM);
}

/// Height of the line that is ticked and written on by hand.
const WRITING_MM: f64 = 7.0;
