use super::{
    Cabinet, DERATING_FROM_C, DERATING_PCT_K, Item, Rail, copper_ohm_per_m, derated_ma,
    voltage_drop_v,
};
use crate::model::{Feeds, Model};
use crate::place::SlotAddress;
use crate::rules::{RuleSetting, kept};

/// The power supplies of a rail against all that they feed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Supplied {
    pub supplies: usize,
    /// What they deliver at the cabinet's temperature, the largest left out where one may fail, mA.
    pub available_ma: f64,
    /// All of them together, mA.
    pub together_ma: f64,
    /// The largest, where it is left out.
    pub left_out: Option<String>,
    /// For a moment, while units start, mA; none where the catalogue does not say.
    pub peak_ma: Option<f64>,
    /// Sum of the known loads, mA.
    pub drawn_ma: f64,
    /// Of it for slots that are empty now, mA.
    pub kept_ma: f64,
    /// Of it on other rails that they feed, mA.
    pub fed_ma: f64,
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

impl Derating {
    /// By the site's settings of the rule that adds supplies up.
    pub fn kept(settings: &[RuleSetting]) -> Self {
        let spec = super::specs().find(|spec| spec.name == "supply-budget");
        spec.map_or_else(Self::default, |spec| {
            let kept = kept(spec, settings);
            Self { from_c: kept.limit("derating_from_c"), pct_k: kept.limit("derating_pct_k") }
        })
    }
}

/// Sets the power supplies on a rail against its units and those of rails that it feeds.
///
/// Empty slots count with the model that they are kept for. Where a rail has supplies of both
/// kinds, each feeds its own bases; `feeds` says which of the two is asked for.
pub fn supplied(cabinet: &Cabinet, rail: &Rail, feeds: Feeds, derating: Derating) -> Supplied {
    added(cabinet, rail, feeds, derating, None)
}

/// Sets the power supplies that stay against all that hangs on them while the one in a slot is out:
/// those of its kind on its rail that are fitted, none of them left out.
///
/// None where no power supply stands in the slot.
pub fn without(cabinet: &Cabinet, slot: &SlotAddress, derating: Derating) -> Option<Supplied> {
    let rail = cabinet.rail(&slot.rail())?;
    let is_it = |item: &&Item| item.place().is_some_and(|place| place.address == *slot);
    let item = rail.items.iter().find(is_it).filter(|item| item.is_supply())?;
    let feeds = item.feeds().unwrap_or(Feeds::Standard);
    Some(added(cabinet, rail, feeds, derating, Some(slot)))
}

fn added(
    cabinet: &Cabinet,
    rail: &Rail,
    feeds: Feeds,
    derating: Derating,
    out: Option<&SlotAddress>,
) -> Supplied {
    let split = feeds_both(rail);
    let mut of = Supplied::default();
    let (mut largest_ma, mut largest) = (0.0, None);
    let (mut peaks_ma, mut largest_peak_ma) = (Some(0.0), 0.0f64);
    for item in rail.items.iter().filter(|item| item.is_supply()) {
        let kind = item.feeds().unwrap_or(Feeds::Standard);
        let stays = item
            .place()
            .is_some_and(|place| out.is_none_or(|out| place.filled && place.address != *out));
        if split && kind != feeds || !stays {
            continue;
        }
        of.supplies += 1;
        let Some((ma, peak)) = item.meant().and_then(|m| delivers(m, cabinet.inside_c, derating))
        else {
            of.unknown.push(rail.name_of(item));
            continue;
        };
        of.together_ma += ma;
        if ma > largest_ma {
            (largest_ma, largest) = (ma, Some(item));
        }
        peaks_ma = peaks_ma.zip(peak).map(|(sum, peak)| sum + peak);
        largest_peak_ma = largest_peak_ma.max(peak.unwrap_or(0.0));
    }
    (of.available_ma, of.peak_ma) = (of.together_ma, peaks_ma);
    of.redundancy_unknown = of.supplies > 1 && rail.redundant.is_none();
    if of.supplies > 1 && rail.redundant != Some(false) && out.is_none() {
        of.available_ma -= largest_ma;
        of.peak_ma = of.peak_ma.map(|peak| peak - largest_peak_ma);
        of.left_out = largest.map(|item| rail.name_of(item));
    }
    for (on, item) in cabinet.hanging_on(rail) {
        if !split || item.is_safe() == (feeds == Feeds::IntrinsicallySafe) {
            of.load(on, item);
            if on.address != rail.address {
                of.fed_ma += item.meant().and_then(|model| model.current_24v_ma).unwrap_or(0.0);
            }
        }
    }
    of
}

/// Whether a rail has a supply for standard and one for intrinsically safe bases.
pub fn feeds_both(rail: &Rail) -> bool {
    let has = |feeds| rail.items.iter().any(|item| item.feeds() == Some(feeds));
    has(Feeds::Standard) && has(Feeds::IntrinsicallySafe)
}

fn loads(rail: &Rail) -> impl Iterator<Item = &Item> {
    rail.items.iter().filter(|item| item.place().is_some() && !item.is_supply())
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
    /// Whether they carry all that is drawn; none where something of it is not known.
    pub fn carries(&self) -> Option<bool> {
        match (self.supplies, self.unknown.is_empty()) {
            (0, _) => Some(false),
            (_, true) => Some(self.drawn_ma <= self.available_ma),
            (_, false) => None,
        }
    }

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
    let source = cabinet.source(rail);
    let supply = source.items.iter().find(|item| item.is_supply()).and_then(Item::meant);
    let supply_v = supply.and_then(|model| model.on_rail.supply_v).unwrap_or(supply_v);
    let mut of = Along { supply_v, last_v: supply_v, ..Along::default() };
    let loads: Vec<_> = loads(rail).collect();
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
