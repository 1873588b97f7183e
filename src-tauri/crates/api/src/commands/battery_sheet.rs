//! The work sheet of one visit of the plan.

use super::battery_visits::site_name;
use super::{battery_plan, find, label_sheet};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command, File};
use crate::wire::battery_plan::{PlanInput, PlannedChange, PlannedVisit, WorkSheetInput};
use slotkeep_domain::counted;
use slotkeep_domain::stock::Lot;
use slotkeep_paper::{PageSize, ScanLabel, SheetChange, VisitSheet, visit_sheet};
use std::collections::BTreeMap;

pub(super) fn commands() -> Vec<Command> {
    vec![table::file(
        "battery.work_sheet",
        "Prints the work sheet of one visit, with the labels to scan (PDF).",
        sheet,
    )]
}

fn sheet(ask: &Ask<'_>, input: WorkSheetInput) -> Result<File, Failure> {
    let WorkSheetInput { on, scope, horizon_y, group_by, anew } = input;
    let plan = battery_plan::visits(ask, PlanInput { horizon_y, group_by, anew })?;
    let visit = plan.visits.into_iter().find(|visit| visit.on == on && visit.scope == scope);
    let Some(visit) = visit else {
        return Err(Failure::not_found(format!(
            "the plan has no visit to {scope} on {on}: look at the plan again, it may have changed"
        )));
    };
    let lots = lots_of(ask, &visit)?;
    let changes = visit.changes.iter().map(|change| line(change, &lots));
    let page = VisitSheet {
        page: PageSize::A4,
        site: site_name(ask)?,
        printed_on: ask.today(),
        on,
        scope: format!("{scope}, {}", visit.scope_title),
        work: work(&visit),
        take: take(&visit, &lots),
        changes: changes.collect::<Result<_, _>>()?,
    };
    Ok(File {
        name: format!("batteries-{on}-{}.pdf", scope.trim_start_matches('+')),
        content_type: "application/pdf",
        bytes: visit_sheet(&page),
    })
}

/// The lots that a visit takes from, by label.
fn lots_of(ask: &Ask<'_>, visit: &PlannedVisit) -> Result<BTreeMap<String, Lot>, Failure> {
    ask.read(|r| {
        let labels = visit.changes.iter().filter_map(|change| change.lot.as_ref());
        labels.map(|label| Ok((label.clone(), find::lot(r, label)?))).collect()
    })
}

fn work(visit: &PlannedVisit) -> String {
    let batteries = match visit.changes.len() {
        1 => "1 battery".to_owned(),
        count => format!("{count} batteries"),
    };
    let power = if visit.power_off.is_some() { ", in the planned power-off" } else { "" };
    let agreed = if visit.agreed { "agreed" } else { "proposed, not agreed yet" };
    format!("{batteries}, about {} min{power}; {agreed}", visit.minutes)
}

/// Each lot once with all its cells, and what has to be ordered.
fn take(visit: &PlannedVisit, lots: &BTreeMap<String, Lot>) -> Vec<String> {
    let mut cells: BTreeMap<(String, String), u32> = BTreeMap::new();
    for change in &visit.changes {
        let from = match (change.lot.as_ref().and_then(|label| lots.get(label)), change.order_by) {
            (Some(lot), _) => format!("of lot {} from {}", lot.code, bins(lot)),
            (None, Some(day)) => format!("to be ordered by {day}"),
            (None, None) => "from new stock".to_owned(),
        };
        *cells.entry((change.battery_model.clone(), from)).or_default() += change.cells;
    }
    let said = |((model, from), cells)| format!("{} {model} {from}", counted(cells, "cell"));
    cells.into_iter().map(said).collect()
}

fn line(change: &PlannedChange, lots: &BTreeMap<String, Lot>) -> Result<SheetChange, Failure> {
    let lot = change.lot.as_ref().and_then(|label| lots.get(label));
    let lot = lot.map(|lot| {
        Ok::<_, Failure>(ScanLabel {
            title: format!("Then the lot: {}", lot.code),
            human_line: lot.label.human(),
            symbol: label_sheet::printed(lot.label.as_str())?,
        })
    });
    let power = match change.change_with.as_str() {
        "powered" => "With the controller powered.",
        "unpowered" => "While the cabinet is without power.",
        _ => "Powered, or within the ride-through of the controller's capacitor.",
    };
    Ok(SheetChange {
        slot_address: change.slot.clone(),
        battery: format!(
            "{} {}, by {} at the latest",
            counted(change.cells, "cell"),
            change.battery_model,
            change.due_on
        ),
        power: power.to_owned(),
        controller: ScanLabel {
            title: format!("First the controller: {}", change.model),
            human_line: change.unit_human.clone(),
            symbol: label_sheet::printed(&change.unit)?,
        },
        lot: lot.transpose()?,
    })
}

fn bins(lot: &Lot) -> String {
    let bins = lot.pieces.iter().filter(|(_, pieces)| **pieces > 0);
    bins.map(|(bin, _)| bin.to_string()).collect::<Vec<_>>().join(", ")
}
