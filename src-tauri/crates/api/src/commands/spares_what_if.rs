//! The other case of a projection: what is changed, and how that is said.

use super::spares_rate::Rate;
use crate::Failure;
use crate::wire::spares_projection::WhatIf;
use slotkeep_domain::spares;

/// Fails with what to write where a figure of the other case is out of its range.
pub(super) fn check(what_if: &WhatIf) -> Result<(), Failure> {
    let bounds = [
        ("lead_time_factor", what_if.lead_time_factor, 0.1, 10.0),
        ("warmer_k", what_if.warmer_k, -40.0, 40.0),
        ("units_pct", what_if.units_pct, -100.0, 1000.0),
    ];
    for (name, value, least, most) in bounds {
        if let Some(value) = value.filter(|value| !(least..=most).contains(value)) {
            return Err(Failure::bad_input(format!(
                "{name} is {value}: write a number from {least} to {most}"
            )));
        }
    }
    Ok(())
}

/// The question of the other case, in factors.
pub(super) fn changed(asked: &WhatIf, rate: Option<&Rate>) -> Result<spares::WhatIf, String> {
    let warmer = match (asked.warmer_k, rate) {
        (Some(by_k), Some(rate)) if by_k != 0.0 => warmer(rate, by_k)?,
        _ => 1.0,
    };
    Ok(spares::WhatIf {
        lead_time_factor: asked.lead_time_factor.unwrap_or(1.0),
        supplier_lost: asked.supplier_lost.unwrap_or(false),
        failures_factor: warmer,
        units_factor: 1.0 + asked.units_pct.unwrap_or(0.0) / 100.0,
    })
}

/// How many times as often units fail in cabinets that are so many K warmer.
fn warmer(rate: &Rate, by_k: f64) -> Result<f64, String> {
    let Some(heat) = rate.heat else { return Ok(1.0) };
    let (mut before, mut after) = (0.0, 0.0);
    for place in rate.places.values() {
        let weight = f64::from(place.units) * place.factor;
        let times = heat.warmer(place.temperature_c, by_k).map_err(|no| no.to_string())?;
        before += weight;
        after += weight * times;
    }
    Ok(if before > 0.0 { after / before } else { 1.0 })
}

/// The other case in words.
pub(super) fn title(what_if: &WhatIf) -> String {
    let mut changes = Vec::new();
    if let Some(factor) = what_if.lead_time_factor.filter(|factor| *factor != 1.0) {
        changes.push(format!("lead time times {factor}"));
    }
    if what_if.supplier_lost == Some(true) {
        changes.push("nothing can be ordered any more".to_owned());
    }
    if let Some(by_k) = what_if.warmer_k.filter(|by_k| *by_k != 0.0) {
        let (by_k, word) = (by_k.abs(), if by_k > 0.0 { "warmer" } else { "colder" });
        changes.push(format!("cabinets {by_k} K {word}"));
    }
    if let Some(pct) = what_if.units_pct.filter(|pct| *pct != 0.0) {
        let (pct, word) = (pct.abs(), if pct > 0.0 { "more" } else { "fewer" });
        changes.push(format!("{pct} % {word} units"));
    }
    if changes.is_empty() { "nothing changed".to_owned() } else { changes.join(", ") }
}
