//! Which models an entry of the journal has to do with, as far as spares go.

use super::spares_facts::Facts;
use crate::Failure;
use slotkeep_domain::journal::{Body, Removable, ReservedWhat};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::model::PartNo;
use slotkeep_domain::register::View;
use slotkeep_store::{EntryFilter, Reader};
use std::collections::BTreeSet;
use uuid::Uuid;

/// More entries than this are not looked at one by one (a decision, no source).
const MOST_ENTRIES: i64 = 1_000;

/// What has to be gathered again.
#[derive(Default)]
pub(super) struct Touched {
    pub models: BTreeSet<String>,
    pub units: BTreeSet<LabelCode>,
    /// Batteries may be due on other days, or are served by other visits.
    pub batteries: bool,
    /// The plant, its catalogue or what all figures are reckoned from.
    everything: bool,
}

impl Touched {
    /// What the entries after one have to do with; none where all has to be gathered again.
    pub fn since(r: &Reader<'_>, after: i64, head: i64) -> Result<Option<Self>, Failure> {
        let number = head - after;
        let Ok(limit) = u32::try_from(number) else { return Ok(None) };
        if number > MOST_ENTRIES {
            return Ok(None);
        }
        let mut touched = Self::default();
        for kept in r.entries(&EntryFilter { limit, ..EntryFilter::default() })? {
            touched.by(r, &kept.entry.body);
            // A record that takes the place of another one undoes that.
            if let Some(before) = kept.entry.corrects.and_then(|id| r.entry(&id).transpose()) {
                touched.by(r, &before?.entry.body);
            }
        }
        r.fault()?;
        Ok((!touched.everything).then_some(touched))
    }

    /// Adds what follows from the catalogue: units that take batteries, and the cells in them.
    pub fn completed(mut self, facts: &Facts) -> Self {
        for part_no in self.models.clone() {
            if let Some(battery) = facts.models.get(&part_no).and_then(|it| it.battery.as_ref()) {
                self.batteries = true;
                self.models.insert(battery.model.to_string());
            }
        }
        self
    }

    fn by(&mut self, r: &Reader<'_>, body: &Body) {
        match body {
            Body::SiteSet(_)
            | Body::CabinetSet(_)
            | Body::RailSet(_)
            | Body::SlotSet(_)
            | Body::ModelSet(_)
            | Body::StoreroomSet(_)
            | Body::PowerOff(_)
            | Body::PowerOffPlanned(_)
            | Body::PowerOffSettled(_)
            | Body::TemperatureLogged(_) => self.everything = true,
            Body::PlaceRemoved(removed) => match removed.what {
                Removable::Cabinet(_) | Removable::Rail(_) | Removable::Slot(_) => {
                    self.everything = true;
                }
                Removable::Bin(_) | Removable::Loop(_) => {}
            },
            Body::KeySchemeSet(_)
            | Body::AreaSet(_)
            | Body::BinSet(_)
            | Body::LoopSet(_)
            | Body::PersonSet(_)
            | Body::ProcedureSet(_)
            | Body::SwapTicked(_)
            | Body::RailAudited(_)
            | Body::Noted(_)
            | Body::DeviceAdmitted(_)
            | Body::DeviceWithdrawn(_) => {}
            Body::UnitRegistered(unit) => {
                self.model(&unit.model);
                self.units.insert(unit.label);
            }
            Body::UnitDescribed(unit) => self.unit(r, &unit.unit),
            Body::UnitInstalled(installed) => self.unit(r, &installed.unit),
            Body::UnitRemoved(removed) => self.unit(r, &removed.unit),
            Body::UnitMoved(moved) => self.unit(r, &moved.unit),
            Body::UnitTested(tested) => self.unit(r, &tested.unit),
            Body::BatteryChanged(changed) => {
                self.unit(r, &changed.unit);
                self.lot(r, &changed.lot);
            }
            Body::BatterySeen(seen) => self.unit(r, &seen.unit),
            Body::VisitsAgreed(_) => self.batteries = true,
            Body::LotReceived(lot) => self.model(&lot.model),
            Body::LotIssued(lot) => self.lot(r, &lot.lot),
            Body::LotCounted(lot) => self.lot(r, &lot.lot),
            Body::LotMoved(lot) => self.lot(r, &lot.lot),
            Body::LotQuarantined(lot) => self.lot(r, &lot.lot),
            Body::OrderPlaced(order) => self.model(&order.model),
            Body::OrderClosed(closed) => self.models(r.order(&closed.order).map(|it| it.model)),
            Body::SpareChosen(chosen) => self.model(&chosen.model),
            Body::PopulationPlanned(planned) => self.model(&planned.model),
            Body::PopulationSettled(settled) => {
                self.models(r.population_change(&settled.planned).map(|it| it.model));
            }
            Body::Reserved(wanted) => match &wanted.what {
                ReservedWhat::Unit(label) => self.unit(r, label),
                ReservedWhat::Pieces { model, .. } => self.model(model),
            },
            Body::ReservationEnded(ended) => {
                self.models(r.reservation(&ended.reservation).map(|it| it.model));
            }
            Body::BinCounted(counted) => {
                counted.lots.iter().for_each(|(lot, _)| self.lot(r, lot));
                counted.units_found.iter().for_each(|unit| self.unit(r, unit));
                counted.units_missing.iter().for_each(|unit| self.unit(r, unit));
            }
            Body::SwapStarted(swap) => {
                self.unit(r, &swap.into);
                swap.out.iter().for_each(|out| self.unit(r, out));
            }
            Body::SwapFinished(finished) => self.swap(r, &finished.swap),
            Body::SwapAbandoned(abandoned) => self.swap(r, &abandoned.swap),
            Body::AuditSettled(settled) => {
                let named = settled.registered.iter().chain(&settled.unit);
                let exchanged = settled.exchanged.iter().map(|(_, unit)| unit);
                named.chain(exchanged).for_each(|unit| self.unit(r, unit));
                // What is exchanged follows from the audit itself.
                let audit = r.audit(&settled.slot.rail());
                let registered = audit.iter().flat_map(|audit| &audit.findings);
                let registered = registered.filter_map(|finding| finding.registered.as_ref());
                registered.for_each(|unit| self.unit(r, unit));
            }
            Body::PastEvent(past) => {
                past.unit.iter().for_each(|unit| self.unit(r, unit));
                past.lot.iter().for_each(|lot| self.lot(r, lot));
                past.model.iter().for_each(|model| self.model(model));
            }
        }
    }

    fn model(&mut self, model: &PartNo) {
        self.models.insert(model.to_string());
    }

    /// A record that is gone was replaced by a later one, which is looked at by itself.
    fn models(&mut self, model: Option<PartNo>) {
        self.models.extend(model.map(|model| model.to_string()));
    }

    fn unit(&mut self, r: &Reader<'_>, label: &LabelCode) {
        self.units.insert(*label);
        self.models(r.unit(label).map(|unit| unit.model));
    }

    fn lot(&mut self, r: &Reader<'_>, label: &LabelCode) {
        self.models(r.lot(label).map(|lot| lot.model));
    }

    fn swap(&mut self, r: &Reader<'_>, id: &Uuid) {
        let Some(swap) = r.swap(id) else { return };
        self.unit(r, &swap.into);
        swap.out.iter().for_each(|out| self.unit(r, out));
    }
}
