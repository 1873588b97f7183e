use super::{Outcome, Refusal, known};
use crate::journal::{BatteryChanged, CellFound, Entry, PastKind, PowerOff, PowerScope};
use crate::register::{Change, Failure, View};
use crate::unit::FittedBattery;

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
    let after = super::stock::taken(&lot, &changed.bin, need.cells)?;
    unit.battery = Some(FittedBattery {
        model: lot.model,
        made_on: lot.made_on,
        fitted_on: today,
        lot: Some(lot.label),
    });
    let evidence = Change::Failure(Failure {
        id: entry.id,
        what: PastKind::BatteryChanged,
        at: entry.at,
        model: need.model,
        unit: Some(unit.label),
        slot: unit.place.slot().cloned(),
        mode: match changed.found {
            CellFound::Good => Some("good".to_owned()),
            CellFound::Weak => Some("weak".to_owned()),
            CellFound::Spent => Some("spent".to_owned()),
            CellFound::NotJudged => None,
        },
    });
    Ok(vec![evidence, Change::Lot(after), Change::Unit(unit)])
}

pub(super) fn power_off(view: &impl View, entry: &Entry, off: &PowerOff) -> Outcome {
    if off.to <= off.from {
        return Err(Refusal::new("the power came back before it went", "correct the two times"));
    }
    match &off.scope {
        PowerScope::Site => {}
        PowerScope::Area(code) => known(view.area(code), "area", code).map(drop)?,
        PowerScope::Cabinet(address) => {
            known(view.cabinet(address), "cabinet", address).map(drop)?
        }
    }
    Ok(vec![Change::PowerOff(entry.id, off.clone())])
}
