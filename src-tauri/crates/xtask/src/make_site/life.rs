//! Five years of the made plant: which unit stood where, what failed, what was done.

use super::catalogue::{Model, model};
use super::cells::{self, Found};
use super::chance::Chance;
use super::plant::{Cabinet, Slot};
use chrono::{Days, NaiveDate};

/// The day up to which the plant's history goes.
pub fn today() -> NaiveDate {
    day(2026, 11, 25)
}

pub fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap_or_default()
}

pub fn before(date: NaiveDate, days: i64) -> NaiveDate {
    date.checked_sub_days(Days::new(days.max(0) as u64)).unwrap_or(date)
}

pub fn after(date: NaiveDate, days: i64) -> NaiveDate {
    date.checked_add_days(Days::new(days.max(0) as u64)).unwrap_or(date)
}

#[derive(Clone)]
pub struct Unit {
    pub serial: String,
    pub model: &'static Model,
    pub revision: &'static str,
    pub firmware: String,
    pub place: String,
    pub installed_on: Option<NaiveDate>,
    pub received_on: NaiveDate,
    pub condition: &'static str,
    pub battery: Option<Battery>,
}

#[derive(Clone)]
pub struct Battery {
    pub model: &'static str,
    pub made_on: NaiveDate,
    pub fitted_on: NaiveDate,
}

/// One row of the history; empty texts are empty cells.
#[derive(Clone)]
pub struct Event {
    pub on: NaiveDate,
    pub what: &'static str,
    pub serial: String,
    pub model: &'static str,
    pub slot: String,
    pub lot: String,
    pub quantity: Option<u32>,
    pub failure: Option<(&'static str, &'static str, &'static str)>,
    pub found: Option<Found>,
    /// Day on which what came out had been fitted.
    pub fitted_on: Option<NaiveDate>,
    pub note: String,
}

impl Event {
    pub fn new(on: NaiveDate, what: &'static str, note: impl Into<String>) -> Self {
        Self {
            on,
            what,
            serial: String::new(),
            model: "",
            slot: String::new(),
            lot: String::new(),
            quantity: None,
            failure: None,
            found: None,
            fitted_on: None,
            note: note.into(),
        }
    }

    fn of(mut self, unit: &Unit, slot: &Slot) -> Self {
        self.serial = unit.serial.clone();
        self.model = unit.model.part_no;
        self.slot = slot.address.clone();
        self
    }
}

/// Units and events of the whole plant.
pub struct Life {
    pub units: Vec<Unit>,
    pub events: Vec<Event>,
    made: u32,
    controllers: usize,
    /// Chance of its own for cells, so that the rest of the plant does not depend on them.
    cells: Chance,
}

impl Life {
    /// Lives through five years; slots beyond `installed` units stay empty.
    pub fn of(cabinets: &[Cabinet], installed: usize, cells: Chance, chance: &mut Chance) -> Self {
        let (units, events) = (Vec::new(), Vec::new());
        let mut life = Self { units, events, made: 0, controllers: 0, cells };
        let slots = cabinets.iter().flat_map(|cabinet| &cabinet.rails).flat_map(|rail| &rail.slots);
        let used = slots.filter(|slot| !slot.reserve);
        for slot in used.take(installed) {
            life.slot(slot, chance);
        }
        life
    }

    /// A new unit, as it comes from its maker.
    pub fn make(&mut self, model: &'static Model, on: NaiveDate, chance: &mut Chance) -> Unit {
        self.made += 1;
        let year = chrono::Datelike::year(&on) % 100;
        // Later deliveries carry later revisions.
        let late = usize::from(on > day(2022, 6, 1)) + usize::from(on > day(2024, 9, 1));
        let revision = model.revisions[late.min(model.revisions.len() - 1)];
        Unit {
            serial: format!("{year:02}-{:06}", 4000 + self.made * 7),
            model,
            revision,
            firmware: format!("{}.{}", 1 + late, chance.below(4)),
            place: String::new(),
            installed_on: None,
            received_on: on,
            condition: "good",
            battery: None,
        }
    }

    fn slot(&mut self, slot: &Slot, chance: &mut Chance) {
        let started = after(day(2019, 3, 4), chance.between(0, 480));
        let mut unit = self.make(slot.model, before(started, chance.between(20, 200)), chance);
        unit.installed_on = Some(started);
        unit.place = slot.address.clone();
        // The chance of failing in five years, per mille, at twice the catalogue's rate:
        // brine and heat are harder than the maker's test room.
        let per_mille = (f64::from(slot.model.fit()) * 43_800.0e-9 * 2000.0) as usize;
        if chance.happens(per_mille) {
            let on = after(day(2021, 12, 1), chance.between(0, 1780));
            unit = self.replace(slot, unit, on, chance);
        }
        if slot.model.battery.is_some() {
            self.battery(slot, &mut unit, chance);
        }
        self.units.push(unit);
    }

    /// A failure: the old unit goes to repair or to scrap, a new one comes in.
    fn replace(&mut self, slot: &Slot, mut old: Unit, on: NaiveDate, chance: &mut Chance) -> Unit {
        let (mode, cause, detection, note) = *chance.one(FAILURES);
        let mut failed = Event::new(on, "failure", note).of(&old, slot);
        failed.failure = Some((mode, cause, detection));
        failed.fitted_on = old.installed_on;
        let removed = after(on, chance.between(0, 2));
        self.events.push(failed);
        self.events.push(Event::new(removed, "removed", "Replaced").of(&old, slot));
        old.installed_on = Some(removed);
        old.condition = "failed";
        old.battery = None;
        if old.model.repairable {
            let back = after(removed, chance.between(35, 90));
            if back < today() {
                let mut repaired = Event::new(back, "repair", "Repaired by the maker");
                repaired.serial = old.serial.clone();
                repaired.model = old.model.part_no;
                self.events.push(repaired);
                old.condition = "good";
                old.installed_on = Some(back);
                old.place = super::shelf::bin_for(old.model, chance).to_owned();
            } else {
                old.place = "repair".to_owned();
            }
        } else {
            old.place = "scrapped".to_owned();
        }
        self.units.push(old);
        let successor = successor(slot.model, chance);
        let mut new = self.make(successor, before(removed, chance.between(30, 300)), chance);
        new.installed_on = Some(removed);
        new.place = slot.address.clone();
        self.events.push(Event::new(removed, "installed", "From the shelf").of(&new, slot));
        new
    }

    /// Gives a controller a battery whose age depends on how many controllers came before.
    fn battery(&mut self, slot: &Slot, unit: &mut Unit, chance: &mut Chance) {
        let Some(cell) = unit.model.battery else { return };
        let age_d = AGES_D[self.controllers % AGES_D.len()] + chance.between(0, 9);
        self.controllers += 1;
        let installed = unit.installed_on.unwrap_or(today());
        let old = cells::old_records(&slot.address, slot.model, installed, &mut self.cells);
        self.events.extend(old);
        let mut fitted_on = before(today(), age_d).max(installed);
        let shelf_d = chance.between(60, 420);
        unit.battery =
            Some(Battery { model: cell, made_on: before(fitted_on, shelf_d), fitted_on });
        while fitted_on > installed && fitted_on > day(2021, 11, 25) {
            let mut changed =
                Event::new(fitted_on, "battery_changed", "Powered, program saved before")
                    .of(unit, slot);
            changed.quantity = Some(unit.model.cells());
            let earlier = before(fitted_on, 1420 + chance.between(0, 60));
            let found = cells::still_good(cell, earlier.max(installed), fitted_on, &mut self.cells);
            changed.found = Some(found);
            self.events.push(changed);
            let mut issued = Event::new(fitted_on, "issued", format!("For {}", slot.address));
            issued.model = cell;
            issued.quantity = Some(unit.model.cells());
            self.events.push(issued);
            fitted_on = earlier;
        }
    }
}

/// What is bought when a model must be replaced: the second series where there is one.
fn successor(of: &'static Model, chance: &mut Chance) -> &'static Model {
    match of.part_no {
        "MP-AI08-C" if chance.happens(300) => model("MP-AI08X-C"),
        "MP-DI16-C" if chance.happens(200) => model("MP-DI16X-C"),
        "MP-DO08R-C" => model("MP-DO08S-C"),
        _ => of,
    }
}

/// Ages of fitted batteries, days: some past five years, some near, some far from it.
const AGES_D: &[i64] = &[
    410, 1795, 1990, 120, 1450, 1760, 760, 1850, 2230, 300, 1100, 1640, 1710, 905, 2050, 1320,
    1785, 45, 600, 1560,
];

type Failure = (&'static str, &'static str, &'static str, &'static str);

const FAILURES: &[Failure] = &[
    ("no_output", "ageing", "alarm", "Output stage dead"),
    ("erratic", "moisture", "operation", "Readings jump when the door is open"),
    ("drift", "ageing", "test", "Two per cent beyond span at the yearly check"),
    ("no_communication", "connection", "diagnostics", "Bus fault, cleared by reseating, came back"),
    ("spurious", "overvoltage", "alarm", "Tripped in a thunderstorm"),
    ("no_output", "overvoltage", "diagnostics", "Input burnt"),
    ("frozen", "ageing", "operation", "Value stood still for a shift"),
    ("no_communication", "ageing", "diagnostics", "Did not come back after a restart"),
    ("erratic", "handling", "inspection", "Cracked housing"),
    ("drift", "unknown", "test", "Offset on two channels"),
];
