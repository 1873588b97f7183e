//! What stands together on a rail and in a cabinet: width, supply, heat, voltage.
//!
//! These are sums for planning. The maker's data and local codes decide.

mod heat;
mod seen;
mod supply;
#[cfg(test)]
mod tests;
mod width;
mod wire;

pub use heat::{COEFFICIENT_W_M2_K, Stand, area_for_rise_m2, effective_area_m2, heat_rise_k};
pub use seen::{Compared, RailSeen, compare};
pub use supply::{DERATING_FROM_C, DERATING_PCT_K, SupplyBudget, derated_ma, supply_budget};
pub use width::{RailFit, equal_items, rail_fit};
pub use wire::{copper_ohm_per_m, voltage_drop_v};
