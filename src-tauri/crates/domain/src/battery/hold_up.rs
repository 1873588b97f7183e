use super::charge::hours_to_empty;
use super::{Battery, remaining_mah};
use chrono::{DateTime, Utc};

/// Returns the hours that the memory outlasts a power-off starting at `from`.
///
/// Charge left (mAh, after the shelf, self-discharge at the cabinet's temperature, standby and
/// earlier power-offs) fed to the back-up drain, while self-discharge goes on. Zero when the cell is
/// spent; infinite when there is charge and no back-up drain. As often less as more: for a careful
/// figure ask [`Course::hold_up_h`](super::Course::hold_up_h).
///
/// Source: charge balance.
pub fn hold_up_h(battery: &Battery<'_>, from: DateTime<Utc>) -> f64 {
    let left_mah = remaining_mah(battery, from).remaining_mah;
    let drain_ma = battery.drain.backup_ua / 1000.0;
    hours_to_empty(left_mah, drain_ma, battery.loss_per_h(battery.climate.cabinet))
}
