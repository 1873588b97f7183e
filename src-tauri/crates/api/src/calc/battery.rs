use super::{Calc, Entry, at_least_zero, entry, inside};
use chrono::{DateTime, NaiveDate, Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use slotkeep_domain::battery as domain;

pub(super) fn entries() -> Vec<Entry> {
    vec![
        entry::<BatteryRemaining>(),
        entry::<BatteryHoldUp>(),
        entry::<BatteryChance>(),
        entry::<BatteryReadiness>(),
        entry::<BatteryDue>(),
    ]
}

/// A fitted battery with all that its charge depends on.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Fitted {
    /// Capacity of one cell; for cells in parallel their sum.
    capacity_mah: f64,
    /// Loss of what is left; doubles per 10 K (common practice, no source).
    self_discharge_pct_a_20c: f64,
    /// Energy by which it grows with temperature in place of the doubling (Arrhenius).
    activation_energy_ev: Option<f64>,
    /// Cells in series (1).
    #[serde(default = "one_cell")]
    cells: u32,
    /// Drain with the cabinet powered.
    standby_ua: f64,
    /// Drain without power.
    backup_ua: f64,
    /// Temperature in the cabinet; left out where `months_c` is given.
    cabinet_c: Option<f64>,
    /// Mean temperature in the cabinet in each month, January first.
    months_c: Option<[f64; 12]>,
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
    /// How far the figures may be off (not at all).
    #[serde(default)]
    spread: Spread,
}

/// Standard deviations of the figures of a battery.
#[derive(Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
struct Spread {
    /// Of the capacity (0).
    capacity_pct: f64,
    /// Of the self-discharge (0).
    self_discharge_pct: f64,
    /// Of the drain with power (0).
    standby_pct: f64,
    /// Of the drain without power (0).
    backup_pct: f64,
    /// Of the temperature (0).
    temperature_k: f64,
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

fn one_in_a_hundred() -> f64 {
    domain::SPENT_CHANCE
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
            climate: self.climate()?,
            fitted: domain::Fitted { made_on: self.made_on, fitted_on: self.fitted_on },
            power_offs: &power_offs,
            spread: domain::Spread {
                capacity_pct: self.spread.capacity_pct,
                self_discharge_pct: self.spread.self_discharge_pct,
                standby_pct: self.spread.standby_pct,
                backup_pct: self.spread.backup_pct,
                temperature_k: self.spread.temperature_k,
            },
        };
        // A formula has no today: the battery may be fitted on any day.
        let findings = battery.findings(NaiveDate::MAX);
        if findings.is_empty() {
            return Ok(reckon(&battery));
        }
        let told: Vec<String> = findings.iter().map(ToString::to_string).collect();
        Err(told.join("; "))
    }

    fn climate(&self) -> Result<domain::Climate, String> {
        let law = heat_law(self.activation_energy_ev);
        let cabinet = match (self.cabinet_c, &self.months_c) {
            (Some(cabinet_c), None) => domain::Pace::constant(law, cabinet_c),
            (None, Some(months_c)) => domain::Pace::monthly(law, months_c),
            _ => return Err("give cabinet_c or months_c, one of the two".to_owned()),
        };
        let shelf = domain::Pace::constant(law, self.shelf_c);
        let told = |refusal: domain::HeatRefusal| refusal.to_string();
        Ok(domain::Climate { cabinet: cabinet.map_err(told)?, shelf: shelf.map_err(told)? })
    }
}

pub(super) fn heat_law(activation_ev: Option<f64>) -> domain::HeatLaw {
    match activation_ev {
        Some(activation_ev) => domain::HeatLaw::Arrhenius { activation_ev },
        None => domain::HeatLaw::DoublingPer10K,
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
    /// Charge at the start.
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
    /// Chance of not outlasting the careful figure (0.01).
    #[serde(default = "one_in_a_hundred")]
    spent_chance: f64,
}

#[derive(Serialize, JsonSchema)]
struct HoldUp {
    /// Hours, as likely more as less; null where nothing drains the battery.
    hold_up_h: Option<f64>,
    /// Hours but for the chance given; null where nothing drains the battery.
    early_hold_up_h: Option<f64>,
}

impl Calc for BatteryHoldUp {
    const NAME: &'static str = "battery-hold-up";
    type Reply = HoldUp;

    fn reckon(self) -> Result<HoldUp, String> {
        let chance = inside("spent_chance", self.spent_chance)?;
        let [middle_h, early_h] = self.battery.with(|battery| {
            let course = domain::Course::of(battery);
            [0.5, chance].map(|chance| course.hold_up_h(self.from, chance))
        })?;
        Ok(HoldUp { hold_up_h: finite(middle_h), early_hold_up_h: finite(early_h) })
    }
}

/// Chance that a battery no longer covers a power-off.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BatteryChance {
    battery: Fitted,
    /// Moment at which the power goes.
    from: DateTime<Utc>,
    /// Length of the power-off.
    hold_up_required_h: f64,
}

#[derive(Serialize, JsonSchema)]
struct Chance {
    /// Probability that the charge does not cover it.
    chance: f64,
}

impl Calc for BatteryChance {
    const NAME: &'static str = "battery-chance";
    type Reply = Chance;

    fn reckon(self) -> Result<Chance, String> {
        let hold_up_h = at_least_zero("hold_up_required_h", self.hold_up_required_h)?;
        let chance = self
            .battery
            .with(|battery| domain::Course::of(battery).chance_uncovered(self.from, hold_up_h))?;
        Ok(Chance { chance })
    }
}

/// How a memory stands up to one power-off.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BatteryReadiness {
    battery: Fitted,
    /// The power-off.
    power_off: Off,
    /// Chance of loss that is allowed (0.01).
    #[serde(default = "one_in_a_hundred")]
    spent_chance: f64,
}

#[derive(Serialize, JsonSchema)]
struct Readiness {
    /// The chance of loss is allowed.
    survives: bool,
    /// Probability that the memory is lost.
    loss_chance: f64,
    /// Careful hours beyond those needed; null where nothing drains the battery.
    margin_h: Option<f64>,
    /// Hours, as likely more as less; null where nothing drains the battery.
    hold_up_h: Option<f64>,
}

impl Calc for BatteryReadiness {
    const NAME: &'static str = "battery-readiness";
    type Reply = Readiness;

    fn reckon(self) -> Result<Readiness, String> {
        let chance = inside("spent_chance", self.spent_chance)?;
        let off = domain::Off { from: self.power_off.from, to: self.power_off.to };
        if off.to < off.from {
            return Err("power_off ends before it starts: correct the times".to_owned());
        }
        let ready = self.battery.with(|battery| domain::readiness(battery, &off, chance))?;
        Ok(Readiness {
            survives: ready.survives,
            loss_chance: ready.loss_chance,
            margin_h: finite(ready.margin_h),
            hold_up_h: finite(ready.hold_up_h),
        })
    }
}

fn finite(hours: f64) -> Option<f64> {
    Some(hours).filter(|hours| hours.is_finite())
}

/// The day by which a battery must be changed, and what decides it.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BatteryDue {
    battery: Fitted,
    /// Power-off that the memory must outlast.
    hold_up_required_h: f64,
    /// Chance of not outlasting it at which the battery is due (0.01).
    #[serde(default = "one_in_a_hundred")]
    spent_chance: f64,
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
    /// Day on which the chance by charge alone is above 10 %.
    tenth_on: NaiveDate,
    /// The same for 50 %.
    middle_on: NaiveDate,
    /// The same for 90 %.
    late_on: NaiveDate,
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
            spent_chance: inside("spent_chance", self.spent_chance)?,
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
        let domain::DueRange { tenth_on, middle_on, late_on, .. } = due.range;
        Ok(DueOn { due_on: due.on, reason, tenth_on, middle_on, late_on })
    }
}

fn optional(name: &str, figure: Option<f64>) -> Result<Option<f64>, String> {
    figure.map(|figure| at_least_zero(name, figure)).transpose()
}
