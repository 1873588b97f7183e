//! Failure rates down to what is stated, what was seen, and heat.

use super::spares_rate::Rate;
use super::spares_sums::{given, sum};
use crate::wire::spares::SumLine;
use slotkeep_domain::spares::{LearnedRate, PriorFrom, StatedRate};

/// The failure rate, from what is stated to what is believed.
pub(super) fn learned(learned: &LearnedRate) -> SumLine {
    let record = &learned.record;
    let prior = match learned.prior_from {
        PriorFrom::Stated => "Stated by the catalogue",
        PriorFrom::Family => "Seen in its family",
        PriorFrom::NothingKnown => "Nothing known before",
    };
    let prior_fit =
        if learned.prior.exposure > 0.0 { learned.prior.mean() * 1e9 } else { f64::INFINITY };
    sum(
        "Failure rate at the stated temperature",
        learned.fit,
        "in 1e9 h",
        "failures over hours, those that the prior is worth added to those seen",
        vec![
            sum(
                prior,
                prior_fit,
                "in 1e9 h",
                "what the prior is worth: failures over hours",
                vec![
                    given("Worth failures", learned.prior.shape, ""),
                    given("Worth hours", learned.prior.exposure, "h"),
                ],
            ),
            sum(
                "Seen here",
                record.failures as f64,
                "failures",
                "stays with a known first day only",
                vec![
                    given("Unit-hours", record.hours_h, "h"),
                    given("Unit-hours weighted by heat", record.weighted_h, "h"),
                    given("Stays", record.stays as f64, ""),
                    given("Units", record.units as f64, ""),
                    given("Stays left out", record.left_out.len() as f64, ""),
                ],
            ),
            given("Below it with a chance of 5 %", learned.low_fit, "in 1e9 h"),
            given("Above it with a chance of 5 %", learned.high_fit, "in 1e9 h"),
        ],
    )
}

/// The places of a model, how warm they are, and what that does.
pub(super) fn heat(rate: &Rate) -> SumLine {
    let parts = rate.places.iter().map(|(cabinet, place)| {
        sum(
            cabinet.as_str(),
            place.factor,
            "",
            "Arrhenius: the mean of the factor over the temperatures there",
            vec![
                given("Units", place.units, ""),
                given("Mean temperature", place.temperature_c, "°C"),
            ],
        )
    });
    let mut parts: Vec<SumLine> = parts.collect();
    if let Some(heat) = rate.heat {
        parts.push(given("Stated at", heat.stated_c(), "°C"));
        parts.push(given("Activation energy", heat.activation_ev(), "eV"));
    }
    sum("Factor of heat", rate.mean_factor(), "", "the mean over the units", parts)
}

/// How the catalogue states the rate.
pub(super) fn stated_by(rate: &Rate) -> &'static str {
    match rate.stated {
        Some(StatedRate::Fit(_)) => "fit",
        Some(StatedRate::MtbfH(_)) => "mtbf",
        Some(StatedRate::Parts(_)) => "parts_count",
        None => "none",
    }
}
