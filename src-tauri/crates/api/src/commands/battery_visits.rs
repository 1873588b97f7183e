//! The visits to make, on screens and on paper.

use super::{battery, find};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command, File};
use crate::wire::battery::{BatteryLine, TakeLine, VisitLine, VisitsInput};
use chrono::NaiveDate;
use slotkeep_domain::battery::{DueAt, visits};
use slotkeep_domain::register::View;
use slotkeep_domain::stock::Lot;
use slotkeep_paper::{BatteryChange, BatteryList, CabinetVisit, PageSize, battery_list};
use slotkeep_store::Reader;
use std::collections::BTreeMap;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask(
            "battery.visits",
            "Groups due batteries into visits, none after its due date.",
            plan,
        ),
        table::file("battery.work_list", "Prints the visits as a work list (PDF).", work_list),
    ]
}

pub(super) fn plan(ask: &Ask<'_>, input: VisitsInput) -> Result<Vec<VisitLine>, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let site = r.site().ok_or_else(find::empty)?;
        let horizon = today + chrono::Duration::days(i64::from(input.horizon_d.unwrap_or(730)));
        let lines = battery::list_for(r, ask.now, None)?;
        let due: Vec<DueAt<usize, String>> = lines
            .iter()
            .enumerate()
            .filter_map(|(id, line)| {
                let due_on = line.due_on.filter(|due| *due <= horizon)?;
                Some(DueAt { id, cabinet: line.cabinet.clone()?, due_on })
            })
            .collect();
        let mut shelf = Shelf::of(r)?;
        let titles: BTreeMap<String, String> =
            r.cabinets()?.into_iter().map(|c| (c.address.to_string(), c.title)).collect();
        let window = input.window_d.unwrap_or(site.visit_window_d);
        let planned = visits(&due, today, window);
        Ok(planned
            .into_iter()
            .map(|visit| {
                let batteries: Vec<BatteryLine> =
                    visit.ids.iter().map(|id| lines[*id].clone()).collect();
                VisitLine {
                    on: visit.on,
                    cabinet_title: titles.get(&visit.cabinet).cloned().unwrap_or_default(),
                    take: shelf.take(&batteries, visit.on),
                    cabinet: visit.cabinet,
                    batteries,
                }
            })
            .collect())
    })
}

/// Battery lots, from which visits take one after another.
struct Shelf {
    lots: Vec<Lot>,
}

impl Shelf {
    fn of(r: &Reader<'_>) -> Result<Self, Failure> {
        let mut lots = r.lots()?;
        // First expired, first out.
        lots.sort_by_key(|lot| (lot.shelf_until.unwrap_or(NaiveDate::MAX), lot.label));
        Ok(Self { lots })
    }

    fn take(&mut self, batteries: &[BatteryLine], on: NaiveDate) -> Vec<TakeLine> {
        batteries.iter().map(|line| self.take_one(line, on)).collect()
    }

    fn take_one(&mut self, line: &BatteryLine, on: NaiveDate) -> TakeLine {
        let fresh = self.lots.iter_mut().find_map(|lot| {
            if lot.model.as_str() != line.battery_model || lot.quarantined || lot.expired_on(on) {
                return None;
            }
            let bin = lot.pieces.iter().find(|(_, pieces)| **pieces >= line.cells)?.0.clone();
            Some((lot, bin))
        });
        let bare = TakeLine {
            battery_model: line.battery_model.clone(),
            cells: line.cells,
            lot: None,
            lot_code: None,
            bin: None,
            message: format!("no fresh {} will be on the shelf: order it", line.battery_model),
        };
        let Some((lot, bin)) = fresh else { return bare };
        if let Some(pieces) = lot.pieces.get_mut(&bin) {
            *pieces -= line.cells;
        }
        TakeLine {
            lot: Some(lot.label.to_string()),
            lot_code: Some(lot.code.clone()),
            message: format!("take {} of lot {} from {bin}", line.cells, lot.code),
            bin: Some(bin.to_string()),
            ..bare
        }
    }
}

pub(super) fn site_name(ask: &Ask<'_>) -> Result<String, Failure> {
    ask.read(|r| Ok(r.site().ok_or_else(find::empty)?.name))
}

fn work_list(ask: &Ask<'_>, input: VisitsInput) -> Result<File, Failure> {
    let visits = plan(ask, input)?.into_iter().map(|visit| {
        let changes = visit.batteries.iter().zip(&visit.take).map(|(line, take)| BatteryChange {
            slot_address: line.unit.place.clone(),
            controller: format!("{} {}", line.unit.model, line.unit.label_human),
            battery_model: line.battery_model.clone(),
            due_on: line.due_on.unwrap_or(visit.on),
            lot: match (&take.lot_code, &take.bin) {
                (Some(code), Some(bin)) => format!("{code} ({bin})"),
                _ => String::new(),
            },
        });
        CabinetVisit {
            changes: changes.collect(),
            cabinet: visit.cabinet.clone(),
            location: visit.cabinet_title.clone(),
            visit_on: visit.on,
        }
    });
    let list = BatteryList {
        page: PageSize::A4,
        site: site_name(ask)?,
        printed_on: ask.today(),
        visits: visits.collect(),
    };
    Ok(File {
        name: "battery-changes.pdf".to_owned(),
        content_type: "application/pdf",
        bytes: battery_list(&list),
    })
}
