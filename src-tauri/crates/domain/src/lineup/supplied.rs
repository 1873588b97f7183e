use super::{
    Cabinet, DERATING_FROM_C, DERATING_PCT_K, Item, Rail, copper_ohm_per_m, derated_ma,
    voltage_drop_v,
};
use crate::model::{Feeds, Model};

/// The power supplies of a rail against all that they feed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Supplied {
    pub supplies: usize,
    /// What they deliver at the cabinet's temperature, the largest left out where one may fail, mA.
    pub available_ma: f64,
    /// For a moment, while units start, mA; none where the catalogue does not say.
    pub peak_ma: Option<f64>,
    /// Sum of the known loads, mA.
    pub drawn_ma: f64,
    /// Of it for slots that are empty now, mA.
    pub kept_ma: f64,
    /// As all of it starts together, mA: known loads only.
    pub starting_ma: f64,
    /// Several supplies, and nobody recorded whether one of them may fail: one is left out.
    pub redundancy_unknown: bool,
    /// Supplies without a rating, and loads without a current.
    pub unknown: Vec<String>,
    /// Loads whose current at the start is not known.
    pub unknown_start: Vec<String>,
}

/// Derating where a supply's own data say nothing, by the site's rules.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Derating {
    pub from_c: f64,
    pub pct_k: f64,
}

impl Default for Derating {
    fn default() -> Self {
        Self { from_c: DERATING_FROM_C, pct_k: DERATING_PCT_K }
    }
}

/// Sets the power supplies on a rail against its units and those of rails that it feeds.
///
/// Empty slots count with the model that they are kept for. Where a rail has supplies of both
/// kinds, each feeds its own bases; `feeds` says which of the two is asked for.
pub fn supplied(cabinet: &Cabinet, rail: &Rail, feeds: Feeds, derating: Derating) -> Supplied {
    let split = feeds_both(rail);
    let mut of = Supplied::default();
    let mut largest_ma: f64 = 0.0;
    let (mut peaks_ma, mut largest_peak_ma) = (Some(0.0), 0.0f64);
    for item in rail.items.iter().filter(|item| item.is_supply()) {
        let kind = item.feeds().unwrap_or(Feeds::Standard);
        if split && kind != feeds {
            continue;
        }
        of.supplies += 1;
        let Some((ma, peak)) = item.meant().and_then(|m| delivers(m, cabinet.inside_c, derating))
        else {
            of.unknown.push(rail.name_of(item));
            continue;
        };
        of.available_ma += ma;
        largest_ma = largest_ma.max(ma);
        peaks_ma = peaks_ma.zip(peak).map(|(sum, peak)| sum + peak);
        largest_peak_ma = largest_peak_ma.max(peak.unwrap_or(0.0));
    }
    of.peak_ma = peaks_ma;
    of.redundancy_unknown = of.supplies > 1 && rail.redundant.is_none();
    if of.supplies > 1 && rail.redundant != Some(false) {
        of.available_ma -= largest_ma;
        of.peak_ma = of.peak_ma.map(|peak| peak - largest_peak_ma);
    }
    let fed = cabinet.rails.iter().filter(|other| other.fed_by.as_ref() == Some(&rail.address));
    for on in std::iter::once(rail).chain(fed) {
        for item in loads(on, split.then_some(feeds)) {
            of.load(on, item);
        }
    }
    of
}

/// Whether a rail has a supply for standard and one for intrinsically safe bases.
pub fn feeds_both(rail: &Rail) -> bool {
    let has = |feeds| rail.items.iter().any(|item| item.feeds() == Some(feeds));
    has(Feeds::Standard) && has(Feeds::IntrinsicallySafe)
}

fn loads(rail: &Rail, feeds: Option<Feeds>) -> impl Iterator<Item = &Item> {
    rail.items.iter().filter(move |item| {
        let safe = item.is_safe();
        let asked = feeds.is_none_or(|feeds| safe == (feeds == Feeds::IntrinsicallySafe));
        item.place().is_some() && !item.is_supply() && asked
    })
}

/// Current at a temperature and for a moment, mA; none without a rating.
fn delivers(model: &Model, inside_c: f64, derating: Derating) -> Option<(f64, Option<f64>)> {
    let rating_ma = model.supply_rating_ma?;
    let from_c = model.on_rail.derating_from_c.unwrap_or(derating.from_c);
    let pct_k = model.on_rail.derating_pct_k.unwrap_or(derating.pct_k);
    let at = |ma| derated_ma(ma, inside_c, from_c, pct_k);
    Some((at(rating_ma), model.on_rail.supply_peak_ma.map(at)))
}

impl Supplied {
    fn load(&mut self, rail: &Rail, item: &Item) {
        let model = item.meant();
        let Some(ma) = model.and_then(|model| model.current_24v_ma) else {
            self.unknown.push(rail.name_of(item));
            return;
        };
        self.drawn_ma += ma;
        if item.place().is_some_and(|place| !place.filled) {
            self.kept_ma += ma;
        }
        match model.and_then(|model| model.on_rail.inrush_ma) {
            Some(start) => self.starting_ma += start.max(ma),
            None => {
                self.starting_ma += ma;
                self.unknown_start.push(rail.name_of(item));
            }
        }
    }
}

/// The supply voltage along a rail.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Along {
    /// At the power supply, V.
    pub supply_v: f64,
    /// At the last unit, V.
    pub last_v: f64,
    /// The unit with the least to spare: its name, what it gets and what it needs, V.
    pub worst: Option<(String, f64, f64)>,
    /// What is not known: the line, or resistances and currents of units.
    pub unknown: Vec<String>,
}

/// Follows the supply voltage from the power supply through the line and every unit on the way.
///
/// Each unit carries the current of all behind it. `supply_v` and `least_v` hold where the
/// catalogue gives no voltages of the supply or a unit. The line is as warm as the cabinet.
pub fn along(cabinet: &Cabinet, rail: &Rail, supply_v: f64, least_v: f64) -> Along {
    let source = rail.fed_by.as_ref().and_then(|by| cabinet.rail(by)).unwrap_or(rail);
    let supply = source.items.iter().find(|item| item.is_supply()).and_then(Item::meant);
    let supply_v = supply.and_then(|model| model.on_rail.supply_v).unwrap_or(supply_v);
    let mut of = Along { supply_v, last_v: supply_v, ..Along::default() };
    let loads: Vec<_> = loads(rail, None).collect();
    let mut behind_a = 0.0;
    for item in &loads {
        match item.meant().and_then(|model| model.current_24v_ma) {
            Some(ma) => behind_a += ma / 1000.0,
            None => of.unknown.push(format!("the current of {}", rail.name_of(item))),
        }
    }
    match (rail.line_m, rail.line_mm2) {
        (Some(m), Some(mm2)) => {
            let ohm_per_m = copper_ohm_per_m(mm2, cabinet.inside_c);
            of.last_v -= voltage_drop_v(behind_a, m, ohm_per_m);
        }
        _ => of.unknown.push("length and conductor of the line to the rail".to_owned()),
    }
    for (at, item) in loads.iter().enumerate() {
        let Some(model) = item.meant() else { continue };
        let need_v = model.on_rail.min_voltage_v.unwrap_or(least_v);
        let spare = |(_, v, need): &(String, f64, f64)| v - need;
        if of.worst.as_ref().is_none_or(|worst| of.last_v - need_v < spare(worst)) {
            of.worst = Some((rail.name_of(item), of.last_v, need_v));
        }
        behind_a -= model.current_24v_ma.unwrap_or(0.0) / 1000.0;
        if at + 1 == loads.len() {
            break;
        }
        match model.on_rail.through_mohm {
            Some(mohm) => of.last_v -= behind_a * mohm / 1000.0,
            None => of.unknown.push(format!("the resistance of {}", rail.name_of(item))),
        }
    }
    of
}
