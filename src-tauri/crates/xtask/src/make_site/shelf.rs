//! Storerooms, bins, spares and lots of the made plant.

use super::catalogue::{MODELS, Model, model};
use super::chance::Chance;
use super::life::{Event, Life, Unit, after, before, day, today};
use super::plant::Cabinet;

/// Code, name, what fills it up, in how many days, and the areas that it serves.
pub const STORES: &[(&str, &str, &str, &str, &str)] =
    &[("ST1", "Main store", "", "", ""), ("ST2", "Substation store", "ST1", "2", "EL PW")];

pub const BINS: &[(&str, &str)] = &[
    ("ST1/A-01", "Analogue inputs, compact"),
    ("ST1/A-02", "Analogue outputs, compact"),
    ("ST1/A-03", "Digital inputs, compact"),
    ("ST1/A-04", "Digital outputs, compact"),
    ("ST1/A-05", "Temperature, speed and serial, compact"),
    ("ST1/A-06", "Modules, extended"),
    ("ST1/A-07", "Modules, intrinsically safe"),
    ("ST1/A-08", "Modules, one-piece"),
    ("ST1/B-01", "Controllers"),
    ("ST1/B-02", "Power supplies"),
    ("ST1/B-03", "Bus couplers"),
    ("ST1/C-01", "Lithium cells, plug-in"),
    ("ST1/C-02", "Lithium cells, wired"),
    ("ST1/C-03", "Terminators"),
    ("ST1/C-04", "End supports and blanks"),
    ("ST1/C-05", "Bases"),
    ("ST1/D-01", "Ferrules"),
    ("ST1/D-02", "Fuse links"),
    ("ST1/D-03", "Marker strips and seals"),
    ("ST1/Q-01", "Quarantine"),
    ("ST2/A-01", "Modules for the power building"),
    ("ST2/B-01", "Power supplies"),
    ("ST2/C-01", "Lithium cells"),
    ("ST2/C-02", "Small parts"),
    ("ST2/D-01", "Lamps and fuses"),
];

/// The bin where spares of a model lie.
pub fn bin_for(model: &Model, chance: &mut Chance) -> &'static str {
    use super::catalogue::Signal::{AnalogueIn, AnalogueOut, DigitalIn, DigitalOut};
    match (model.kind, model.base, model.signal) {
        ("controller", ..) => "ST1/B-01",
        ("power_supply", ..) if chance.happens(300) => "ST2/B-01",
        ("power_supply", ..) => "ST1/B-02",
        ("module_one_piece", ..) if model.channels == 0 => "ST1/B-03",
        ("module_one_piece", ..) if chance.happens(400) => "ST2/A-01",
        ("module_one_piece", ..) => "ST1/A-08",
        (_, "extended", _) => "ST1/A-06",
        (_, "intrinsically_safe", _) => "ST1/A-07",
        (.., AnalogueIn) => "ST1/A-01",
        (.., AnalogueOut) => "ST1/A-02",
        (.., DigitalIn) => "ST1/A-03",
        (.., DigitalOut) => "ST1/A-04",
        _ => "ST1/A-05",
    }
}

/// Puts spares on the shelf, a few of each model, until there are `units` in all.
pub fn spares(life: &mut Life, units: usize, chance: &mut Chance) {
    let mut round = 0;
    while life.units.len() < units {
        let model = &MODELS[round % MODELS.len()];
        round += 1;
        if round <= MODELS.len() && chance.happens(200) {
            continue;
        }
        let received = before(today(), chance.between(30, 1500));
        let mut unit = life.make(model, received, chance);
        unit.place = bin_for(model, chance).to_owned();
        unit.installed_on = Some(received);
        let note = if model.part_no == "MP-SC02-C" {
            // The catalogue says that this model is recalled.
            unit.condition = "quarantined";
            unit.place = "ST1/Q-01".to_owned();
            "Recalled by its maker"
        } else {
            "New"
        };
        let mut event = Event::new(received, "received", note);
        event.serial = unit.serial.clone();
        event.model = model.part_no;
        life.events.push(event);
        life.units.push(unit);
    }
}

/// The failed input module that the first cabinet waits with, and what lies ready for it: a
/// fitting spare, an allowed substitute, one in quarantine, and one of the wrong key in the
/// same bin.
pub fn failed_module(life: &mut Life, cabinets: &[Cabinet], chance: &mut Chance) {
    let slots = cabinets.iter().flat_map(|cabinet| &cabinet.rails).flat_map(|rail| &rail.slots);
    let wanted = slots.filter(|slot| slot.model.part_no == "MP-AI08-C");
    let standing =
        |slot: &&super::plant::Slot| life.units.iter().any(|unit| unit.place == slot.address);
    let Some(slot) = wanted.into_iter().find(standing) else { return };
    let place = slot.address.clone();
    let on = before(today(), 2);
    if let Some(unit) = life.units.iter_mut().find(|unit| unit.place == place) {
        unit.condition = "failed";
        let mut event = Event::new(on, "failure", "Channel 3 frozen; waits for a spare");
        event.serial = unit.serial.clone();
        event.model = unit.model.part_no;
        event.slot = place;
        event.failure = Some(("frozen", "unknown", "alarm"));
        life.events.push(event);
    }
    let ready = [
        ("MP-AI08-C", "ST1/A-01", "good"),
        ("MP-AI08X-C", "ST1/A-01", "good"),
        ("MP-AI08-C", "ST1/Q-01", "quarantined"),
        ("MP-AI16-C", "ST1/A-01", "good"),
    ];
    for (part_no, bin, condition) in ready {
        let received = before(today(), chance.between(40, 400));
        let unit = life.make(model(part_no), received, chance);
        let unit = Unit { place: bin.to_owned(), installed_on: Some(received), condition, ..unit };
        life.units.push(unit);
    }
}

pub struct Lot {
    pub code: &'static str,
    pub model: &'static str,
    pub bin: &'static str,
    pub quantity: u32,
    /// Year and month of making; none for what does not age.
    pub made: Option<(i32, u32)>,
    pub quarantined: bool,
}

const fn lot(
    code: &'static str,
    model: &'static str,
    bin: &'static str,
    quantity: u32,
    made: Option<(i32, u32)>,
) -> Lot {
    Lot { code, model, bin, quantity, made, quarantined: false }
}

pub const LOTS: &[Lot] = &[
    lot("L2601-4", "MP-CEL1", "ST1/C-01", 6, Some((2026, 1))),
    lot("L2601-4", "MP-CEL1", "ST2/C-01", 2, Some((2026, 1))),
    lot("L2402-1", "MP-CEL1", "ST1/C-01", 3, Some((2024, 2))),
    lot("L2305-2", "MP-CEL1", "ST2/C-01", 2, Some((2023, 5))),
    lot("W2510-A", "MP-CEL2", "ST1/C-02", 4, Some((2025, 10))),
    Lot { quarantined: true, ..lot("W2407-C", "MP-CEL2", "ST1/Q-01", 2, Some((2024, 7))) },
    lot("T-118", "MP-TRM1", "ST1/C-03", 14, None),
    lot("T-121", "MP-TRM1", "ST2/C-02", 4, None),
    lot("T-204", "MP-TRM2", "ST1/C-03", 5, None),
    lot("E-77", "MP-ENS1", "ST1/C-04", 60, None),
    lot("E-79", "MP-ENS1", "ST2/C-02", 20, None),
    lot("B-31", "MP-BLK24", "ST1/C-04", 18, None),
    lot("C-510", "MP-BSC", "ST1/C-05", 8, None),
    lot("X-402", "MP-BSE", "ST1/C-05", 4, None),
    lot("S-093", "MP-BSI", "ST1/C-05", 2, None),
];

impl Lot {
    /// Day of making, and the last day of fitting three years later.
    pub fn dates(&self) -> Option<(chrono::NaiveDate, chrono::NaiveDate)> {
        self.made.map(|(year, month)| (day(year, month, 10), day(year + 3, month, 10)))
    }
}

/// How the lots came, and small issues out of them.
pub fn movements(life: &mut Life, chance: &mut Chance) {
    for lot in LOTS {
        let came = lot.dates().map_or(day(2024, 3, 1), |(made, _)| after(made, 45));
        let issues = chance.below(4) as u32;
        let mut event = Event::new(came, "received", format!("Into {}", lot.bin));
        event.model = lot.model;
        event.lot = lot.code.to_owned();
        event.quantity = Some(lot.quantity + issues);
        life.events.push(event.clone());
        for _ in 0..issues {
            event.what = "issued";
            event.on = after(came, chance.between(10, 200)).min(today());
            event.quantity = Some(1);
            event.note = format!("Out of {}, for works", lot.bin);
            life.events.push(event.clone());
        }
    }
}
