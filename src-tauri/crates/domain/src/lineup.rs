//! What stands together on a rail and in a cabinet: width, buses, supply, heat, voltage.
//!
//! [`check`] holds a cabinet, as it stands or as it is planned, against the named [`RULES`]. The
//! sums are for planning. The maker's data and local codes decide.

mod bus;
mod describe;
mod designation;
mod heat;
mod joined;
mod plan;
mod rail;
mod rules;
mod seen;
mod supplied;
mod supply;
#[cfg(test)]
mod tests;
mod warmth;
mod width;
mod wire;

pub use bus::{Bus, BusBudget, Buses, bus_budget, buses};
pub use describe::{Known, describe, keyed};
pub use designation::{Aspect, Designation, DesignationRefusal, Level, designation};
pub use heat::{
    COEFFICIENT_W_M2_K, Stand, area_for_rise_m2, box_area_m2, effective_area_m2, heat_rise_k,
};
pub use joined::WholeBus;
pub use plan::{Pieces, PlanRefusal, Wish, WishKind, pieces, planned};
pub use rail::{Body, Cabinet, Item, Keyed, Place, Rail, Standing, What};
pub use rules::{Finding, RULES, check, specs};
pub use seen::{Compared, RailSeen, compare};
pub use supplied::{Along, Derating, Supplied, along, feeds_both, supplied, without};
pub use supply::{DERATING_FROM_C, DERATING_PCT_K, SupplyBudget, derated_ma, supply_budget};
pub use warmth::{Warmth, warmth};
pub use width::{RailFit, equal_items, rail_fit};
pub use wire::{copper_ohm_per_m, voltage_drop_v};
