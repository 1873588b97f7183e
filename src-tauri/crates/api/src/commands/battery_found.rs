//! What old cells and looks at batteries tell of how long a type lasts here.

use super::battery_figures::{Known, Surroundings};
use crate::Failure;
use crate::wire::battery::{BatteryLine, FoundHere};
use chrono::{DateTime, Days, NaiveDate, Utc};
use slotkeep_domain::battery::{Look, Seen, Told, WORTH_LIVES, blend, designation, evidence};
use slotkeep_domain::journal::CellFound;
use slotkeep_domain::model::{Model, PartNo};
use slotkeep_domain::register::{Failure as Record, View};
use slotkeep_domain::spares::Life;
use slotkeep_store::Reader;
use std::collections::BTreeMap;

/// Equal slices of chance at which the model's life of each battery is taken.
const SLICES: u32 = 10;

const DAYS_PER_YEAR: f64 = 365.25;

/// The life of a battery type here, by the model and by what was found.
pub(super) struct BlendedLife {
    life: Life,
    found_share: f64,
    /// Cells of which something was found.
    cells: usize,
    spent_chance: f64,
}

/// The blended lives of the types of which cells were found here, by the name of the model.
pub(super) fn blended(
    r: &Reader<'_>,
    now: DateTime<Utc>,
) -> Result<BTreeMap<String, BlendedLife>, Failure> {
    let looks = looks(r)?;
    let mut lives = BTreeMap::new();
    if looks.is_empty() {
        return Ok(lives);
    }
    let surroundings = Surroundings::of(r)?;
    let (known, _) = surroundings.batteries(r, now)?;
    for (part_no, cells) in looks {
        let Some(model) = r.model(&part_no) else { continue };
        let end_point_mv = end_point_mv(&model);
        let seen = cells.iter().filter_map(|cell| lived(cell, end_point_mv)?.ok());
        let seen: Vec<Seen> = seen.collect();
        let here: Vec<&Known> = known.iter().filter(|one| one.need.model == part_no).collect();
        let model_lives_y = model_lives(&here, now.date_naive());
        if let Ok(blend) = blend(&seen, &model_lives_y, WORTH_LIVES)
            && blend.found_share > 0.0
        {
            let life = BlendedLife {
                life: blend.blended.life,
                found_share: blend.found_share,
                cells: seen.len(),
                spent_chance: surroundings.site.battery_rules.spent_chance,
            };
            lives.insert(part_no.to_string(), life);
        }
    }
    Ok(lives)
}

impl BlendedLife {
    /// What it says of one battery beside the day that its own figures give.
    pub fn tells(&self, line: &BatteryLine) -> Option<FoundHere> {
        let fitted_on = line.unit.battery.as_ref()?.fitted_on;
        let at_y = quantile_y(self.life, self.spent_chance);
        let on = fitted_on.checked_add_days(Days::new((at_y * DAYS_PER_YEAR) as u64))?;
        let before_due = line.due_on.is_some_and(|due_on| on < due_on);
        let cells = match self.cells {
            1 => "1 cell".to_owned(),
            many => format!("{many} cells"),
        };
        let message = format!(
            "by {cells} found here and the model together, {} in 100 are spent {at_y:.1} years \
             after fitting, on {on}{}",
            self.spent_chance * 100.0,
            if before_due { ", before the due date" } else { "" },
        );
        let found_share_pct = self.found_share * 100.0;
        Some(FoundHere { on, at_y, found_share_pct, before_due, message })
    }
}

/// One cell: when it was fitted and what was seen of it.
#[derive(Default)]
pub(super) struct Cell {
    pub fitted_on: Option<NaiveDate>,
    pub seen: Vec<(NaiveDate, CellFound, Option<u32>)>,
}

/// Looks at cells by type, those at the same cell together.
pub(super) fn looks(r: &Reader<'_>) -> Result<BTreeMap<PartNo, Vec<Cell>>, Failure> {
    type Name = (String, Option<NaiveDate>);
    let mut cells: BTreeMap<PartNo, BTreeMap<Name, Cell>> = BTreeMap::new();
    for Record { id, at, unit, slot, cell, .. } in r.failures()? {
        let Some(told) = cell else { continue };
        let whose = match (unit, slot, told.fitted_on) {
            (Some(unit), _, Some(_)) => unit.to_string(),
            (None, Some(slot), Some(_)) => slot.to_string(),
            // Without the day of fitting nobody can tell whether two records are of one cell.
            _ => id.to_string(),
        };
        let of_type = cells.entry(told.battery).or_default();
        let cell = of_type.entry((whose, told.fitted_on)).or_default();
        cell.fitted_on = told.fitted_on;
        cell.seen.push((at.date_naive(), told.found, told.mv));
    }
    Ok(cells.into_iter().map(|(model, of)| (model, of.into_values().collect())).collect())
}

/// What the looks at a cell tell of its life; none where they tell nothing.
pub(super) fn lived(cell: &Cell, end_point_mv: Option<u32>) -> Option<Result<Seen, String>> {
    let fitted_on = cell.fitted_on?;
    let looks = cell.seen.iter().filter_map(|(on, found, mv)| {
        let told = match (found, mv, end_point_mv) {
            (CellFound::Good, ..) => Told::Good,
            (CellFound::Weak, ..) => Told::Weak,
            (CellFound::Spent, ..) => Told::Spent,
            (CellFound::NotJudged, Some(mv), Some(end)) => {
                Told::Voltage { mv: *mv, end_point_mv: end }
            }
            (CellFound::NotJudged, ..) => return None,
        };
        Some(Look { on: *on, told })
    });
    let looks: Vec<Look> = looks.collect();
    if looks.is_empty() {
        return None;
    }
    Some(evidence(fitted_on, &looks).map_err(|no| format!("fitted on {fitted_on}: {no}")))
}

pub(super) fn end_point_mv(model: &Model) -> Option<u32> {
    let text = model.cell.as_ref()?.designation.as_deref()?;
    designation(text).ok().map(|round| (round.end_point_v * 1000.0).round() as u32)
}

/// Lives of new batteries in each place until they are spent, years, by the model.
pub(super) fn model_lives(here: &[&Known], today: NaiveDate) -> Vec<f64> {
    let mut lives_y = Vec::new();
    for one in here {
        let course = one.figures.next(today).course();
        for slice in 0..SLICES {
            let chance = (f64::from(slice) + 0.5) / f64::from(SLICES);
            lives_y.push(course.days_until(chance, 0.0) / DAYS_PER_YEAR);
        }
    }
    lives_y.retain(|life_y| life_y.is_finite() && *life_y > 0.0);
    lives_y
}

pub(super) fn quantile_y(life: Life, share: f64) -> f64 {
    life.scale * (-(-share).ln_1p()).powf(1.0 / life.shape)
}
