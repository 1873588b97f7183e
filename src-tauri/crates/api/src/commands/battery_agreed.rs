//! The visits that people agreed on.

use super::find;
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::battery_plan::AgreeInput;
use slotkeep_domain::journal::{AgreedVisit, Body, VisitsAgreed};

pub(super) fn commands() -> Vec<Command> {
    vec![table::record(
        "battery.agree",
        "Keeps a plan of visits: calendar, work list and orders follow it.",
        table::PLANNER,
        agree,
    )]
}

fn agree(ask: &Ask<'_>, stamp: &Stamp, input: AgreeInput) -> Result<Done, Failure> {
    let count = input.visits.len();
    let recorded = ask.record_within(stamp, |r| {
        let mut visits = Vec::with_capacity(count);
        for visit in &input.visits {
            let labels = visit.units.iter().map(|text| Ok(find::unit(r, text)?.label));
            visits.push(AgreedVisit {
                on: visit.on,
                scope: find::scope(r, &visit.scope)?,
                units: labels.collect::<Result<_, Failure>>()?,
                power_off: visit.power_off,
            });
        }
        Ok(Body::VisitsAgreed(VisitsAgreed { visits, horizon_until: input.horizon_until }))
    })?;
    let message = match count {
        0 => "no visit is agreed any more".to_owned(),
        1 => "1 visit is agreed".to_owned(),
        _ => format!("{count} visits are agreed"),
    };
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}
