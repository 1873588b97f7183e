use super::lines::Catalogue;
use super::{battery_agreed, battery_calendar, battery_power, battery_visits, find};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::battery::{BatteriesInput, BatteryLine, ChangeInput, SeenInput, SumLine};
use chrono::{DateTime, NaiveDate, Utc};
use slotkeep_domain::battery::{
    Battery, Cell, Climate, Course, Drain, Due, DueReason, Fitted, HeatLaw, HeatRefusal, Limits,
    Off, Pace, SPENT_CHANCE, Spread, due, hold_up_h, remaining_mah,
};
use slotkeep_domain::journal::{BatteryChanged, BatterySeen, Body, CellFound, PowerOff};
use slotkeep_domain::model::{BatteryNeed, Model};
use slotkeep_domain::place::{Cabinet, CabinetAddress, Site};
use slotkeep_domain::register::View;
use slotkeep_domain::unit::{FittedBattery, Unit};
use slotkeep_store::Reader;

/// A battery due within so many days is due soon.
const SOON_D: i64 = 90;

pub(super) fn commands() -> Vec<Command> {
    let mut commands = vec![
        table::ask("battery.list", "Lists back-up batteries, most urgent first.", list),
        table::record(
            "battery.change",
            "Records that a battery was changed, from which lot.",
            table::HANDS,
            change,
        ),
        table::record(
            "battery.seen",
            "Records a look at a battery that stays: its lamp, its voltage.",
            table::HANDS,
            seen,
        ),
    ];
    commands.extend(battery_power::commands());
    commands.extend(battery_agreed::commands());
    commands.extend(battery_visits::commands());
    commands.extend(battery_calendar::commands());
    commands
}

fn list(ask: &Ask<'_>, input: BatteriesInput) -> Result<Vec<BatteryLine>, Failure> {
    ask.read(|r| {
        let cabinet = input.cabinet.as_deref().filter(|text| !text.is_empty());
        let mut lines = list_for(r, ask.now, cabinet)?;
        if let Some(within) = input.within_d {
            lines.retain(|line| line.days_left.is_none_or(|left| left <= i64::from(within)));
        }
        Ok(lines)
    })
}

/// Batteries in slots, most urgent first; unknown ones come before all, since nobody knows.
pub(super) fn list_for(
    r: &Reader<'_>,
    now: DateTime<Utc>,
    cabinet: Option<&str>,
) -> Result<Vec<BatteryLine>, Failure> {
    let wanted = cabinet.map(|text| find::cabinet(r, text)).transpose()?;
    let surroundings = Surroundings::of(r, r.cabinets()?)?;
    let catalogue = Catalogue::new(r);
    let mut lines = Vec::new();
    for model in r.models()?.iter().filter(|model| model.battery.is_some()) {
        for unit in r.units_of(&model.part_no)? {
            let Some(slot) = unit.place.slot() else { continue };
            if wanted.as_ref().is_some_and(|wanted| wanted.address != slot.cabinet()) {
                continue;
            }
            lines.extend(surroundings.line(&catalogue, &unit, model, now));
        }
    }
    lines.sort_by(|a, b| (a.due_on, &a.unit.place).cmp(&(b.due_on, &b.unit.place)));
    Ok(lines)
}

/// The battery of one unit, wherever it is; none for a model without one.
pub(super) fn of_unit(
    r: &Reader<'_>,
    unit: &Unit,
    model: &Model,
    now: DateTime<Utc>,
) -> Result<Option<BatteryLine>, Failure> {
    if model.battery.is_none() {
        return Ok(None);
    }
    let cabinet = unit.place.slot().and_then(|slot| r.cabinet(&slot.cabinet()));
    let surroundings = Surroundings::of(r, cabinet.into_iter().collect())?;
    Ok(surroundings.line(&Catalogue::new(r), unit, model, now))
}

/// What batteries live in: the site, its cabinets, and stretches without power.
struct Surroundings {
    site: Site,
    cabinets: Vec<Cabinet>,
    power_offs: Vec<PowerOff>,
}

impl Surroundings {
    fn of(r: &Reader<'_>, cabinets: Vec<Cabinet>) -> Result<Self, Failure> {
        let power_offs = r.power_offs()?.into_iter().map(|(_, off)| off).collect();
        Ok(Self { site: r.site().ok_or_else(find::empty)?, cabinets, power_offs })
    }

    fn line(
        &self,
        catalogue: &Catalogue<'_, '_>,
        unit: &Unit,
        model: &Model,
        now: DateTime<Utc>,
    ) -> Option<BatteryLine> {
        let need = model.battery.as_ref()?;
        let cabinet = unit.place.slot().map(|slot| slot.cabinet());
        let bare = BatteryLine {
            unit: catalogue.unit(unit),
            cabinet: cabinet.as_ref().map(ToString::to_string),
            battery_model: need.model.to_string(),
            cells: need.cells,
            due_on: None,
            days_left: None,
            reason: "unknown".to_owned(),
            message: String::new(),
            hold_up_h: None,
            hold_up_required_h: self.site.hold_up_required_h,
            remaining_mah: None,
            urgency: "unknown".to_owned(),
            sum: Vec::new(),
        };
        let unknown = |message: String| Some(BatteryLine { message, ..bare.clone() });
        let Some(fitted) = &unit.battery else {
            return unknown(format!("no battery is recorded; it takes a {}", need.model));
        };
        let Some(cell) = catalogue.model(&fitted.model).and_then(|model| model.cell) else {
            return unknown(format!("the catalogue has no capacity for {}", fitted.model));
        };
        let drain = match Drain::of_catalogue(need.standby_drain_ua, need.backup_drain_ua) {
            Ok(drain) => drain,
            Err(finding) => return unknown(format!("{}: {finding}", model.part_no)),
        };
        let climate = match self.climate(cabinet.as_ref()) {
            Ok(climate) => climate,
            Err(refusal) => return unknown(refusal.to_string()),
        };
        let offs = self.offs(cabinet.as_ref());
        let battery = Battery {
            cell: Cell {
                capacity_mah: cell.capacity_mah,
                self_discharge_pct_a_20c: cell.self_discharge_pct_a,
                cells: need.cells,
            },
            drain,
            climate,
            fitted: Fitted { made_on: fitted.made_on, fitted_on: fitted.fitted_on },
            power_offs: &offs,
            spread: Spread::USUAL,
        };
        let limits = Limits {
            hold_up_required_h: self.site.hold_up_required_h,
            spent_chance: SPENT_CHANCE,
            site_age_limit_y: self.site.battery_age_limit_y,
            maker_age_limit_y: cell.max_age_y,
        };
        Some(judged(bare, &battery, &limits, (fitted, need), now))
    }

    fn climate(&self, cabinet: Option<&CabinetAddress>) -> Result<Climate, HeatRefusal> {
        let known = self.cabinets.iter().find(|known| Some(&known.address) == cabinet);
        let cabinet_c = match cabinet {
            Some(_) => known.and_then(|c| c.temperature_c).unwrap_or(self.site.temperature_c),
            // A spare with its battery in lies on the shelf.
            None => self.site.shelf_temperature_c,
        };
        let pace = |temperature_c| Pace::constant(HeatLaw::DoublingPer10K, temperature_c);
        Ok(Climate { cabinet: pace(cabinet_c)?, shelf: pace(self.site.shelf_temperature_c)? })
    }

    fn offs(&self, cabinet: Option<&CabinetAddress>) -> Vec<Off> {
        let Some(cabinet) = cabinet else { return Vec::new() };
        let area = self.cabinets.iter().find(|known| known.address == *cabinet).map(|c| &c.area);
        let area = area.map(String::as_str).unwrap_or_default();
        let here = self.power_offs.iter().filter(|off| off.scope.covers(cabinet, area));
        here.map(|off| Off { from: off.from, to: off.to }).collect()
    }
}

fn judged(
    bare: BatteryLine,
    battery: &Battery<'_>,
    limits: &Limits,
    (fitted, need): (&FittedBattery, &BatteryNeed),
    now: DateTime<Utc>,
) -> BatteryLine {
    let today = now.date_naive();
    let due = due(battery, limits, today);
    let left = (due.on - today).num_days();
    let balance = remaining_mah(battery, now);
    let hold_up = Course::of(battery).hold_up_h(now, limits.spent_chance);
    let line = |what: &str, value: f64, unit: &str| SumLine {
        what: what.to_owned(),
        value,
        unit: unit.to_owned(),
    };
    let sum = vec![
        line("Capacity", balance.capacity_mah, "mAh"),
        line("Lost on the shelf before fitting", -balance.shelf_loss_mah, "mAh"),
        line("Lost by self-discharge since", -balance.self_discharge_mah, "mAh"),
        line("Drawn with power on", -balance.standby_mah, "mAh"),
        line("Drawn in recorded power-offs", -balance.backup_mah, "mAh"),
        line("Left now", balance.remaining_mah, "mAh"),
        line("Back-up drain", need.backup_drain_ua.unwrap_or_default(), "µA"),
        line("Temperature in the cabinet", battery.climate.cabinet.mean_c(), "°C"),
        line("Outlasts a power-off now by, as likely as not", hold_up_h(battery, now), "h"),
        line("Outlasts it but for the chance allowed", hold_up, "h"),
        line("Chance allowed", 100.0 * limits.spent_chance, "%"),
        line("Must outlast", limits.hold_up_required_h, "h"),
    ];
    let (reason, message) = words(&due, limits, fitted, today);
    BatteryLine {
        due_on: Some(due.on),
        days_left: Some(left),
        reason: reason.to_owned(),
        message,
        hold_up_h: Some(hold_up),
        remaining_mah: Some(balance.remaining_mah),
        urgency: match left {
            i64::MIN..0 => "overdue",
            0..=SOON_D => "soon",
            _ => "later",
        }
        .to_owned(),
        sum,
        ..bare
    }
}

fn words(
    due: &Due,
    limits: &Limits,
    fitted: &FittedBattery,
    today: NaiveDate,
) -> (&'static str, String) {
    let verb = if due.on < today { "was due" } else { "is due" };
    let on = due.on;
    match due.reason {
        DueReason::Charge => (
            "charge",
            format!(
                "{verb} on {on}: from then on the chance that its charge no longer covers {} h \
                 without power is above {} %",
                limits.hold_up_required_h,
                100.0 * limits.spent_chance
            ),
        ),
        DueReason::SiteAge => (
            "age_limit",
            format!(
                "{verb} on {on}: the site lets no battery stay longer than {} years; fitted on {}",
                limits.site_age_limit_y.unwrap_or_default(),
                fitted.fitted_on
            ),
        ),
        DueReason::MakerAge => (
            "maker_age_limit",
            format!(
                "{verb} on {on}: its maker allows {} years from making",
                limits.maker_age_limit_y.unwrap_or_default()
            ),
        ),
        DueReason::Spent => ("spent", format!("{verb} on {on}: as likely as not, it is spent")),
    }
}

fn change(ask: &Ask<'_>, stamp: &Stamp, input: ChangeInput) -> Result<Done, Failure> {
    let mut message = String::new();
    let recorded = ask.record_within(stamp, |r| {
        let unit = find::unit(r, &input.unit)?;
        let lot = find::lot(r, &input.lot)?;
        let bin = find::bin_of(r, &lot, input.bin.as_deref())?;
        message = format!(
            "the battery of unit {} is changed from lot {}{}",
            unit.label.human(),
            lot.code,
            if input.powered { "" } else { "; check that the program is still there" }
        );
        Ok(Body::BatteryChanged(BatteryChanged {
            unit: unit.label,
            lot: lot.label,
            bin,
            powered: input.powered,
            memory_saved: input.memory_saved,
            found: found(input.found.as_deref())?,
            found_mv: input.found_mv,
        }))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

fn found(word: Option<&str>) -> Result<CellFound, Failure> {
    match word {
        Some("good") => Ok(CellFound::Good),
        Some("weak") => Ok(CellFound::Weak),
        Some("spent") => Ok(CellFound::Spent),
        None | Some("" | "not_judged") => Ok(CellFound::NotJudged),
        Some(other) => Err(Failure::bad_input(format!(
            "{other:?} does not say how the old cell was found; write good, weak, spent or \
             not_judged"
        ))),
    }
}

fn seen(ask: &Ask<'_>, stamp: &Stamp, input: SeenInput) -> Result<Done, Failure> {
    let mut message = String::new();
    let recorded = ask.record_within(stamp, |r| {
        let unit = find::unit(r, &input.unit)?;
        let (name, low) = (unit.label.human(), input.low_lamp);
        message = match low {
            true => format!("the low battery of unit {name} is noted: change it soon"),
            false => format!("the battery of unit {name} is noted as seen"),
        };
        Ok(Body::BatterySeen(BatterySeen { unit: unit.label, low_lamp: low, mv: input.mv }))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}
