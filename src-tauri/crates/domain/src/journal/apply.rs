use super::{Body, Entry};
use crate::place::AddressRefusal;
use crate::register::{Change, Imported, View};

mod audit;
mod battery;
mod order;
mod past;
mod place;
mod power;
mod reserved;
mod spares;
mod stock;
mod stocktake;
mod swapping;
mod unit;
mod visits;

/// Why an entry does not fit the register, and what to do about it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}: {to_do}")]
pub struct Refusal {
    /// What is the matter, naming the thing.
    pub what: String,
    /// What the reader can do.
    pub to_do: String,
}

impl Refusal {
    pub fn new(what: impl Into<String>, to_do: impl Into<String>) -> Self {
        Self { what: what.into(), to_do: to_do.into() }
    }
}

impl From<AddressRefusal> for Refusal {
    fn from(refusal: AddressRefusal) -> Self {
        Self::new(refusal.to_string(), "correct the address")
    }
}

type Outcome = Result<Vec<Change>, Refusal>;

/// Validates an entry against the present register and returns the records that change.
///
/// Fails with a [`Refusal`] when the entry does not fit; then nothing changes.
pub fn apply(view: &impl View, entry: &Entry) -> Outcome {
    if entry.person.trim().is_empty() {
        return Err(Refusal::new("the entry names no person", "say who you are first"));
    }
    let mut changes = changes(view, entry)?;
    if let Some(source) = &entry.source {
        changes.push(Change::Imported(Imported { source: source.clone() }));
    }
    Ok(changes)
}

fn changes(view: &impl View, entry: &Entry) -> Outcome {
    match &entry.body {
        Body::SiteSet(site) => place::site(view, site),
        Body::KeySchemeSet(scheme) => place::key_scheme(scheme),
        Body::AreaSet(area) => Ok(vec![Change::Area(area.clone())]),
        Body::CabinetSet(cabinet) => place::cabinet(view, cabinet),
        Body::RailSet(rail) => place::rail(view, rail),
        Body::SlotSet(slot) => place::slot(view, slot),
        Body::ModelSet(model) => place::model(view, model),
        Body::StoreroomSet(storeroom) => place::storeroom(view, storeroom),
        Body::BinSet(bin) => place::bin(view, bin),
        Body::LoopSet(wired) => place::wire(view, wired),
        Body::PersonSet(person) => Ok(vec![Change::Person(person.clone())]),
        Body::ProcedureSet(procedure) => Ok(vec![Change::Procedure(procedure.clone())]),
        Body::PlaceRemoved(removed) => place::remove(view, removed),
        Body::UnitRegistered(unit) => unit::register(view, entry, unit),
        Body::UnitDescribed(described) => unit::describe(view, entry, described),
        Body::UnitInstalled(installed) => unit::install(view, entry.at, installed, None),
        Body::UnitRemoved(removed) => unit::remove(view, entry, removed),
        Body::UnitMoved(moved) => unit::relocate(view, entry, moved),
        Body::UnitTested(tested) => stocktake::test(view, tested),
        Body::BatteryChanged(changed) => battery::change(view, entry, changed),
        Body::BatterySeen(seen) => battery::seen(view, entry, seen),
        Body::PowerOff(off) => power::record(view, entry, off),
        Body::PowerOffPlanned(planned) => power::plan(view, entry, planned),
        Body::PowerOffSettled(settled) => power::settle(view, entry, settled),
        Body::TemperatureLogged(logged) => place::temperature(view, entry, logged),
        Body::VisitsAgreed(agreed) => visits::agree(view, entry, agreed),
        Body::LotReceived(lot) => stock::receive(view, lot),
        Body::LotIssued(issued) => stock::issue(view, entry, issued),
        Body::LotCounted(counted) => stock::count(view, counted),
        Body::LotMoved(moved) => stock::relocate(view, entry, moved),
        Body::LotQuarantined(quarantined) => stock::quarantine(view, quarantined),
        Body::OrderPlaced(placed) => order::place(view, entry, placed),
        Body::OrderClosed(closed) => order::close(view, closed),
        Body::SpareChosen(chosen) => spares::choose(view, entry, chosen),
        Body::PopulationPlanned(planned) => spares::plan(view, entry, planned),
        Body::PopulationSettled(settled) => spares::settle(view, entry, settled),
        Body::Reserved(wanted) => reserved::reserve(view, entry, wanted),
        Body::ReservationEnded(ended) => reserved::release(view, entry, ended),
        Body::BinCounted(counted) => stocktake::count(view, entry, counted),
        Body::SwapStarted(started) => swapping::start(view, entry, started),
        Body::SwapTicked(ticked) => swapping::tick(view, entry, ticked),
        Body::SwapFinished(finished) => swapping::finish(view, entry, finished),
        Body::SwapAbandoned(abandoned) => swapping::abandon(view, entry, abandoned),
        Body::RailAudited(audited) => audit::record(view, entry, audited),
        Body::AuditSettled(settled) => audit::settle(view, entry, settled),
        Body::PastEvent(past) => past::take_in(view, entry, past),
        Body::Noted(noted) if noted.text.trim().is_empty() => {
            Err(Refusal::new("the note is empty", "write what you saw"))
        }
        Body::Noted(_) => Ok(Vec::new()),
        Body::DeviceAdmitted(device) => Ok(vec![Change::Device(device.clone())]),
        Body::DeviceWithdrawn(withdrawn) => {
            let mut device = view.device(&withdrawn.device).ok_or_else(|| {
                Refusal::new("this device was never let in", "choose one from the list of devices")
            })?;
            device.withdrawn = true;
            Ok(vec![Change::Device(device)])
        }
    }
}

/// Looks a thing up or says that it is not in the register.
fn known<T>(found: Option<T>, what: &str, name: impl std::fmt::Display) -> Result<T, Refusal> {
    found.ok_or_else(|| {
        Refusal::new(
            format!("{what} {name} is not in the register"),
            "check how it is written, or add it first",
        )
    })
}
