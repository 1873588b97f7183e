//! The visits to make, on screens and on paper: those agreed on, or else a first proposal.

use super::battery_agreed::open_visits;
use super::battery_figures::Surroundings;
use super::battery_problem::Wish;
use super::{battery, battery_plan, find};
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command, File};
use crate::wire::battery::{BatteryLine, TakeLine, VisitLine, VisitsInput};
use chrono::{DateTime, NaiveDate, Utc};
use slotkeep_domain::battery::{DueAt, visits};
use slotkeep_domain::register::View;
use slotkeep_domain::stock::Lot;
use slotkeep_paper::{BatteryChange, BatteryList, CabinetVisit, PageSize, battery_list};
use slotkeep_store::Reader;
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask(
            "battery.visits",
            "Lists the agreed visits, and proposes some for what is due and not agreed.",
            plan,
        ),
        table::file("battery.work_list", "Prints the visits as a work list (PDF).", work_list),
    ]
}

/// A visit to one cabinet before lots are chosen for it.
struct Walk {
    on: NaiveDate,
    cabinet: String,
    agreed: bool,
    batteries: Vec<BatteryLine>,
}

pub(super) fn plan(ask: &Ask<'_>, input: VisitsInput) -> Result<Vec<VisitLine>, Failure> {
    let today = ask.today();
    ask.read(|r| {
        let horizon = today + chrono::Duration::days(i64::from(input.horizon_d.unwrap_or(730)));
        let lines = battery::list_for(r, ask.now, None, battery::Sums::LeftOut)?;
        let site = r.site().ok_or_else(find::empty)?;
        let window = input.window_d.unwrap_or(site.visit_window_d);
        let (mut walks, mut left) = agreed_walks(r, lines)?;
        let due = |line: &BatteryLine| line.due_on.is_some_and(|due_on| due_on <= horizon);
        if input.window_d.is_none() && left.iter().any(due) {
            let days = planned_days(r, ask.now, horizon)?;
            walks.extend(planned_walks(&mut left, &days));
        }
        // What the planner cannot serve in time is still to be changed.
        walks.extend(proposed_walks(left, today, horizon, window));
        walks.retain(|walk| walk.on <= horizon);
        walks.sort_by(|a, b| (a.on, &a.cabinet).cmp(&(b.on, &b.cabinet)));
        let mut shelf = Shelf::of(r)?;
        let titles: BTreeMap<String, String> =
            r.cabinets()?.into_iter().map(|c| (c.address.to_string(), c.title)).collect();
        let visits = walks.into_iter().map(|walk| VisitLine {
            on: walk.on,
            agreed: walk.agreed,
            cabinet_title: titles.get(&walk.cabinet).cloned().unwrap_or_default(),
            take: shelf.take(&walk.batteries, walk.on.max(today)),
            cabinet: walk.cabinet,
            batteries: walk.batteries,
        });
        Ok(visits.collect())
    })
}

/// The days on which a plan changes each battery, by the label of its unit.
fn planned_days(
    r: &Reader<'_>,
    now: DateTime<Utc>,
    until: NaiveDate,
) -> Result<BTreeMap<String, Vec<NaiveDate>>, Failure> {
    let surroundings = Surroundings::of(r)?;
    // At least as far as plans look here, so that the visits are those of the plan shown.
    let days = (until - now.date_naive()).num_days().clamp(0, 30 * 366);
    let horizon_y = (days as u32).div_ceil(366).max(surroundings.site.battery_rules.horizon_y);
    let wish = Wish { horizon_y: Some(horizon_y), group_by: None, anew: false };
    let (asked, planned, _) = battery_plan::planned(r, &surroundings, &wish, now)?;
    let mut days: BTreeMap<String, Vec<NaiveDate>> = BTreeMap::new();
    for visit in planned.visits {
        for change in visit.changes {
            let label = asked.known[change.battery].unit.label.to_string();
            days.entry(label).or_default().push(visit.on);
        }
    }
    Ok(days)
}

/// Walks on the days planned, for the batteries that have some; these are taken off the list.
fn planned_walks(
    left: &mut Vec<BatteryLine>,
    days: &BTreeMap<String, Vec<NaiveDate>>,
) -> Vec<Walk> {
    let mut walks: BTreeMap<(NaiveDate, String), Vec<BatteryLine>> = BTreeMap::new();
    left.retain(|line| {
        let (Some(days), Some(cabinet)) = (days.get(&line.unit.label), &line.cabinet) else {
            return true;
        };
        for (round, on) in days.iter().enumerate() {
            let line = if round == 0 { line.clone() } else { later(line) };
            walks.entry((*on, cabinet.clone())).or_default().push(line);
        }
        false
    });
    let walks = walks.into_iter();
    walks.map(|((on, cabinet), batteries)| Walk { on, cabinet, agreed: false, batteries }).collect()
}

/// Batteries of a cabinet that are due within a window, none after its due date.
fn proposed_walks(
    lines: Vec<BatteryLine>,
    today: NaiveDate,
    horizon: NaiveDate,
    window_d: u32,
) -> Vec<Walk> {
    let due: Vec<DueAt<usize, String>> = lines
        .iter()
        .enumerate()
        .filter_map(|(id, line)| {
            let due_on = line.due_on.filter(|due| *due <= horizon)?;
            Some(DueAt { id, cabinet: line.cabinet.clone()?, due_on })
        })
        .collect();
    visits(&due, today, window_d)
        .into_iter()
        .map(|visit| Walk {
            on: visit.on,
            agreed: false,
            batteries: visit.ids.iter().map(|id| lines[*id].clone()).collect(),
            cabinet: visit.cabinet,
        })
        .collect()
}

/// What of the agreed plan is still to do, cabinet by cabinet, and the batteries for which nothing
/// was agreed in time, such as one whose lamp was seen since.
fn agreed_walks(
    r: &Reader<'_>,
    lines: Vec<BatteryLine>,
) -> Result<(Vec<Walk>, Vec<BatteryLine>), Failure> {
    let mut lines: BTreeMap<String, BatteryLine> =
        lines.into_iter().map(|line| (line.unit.label.clone(), line)).collect();
    let mut in_time: BTreeSet<String> = BTreeSet::new();
    // What was overdue when the plan was agreed is in time on the day agreed for it.
    let agreed_on = r.agreed_plan().map(|plan| plan.agreed_at.date_naive());
    let mut rounds: BTreeMap<String, u32> = BTreeMap::new();
    let mut walks: BTreeMap<(NaiveDate, String), Vec<BatteryLine>> = BTreeMap::new();
    for visit in open_visits(r)? {
        for label in &visit.units {
            let label = label.to_string();
            // A unit that left its slot since is no longer walked to.
            let Some(line) = lines.get(&label) else { continue };
            let Some(cabinet) = line.cabinet.clone() else { continue };
            let round = rounds.entry(label).or_default();
            *round += 1;
            let too_late = |due_on: NaiveDate| due_on < visit.on && Some(due_on) >= agreed_on;
            if *round == 1 && line.due_on.is_some_and(too_late) {
                continue;
            }
            in_time.insert(line.unit.label.clone());
            let line = if *round == 1 { line.clone() } else { later(line) };
            walks.entry((visit.on, cabinet)).or_default().push(line);
        }
    }
    lines.retain(|label, _| !in_time.contains(label));
    let walks = walks.into_iter().map(|((on, cabinet), batteries)| Walk {
        on,
        cabinet,
        agreed: true,
        batteries,
    });
    Ok((walks.collect(), lines.into_values().collect()))
}

/// The line of a battery that is not fitted yet: its due date is only known to the plan.
fn later(line: &BatteryLine) -> BatteryLine {
    BatteryLine {
        due_on: None,
        range: None,
        days_left: None,
        reason: "later_change".to_owned(),
        message: "the battery that follows the one in it now".to_owned(),
        hold_up_h: None,
        hold_up_middle_h: None,
        remaining_mah: None,
        urgency: "later".to_owned(),
        ..line.clone()
    }
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
