//! Planned battery changes as demand with a day.

use super::battery_agreed::open_visits;
use super::battery_figures::{Surroundings, due_on, in_slots};
use super::lines::Catalogue;
use crate::Failure;
use chrono::NaiveDate;
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::model::Model;
use slotkeep_domain::register::View;
use slotkeep_domain::unit::Unit;
use slotkeep_store::Reader;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Pieces wanted on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Demand {
    pub on: NaiveDate,
    pub pieces: u32,
    /// A visit is agreed; else it is the due date.
    pub agreed: bool,
}

/// The battery of a unit in a slot.
#[derive(Clone)]
struct DueCell {
    model: String,
    cells: u32,
    /// None where a figure is missing.
    due_on: Option<NaiveDate>,
}

/// When the battery of each unit in a slot is due.
#[derive(Default, Clone)]
pub(super) struct Dues {
    of_unit: BTreeMap<LabelCode, DueCell>,
}

impl Dues {
    pub fn of(r: &Reader<'_>, around: &Surroundings, today: NaiveDate) -> Result<Self, Failure> {
        let catalogue = Catalogue::new(r);
        let standing = in_slots(r)?.into_iter();
        let due = standing.filter_map(|(unit, model)| {
            Some((unit.label, due_cell(around, &catalogue, &unit, &model, today)?))
        });
        Ok(Self { of_unit: due.collect() })
    }

    /// Looks at some units again.
    pub fn renew(
        &mut self,
        r: &Reader<'_>,
        around: &Surroundings,
        units: &BTreeSet<LabelCode>,
        today: NaiveDate,
    ) -> Result<(), Failure> {
        let catalogue = Catalogue::new(r);
        for label in units {
            self.of_unit.remove(label);
            let Some(unit) = r.unit(label).filter(|unit| unit.place.slot().is_some()) else {
                continue;
            };
            let model = catalogue.model(&unit.model);
            let due = model.and_then(|model| due_cell(around, &catalogue, &unit, &model, today));
            self.of_unit.extend(due.map(|due| (*label, due)));
        }
        Ok(r.fault()?)
    }

    /// What changes take, by battery model and then by day: agreed visits, and the due dates of
    /// batteries that no visit serves in time. What is late is wanted today.
    pub fn planned(
        &self,
        r: &Reader<'_>,
        today: NaiveDate,
    ) -> Result<BTreeMap<String, Vec<Demand>>, Failure> {
        let mut agreed: HashMap<LabelCode, Vec<NaiveDate>> = HashMap::new();
        for visit in open_visits(r)? {
            for label in &visit.units {
                agreed.entry(*label).or_default().push(visit.on);
            }
        }
        let mut wanted: BTreeMap<String, Vec<Demand>> = BTreeMap::new();
        for (label, cell) in &self.of_unit {
            let mut days = agreed.remove(label).unwrap_or_default();
            let of_model = wanted.entry(cell.model.clone()).or_default();
            let demand =
                |on: NaiveDate, agreed| Demand { on: on.max(today), pieces: cell.cells, agreed };
            if let Some(due_on) = cell.due_on
                && days.first().is_none_or(|first| *first > due_on.max(today))
            {
                of_model.push(demand(due_on, false));
                // The battery that would have been fitted by the first visit is this one.
                if !days.is_empty() {
                    days.remove(0);
                }
            }
            of_model.extend(days.into_iter().map(|on| demand(on, true)));
        }
        wanted.retain(|_, demands| !demands.is_empty());
        for demands in wanted.values_mut() {
            demands.sort_by_key(|demand| demand.on);
        }
        Ok(wanted)
    }
}

fn due_cell(
    around: &Surroundings,
    catalogue: &Catalogue<'_, '_>,
    unit: &Unit,
    model: &Model,
    today: NaiveDate,
) -> Option<DueCell> {
    let need = model.battery.as_ref()?;
    let figures = around.figures(catalogue, unit, model, today).ok();
    let due_on = figures.map(|figures| due_on(&figures, unit));
    Some(DueCell { model: need.model.to_string(), cells: need.cells, due_on })
}
