use super::battery::heat_law;
use super::{Calc, Entry, above_zero, at_least_zero, entry};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::battery as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![
        entry::<BatteryLife>(),
        entry::<SelfDischarge>(),
        entry::<Designation>(),
        entry::<BatteryCapacity>(),
    ]
}

/// Years that a charge feeds a constant drain beside self-discharge of the charge left:
/// t = ln(1 + kC/I) / k, with years of 8760 h.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BatteryLife {
    /// Charge at the start.
    capacity_mah: f64,
    /// Constant drain.
    drain_ua: f64,
    /// Share of the charge left that goes by itself, at its temperature.
    self_discharge_per_y: f64,
    /// Share of the capacity kept in hand, 0 to 1 (0).
    #[serde(default)]
    margin: f64,
}

#[derive(Serialize, JsonSchema)]
struct Life {
    /// Years; null where nothing drains the battery.
    life_y: Option<f64>,
}

impl Calc for BatteryLife {
    const NAME: &'static str = "battery-life";
    type Reply = Life;

    fn reckon(self) -> Result<Life, String> {
        if !(0.0..=1.0).contains(&self.margin) {
            return Err(format!("margin is {}: give a share from 0 to 1", self.margin));
        }
        let usable_mah = at_least_zero("capacity_mah", self.capacity_mah)? * (1.0 - self.margin);
        let drain_ua = at_least_zero("drain_ua", self.drain_ua)?;
        let per_y = at_least_zero("self_discharge_per_y", self.self_discharge_per_y)?;
        let life_y = domain::years_to_empty(usable_mah, drain_ua, per_y);
        Ok(Life { life_y: Some(life_y).filter(|years| years.is_finite()) })
    }
}

/// Self-discharge over a profile of temperatures, weighted by time; it doubles per 10 K above 20 °C
/// and halves below (common practice, no source).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct SelfDischarge {
    /// Loss of what is left.
    self_discharge_pct_a_20c: f64,
    /// Energy by which it grows with temperature in place of the doubling (Arrhenius).
    activation_energy_ev: Option<f64>,
    /// Stretches of the year.
    profile: Vec<Stretch>,
}

#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Stretch {
    /// Temperature of the cell.
    temperature_c: f64,
    /// How long.
    duration_h: f64,
}

#[derive(Serialize, JsonSchema)]
struct Effective {
    /// Share of the charge left that goes in a year.
    self_discharge_per_y: f64,
}

impl Calc for SelfDischarge {
    const NAME: &'static str = "self-discharge";
    type Reply = Effective;

    fn reckon(self) -> Result<Effective, String> {
        let pct = at_least_zero("self_discharge_pct_a_20c", self.self_discharge_pct_a_20c)?;
        let mut hours = 0.0;
        for stretch in &self.profile {
            hours += at_least_zero("duration_h", stretch.duration_h)?;
        }
        above_zero("the sum of duration_h", hours)?;
        let law = heat_law(self.activation_energy_ev);
        let stretches = self.profile.iter().map(|part| (part.temperature_c, part.duration_h));
        let pace = domain::Pace::weighted(law, stretches).map_err(|no| no.to_string())?;
        Ok(Effective { self_discharge_per_y: pct / 100.0 * pace.factor() })
    }
}

/// What the designation of a round cell says of its system and measures (IEC 60086).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Designation {
    /// Such as CR2032.
    designation: String,
}

#[derive(Serialize, JsonSchema)]
struct CellForm {
    /// Electrodes.
    system: &'static str,
    /// Nominal voltage.
    nominal_v: f64,
    /// Voltage at which it counts as empty.
    end_point_v: f64,
    /// Diameter, rounded down to whole mm.
    diameter_mm: f64,
    /// Height.
    height_mm: f64,
}

impl Calc for Designation {
    const NAME: &'static str = "battery-designation";
    type Reply = CellForm;

    fn reckon(self) -> Result<CellForm, String> {
        let cell = domain::designation(&self.designation).map_err(|refusal| refusal.to_string())?;
        Ok(CellForm {
            system: cell.system,
            nominal_v: cell.nominal_v,
            end_point_v: cell.end_point_v,
            diameter_mm: cell.diameter_mm,
            height_mm: cell.height_mm,
        })
    }
}

/// Capacities that makers commonly state for a cell of an IEC 60086 designation (common practice,
/// from memory; the designation itself fixes none).
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BatteryCapacity {
    /// Such as CR2032.
    designation: String,
}

#[derive(Serialize, JsonSchema)]
struct Capacities {
    /// The smallest.
    least_mah: f64,
    /// The largest.
    most_mah: f64,
}

impl Calc for BatteryCapacity {
    const NAME: &'static str = "battery-capacity";
    type Reply = Capacities;

    fn reckon(self) -> Result<Capacities, String> {
        let (least_mah, most_mah) =
            domain::typical_capacity_mah(&self.designation).map_err(|no| no.to_string())?;
        Ok(Capacities { least_mah, most_mah })
    }
}
