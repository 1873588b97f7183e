use super::charge::{hours_to_empty, without_overlap};
use super::lines::Lines;
use super::spread::log_spread;
use super::{Battery, hours_between, start_of};
use chrono::{DateTime, Utc};

/// The charge of one battery over time, with its chances.
///
/// The capacity that a cell must have had so that today's charge covers a power-off is a sum that
/// only grows with time: N(t) = I·∫e^(ku)du over the time with power, and the same with the back-up
/// drain over power-offs and the one asked for, all times e^(shelf). The memory is not covered where
/// N(t) is above the capacity. Both are log-normal or functions of log-normal figures, so the chance
/// is an integral over four normal variables: capacity, self-discharge (with the temperature's error
/// in it, which multiplies its pace), stand-by drain and back-up drain. It is reckoned on fixed
/// [lines](super::lines), so equal input gives equal dates.
///
/// Source: charge balance dC/dt = -I - kC, solved for the charge at the start.
#[derive(Debug, Clone)]
pub struct Course {
    fitted_at: DateTime<Utc>,
    pub(super) ln_capacity: f64,
    /// Self-discharge in the cabinet, share of the charge left in a day.
    loss_per_d: f64,
    /// Age at fitting, in days of the cabinet's pace.
    shelf_d: f64,
    standby_mah_d: f64,
    backup_mah_d: f64,
    /// Days since fitting, in order and apart.
    offs_d: Vec<(f64, f64)>,
    /// Standard deviations of the logarithms of capacity, self-discharge, stand-by and back-up.
    pub(super) sigma: [f64; 4],
}

/// What is left open in "covers so many days without power on that day".
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Open {
    /// The day, for a power-off of so many days.
    Day { hold_up_d: f64 },
    /// The power-off, on a day since fitting.
    HoldUp { at_d: f64 },
}

/// The capacity that a cell must have had, and how its logarithm grows.
pub(super) struct Need {
    pub ln_mah: f64,
    /// With the logarithms of self-discharge, stand-by drain and back-up drain.
    pub slopes: [f64; 3],
    /// With the open figure, for each day.
    pub per_d: f64,
}

/// What a stretch adds to the need for each unit of its drain, and its slope with ln k.
#[derive(Clone, Copy)]
struct Grown {
    days: f64,
    slope: f64,
}

const HOURS_PER_DAY: f64 = 24.0;

/// Days of a year of service.
pub(super) const DAYS_PER_YEAR: f64 = 365.25;

impl Course {
    /// Takes a battery; one that cannot be reckoned with counts as empty.
    pub fn of(battery: &Battery<'_>) -> Self {
        let sound = battery.sound();
        let fitted_at = start_of(battery.fitted.fitted_on);
        let day = |at: DateTime<Utc>| hours_between(fitted_at, at) / HOURS_PER_DAY;
        let offs = without_overlap(battery.power_offs, fitted_at, DateTime::<Utc>::MAX_UTC);
        let shelf_d = -day(start_of(battery.made_on()).min(fitted_at));
        let pace = battery.climate.cabinet;
        let spread = &battery.spread;
        let heat = pace.per_k() * spread.temperature_k;
        let per_d = HOURS_PER_DAY / 1000.0;
        let capacity_mah = if sound { battery.cell.capacity_mah } else { 0.0 };
        let kept = |figure: f64| if sound { figure } else { 0.0 };
        Self {
            fitted_at,
            ln_capacity: capacity_mah.ln(),
            loss_per_d: kept(battery.loss_per_h(pace) * HOURS_PER_DAY),
            shelf_d: shelf_d * battery.climate.shelf.factor() / pace.factor(),
            standby_mah_d: kept(battery.drain.standby_ua) * per_d,
            backup_mah_d: kept(battery.drain.backup_ua) * per_d,
            offs_d: offs.iter().map(|off| (day(off.from), day(off.to))).collect(),
            sigma: [
                log_spread(kept(spread.capacity_pct)),
                log_spread(kept(spread.self_discharge_pct)).hypot(kept(heat)),
                log_spread(kept(spread.standby_pct)),
                log_spread(kept(spread.backup_pct)),
            ],
        }
    }

    /// Returns the probability that the charge at `at` does not cover `hold_up_h` without power.
    /// Before the day of fitting that of the day of fitting.
    pub fn chance_uncovered(&self, at: DateTime<Utc>, hold_up_h: f64) -> f64 {
        self.chance(self.day(at), hold_up_h / HOURS_PER_DAY)
    }

    /// Returns the days after fitting until which the charge covers `hold_up_h` without power but
    /// for this chance: zero where it never does, infinite where it always does.
    pub fn days_until(&self, chance: f64, hold_up_h: f64) -> f64 {
        if self.ln_capacity == f64::NEG_INFINITY {
            return 0.0;
        }
        let open = Open::Day { hold_up_d: hold_up_h / HOURS_PER_DAY };
        Lines::quantile(self, open, chance)
    }

    /// Returns the years after fitting until the cell is spent, at the middles of so many equal
    /// slices of chance: the model's say in a [`blend`](super::blend). Infinite where nothing drains
    /// the cell.
    pub fn lives_y(&self, slices: usize) -> Vec<f64> {
        let middle = |slice: usize| (slice as f64 + 0.5) / slices as f64;
        (0..slices).map(|slice| self.days_until(middle(slice), 0.0) / DAYS_PER_YEAR).collect()
    }

    /// Returns the hours that the memory outlasts a power-off from `from` on but for this chance:
    /// 0.5 is the median, 0.01 a careful figure. Infinite without a back-up drain.
    pub fn hold_up_h(&self, from: DateTime<Utc>, chance: f64) -> f64 {
        if self.ln_capacity == f64::NEG_INFINITY {
            return 0.0;
        }
        let open = Open::HoldUp { at_d: self.day(from) };
        Lines::quantile(self, open, chance) * HOURS_PER_DAY
    }

    fn day(&self, at: DateTime<Utc>) -> f64 {
        (hours_between(self.fitted_at, at) / HOURS_PER_DAY).max(0.0)
    }

    pub(super) fn chance(&self, at_d: f64, hold_up_d: f64) -> f64 {
        if self.ln_capacity == f64::NEG_INFINITY {
            return 1.0;
        }
        Lines::chance(self, at_d, hold_up_d)
    }

    /// Day since fitting on which the last known power-off ends.
    pub(super) fn last_off_d(&self) -> f64 {
        self.offs_d.last().map_or(0.0, |(_, to_d)| *to_d)
    }

    /// The capacity needed with figures that lie `z` standard deviations off.
    pub(super) fn need(&self, z: &[f64; 4], at_d: f64, hold_up_d: f64, open: Open) -> Need {
        let k = self.loss_per_d * (self.sigma[1] * z[1]).exp();
        let standby = self.standby_mah_d * (self.sigma[2] * z[2]).exp();
        let backup = self.backup_mah_d * (self.sigma[3] * z[3]).exp();
        let end = (k * at_d).exp();
        // No exponential for the whole where its digits are in the other already.
        let whole = if k * at_d < 1e-3 {
            grown(k, 0.0, at_d, 1.0)
        } else {
            let days = (end - 1.0) / k;
            Grown { days, slope: at_d * end - days }
        };
        let asked = grown(k, at_d, at_d + hold_up_d, end);
        let (mut off, mut is_off) = (Grown { days: 0.0, slope: 0.0 }, false);
        for (from_d, to_d) in &self.offs_d {
            if *from_d >= at_d {
                break;
            }
            let part = grown(k, *from_d, to_d.min(at_d), (k * from_d).exp());
            off.days += part.days;
            off.slope += part.slope;
            is_off = at_d < *to_d;
        }
        let fed = standby * (whole.days - off.days);
        let kept = backup * (off.days + asked.days);
        let sum = fed + kept;
        let shelf = k * self.shelf_d;
        let slope = standby * (whole.slope - off.slope) + backup * (off.slope + asked.slope);
        let after = end + k * asked.days;
        let per_d = match open {
            Open::Day { .. } => {
                let now = if is_off { backup } else { standby };
                now * end + backup * (after - end)
            }
            Open::HoldUp { .. } => backup * after,
        };
        Need {
            ln_mah: shelf + sum.ln(),
            slopes: [shelf + slope / sum, fed / sum, kept / sum],
            per_d: per_d / sum,
        }
    }

    /// The open figure, days, of a cell whose figures lie `z` standard deviations off.
    pub(super) fn open_d(&self, z: &[f64; 4], open: Open) -> f64 {
        let k = self.loss_per_d * (self.sigma[1] * z[1]).exp();
        let standby = self.standby_mah_d * (self.sigma[2] * z[2]).exp();
        let backup = self.backup_mah_d * (self.sigma[3] * z[3]).exp();
        let mut left = (self.ln_capacity + self.sigma[0] * z[0] - k * self.shelf_d).exp();
        match open {
            Open::Day { hold_up_d } => {
                let kept = backup * grown(k, 0.0, hold_up_d, 1.0).days;
                let mut clock = 0.0;
                for (from_d, to_d) in &self.offs_d {
                    for (drain, end_d) in [(standby, *from_d), (backup, *to_d)] {
                        let lasts_d = lasts_d(left, drain, kept, k);
                        if lasts_d <= end_d - clock {
                            return clock + lasts_d;
                        }
                        left = rest(left, drain, k, end_d - clock);
                        clock = end_d;
                    }
                }
                clock + lasts_d(left, standby, kept, k)
            }
            Open::HoldUp { at_d } => {
                let mut clock = 0.0;
                for (from_d, to_d) in self.offs_d.iter().filter(|(from_d, _)| *from_d < at_d) {
                    left = rest(left, standby, k, from_d - clock);
                    left = rest(left, backup, k, to_d.min(at_d) - from_d);
                    clock = to_d.min(at_d);
                }
                left = rest(left, standby, k, at_d - clock);
                hours_to_empty(left, backup, k)
            }
        }
    }
}

/// Days until a charge has sunk to where `kept` is left; infinite when it never does.
fn lasts_d(left: f64, drain: f64, kept: f64, k: f64) -> f64 {
    if left <= kept {
        return 0.0;
    }
    let falls = drain + k * kept;
    if falls <= 0.0 {
        f64::INFINITY
    } else if k <= 0.0 {
        (left - kept) / drain
    } else {
        (k * (left - kept) / falls).ln_1p() / k
    }
}

/// What is left of a charge after some days of a drain; below zero where it was not enough.
fn rest(left: f64, drain: f64, k: f64, days: f64) -> f64 {
    // Past this the exponential has no room for it, and nothing is left anyway.
    if k * days > 600.0 {
        return if drain > 0.0 { f64::NEG_INFINITY } else { 0.0 };
    }
    (left - drain * grown(k, 0.0, days, 1.0).days) * (-k * days).exp()
}

/// ∫e^(ku)du from `from_d` to `to_d`, and its slope with ln k; `start` is e^(k·from_d).
fn grown(k: f64, from_d: f64, to_d: f64, start: f64) -> Grown {
    let long_d = to_d - from_d;
    let x = k * long_d;
    // The series is exact to the last digits there, and spares short power-offs an exponential.
    let over = if x.abs() < 1e-3 {
        x * (1.0 + x / 2.0 * (1.0 + x / 3.0 * (1.0 + x / 4.0)))
    } else {
        x.exp_m1()
    };
    if x.abs() < 1e-9 {
        let days = start * long_d;
        return Grown { days, slope: days * (k * from_d + x / 2.0) };
    }
    let days = start * over / k;
    Grown { days, slope: start * (to_d * (over + 1.0) - from_d) - days }
}
