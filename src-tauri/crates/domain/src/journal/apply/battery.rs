use super::{Outcome, Refusal, known};
use crate::journal::{BatteryChanged, BatterySeen, CellFound, Entry, PastKind};
use crate::register::{CellEvidence, Change, Failure, View};
use crate::unit::{BatteryReading, FittedBattery};
use chrono::NaiveDate;

pub(super) fn change(view: &impl View, entry: &Entry, changed: &BatteryChanged) -> Outcome {
    let mut unit = known(view.unit(&changed.unit), "unit", changed.unit.human())?;
    let model = known(view.model(&unit.model), "model", &unit.model)?;
    let need = model.battery.ok_or_else(|| {
        Refusal::new(
            format!("{} takes no back-up battery", model.part_no),
            "scan the controller whose battery you change",
        )
    })?;
    let lot = known(view.lot(&changed.lot), "lot", changed.lot.human())?;
    if lot.model != need.model {
        return Err(Refusal::new(
            format!(
                "unit {} takes a {}, lot {} is {}",
                unit.label.human(),
                need.model,
                lot.label.human(),
                lot.model
            ),
            format!("fetch a lot of {}", need.model),
        ));
    }
    let today = entry.at.date_naive();
    if lot.expired_on(today) {
        return Err(Refusal::new(
            format!(
                "lot {} passed its shelf date {}",
                lot.label.human(),
                lot.shelf_until.map_or_else(String::new, |day| day.to_string())
            ),
            "take a fresh lot and scrap this one",
        ));
    }
    voltage(changed.found_mv)?;
    let after = super::stock::taken(&lot, &changed.bin, need.cells)?;
    let old = unit.battery.replace(FittedBattery {
        model: lot.model,
        made_on: lot.made_on,
        fitted_on: today,
        lot: Some(lot.label),
    });
    unit.battery_seen = None;
    let evidence = Change::Failure(Failure {
        id: entry.id,
        what: PastKind::BatteryChanged,
        at: entry.at,
        model: need.model.clone(),
        unit: Some(unit.label),
        slot: unit.place.slot().cloned(),
        mode: (changed.found != CellFound::NotJudged).then(|| changed.found.word().to_owned()),
        cell: Some(CellEvidence {
            battery: old.as_ref().map_or(need.model, |old| old.model.clone()),
            fitted_on: old.map(|old| old.fitted_on),
            found: changed.found,
            mv: changed.found_mv,
        }),
    });
    Ok(vec![evidence, Change::Lot(after), Change::Unit(unit)])
}

/// The highest voltage of a back-up battery that is no slip of the pen, mV.
const MOST_MV: u32 = 20_000;

/// Notes what was seen of a battery that stays; it is evidence for the life of its type.
pub(super) fn seen(view: &impl View, entry: &Entry, seen: &BatterySeen) -> Outcome {
    let mut unit = known(view.unit(&seen.unit), "unit", seen.unit.human())?;
    let Some(fitted) = unit.battery.clone() else {
        return Err(Refusal::new(
            format!("unit {} has no battery in the register", unit.label.human()),
            "scan the controller that you looked at, or record the battery that sits in it first",
        ));
    };
    if entry.at.date_naive() < fitted.fitted_on {
        return Err(Refusal::new(
            format!(
                "the battery of unit {} was changed on {}, after it was seen",
                unit.label.human(),
                fitted.fitted_on
            ),
            "look at the new battery, or correct the time",
        ));
    }
    voltage(seen.mv)?;
    if unit.battery_seen.as_ref().is_none_or(|before| before.at <= entry.at) {
        unit.battery_seen =
            Some(BatteryReading { at: entry.at, low_lamp: seen.low_lamp, mv: seen.mv });
    }
    let found = if seen.low_lamp { CellFound::Weak } else { CellFound::Good };
    let evidence = Change::Failure(Failure {
        id: entry.id,
        what: PastKind::BatterySeen,
        at: entry.at,
        model: fitted.model.clone(),
        unit: Some(unit.label),
        slot: unit.place.slot().cloned(),
        mode: Some(found.word().to_owned()),
        cell: Some(CellEvidence {
            battery: fitted.model,
            fitted_on: Some(fitted.fitted_on),
            found,
            mv: seen.mv,
        }),
    });
    Ok(vec![evidence, Change::Unit(unit)])
}

/// Refuses a battery that was fitted after `today`, or made after it was fitted.
pub(super) fn sound_dates(
    name: &str,
    battery: Option<&FittedBattery>,
    today: NaiveDate,
) -> Result<(), Refusal> {
    let Some(battery) = battery else { return Ok(()) };
    if battery.fitted_on > today {
        return Err(Refusal::new(
            format!(
                "the battery of unit {name} was fitted on {}, in the future",
                battery.fitted_on
            ),
            format!("correct the day: it is {today}"),
        ));
    }
    if let Some(made_on) = battery.made_on
        && made_on > battery.fitted_on
    {
        return Err(Refusal::new(
            format!("the battery of unit {name} was made on {made_on}, after it was fitted"),
            format!("correct one of the days: it was fitted on {}", battery.fitted_on),
        ));
    }
    Ok(())
}

pub(super) fn voltage(mv: Option<u32>) -> Result<(), Refusal> {
    match mv {
        Some(mv) if mv > MOST_MV => Err(Refusal::new(
            format!("a battery of {mv} mV"),
            "write the voltage in millivolts, for instance 3050",
        )),
        _ => Ok(()),
    }
}
