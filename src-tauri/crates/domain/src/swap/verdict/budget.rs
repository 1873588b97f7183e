//! Supply, bus and heat after the swap: the rules of a line-up, asked of the cabinet as it would be.

use super::super::{Severity, Situation};
use super::{How, Said, said};
use crate::lineup::{self, Cabinet, check, specs};
use crate::rules::RuleSetting;
use std::sync::Arc;

pub(super) fn supply(s: &Situation<'_>) -> Vec<Said> {
    after(s, &["supply-budget", "supply-start", "voltage"])
}

pub(super) fn bus(s: &Situation<'_>) -> Vec<Said> {
    after(s, &["bus-units", "bus-budget"])
}

pub(super) fn heat(s: &Situation<'_>) -> Vec<Said> {
    after(s, &["cabinet-heat"])
}

/// What the named rules of a line-up find at the slot's rail, at the rail that feeds it, at those on
/// its bus and at the cabinet once the spare stands in the slot.
///
/// What was broken as gravely before is a caution at most: the swap does not make it.
fn after(s: &Situation<'_>, names: &[&str]) -> Vec<Said> {
    let Some(before) = &s.seat.cabinet else {
        return vec![said(
            How::Unknown,
            format!("nothing is recorded of the cabinet of slot {}", s.seat.slot.address),
            "import cabinet and rails, so that supply, bus and heat can be added up",
        )];
    };
    let here = s.seat.slot.address.rail();
    let model = Arc::new(s.spare.model.clone());
    let mut cabinet = Cabinet::clone(before);
    if let Some(rail) = cabinet.rails.iter_mut().find(|rail| rail.address == here) {
        *rail = rail.with_unit(&s.seat.slot.address, &model);
    }
    let settings = only(&s.seat.settings, names);
    let found_before = check(before, &settings, &[]);
    // Some rules cannot be switched off.
    let rail = cabinet.rail(&here);
    let asked = |found: &lineup::Finding| {
        names.contains(&&*found.rule) && rail.is_some_and(|rail| cabinet.concerns(rail, found))
    };
    let found = check(&cabinet, &settings, &[]).into_iter().filter(asked);
    found
        .map(|found| {
            let as_before = found_before.iter().any(|known| {
                known.rule == found.rule && known.at == found.at && known.severity >= found.severity
            });
            let compared = format!("{} after the swap: {}", found.at, found.compared);
            said(how(&found, as_before), compared, found.to_do)
        })
        .collect()
}

fn how(found: &lineup::Finding, as_before: bool) -> How {
    match (found.severity, found.unknown) {
        (Severity::Pass, _) => How::Passes,
        (severity, true) => How::UnknownAtMost(severity),
        (severity, false) if as_before => How::AtMost(severity.min(Severity::Caution)),
        (severity, false) => How::AtMost(severity),
    }
}

/// The site's settings with every other rule of a line-up switched off.
fn only(settings: &[RuleSetting], names: &[&str]) -> Vec<RuleSetting> {
    let off = specs().filter(|spec| !names.contains(&spec.name)).map(|spec| RuleSetting {
        name: spec.name.to_owned(),
        on: false,
        severity: None,
        limits: Default::default(),
    });
    let kept = settings.iter().filter(|setting| names.contains(&setting.name.as_str()));
    kept.cloned().chain(off).collect()
}
