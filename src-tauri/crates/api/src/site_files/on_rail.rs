//! The object `on_rail` of a catalogue line.

use super::catalogue::{Misfit, word};
use serde::Deserialize;
use slotkeep_domain::model::{Feeds, OnRail};

#[derive(Deserialize)]
pub(super) struct OnRailJson {
    #[serde(default)]
    buses: Vec<String>,
    #[serde(default)]
    terminates: Vec<String>,
    bus_units_max: Option<u32>,
    bus_current_ma: Option<f64>,
    bus_supply_ma: Option<f64>,
    inrush_ma: Option<f64>,
    min_voltage_v: Option<f64>,
    through_mohm: Option<f64>,
    max_ambient_c: Option<f64>,
    safe_distance_mm: Option<f64>,
    supply_peak_ma: Option<f64>,
    supply_v: Option<f64>,
    derating_from_c: Option<f64>,
    derating_pct_k: Option<f64>,
    feeds: Option<String>,
}

pub(super) fn read(read: OnRailJson) -> Result<OnRail, Misfit> {
    let feeds = read.feeds.map(|text| {
        let unknown = || ("on_rail/feeds".to_owned(), "a word that this version knows".to_owned());
        word(FEEDS, &text).ok_or_else(unknown)
    });
    Ok(OnRail {
        buses: read.buses,
        terminates: read.terminates,
        bus_units_max: read.bus_units_max,
        bus_current_ma: read.bus_current_ma,
        bus_supply_ma: read.bus_supply_ma,
        inrush_ma: read.inrush_ma,
        min_voltage_v: read.min_voltage_v,
        through_mohm: read.through_mohm,
        max_ambient_c: read.max_ambient_c,
        safe_distance_mm: read.safe_distance_mm,
        supply_peak_ma: read.supply_peak_ma,
        supply_v: read.supply_v,
        derating_from_c: read.derating_from_c,
        derating_pct_k: read.derating_pct_k,
        feeds: feeds.transpose()?,
    })
}

const FEEDS: &[(&str, Feeds)] =
    &[("standard", Feeds::Standard), ("intrinsically_safe", Feeds::IntrinsicallySafe)];
