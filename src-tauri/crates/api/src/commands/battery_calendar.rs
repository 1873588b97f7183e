//! The visits as a calendar file, and as an address that calendar programs ask again and again.

use super::battery_visits::{plan, site_name};
use super::people::{digest, new_pass};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command, File};
use crate::wire::Nothing;
use crate::wire::battery::{CalendarAddress, VisitsInput};
use chrono::Duration;
use icalendar::{Calendar, Component, Event, EventLike};
use slotkeep_domain::counted_as;
use slotkeep_domain::journal::Body;
use slotkeep_domain::people::Device;
use std::collections::HashMap;

/// How often a calendar program should ask again, hours.
const REFRESH_H: i64 = 12;

/// How far the address looks, days: as long as plans usually reach.
const HORIZON_D: u32 = 1826;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::file("battery.calendar", "Writes the visits as a calendar (RFC 5545).", of_visits),
        table::record(
            "battery.calendar_address",
            "Makes an address at the door from which calendar programs read the visits.",
            table::PLANNER,
            address,
        ),
    ]
}

/// The calendar that the door gives to whoever has its address.
pub(crate) fn calendar(ask: &Ask<'_>) -> Result<File, Failure> {
    of_visits(ask, VisitsInput { window_d: None, horizon_d: Some(HORIZON_D) })
}

fn address(ask: &Ask<'_>, stamp: &Stamp, _: Nothing) -> Result<CalendarAddress, Failure> {
    let pass = new_pass()?;
    let recorded = ask.record_within(stamp, |_| {
        Ok(Body::DeviceAdmitted(Device {
            id: stamp.id,
            title: "calendar of battery visits".to_owned(),
            person: ask.caller.person.clone(),
            roles: Vec::new(),
            pass_digest: digest(&pass),
            withdrawn: false,
            calendar_only: true,
        }))
    })?;
    if recorded.repeated {
        return Err(Failure::refused(
            "this address was made before and is shown only once: withdraw it in the list of \
             devices and make a new one",
        ));
    }
    Ok(CalendarAddress {
        device: stamp.id,
        path: format!("/calendar/{}.ics", pass.to_lowercase()),
        message: "add this path to the address of the door in your calendar program; whoever has \
                  it can read the visits, and nothing else"
            .to_owned(),
    })
}

fn of_visits(ask: &Ask<'_>, input: VisitsInput) -> Result<File, Failure> {
    let visits = plan(ask, input)?;
    let site = site_name(ask)?;
    let mut calendar = Calendar::empty();
    for (name, value) in
        [("VERSION", "2.0"), ("PRODID", "-//Slotkeep//EN"), ("CALSCALE", "GREGORIAN")]
    {
        calendar.append_property((name, value));
    }
    calendar.name(&format!("Battery changes {site}"));
    // RFC 7986, 5.7: how often a program that subscribed should look again.
    calendar.ttl(&Duration::hours(REFRESH_H));
    let mut changes: HashMap<String, u32> = HashMap::new();
    for visit in visits {
        let lines: Vec<String> = visit
            .batteries
            .iter()
            .zip(&visit.take)
            .map(|(line, take)| {
                format!("{} {}: {}", line.unit.place, line.unit.model, take.message)
            })
            .collect();
        let first = visit.batteries.first().map(|line| line.unit.label.clone());
        let round = changes.entry(first.clone().unwrap_or_default()).or_default();
        *round += 1;
        let event = Event::new()
            // The same change of the same battery keeps its entry when the day moves.
            .uid(&format!("battery-{}-{round}@slotkeep.invalid", first.unwrap_or_default()))
            .timestamp(ask.now)
            .summary(&format!(
                "Change {} in {}",
                counted_as(visit.batteries.len() as u64, "back-up battery", "back-up batteries"),
                visit.cabinet
            ))
            .location(&format!("{} {}", visit.cabinet, visit.cabinet_title))
            .description(&lines.join("\n"))
            .starts(visit.on)
            // The end of a whole day is the day after (RFC 5545, 3.6.1).
            .ends(visit.on + chrono::Days::new(1))
            .done();
        calendar.push(event);
    }
    Ok(File {
        name: "battery-changes.ics".to_owned(),
        content_type: "text/calendar; charset=utf-8",
        bytes: calendar.done().to_string().into_bytes(),
    })
}
