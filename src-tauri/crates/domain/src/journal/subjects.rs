use super::{Body, PowerScope, Purpose, Removable, ReservedWhat};
use crate::audit::{Finding, Found};
use crate::register::View;

/// Returns the names under which an entry is found again, each once: labels, addresses, tags,
/// part numbers.
///
/// `view` is the register before the entry; a swap is asked for the units and slot it is about.
pub fn subjects(view: &impl View, body: &Body) -> Vec<String> {
    let mut names = Vec::with_capacity(3);
    let mut add = |name: &dyn ToString| names.push(name.to_string());
    match body {
        Body::SiteSet(_) => add(&"site"),
        Body::KeySchemeSet(scheme) => add(&scheme.name),
        Body::AreaSet(area) => add(&area.code),
        Body::CabinetSet(cabinet) => add(&cabinet.address),
        Body::RailSet(rail) => add(&rail.address),
        Body::SlotSet(slot) => add(&slot.address),
        Body::ModelSet(model) => add(&model.part_no),
        Body::StoreroomSet(storeroom) => add(&storeroom.code),
        Body::BinSet(bin) => add(&bin.path),
        Body::LoopSet(wired) => add(&wired.tag),
        Body::PersonSet(person) => add(&person.name),
        Body::ProcedureSet(_) => add(&"procedure"),
        Body::PlaceRemoved(removed) => match &removed.what {
            Removable::Cabinet(address) => add(address),
            Removable::Rail(address) => add(address),
            Removable::Slot(address) => add(address),
            Removable::Bin(path) => add(path),
            Removable::Loop(tag) => add(tag),
        },
        Body::UnitRegistered(unit) => {
            add(&unit.label);
            add(&unit.place);
        }
        Body::UnitDescribed(unit) => add(&unit.unit),
        Body::UnitInstalled(installed) => {
            add(&installed.unit);
            add(&installed.slot);
        }
        Body::UnitRemoved(removed) => {
            add(&removed.unit);
            add(&removed.slot);
        }
        Body::UnitMoved(moved) => {
            add(&moved.unit);
            of_purpose(moved.purpose.as_ref(), &mut add);
        }
        Body::UnitTested(tested) => add(&tested.unit),
        Body::BatteryChanged(changed) => {
            add(&changed.unit);
            add(&changed.lot);
        }
        Body::BatterySeen(seen) => add(&seen.unit),
        Body::PowerOff(off) => of_power(&off.scope, &mut add),
        Body::PowerOffPlanned(planned) => of_power(&planned.scope, &mut add),
        Body::PowerOffSettled(settled) => {
            add(&"power");
            if let Some(planned) = view.planned_off(&settled.planned) {
                of_power(&planned.off.scope, &mut add);
            }
        }
        Body::TemperatureLogged(logged) => add(&logged.cabinet),
        Body::VisitsAgreed(_) => add(&"visits"),
        Body::LotReceived(lot) => {
            add(&lot.label);
            add(&lot.model);
        }
        Body::LotIssued(lot) => {
            add(&lot.lot);
            of_purpose(lot.purpose.as_ref(), &mut add);
        }
        Body::LotCounted(lot) => add(&lot.lot),
        Body::LotMoved(lot) => add(&lot.lot),
        Body::LotQuarantined(lot) => add(&lot.lot),
        Body::OrderPlaced(order) => add(&order.model),
        Body::OrderClosed(order) => {
            if let Some(order) = view.order(&order.order) {
                add(&order.model);
            }
        }
        Body::SpareChosen(chosen) => add(&chosen.model),
        Body::PopulationPlanned(planned) => add(&planned.model),
        Body::PopulationSettled(settled) => {
            if let Some(planned) = view.population_change(&settled.planned) {
                add(&planned.model);
            }
        }
        Body::Reserved(wanted) => {
            match &wanted.what {
                ReservedWhat::Unit(label) => add(label),
                ReservedWhat::Pieces { model, .. } => add(model),
            }
            of_purpose(Some(&wanted.purpose), &mut add);
        }
        Body::ReservationEnded(ended) => {
            if let Some(kept) = view.reservation(&ended.reservation) {
                match &kept.unit {
                    Some(label) => add(label),
                    None => add(&kept.model),
                }
                of_purpose(Some(&kept.purpose), &mut add);
            }
        }
        Body::BinCounted(counted) => {
            add(&counted.bin);
            counted.lots.iter().for_each(|(lot, _)| add(lot));
            counted.units_found.iter().for_each(|unit| add(unit));
            counted.units_missing.iter().for_each(|unit| add(unit));
        }
        Body::SwapStarted(swap) => {
            add(&swap.slot);
            add(&swap.into);
            swap.out.iter().for_each(|out| add(out));
        }
        Body::SwapTicked(ticked) => of_swap(view, &ticked.swap, &mut add),
        Body::SwapFinished(finished) => of_swap(view, &finished.swap, &mut add),
        Body::SwapAbandoned(abandoned) => of_swap(view, &abandoned.swap, &mut add),
        Body::RailAudited(audited) => {
            add(&audited.rail);
            let looked_at = |finding: &&Finding| finding.found != Found::NotCovered;
            audited.findings.iter().filter(looked_at).for_each(|finding| add(&finding.slot));
            audited.loose.iter().for_each(|label| add(label));
        }
        Body::AuditSettled(settled) => {
            add(&settled.slot.rail());
            add(&settled.slot);
            for (slot, unit) in &settled.exchanged {
                add(slot);
                add(unit);
            }
            settled.registered.iter().for_each(|unit| add(unit));
            settled.unit.iter().for_each(|unit| add(unit));
        }
        Body::PastEvent(past) => {
            past.unit.iter().for_each(|unit| add(unit));
            past.slot.iter().for_each(|slot| add(slot));
            past.lot.iter().for_each(|lot| add(lot));
            past.model.iter().for_each(|model| add(model));
        }
        Body::Noted(noted) => add(&noted.subject),
        Body::DeviceAdmitted(device) => add(&device.person),
        Body::DeviceWithdrawn(_) => add(&"devices"),
    }
    names.sort_unstable();
    names.dedup();
    names
}

/// A power-off is found under `power` and under the area or cabinet that it is about.
fn of_power(scope: &PowerScope, add: &mut impl FnMut(&dyn ToString)) {
    add(&"power");
    match scope {
        PowerScope::Site => {}
        PowerScope::Area(code) => add(code),
        PowerScope::Cabinet(address) => add(address),
    }
}

fn of_swap(view: &impl View, id: &uuid::Uuid, add: &mut impl FnMut(&dyn ToString)) {
    if let Some(swap) = view.swap(id) {
        add(&swap.slot);
        add(&swap.into);
        swap.out.iter().for_each(|out| add(out));
    }
}

fn of_purpose(purpose: Option<&Purpose>, add: &mut impl FnMut(&dyn ToString)) {
    if let Some(Purpose::Slot(slot)) = purpose {
        add(slot);
    }
}
