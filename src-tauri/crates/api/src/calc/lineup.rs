use super::{Calc, Entry, above_zero, at_least_zero, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::lineup as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![
        entry::<RailFit>(),
        entry::<RailItems>(),
        entry::<SupplyBudget>(),
        entry::<CabinetHeat>(),
        entry::<CabinetArea>(),
        entry::<VoltageDrop>(),
        entry::<SurfaceLoad>(),
        entry::<ReferenceDesignation>(),
    ]
}

/// Width of everything on a rail against the rail. A width left out (null) is no fit.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct RailFit {
    /// Usable length of the rail.
    rail_mm: f64,
    /// Each item, end supports included.
    widths_mm: Vec<Option<f64>>,
}

#[derive(Serialize, JsonSchema)]
struct Fit {
    /// Sum of the widths.
    used_mm: f64,
    /// Left on the rail; below zero where it is too short.
    left_mm: f64,
    /// Items of unknown width.
    unknown: usize,
    /// Whether all widths are known and fit.
    fits: bool,
}

impl Calc for RailFit {
    const NAME: &'static str = "rail-fit";
    type Reply = Fit;

    fn reckon(self) -> Result<Fit, String> {
        let rail_mm = at_least_zero("rail_mm", self.rail_mm)?;
        let fit = domain::rail_fit(rail_mm, &self.widths_mm);
        let domain::RailFit { used_mm, left_mm, unknown, fits } = fit;
        Ok(Fit { used_mm, left_mm, unknown, fits })
    }
}

/// How many items of one width go on a rail.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct RailItems {
    /// Usable length of the rail.
    rail_mm: f64,
    /// Width of one item.
    item_mm: f64,
    /// Width of both end supports (0).
    #[serde(default)]
    ends_mm: f64,
}

#[derive(Serialize, JsonSchema)]
struct Items {
    /// Items that fit.
    items: u64,
    /// Left on the rail.
    left_mm: f64,
}

impl Calc for RailItems {
    const NAME: &'static str = "rail-items";
    type Reply = Items;

    fn reckon(self) -> Result<Items, String> {
        domain::equal_items(self.rail_mm, self.item_mm, self.ends_mm)
            .map(|(items, left_mm)| Items { items, left_mm })
            .ok_or_else(|| "give an item_mm above zero and an ends_mm of zero or more".to_owned())
    }
}

/// A supply, derated by temperature, against its loads. A load left out (null) is never covered.
/// Derating of 2.5 %/K above 60 °C is common practice, no source: prefer the maker's curve.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct SupplyBudget {
    /// Rated output.
    rating_ma: f64,
    /// Temperature in the cabinet.
    cabinet_c: f64,
    /// Temperature from which it delivers less (60).
    derating_from_c: Option<f64>,
    /// Loss of the rating above that (2.5).
    derating_pct_k: Option<f64>,
    /// Each load.
    loads_ma: Vec<Option<f64>>,
}

#[derive(Serialize, JsonSchema)]
struct Budget {
    /// Output at that temperature.
    available_ma: f64,
    /// Sum of the loads.
    drawn_ma: f64,
    /// Below zero where it is too little.
    left_ma: f64,
    /// Loads that are unknown.
    unknown: usize,
    /// Whether all loads are known and covered.
    covers: bool,
}

impl Calc for SupplyBudget {
    const NAME: &'static str = "supply-budget";
    type Reply = Budget;

    fn reckon(self) -> Result<Budget, String> {
        let rating_ma = at_least_zero("rating_ma", self.rating_ma)?;
        let from_c = self.derating_from_c.unwrap_or(domain::DERATING_FROM_C);
        let given_pct_k = self.derating_pct_k.unwrap_or(domain::DERATING_PCT_K);
        let pct_k = at_least_zero("derating_pct_k", given_pct_k)?;
        let available_ma = domain::derated_ma(rating_ma, self.cabinet_c, from_c, pct_k);
        let budget = domain::supply_budget(available_ma, &self.loads_ma);
        let domain::SupplyBudget { available_ma, drawn_ma, left_ma, unknown, covers } = budget;
        Ok(Budget { available_ma, drawn_ma, left_ma, unknown, covers })
    }
}

/// How warm a closed cabinet gets: P / (k·A), A being the surface with the factors of IEC TR 60890
/// (from memory). The coefficient of 5.5 W/(m²·K) for painted steel is common practice.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct CabinetHeat {
    /// Heat given off inside.
    heat_w: f64,
    /// Outer height.
    height_m: f64,
    /// Outer width.
    width_m: f64,
    /// Outer depth.
    depth_m: f64,
    /// Whether its back is to a wall.
    back_to_wall: bool,
    /// Sides with another cabinet beside, 0 to 2.
    neighbours: u8,
    /// Whether its top is covered (no).
    #[serde(default)]
    top_covered: bool,
    /// Temperature of the room.
    room_c: f64,
    /// Heat passed for each square metre and kelvin (5.5).
    coefficient_w_m2_k: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Heat {
    /// Surface that counts.
    area_m2: f64,
    /// Warmer than the room, on average.
    rise_k: f64,
    /// Inside, on average; hotter at the top.
    inside_c: f64,
}

impl Calc for CabinetHeat {
    const NAME: &'static str = "cabinet-heat";
    type Reply = Heat;

    fn reckon(self) -> Result<Heat, String> {
        if self.neighbours > 2 {
            let message = "neighbours is {}: a cabinet has 0, 1 or 2 sides to others";
            return Err(message.replace("{}", &self.neighbours.to_string()));
        }
        let stand = domain::Stand {
            back_to_wall: self.back_to_wall,
            neighbours: self.neighbours,
            top_covered: self.top_covered,
        };
        let area_m2 = domain::effective_area_m2(
            above_zero("height_m", self.height_m)?,
            above_zero("width_m", self.width_m)?,
            above_zero("depth_m", self.depth_m)?,
            stand,
        );
        let heat_w = at_least_zero("heat_w", self.heat_w)?;
        let coefficient = coefficient(self.coefficient_w_m2_k)?;
        let rise_k = domain::heat_rise_k(heat_w, area_m2, coefficient);
        Ok(Heat { area_m2, rise_k, inside_c: self.room_c + rise_k })
    }
}

fn coefficient(given: Option<f64>) -> Result<f64, String> {
    above_zero("coefficient_w_m2_k", given.unwrap_or(domain::COEFFICIENT_W_M2_K))
}

/// Surface that keeps a cabinet's rise in temperature at a wanted one: P / (k·ΔT).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct CabinetArea {
    /// Heat given off inside.
    heat_w: f64,
    /// Wanted rise.
    rise_k: f64,
    /// Heat passed for each square metre and kelvin (5.5).
    coefficient_w_m2_k: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Area {
    /// Surface that counts.
    area_m2: f64,
}

impl Calc for CabinetArea {
    const NAME: &'static str = "cabinet-area";
    type Reply = Area;

    fn reckon(self) -> Result<Area, String> {
        let heat_w = at_least_zero("heat_w", self.heat_w)?;
        let rise_k = above_zero("rise_k", self.rise_k)?;
        let coefficient = coefficient(self.coefficient_w_m2_k)?;
        Ok(Area { area_m2: domain::area_for_rise_m2(heat_w, rise_k, coefficient) })
    }
}

/// Voltage lost out and back along a two-wire direct-current line.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct VoltageDrop {
    /// Current.
    current_a: f64,
    /// Length of the line.
    one_way_m: f64,
    /// Copper conductor; give this or the resistance.
    conductor_mm2: Option<f64>,
    /// Temperature of the copper conductor (20).
    conductor_c: Option<f64>,
    /// Resistance of one conductor.
    conductor_ohm_per_km: Option<f64>,
    /// Voltage at the supply.
    supply_v: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Drop {
    /// Voltage lost.
    drop_v: f64,
    /// Of the supply; null where it is not given.
    drop_pct: Option<f64>,
    /// At the load; null where the supply is not given.
    end_v: Option<f64>,
}

impl Calc for VoltageDrop {
    const NAME: &'static str = "voltage-drop";
    type Reply = Drop;

    fn reckon(self) -> Result<Drop, String> {
        let ohm_per_m = match (self.conductor_mm2, self.conductor_ohm_per_km) {
            (Some(mm2), None) => domain::copper_ohm_per_m(
                above_zero("conductor_mm2", mm2)?,
                self.conductor_c.unwrap_or(20.0),
            ),
            (None, Some(ohm)) => at_least_zero("conductor_ohm_per_km", ohm)? / 1000.0,
            _ => return Err("give conductor_mm2 or conductor_ohm_per_km, one of them".to_owned()),
        };
        let drop_v = domain::voltage_drop_v(
            at_least_zero("current_a", self.current_a)?,
            at_least_zero("one_way_m", self.one_way_m)?,
            ohm_per_m,
        );
        let supply_v = self.supply_v.map(|volts| above_zero("supply_v", volts)).transpose()?;
        Ok(Drop {
            drop_v,
            drop_pct: supply_v.map(|supply_v| drop_v / supply_v * 100.0),
            end_v: supply_v.map(|supply_v| supply_v - drop_v),
        })
    }
}

/// Heat on each square metre of a closed box, all six faces counted: what curves of makers start
/// from.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct SurfaceLoad {
    /// Heat given off inside.
    heat_w: f64,
    /// Outer height.
    height_m: f64,
    /// Outer width.
    width_m: f64,
    /// Outer depth.
    depth_m: f64,
}

#[derive(Serialize, JsonSchema)]
struct Load {
    /// Whole surface.
    area_m2: f64,
    /// Whole surface.
    area_ft2: f64,
    /// Heat on each square metre.
    load_w_m2: f64,
    /// Heat on each square foot.
    load_w_ft2: f64,
}

/// One international foot is 0.3048 m.
const M2_PER_FT2: f64 = 0.3048 * 0.3048;

impl Calc for SurfaceLoad {
    const NAME: &'static str = "surface-load";
    type Reply = Load;

    fn reckon(self) -> Result<Load, String> {
        let heat_w = at_least_zero("heat_w", self.heat_w)?;
        let area_m2 = domain::box_area_m2(
            above_zero("height_m", self.height_m)?,
            above_zero("width_m", self.width_m)?,
            above_zero("depth_m", self.depth_m)?,
        );
        let load_w_m2 = heat_w / area_m2;
        Ok(Load {
            area_m2,
            area_ft2: area_m2 / M2_PER_FT2,
            load_w_m2,
            load_w_ft2: load_w_m2 * M2_PER_FT2,
        })
    }
}

/// Reads a reference designation of IEC 81346-1 (from memory): = function, + location, - product,
/// # another aspect; single levels of letters, a number, or letters and a number; a dot in place of
/// a prefix that repeats; a terminal after a colon (IEC 61666).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ReferenceDesignation {
    /// As written, for instance =A1+S2-K3.
    text: String,
}

#[derive(Serialize, JsonSchema)]
struct Designated {
    /// Whether it is a reference designation.
    valid: bool,
    /// Its levels, from the largest thing to the smallest.
    aspects: Vec<Level>,
    /// Terminal of the thing; null where none is named.
    terminal: Option<String>,
    /// What is wrong with it; null where it is valid.
    why: Option<String>,
}

#[derive(Serialize, JsonSchema)]
struct Level {
    /// Its prefix: =, +, - or #.
    prefix: String,
    /// Letters, a number or both; with dots where levels of one aspect follow.
    code: String,
}

impl Calc for ReferenceDesignation {
    const NAME: &'static str = "reference-designation";
    type Reply = Designated;

    fn reckon(self) -> Result<Designated, String> {
        Ok(match domain::designation(&self.text) {
            Ok(read) => Designated {
                valid: true,
                aspects: read
                    .levels
                    .into_iter()
                    .map(|level| Level { prefix: level.aspect.prefix().into(), code: level.code })
                    .collect(),
                terminal: read.terminal,
                why: None,
            },
            Err(no) => Designated {
                valid: false,
                aspects: Vec::new(),
                terminal: None,
                why: Some(no.to_string()),
            },
        })
    }
}
