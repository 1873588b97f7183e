//! Stretches without power: recorded, planned, and what became of the plans.

use super::find;
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::battery_power::{
    PowerOffInput, PowerOffLine, PowerOffsInput, SettlePowerOffInput,
};
use chrono::{DateTime, Utc};
use slotkeep_domain::journal::{Body, PowerOff, PowerOffPlanned, PowerOffSettled, PowerScope};
use slotkeep_domain::place::{Area, Cabinet};
use slotkeep_domain::register::Settled;
use slotkeep_store::Reader;
use uuid::Uuid;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::record(
            "battery.power_off",
            "Records a stretch without power: it drains batteries.",
            table::HANDS,
            record,
        ),
        table::record(
            "battery.power_off_planned",
            "Plans a stretch without power.",
            table::PLANNER,
            plan,
        ),
        table::record(
            "battery.power_off_settled",
            "Says when a planned power-off happened, or that it was called off.",
            table::HANDS,
            settle,
        ),
        table::ask(
            "battery.power_offs",
            "Lists power-offs, planned and recorded, the latest first.",
            list,
        ),
    ]
}

fn record(ask: &Ask<'_>, stamp: &Stamp, input: PowerOffInput) -> Result<Done, Failure> {
    let recorded = ask.record_within(stamp, |r| {
        let scope = find::scope(r, &input.scope)?;
        let PowerOffInput { from, to, reason, .. } = input;
        Ok(Body::PowerOff(PowerOff { scope, from, to, reason }))
    })?;
    let message = "the power-off is recorded and counted against the batteries".to_owned();
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

fn plan(ask: &Ask<'_>, stamp: &Stamp, input: PowerOffInput) -> Result<Done, Failure> {
    let recorded = ask.record_within(stamp, |r| {
        let scope = find::scope(r, &input.scope)?;
        let PowerOffInput { from, to, reason, .. } = input;
        Ok(Body::PowerOffPlanned(PowerOffPlanned { scope, from, to, reason }))
    })?;
    let message = "the power-off is planned: see which memories would outlast it".to_owned();
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

fn settle(ask: &Ask<'_>, stamp: &Stamp, input: SettlePowerOffInput) -> Result<Done, Failure> {
    let happened = match (input.from, input.to) {
        (Some(from), Some(to)) => Some((from, to)),
        (None, None) => None,
        _ => {
            return Err(Failure::bad_input(
                "one of the two times is missing: say when power went and when it came back, or \
                 leave both out where the power-off was called off",
            ));
        }
    };
    let body = PowerOffSettled { planned: input.planned, happened, reason: input.reason };
    let recorded = ask.record(stamp, Body::PowerOffSettled(body))?;
    let message = match happened {
        Some(_) => "the power-off is recorded and counted against the batteries",
        None => "the power-off is called off",
    };
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message: message.to_owned() })
}

fn list(ask: &Ask<'_>, input: PowerOffsInput) -> Result<Vec<PowerOffLine>, Failure> {
    ask.read(|r| {
        let plant = Plant::of(r)?;
        let mut lines: Vec<PowerOffLine> = Vec::new();
        for planned in r.planned_offs()? {
            let (state, called_off) = match planned.settled {
                None if planned.off.to <= ask.now => ("waiting", None),
                None => ("planned", None),
                Some(Settled::CalledOff(reason)) => ("called_off", Some(reason)),
                // It stands in the list as what was recorded for it.
                Some(Settled::Happened(_)) => continue,
            };
            let line = plant.line(planned.id, &planned.off, state);
            lines.push(PowerOffLine { called_off, ..line });
        }
        if input.open {
            lines.retain(|line| line.called_off.is_none());
        } else {
            let recorded = r.power_offs()?;
            lines.extend(recorded.iter().map(|(id, off)| plant.line(*id, off, "happened")));
        }
        lines.sort_by(|a, b| b.from.cmp(&a.from).then_with(|| a.scope.cmp(&b.scope)));
        Ok(lines)
    })
}

/// Names of what lies without power.
struct Plant {
    areas: Vec<Area>,
    cabinets: Vec<Cabinet>,
}

impl Plant {
    fn of(r: &Reader<'_>) -> Result<Self, Failure> {
        Ok(Self { areas: r.areas()?, cabinets: r.cabinets()? })
    }

    fn line(&self, entry: Uuid, off: &PowerOff, state: &str) -> PowerOffLine {
        let covered = |cabinet: &&Cabinet| off.scope.covers(&cabinet.address, &cabinet.area);
        PowerOffLine {
            entry,
            state: state.to_owned(),
            scope: off.scope.to_string(),
            scope_title: self.title(&off.scope),
            cabinets: self.cabinets.iter().filter(covered).count() as u32,
            from: off.from,
            to: off.to,
            hours: hours(off.from, off.to),
            reason: off.reason.clone(),
            called_off: None,
        }
    }

    fn title(&self, scope: &PowerScope) -> String {
        let found = match scope {
            PowerScope::Site => Some("The whole site".to_owned()),
            PowerScope::Area(code) => {
                self.areas.iter().find(|a| a.code == *code).map(|a| a.title.clone())
            }
            PowerScope::Cabinet(address) => {
                self.cabinets.iter().find(|c| c.address == *address).map(|c| c.title.clone())
            }
        };
        found.unwrap_or_default()
    }
}

/// Hours between two times.
pub(super) fn hours(from: DateTime<Utc>, to: DateTime<Utc>) -> f64 {
    (to - from).num_milliseconds() as f64 / 3_600_000.0
}
