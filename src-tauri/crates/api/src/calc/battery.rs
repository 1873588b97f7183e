use super::{Calc, Entry, at_least_zero, entry};
use chrono::{DateTime, NaiveDate, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::battery as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![entry::<BatteryRemaining>(), entry::<BatteryHoldUp>(), entry::<BatteryDue>()]
}

/// A fitted battery with all that its charge depends on.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Fitted {
    /// Capacity of one cell; for cells in parallel their sum.
    capacity_mah: f64,
    /// Loss of what is left; doubles per 10 K (common practice, no source).
    self_discharge_pct_a_20c: f64,
    /// Cells in series (1).
    #[serde(default = "one_cell")]
    cells: u32,
    /// Drain with the cabinet powered.
    standby_ua: f64,
    /// Drain without power.
    backup_ua: f64,
    /// Temperature in the cabinet.
    cabinet_c: f64,
    /// Temperature on the shelf (20).
    #[serde(default = "room_c")]
    shelf_c: f64,
    /// Day the cell was made; two years before fitting where it is left out.
    made_on: Option<NaiveDate>,
    /// Day it was fitted.
    fitted_on: NaiveDate,
    /// Stretches without power.
    #[serde(default)]
    power_offs: Vec<Off>,
    /// Factor that divides the capacity and multiplies the rates (1).
    #[serde(default = "no_pessimism")]
    pessimism: f64,
}

/// A stretch without power.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Off {
    /// Start.
    from: DateTime<Utc>,
    /// End.
    to: DateTime<Utc>,
}

fn one_cell() -> u32 {
    1
}

fn room_c() -> f64 {
    20.0
}

fn no_pessimism() -> f64 {
    1.0
}

impl Fitted {
    /// Hands the battery to `reckon`, unless a figure makes no sense.
    fn with<T>(&self, reckon: impl FnOnce(&domain::Battery<'_>) -> T) -> Result<T, String> {
        let power_offs: Vec<domain::Off> =
            self.power_offs.iter().map(|off| domain::Off { from: off.from, to: off.to }).collect();
        let battery = domain::Battery {
            cell: domain::Cell {
                capacity_mah: self.capacity_mah,
                self_discharge_pct_a_20c: self.self_discharge_pct_a_20c,
                cells: self.cells,
            },
            drain: domain::Drain { standby_ua: self.standby_ua, backup_ua: self.backup_ua },
            climate: domain::Climate { cabinet_c: self.cabinet_c, shelf_c: self.shelf_c },
            fitted: domain::Fitted { made_on: self.made_on, fitted_on: self.fitted_on },
            power_offs: &power_offs,
            pessimism: self.pessimism,
        };
        let findings = battery.findings();
        if findings.is_empty() { Ok(reckon(&battery)) } else { Err(findings.join("; ")) }
    }
}

/// Charge left in a fitted battery, and where the rest went.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BatteryRemaining {
    battery: Fitted,
    /// Moment that is asked for.
    at: DateTime<Utc>,
}

#[derive(Serialize, JsonSchema)]
struct Balance {
    /// Charge left.
    remaining_mah: f64,
    /// Lost by itself before fitting.
    shelf_loss_mah: f64,
    /// Lost by itself since.
    self_discharge_mah: f64,
    /// Taken with the cabinet powered.
    standby_mah: f64,
    /// Taken without power.
    backup_mah: f64,
    /// Charge at the start, pessimism taken off.
    capacity_mah: f64,
}

impl Calc for BatteryRemaining {
    const NAME: &'static str = "battery-remaining";
    type Reply = Balance;

    fn reckon(self) -> Result<Balance, String> {
        let balance = self.battery.with(|battery| domain::remaining_mah(battery, self.at))?;
        Ok(Balance {
            remaining_mah: balance.remaining_mah,
            shelf_loss_mah: balance.shelf_loss_mah,
            self_discharge_mah: balance.self_discharge_mah,
            standby_mah: balance.standby_mah,
            backup_mah: balance.backup_mah,
            capacity_mah: balance.capacity_mah,
        })
    }
}

/// How long the memory outlasts a power-off.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BatteryHoldUp {
    battery: Fitted,
    /// Moment at which the power goes.
    from: DateTime<Utc>,
}

#[derive(Serialize, JsonSchema)]
struct HoldUp {
    /// Hours; null where nothing drains the battery.
    hold_up_h: Option<f64>,
}

impl Calc for BatteryHoldUp {
    const NAME: &'static str = "battery-hold-up";
    type Reply = HoldUp;

    fn reckon(self) -> Result<HoldUp, String> {
        let hold_up_h = self.battery.with(|battery| domain::hold_up_h(battery, self.from))?;
        Ok(HoldUp { hold_up_h: Some(hold_up_h).filter(|hours| hours.is_finite()) })
    }
}

/// The day by which a battery must be changed, and what decides it.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BatteryDue {
    battery: Fitted,
    /// Power-off that the memory must outlast.
    hold_up_required_h: f64,
    /// Longest time in service, from fitting.
    site_age_limit_y: Option<f64>,
    /// Longest age, from making.
    maker_age_limit_y: Option<f64>,
    /// Day from which it is judged whether nothing is left.
    today: NaiveDate,
}

#[derive(Serialize, JsonSchema)]
struct DueOn {
    /// Last day for the change.
    due_on: NaiveDate,
    /// What decides it.
    reason: DueReason,
}

#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
enum DueReason {
    Charge,
    SiteAge,
    MakerAge,
    Spent,
}

impl Calc for BatteryDue {
    const NAME: &'static str = "battery-due";
    type Reply = DueOn;

    fn reckon(self) -> Result<DueOn, String> {
        let limits = domain::Limits {
            hold_up_required_h: at_least_zero("hold_up_required_h", self.hold_up_required_h)?,
            site_age_limit_y: optional("site_age_limit_y", self.site_age_limit_y)?,
            maker_age_limit_y: optional("maker_age_limit_y", self.maker_age_limit_y)?,
        };
        let due = self.battery.with(|battery| domain::due(battery, &limits, self.today))?;
        let reason = match due.reason {
            domain::DueReason::Charge => DueReason::Charge,
            domain::DueReason::SiteAge => DueReason::SiteAge,
            domain::DueReason::MakerAge => DueReason::MakerAge,
            domain::DueReason::Spent => DueReason::Spent,
        };
        Ok(DueOn { due_on: due.on, reason })
    }
}

fn optional(name: &str, figure: Option<f64>) -> Result<Option<f64>, String> {
    figure.map(|figure| at_least_zero(name, figure)).transpose()
}
