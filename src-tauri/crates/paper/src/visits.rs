//! The list of battery changes, cabinet by cabinet.

use crate::flow::{Flow, PageSize, Running, Style};
use crate::table::{Cell, Column};
use chrono::NaiveDate;
use slotkeep_domain::swap::CAUTIONS;

/// Everything that stands on a list of battery changes.
#[derive(Debug, Clone, PartialEq)]
pub struct BatteryList {
    pub page: PageSize,
    /// Name of the site.
    pub site: String,
    pub printed_on: NaiveDate,
    /// In the order in which the cabinets are visited.
    pub visits: Vec<CabinetVisit>,
}

/// One visit to one cabinet.
#[derive(Debug, Clone, PartialEq)]
pub struct CabinetVisit {
    /// Address of the cabinet, such as `+K12`.
    pub cabinet: String,
    /// Where it stands; may be empty.
    pub location: String,
    pub visit_on: NaiveDate,
    pub changes: Vec<BatteryChange>,
}

/// One battery to change.
#[derive(Debug, Clone, PartialEq)]
pub struct BatteryChange {
    /// Address of the controller's slot.
    pub slot_address: String,
    /// Model and label of the controller.
    pub controller: String,
    /// Model of the cell.
    pub battery_model: String,
    pub due_on: NaiveDate,
    /// Lot to take and where it lies; empty when none is on the shelf.
    pub lot: String,
}

/// Makes the PDF of a list of battery changes, cautions first.
///
/// Characters that the built-in faces lack are printed as an empty square.
pub fn battery_list(list: &BatteryList) -> Vec<u8> {
    let running = Running {
        title: format!("Battery changes {}", list.site),
        head_left: format!("{} \u{2013} battery changes", list.site),
        head_right: format!("Printed {}", list.printed_on),
        foot_left: "Record each change in the register by scanning controller and lot.".to_owned(),
    };
    let mut flow = Flow::new(list.page, running);
    flow.lines(Style::TITLE, 0.0, "Battery changes");
    flow.gap(2.0);
    flow.notice("Lithium cells", &LITHIUM.map(str::to_owned));
    flow.notice("Before any work", &CAUTIONS.map(str::to_owned));
    let count: usize = list.visits.iter().map(|visit| visit.changes.len()).sum();
    flow.lines(Style::BODY, 0.0, &summary(count, list.visits.len()));
    for visit in &list.visits {
        cabinet(&mut flow, visit);
    }
    done_by(&mut flow);
    flow.finish()
}

fn summary(batteries: usize, cabinets: usize) -> String {
    match (batteries, cabinets) {
        (0, _) => "No battery has to be changed.".to_owned(),
        (1, _) => "1 battery in 1 visit.".to_owned(),
        (_, 1) => format!("{batteries} batteries in 1 visit."),
        _ => format!("{batteries} batteries in {cabinets} visits."),
    }
}

fn cabinet(flow: &mut Flow, visit: &CabinetVisit) {
    let columns = [
        Column { head: "Done", share: 0.07 },
        Column { head: "Slot", share: 0.15 },
        Column { head: "Controller", share: 0.25 },
        Column { head: "Battery", share: 0.17 },
        Column { head: "Due", share: 0.13 },
        Column { head: "Lot to take", share: 0.23 },
    ];
    let mut heading = format!("{} on {}", visit.cabinet, visit.visit_on);
    if !visit.location.is_empty() {
        heading = format!("{heading} \u{2013} {}", visit.location);
    }
    flow.heading(&heading);
    let rows: Vec<_> = visit
        .changes
        .iter()
        .map(|change| {
            let lot = if change.lot.is_empty() {
                Cell::Strong("None on the shelf: order first.".to_owned())
            } else {
                Cell::Text(change.lot.clone())
            };
            let late = change.due_on < visit.visit_on;
            let due = change.due_on.to_string();
            vec![
                Cell::Tick,
                Cell::Strong(change.slot_address.clone()),
                Cell::Text(change.controller.clone()),
                Cell::Text(change.battery_model.clone()),
                if late { Cell::Strong(format!("{due} overdue")) } else { Cell::Text(due) },
                lot,
            ]
        })
        .collect();
    flow.table(&columns, &rows);
}

pub(crate) fn done_by(flow: &mut Flow) {
    let columns = [
        Column { head: "Done by (name)", share: 0.40 },
        Column { head: "Date", share: 0.22 },
        Column { head: "Signature", share: 0.38 },
    ];
    flow.keep(30.0);
    flow.gap(3.0);
    flow.table(&columns, &[vec![Cell::Blank, Cell::Blank, Cell::Blank]]);
}

/// What the trade knows about these cells; common practice, no source, but for the transport
/// test, which is UN Manual of Tests and Criteria, 38.3.
pub(crate) const LITHIUM: [&str; 5] = [
    "No short circuit, no heat, no recharging. Keep cells in their packing until they are fitted.",
    "Save the program and check the copy before you open the battery holder.",
    "Change the cell with the controller powered, or within the ride-through time that its maker states; otherwise the memory is lost.",
    "Insulate the terminals of old cells at once. They are dangerous goods for transport (UN 38.3) and special waste.",
    "Do not fit a cell past its shelf date or from an open packing.",
];
