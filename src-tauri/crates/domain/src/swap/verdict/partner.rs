//! The redundant partner: whether it carries the function, and whether the pair agrees.

use super::super::Situation;
use super::{Said, fails, passes, unknown};
use crate::unit::Condition;

/// Asked only where the slot has a redundant partner.
pub(super) fn partner(s: &Situation<'_>) -> Option<Said> {
    let (address, partner) = s.seat.partner.as_ref()?;
    let unit = &s.spare.unit;
    let Some(partner) = partner else {
        return Some(fails(
            format!("the redundant partner slot {address} is empty"),
            "the function is lost while this slot is empty: clear that with operations",
        ));
    };
    if partner.condition != Condition::Good {
        return Some(fails(
            format!("the redundant partner in {address} is {}", partner.condition.word()),
            "do not rely on it: clear the effect with operations as if there were none",
        ));
    }
    if let Some(why) = s.seat.supply_too_small() {
        return Some(fails(
            format!("the redundant partner in {address} does not carry the load alone: {why}"),
            "count on everything on it going down: clear that with operations, then isolate it",
        ));
    }
    let missing: Vec<_> = [
        (&partner.revision, "the partner's revision"),
        (&partner.firmware, "the partner's firmware"),
        (&unit.revision, "the spare's revision"),
        (&unit.firmware, "the spare's firmware"),
    ]
    .into_iter()
    .filter_map(|(text, name)| text.is_none().then_some(name))
    .collect();
    if partner.model == unit.model && !missing.is_empty() {
        return Some(unknown(
            format!(
                "whether the spare agrees with the redundant partner in {address} is not known: \
                 {} not recorded",
                listed(&missing)
            ),
            "read it on plate or display and record it",
        ));
    }
    if partner.model == unit.model
        && partner.revision == unit.revision
        && partner.firmware == unit.firmware
    {
        return Some(passes(format!(
            "same model, revision and firmware as the redundant partner in {address}"
        )));
    }
    let shown = |text: &Option<String>| text.clone().unwrap_or_else(|| "not recorded".to_owned());
    Some(fails(
        format!(
            "the redundant partner in {address} is {} revision {}, firmware {}; \
             the spare is {} revision {}, firmware {}",
            partner.model,
            shown(&partner.revision),
            shown(&partner.firmware),
            unit.model,
            shown(&unit.revision),
            shown(&unit.firmware),
        ),
        "make sure that the pair may run with this difference",
    ))
}

fn listed(names: &[&str]) -> String {
    match names {
        [one] => format!("{one} is"),
        [first @ .., last] => format!("{} and {last} are", first.join(", ")),
        [] => String::new(),
    }
}
