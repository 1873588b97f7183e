//! Which memories outlast a power-off, on screens and on the page for the meeting.

use super::battery_agreed::open_visits;
use super::battery_figures::{Known, Surroundings};
use super::battery_power::hours;
use super::find;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command, File};
use crate::wire::battery_readiness::{MemoryLine, ReadinessInput, ReadinessReply};
use chrono::{DateTime, NaiveDate, Utc};
use slotkeep_domain::battery::{Off, Readiness, readiness, what_first};
use slotkeep_domain::journal::{PowerOff, PowerScope};
use slotkeep_domain::register::View;
use slotkeep_paper::{PageSize, ReadinessSheet, readiness_sheet};
use slotkeep_store::Reader;
use std::collections::BTreeMap;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask(
            "battery.readiness",
            "Says which memories outlast a power-off, and what to change first.",
            reply,
        ),
        table::file(
            "battery.readiness_sheet",
            "Prints on one page which memories outlast a power-off (PDF).",
            sheet,
        ),
    ]
}

fn reply(ask: &Ask<'_>, input: ReadinessInput) -> Result<ReadinessReply, Failure> {
    ask.read(|r| {
        let off = asked(r, &input, ask.now)?;
        let surroundings = Surroundings::of(r)?;
        let (mut known, mut unknown) = surroundings.batteries(r, ask.now)?;
        known.retain(|one| off.scope.covers(&one.cabinet.address, &one.cabinet.area));
        let place_in_scope = |place: &str| {
            let slot = slotkeep_domain::place::SlotAddress::parse(place).ok();
            let cabinet = slot.and_then(|slot| r.cabinet(&slot.cabinet()));
            cabinet.is_some_and(|c| off.scope.covers(&c.address, &c.area))
        };
        unknown.retain(|line| place_in_scope(&line.place));
        let changed = changed_before(r, off.from.date_naive())?;
        let spent_chance = surroundings.site.battery_rules.spent_chance;
        let stretch = Off { from: off.from, to: off.to };
        let found: Vec<Readiness> = known
            .iter()
            .map(|one| readiness(&one.figures.battery(), &stretch, spent_chance))
            .collect();
        let order = what_first(&found);
        let mut memories = Vec::with_capacity(known.len());
        for (one, ready) in known.iter().zip(&found) {
            memories.push(line(one, ready, &changed));
        }
        let first = order.iter().map(|at| &memories[*at]).filter(|line| !line.survives);
        let first: Vec<String> = first.map(|line| line.unit.clone()).collect();
        memories.sort_by(|a, b| {
            let least = |line: &MemoryLine| line.margin_h.unwrap_or(f64::INFINITY);
            least(a)
                .total_cmp(&least(b))
                .then(b.loss_chance.total_cmp(&a.loss_chance))
                .then_with(|| a.slot.cmp(&b.slot))
        });
        let lost = memories.iter().filter(|line| !line.survives).count();
        let in_time =
            memories.iter().filter(|line| !line.survives && line.agreed_on.is_some()).count();
        let message = message(memories.len(), lost, in_time, unknown.len());
        let expected: f64 = found.iter().map(|ready| ready.loss_chance).sum();
        Ok(ReadinessReply {
            planned: input.planned,
            scope: off.scope.to_string(),
            scope_title: title(r, &off.scope)?,
            from: off.from,
            to: off.to,
            hours: hours(off.from, off.to),
            reason: off.reason,
            spent_chance,
            survive: (memories.len() - lost) as u32,
            lost: lost as u32,
            expected_losses: expected,
            memories,
            first,
            unknown,
            message,
        })
    })
}

/// The power-off that is asked about: a planned one, or any that might be planned.
fn asked(r: &Reader<'_>, input: &ReadinessInput, now: DateTime<Utc>) -> Result<PowerOff, Failure> {
    if let Some(planned) = &input.planned {
        let found = r.planned_off(planned).ok_or_else(|| {
            Failure::not_found(format!(
                "no power-off was planned by entry {planned}: choose one from the list"
            ))
        })?;
        return Ok(found.off);
    }
    let (Some(scope), Some(from), Some(to)) = (input.scope.as_deref(), input.from, input.to) else {
        return Err(Failure::bad_input(
            "say which planned power-off is meant, or give scope, from and to",
        ));
    };
    if to <= from {
        return Err(Failure::bad_input(format!(
            "the power-off of {scope} ends before it starts: correct the two times"
        )));
    }
    if to <= now {
        return Err(Failure::bad_input(format!(
            "the power-off of {scope} is over: record it, or ask about one that is to come"
        )));
    }
    let scope = find::scope(r, scope)?;
    let there = match &scope {
        PowerScope::Site => true,
        PowerScope::Area(code) => r.area(code).is_some(),
        PowerScope::Cabinet(address) => r.cabinet(address).is_some(),
    };
    if !there {
        return Err(Failure::not_found(format!(
            "{scope} is not in the register: write site, an area code, or a cabinet address"
        )));
    }
    Ok(PowerOff { scope, from, to, reason: String::new() })
}

/// Days of agreed visits before a day, by unit.
fn changed_before(r: &Reader<'_>, day: NaiveDate) -> Result<BTreeMap<String, NaiveDate>, Failure> {
    let mut changed = BTreeMap::new();
    for visit in open_visits(r)?.into_iter().filter(|visit| visit.on < day) {
        for label in &visit.units {
            changed.entry(label.to_string()).or_insert(visit.on);
        }
    }
    Ok(changed)
}

fn line(known: &Known, ready: &Readiness, changed: &BTreeMap<String, NaiveDate>) -> MemoryLine {
    let finite = |hours: f64| hours.is_finite().then_some(hours);
    let unit = known.unit.label.to_string();
    let agreed_on = changed.get(&unit).copied();
    let message = match (ready.survives, agreed_on) {
        (true, _) if !ready.margin_h.is_finite() => "it draws nothing without power".to_owned(),
        (true, _) => format!("it outlasts it with {:.0} h to spare", ready.margin_h),
        (false, Some(on)) => format!(
            "the battery in it now falls {:.0} h short; the agreed plan changes it on {on}",
            -ready.margin_h
        ),
        (false, None) => format!(
            "it falls {:.0} h short: change the battery before, or save the program and load it \
             again",
            -ready.margin_h
        ),
    };
    MemoryLine {
        unit_human: known.unit.label.human(),
        slot: known.unit.place.to_string(),
        model: known.unit.model.to_string(),
        battery_model: known.need.model.to_string(),
        change_with: super::battery_figures::change_with(&known.need).to_owned(),
        lasts_h: finite(ready.early_hold_up_h),
        lasts_middle_h: finite(ready.hold_up_h),
        margin_h: finite(ready.margin_h),
        loss_chance: ready.loss_chance,
        survives: ready.survives,
        agreed_on,
        message,
        unit,
    }
}

fn message(count: usize, lost: usize, in_time: usize, unknown: usize) -> String {
    let mut text = match (count, lost) {
        (0, _) => "no memory that is kept by a battery lies without power".to_owned(),
        (_, 0) => format!("all {count} memories outlast it"),
        (_, 1) => format!("1 of {count} memories does not outlast it"),
        _ => format!("{lost} of {count} memories do not outlast it"),
    };
    if in_time > 0 {
        text.push_str(&format!("; {in_time} of these get a new battery before, as agreed"));
    }
    if unknown > 0 {
        text.push_str(&format!("; of {unknown} more the register does not know enough"));
    }
    text
}

fn title(r: &Reader<'_>, scope: &PowerScope) -> Result<String, Failure> {
    Ok(match scope {
        PowerScope::Site => "The whole site".to_owned(),
        PowerScope::Area(code) => r.area(code).map(|area| area.title).unwrap_or_default(),
        PowerScope::Cabinet(address) => {
            r.cabinet(address).map(|cabinet| cabinet.title).unwrap_or_default()
        }
    })
}

fn sheet(ask: &Ask<'_>, input: ReadinessInput) -> Result<File, Failure> {
    let ready = reply(ask, input)?;
    let written = |at: DateTime<Utc>| at.format("%Y-%m-%d %H:%M UTC");
    let scope = match ready.scope.as_str() {
        "site" => ready.scope_title.clone(),
        scope => format!("{scope} \u{2013} {}", ready.scope_title),
    };
    let first = ready.first.iter().filter_map(|unit| {
        let line = ready.memories.iter().find(|line| line.unit == *unit)?;
        let how = match line.change_with.as_str() {
            "powered" => ", with power on",
            "unpowered" => ", only without power",
            _ => "",
        };
        let agreed = line.agreed_on.map(|on| format!(", agreed for {on}")).unwrap_or_default();
        Some(format!(
            "{} {} {}: {}{how}{agreed}",
            line.slot, line.model, line.unit_human, line.battery_model
        ))
    });
    let memories = ready.memories.iter().map(|line| slotkeep_paper::MemoryLine {
        slot_address: line.slot.clone(),
        controller: format!("{} {}", line.model, line.unit_human),
        lasts: line.lasts_h.map_or("no end".to_owned(), |h| format!("{h:.0} h")),
        margin: line.margin_h.map_or("no end".to_owned(), |h| format!("{h:+.0} h")),
        chance: match line.loss_chance {
            small if small < 0.0005 => "below 0.1 %".to_owned(),
            chance => format!("{:.1} %", chance * 100.0),
        },
        survives: line.survives,
    });
    let verdict = format!("{}.", ready.message);
    let sheet = ReadinessSheet {
        page: PageSize::A4,
        site: super::battery_visits::site_name(ask)?,
        printed_on: ask.today(),
        scope,
        times: format!(
            "From {} to {}, {:.1} h",
            written(ready.from),
            written(ready.to),
            ready.hours
        ),
        reason: ready.reason.clone(),
        verdict: format!("{}{}", verdict[..1].to_uppercase(), &verdict[1..]),
        memories: memories.collect(),
        first: first.collect(),
        basis: format!(
            "Lasts: what {} in 100 such batteries would fall short of, at the beginning of this \
             power-off, earlier ones counted.",
            ready.spent_chance * 100.0
        ),
    };
    Ok(File {
        name: "power-off-readiness.pdf".to_owned(),
        content_type: "application/pdf",
        bytes: readiness_sheet(&sheet),
    })
}
