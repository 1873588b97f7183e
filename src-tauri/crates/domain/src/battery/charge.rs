use super::{Battery, HOURS_PER_YEAR, Off, hours_between, start_of};
use chrono::{DateTime, Utc};

/// Where the charge of a battery went, mAh. The four losses and the rest add up to the capacity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    pub remaining_mah: f64,
    /// Lost by itself on the shelf before it was fitted.
    pub shelf_loss_mah: f64,
    /// Lost by itself since.
    pub self_discharge_mah: f64,
    /// Taken while the cabinet was powered.
    pub standby_mah: f64,
    /// Taken while it was not.
    pub backup_mah: f64,
    /// At the start.
    pub capacity_mah: f64,
}

/// Returns the share of the charge left that a cell loses in an hour at `temperature_c`.
///
/// `pct_a_20c` is the loss in a year at 20 °C, per cent; it doubles with every 10 K.
///
/// Source: common practice, no source (a rule of thumb in the manner of Arrhenius; it fails at high
/// temperature and for passivated cells).
pub fn self_discharge_per_h(pct_a_20c: f64, temperature_c: f64) -> f64 {
    pct_a_20c / 100.0 / HOURS_PER_YEAR * 2f64.powf((temperature_c - 20.0) / 10.0)
}

/// Returns the years (of 8760 h) that `capacity_mah` feeds a constant drain beside self-discharge
/// of `loss_per_year` of the charge left. Infinite when nothing drains it.
///
/// Source: charge balance dC/dt = -I - kC, so t = ln(1 + kC/I) / k.
pub fn years_to_empty(capacity_mah: f64, drain_ua: f64, loss_per_year: f64) -> f64 {
    hours_to_empty(capacity_mah, drain_ua / 1000.0, loss_per_year / HOURS_PER_YEAR) / HOURS_PER_YEAR
}

/// Returns where the charge of the battery has gone at `at`.
///
/// Full on the day it was made, then the shelf at its temperature, then the cabinet at its own with
/// the drain that each moment asks for. Before the day of fitting it is still on the shelf; before
/// the day of making it is full. The figures are those that are as often exceeded as not: spreads
/// are for [`Course`](super::Course).
///
/// Source: charge balance.
pub fn remaining_mah(battery: &Battery<'_>, at: DateTime<Utc>) -> Balance {
    let mut balance = full(battery);
    let fitted_at = start_of(battery.fitted.fitted_on);
    let shelf_h = hours_between(start_of(battery.made_on()), fitted_at.min(at)).max(0.0);
    balance.shelf_loss_mah =
        balance.spend(shelf_h, 0.0, battery.loss_per_h(battery.climate.shelf)).1;
    let cabinet_per_h = battery.loss_per_h(battery.climate.cabinet);
    let standby_ma = battery.drain.standby_ua / 1000.0;
    let backup_ma = battery.drain.backup_ua / 1000.0;
    let mut clock = fitted_at;
    for off in without_overlap(battery.power_offs, fitted_at, at) {
        balance.powered(hours_between(clock, off.from), standby_ma, cabinet_per_h);
        let (taken, lost) =
            balance.spend(hours_between(off.from, off.to), backup_ma, cabinet_per_h);
        balance.backup_mah += taken;
        balance.self_discharge_mah += lost;
        clock = off.to;
    }
    balance.powered(hours_between(clock, at).max(0.0), standby_ma, cabinet_per_h);
    balance
}

/// Hours until a charge is gone; infinite when it never is.
pub(super) fn hours_to_empty(charge_mah: f64, drain_ma: f64, per_h: f64) -> f64 {
    if charge_mah <= 0.0 {
        0.0
    } else if drain_ma <= 0.0 {
        f64::INFINITY
    } else if per_h <= 0.0 {
        charge_mah / drain_ma
    } else {
        (per_h * charge_mah / drain_ma).ln_1p() / per_h
    }
}

fn full(battery: &Battery<'_>) -> Balance {
    let capacity_mah = if battery.sound() { battery.cell.capacity_mah } else { 0.0 };
    Balance {
        remaining_mah: capacity_mah,
        shelf_loss_mah: 0.0,
        self_discharge_mah: 0.0,
        standby_mah: 0.0,
        backup_mah: 0.0,
        capacity_mah,
    }
}

impl Balance {
    /// Lets time pass and returns what the drain took and what was lost by itself, mAh.
    fn spend(&mut self, hours: f64, drain_ma: f64, per_h: f64) -> (f64, f64) {
        if self.remaining_mah <= 0.0 || hours <= 0.0 {
            return (0.0, 0.0);
        }
        let before = self.remaining_mah;
        let lasts_h = hours_to_empty(before, drain_ma, per_h);
        let taken = (drain_ma * hours.min(lasts_h)).min(before);
        if hours >= lasts_h {
            self.remaining_mah = 0.0;
            return (taken, before - taken);
        }
        let decay = -(-per_h * hours).exp_m1();
        // The charge taken on the way no longer decays, hence less than `before * decay` is lost.
        let kept_from_drain = if per_h > 0.0 { drain_ma * (hours - decay / per_h) } else { 0.0 };
        let lost = (before * decay - kept_from_drain).clamp(0.0, before - taken);
        self.remaining_mah = before - taken - lost;
        (taken, lost)
    }

    fn powered(&mut self, hours: f64, standby_ma: f64, per_h: f64) {
        let (taken, lost) = self.spend(hours, standby_ma, per_h);
        self.standby_mah += taken;
        self.self_discharge_mah += lost;
    }
}

/// The stretches between two moments, in order, with overlaps counted once.
pub(super) fn without_overlap(offs: &[Off], from: DateTime<Utc>, to: DateTime<Utc>) -> Vec<Off> {
    let mut clipped: Vec<Off> = offs
        .iter()
        .map(|off| Off { from: off.from.max(from), to: off.to.min(to) })
        .filter(|off| off.from < off.to)
        .collect();
    clipped.sort_by_key(|off| off.from);
    let mut apart: Vec<Off> = Vec::with_capacity(clipped.len());
    for off in clipped {
        match apart.last_mut() {
            Some(last) if off.from <= last.to => last.to = last.to.max(off.to),
            _ => apart.push(off),
        }
    }
    apart
}
