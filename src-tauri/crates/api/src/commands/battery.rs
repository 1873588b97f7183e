use super::battery_figures::{Figures, Surroundings, in_slots};
use super::lines::Catalogue;
use super::{
    battery_agreed, battery_calendar, battery_found, battery_life, battery_plan, battery_power,
    battery_readiness, battery_sheet, battery_visits, find,
};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::Done;
use crate::wire::battery::{
    BatteriesInput, BatteryLine, ChangeInput, DueRange, SeenInput, SeenLine, SumLine,
};
use chrono::{DateTime, NaiveDate, Utc};
use slotkeep_domain::battery::{
    Due, DueReason, Figure, FigureValue, Limits, due, explain, remaining_mah,
};
use slotkeep_domain::journal::{BatteryChanged, BatterySeen, Body, CellFound};
use slotkeep_domain::model::Model;
use slotkeep_domain::register::View;
use slotkeep_domain::unit::{FittedBattery, Unit};
use slotkeep_store::Reader;

/// A battery due within so many days is due soon.
const SOON_D: i64 = 90;

/// Whether lines carry the sums behind their figures.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Sums {
    Shown,
    LeftOut,
}

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
    commands.extend(battery_readiness::commands());
    commands.extend(battery_sheet::commands());
    commands.extend(battery_life::commands());
    commands.extend(battery_plan::commands());
    commands.extend(battery_agreed::commands());
    commands.extend(battery_visits::commands());
    commands.extend(battery_calendar::commands());
    commands
}

fn list(ask: &Ask<'_>, input: BatteriesInput) -> Result<Vec<BatteryLine>, Failure> {
    ask.read(|r| {
        let cabinet = input.cabinet.as_deref().filter(|text| !text.is_empty());
        let mut lines = list_for(r, ask.now, cabinet, Sums::Shown)?;
        let lives = battery_found::blended(r, ask.now)?;
        for line in &mut lines {
            line.found_here = lives.get(&line.battery_model).and_then(|life| life.tells(line));
        }
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
    sums: Sums,
) -> Result<Vec<BatteryLine>, Failure> {
    let wanted = cabinet.map(|text| find::cabinet(r, text)).transpose()?;
    let surroundings = match &wanted {
        Some(wanted) => Surroundings::around(r, Some(wanted.clone()))?,
        None => Surroundings::of(r)?,
    };
    let catalogue = Catalogue::new(r);
    let mut lines = Vec::new();
    for (unit, model) in in_slots(r)? {
        let here = unit.place.slot().map(|slot| slot.cabinet());
        if wanted.as_ref().is_some_and(|wanted| Some(&wanted.address) != here.as_ref()) {
            continue;
        }
        lines.extend(line(&surroundings, &catalogue, &unit, &model, now, sums));
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
    let surroundings = Surroundings::around(r, cabinet)?;
    Ok(line(&surroundings, &Catalogue::new(r), unit, model, now, Sums::Shown))
}

fn line(
    surroundings: &Surroundings,
    catalogue: &Catalogue<'_, '_>,
    unit: &Unit,
    model: &Model,
    now: DateTime<Utc>,
    sums: Sums,
) -> Option<BatteryLine> {
    let need = model.battery.as_ref()?;
    let seen = unit.battery_seen.as_ref().map(|seen| SeenLine {
        at: seen.at,
        low_lamp: seen.low_lamp,
        mv: seen.mv,
    });
    let bare = BatteryLine {
        unit: catalogue.unit(unit),
        cabinet: unit.place.slot().map(|slot| slot.cabinet().to_string()),
        battery_model: need.model.to_string(),
        cells: need.cells,
        change_with: super::battery_figures::change_with(need).to_owned(),
        due_on: None,
        range: None,
        days_left: None,
        reason: "unknown".to_owned(),
        message: String::new(),
        hold_up_h: None,
        hold_up_middle_h: None,
        hold_up_required_h: surroundings.site.hold_up_required_h,
        remaining_mah: None,
        urgency: "unknown".to_owned(),
        climate: None,
        seen,
        found_here: None,
        sum: Vec::new(),
    };
    match surroundings.figures(catalogue, unit, model, now.date_naive()) {
        Ok(figures) => Some(judged(bare, &figures, unit, now, sums)),
        Err(message) => Some(BatteryLine { message, ..bare }),
    }
}

fn judged(
    bare: BatteryLine,
    figures: &Figures,
    unit: &Unit,
    now: DateTime<Utc>,
    sums: Sums,
) -> BatteryLine {
    let today = now.date_naive();
    let (battery, limits) = (figures.battery(), &figures.limits);
    let due = due(&battery, limits, today);
    let course = figures.course();
    let finite = |hours: f64| hours.is_finite().then_some(hours);
    let mut on = due.on;
    let (mut reason, mut message) = unit
        .battery
        .as_ref()
        .map_or(("charge", String::new()), |fitted| words(&due, limits, fitted, today));
    if let Some(seen) = unit.battery_seen.as_ref().filter(|seen| seen.low_lamp)
        && seen.at.date_naive() <= on
    {
        on = seen.at.date_naive();
        reason = "low_lamp";
        message = format!("is due: its lamp for a low battery was seen lit on {on}");
    }
    let left = (on - today).num_days();
    let sum = match sums {
        Sums::Shown => explain(&battery, limits, &due, now).into_iter().map(opened).collect(),
        Sums::LeftOut => Vec::new(),
    };
    BatteryLine {
        due_on: Some(on),
        range: Some(DueRange {
            early_on: due.range.tenth_on,
            middle_on: due.range.middle_on,
            late_on: due.range.late_on,
        }),
        days_left: Some(left),
        reason: reason.to_owned(),
        message,
        hold_up_h: finite(course.hold_up_h(now, limits.spent_chance)),
        hold_up_middle_h: finite(course.hold_up_h(now, 0.5)),
        remaining_mah: Some(remaining_mah(&battery, now).remaining_mah),
        urgency: match left {
            i64::MIN..0 => "overdue",
            0..=SOON_D => "soon",
            _ => "later",
        }
        .to_owned(),
        climate: Some(figures.climate_from.to_owned()),
        sum,
        ..bare
    }
}

/// A figure with the sum behind it, as far down as the catalogue.
fn opened(figure: Figure) -> SumLine {
    let (value, day) = match figure.value {
        FigureValue::Number(value) => (value.is_finite().then_some(value), None),
        FigureValue::Day(on) => (None, Some(on)),
    };
    SumLine {
        what: figure.what.to_owned(),
        value,
        day,
        unit: figure.unit.to_owned(),
        rule: figure.rule.to_owned(),
        parts: figure.parts.into_iter().map(opened).collect(),
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
                "{verb} on {on}: from then on {} in 100 such batteries would not cover {} h \
                 without power",
                limits.spent_chance * 100.0,
                limits.hold_up_required_h
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
        DueReason::Spent => {
            ("spent", format!("{verb} on {on}: as likely as not, it is spent today"))
        }
    }
}

fn change(ask: &Ask<'_>, stamp: &Stamp, input: ChangeInput) -> Result<Done, Failure> {
    let mut message = String::new();
    let recorded = ask.record_within(stamp, |r| {
        let unit = find::unit(r, &input.unit)?;
        let lot = find::lot(r, &input.lot)?;
        let bin = find::bin_of(r, &lot, input.bin.as_deref())?;
        message = format!(
            "the battery of unit {} is changed from lot {}{}{}",
            unit.label.human(),
            lot.code,
            if input.powered { "" } else { "; check that the program is still there" },
            if input.memory_saved { "" } else { "; save its program now, it was not saved before" },
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
