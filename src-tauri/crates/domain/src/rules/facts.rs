//! What a site's own rules may ask about: a closed table of facts, each with its type and unit.

use super::own::Looked;
use crate::model::{BaseKind, ModelKind};
use crate::place::BusPosition;
use crate::unit::{Condition, Unit, UnitPlace};
use std::borrow::Cow;

/// Something that the register or the catalogue says of what a rule looks at.
#[derive(Debug, Clone, Copy)]
pub struct Fact {
    /// What it is about, then what it says, with its unit where it has one: `model_heat_w`.
    pub name: &'static str,
    /// As it stands in a sentence; a statement where it is answered by yes or no.
    pub said: &'static str,
    pub kind: FactKind,
    /// Empty where it has none.
    pub unit: &'static str,
    /// Which rules may ask it.
    pub asked_of: AskedOf,
    pub(super) of: for<'a> fn(&Looked<'a>) -> Answer<'a>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FactKind {
    /// Compared without regard to case.
    Text,
    /// One of these words.
    Word(&'static [&'static str]),
    /// Yes or no.
    Flag,
    Number,
    /// A text in the order of its dotted numbers: 2.10 is later than 2.9.
    Firmware,
    /// A text in the order that the catalogue gives the revisions of the model.
    Revision,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AskedOf {
    Swaps,
    Items,
    Both,
}

/// What the register says of a fact.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Answer<'a> {
    Text(Cow<'a, str>),
    Number(f64),
    Flag(bool),
    /// There is none, and that is known: a one-piece unit has no key.
    Nothing,
    NotRecorded,
    /// It says nothing of such a thing: a blank has no criticality.
    NotMeant,
}

pub fn fact(name: &str) -> Option<&'static Fact> {
    FACTS.iter().find(|fact| fact.name == name)
}

impl AskedOf {
    pub fn swaps(self) -> bool {
        self != Self::Items
    }

    pub fn items(self) -> bool {
        self != Self::Swaps
    }
}

const BASES: &[&str] = &["one_piece", "compact", "extended", "intrinsically_safe", "own"];
const CLASSES: &[&str] = &["vital", "essential", "desirable"];
const POSITIONS: &[&str] = &["off", "inner", "end"];
const ITEMS: &[&str] = &["slot", "terminator", "end_support", "blank", "base"];
const LIFECYCLES: &[&str] = &["active", "discontinued", "recalled"];
const CONDITIONS: &[&str] = &["good", "suspect", "failed", "quarantined"];
const PLACES: &[&str] = &["bin", "bench", "slot", "repair", "scrapped", "lost"];
const MODELS: &[&str] = &[
    "controller",
    "module_one_piece",
    "module",
    "power_supply",
    "terminator",
    "end_support",
    "base",
    "battery",
    "blank",
    "consumable",
];

/// Every fact. In a swap the model is that of the spare; on a rail that of what stands there, or
/// that an empty slot is kept for.
pub const FACTS: &[Fact] = &[
    both("cabinet_address", "address of the cabinet", FactKind::Text, "", |l| {
        text(l.cabinet.map(|cabinet| cabinet.address.as_str()))
    }),
    both("cabinet_area", "area of the cabinet", FactKind::Text, "", |l| {
        text(l.cabinet.map(|cabinet| cabinet.area.as_str()))
    }),
    both("cabinet_inside_c", "hottest month inside the cabinet", FactKind::Number, "°C", |l| {
        number(l.cabinet.filter(|cabinet| cabinet.inside_known).map(|cabinet| cabinet.inside_c))
    }),
    both("rail_address", "address of the rail", FactKind::Text, "", |l| {
        text(l.rail.map(|rail| rail.address.as_str()))
    }),
    both("rail_length_mm", "length of the rail", FactKind::Number, "mm", |l| {
        number(l.rail.map(|rail| rail.length_mm))
    }),
    items("item_kind", "kind of item on the rail", FactKind::Word(ITEMS), "", |l| {
        text(l.item_kind())
    }),
    items("item_left_mm", "left edge of the item on its rail", FactKind::Number, "mm", |l| {
        number(l.item.map(|item| item.x_mm))
    }),
    items("item_width_mm", "width of the item", FactKind::Number, "mm", |l| {
        number(l.item.map(|item| item.width_mm))
    }),
    both("slot_address", "address of the slot", FactKind::Text, "", |l| {
        l.slot(|slot| text(Some(slot.address.as_str())))
    }),
    both("slot_base", "base of the slot", FactKind::Word(BASES), "", |l| {
        l.slot(|slot| text(Some(slot.base.word())))
    }),
    both("slot_bus_address", "address of the slot on its bus", FactKind::Number, "", |l| {
        l.slot(|slot| match slot.bus {
            BusPosition::Off => Answer::Nothing,
            _ => number(slot.bus_address.map(f64::from)),
        })
    }),
    both("slot_bus_position", "place of the slot on its bus", FactKind::Word(POSITIONS), "", |l| {
        l.slot(|slot| text(Some(slot.bus.word())))
    }),
    both("slot_criticality", "criticality of the slot", FactKind::Word(CLASSES), "", |l| {
        l.slot(|slot| text(slot.known.map(|known| known.criticality.word())))
    }),
    items("slot_filled", "a unit stands in the slot", FactKind::Flag, "", |l| {
        l.slot(|slot| Answer::Flag(slot.filled))
    }),
    both("slot_hot_swap", "the slot allows hot swap", FactKind::Flag, "", |l| {
        l.slot(|slot| flag(slot.known.map(|known| known.hot_swap)))
    }),
    both("slot_key", "key of the slot, scheme and code", FactKind::Text, "", |l| {
        l.slot(|slot| match (slot.key, slot.base) {
            (Some(key), _) => Answer::Text(Cow::Owned(key.to_string())),
            (None, BaseKind::OnePiece | BaseKind::Own) => Answer::Nothing,
            (None, _) => Answer::NotRecorded,
        })
    }),
    swaps("slot_loops", "number of loops wired to the slot", FactKind::Number, "", |l| {
        number(l.situation.map(|s| s.seat.loops.len() as f64))
    }),
    both("slot_model_wanted", "model that the slot is engineered for", FactKind::Text, "", |l| {
        l.slot(|slot| text(slot.wanted.map(|part_no| part_no.as_str())))
    }),
    both("slot_redundant", "the slot has a redundant partner", FactKind::Flag, "", |l| {
        l.slot(|slot| flag(slot.known.map(|known| known.redundant)))
    }),
    swaps(
        "slot_safety_function",
        "a loop of the slot serves a safety function",
        FactKind::Flag,
        "",
        |l| flag(l.situation.map(|s| s.seat.loops.iter().any(|wired| wired.safety_function))),
    ),
    both("slot_width_mm", "width of the slot", FactKind::Number, "mm", |l| {
        l.slot(|slot| number(Some(slot.width_mm)))
    }),
    swaps("model_as_wanted", "the spare is of the model wanted", FactKind::Flag, "", |l| {
        let wanted = l.situation.and_then(|s| s.seat.reference_model());
        l.model(|model| flag(wanted.map(|wanted| wanted.part_no == model.part_no)))
    }),
    both("model_base", "base that the model is made for", FactKind::Word(BASES), "", |l| {
        l.model(|model| text(model.base.map(BaseKind::word)))
    }),
    both("model_battery", "the model has a back-up battery", FactKind::Flag, "", |l| {
        l.model(|model| Answer::Flag(model.battery.is_some()))
    }),
    both("model_bus_current_ma", "bus current of the model", FactKind::Number, "mA", |l| {
        l.model(|model| number(model.on_rail.bus_current_ma))
    }),
    both("model_channels", "channels of the model", FactKind::Number, "", |l| {
        l.model(|model| number(Some(f64::from(model.channels))))
    }),
    both("model_current_24v_ma", "current of the model at 24 V", FactKind::Number, "mA", |l| {
        l.model(|model| number(model.current_24v_ma))
    }),
    both("model_family", "family of the model", FactKind::Text, "", |l| {
        l.model(|model| text(model.family.as_deref()))
    }),
    both("model_heat_w", "heat of the model", FactKind::Number, "W", |l| {
        l.model(|model| number(model.heat_w))
    }),
    both("model_inrush_ma", "start-up current of the model", FactKind::Number, "mA", |l| {
        l.model(|model| number(model.on_rail.inrush_ma))
    }),
    both("model_intrinsically_safe", "the model is intrinsically safe", FactKind::Flag, "", |l| {
        l.model(|model| Answer::Flag(model.intrinsically_safe))
    }),
    both("model_kind", "kind of the model", FactKind::Word(MODELS), "", |l| {
        l.model(|model| text(Some(model.kind.word())))
    }),
    both("model_lifecycle", "lifecycle of the model", FactKind::Word(LIFECYCLES), "", |l| {
        l.model(|model| text(Some(model.lifecycle.word())))
    }),
    both("model_max_ambient_c", "highest air temperature of the model", FactKind::Number, "°C", {
        |l| l.model(|model| number(model.on_rail.max_ambient_c))
    }),
    both("model_min_voltage_v", "lowest supply voltage of the model", FactKind::Number, "V", |l| {
        l.model(|model| number(model.on_rail.min_voltage_v))
    }),
    both("model_part_no", "part number of the model", FactKind::Text, "", |l| {
        l.model(|model| text(Some(model.part_no.as_str())))
    }),
    both("model_repairable", "the model can be repaired", FactKind::Flag, "", |l| {
        l.model(|model| Answer::Flag(model.repairable))
    }),
    both("model_supply_rating_ma", "rating of the power supply", FactKind::Number, "mA", |l| {
        l.model(|model| match model.kind {
            ModelKind::PowerSupply => number(model.supply_rating_ma),
            _ => Answer::NotMeant,
        })
    }),
    both("model_width_mm", "width of the model", FactKind::Number, "mm", |l| {
        l.model(|model| number(Some(model.width_mm)))
    }),
    swaps("spare_battery_age_y", "age of the battery in the spare", FactKind::Number, "years", {
        battery_age_y
    }),
    swaps("spare_condition", "condition of the spare", FactKind::Word(CONDITIONS), "", |l| {
        l.unit(|unit| text(Some(Condition::word(unit.condition))))
    }),
    swaps("spare_firmware", "firmware of the spare", FactKind::Firmware, "", |l| {
        l.unit(|unit| text(unit.firmware.as_deref()))
    }),
    swaps("spare_here_d", "time of the spare at its place", FactKind::Number, "days", |l| {
        l.unit(|unit| match unit.since_unknown {
            true => Answer::NotRecorded,
            false => days_until(l, Some(unit.since.date_naive())),
        })
    }),
    swaps("spare_place", "kind of place of the spare", FactKind::Word(PLACES), "", |l| {
        l.unit(|unit| text(Some(place(unit))))
    }),
    swaps("spare_received_d", "time since the spare was received", FactKind::Number, "days", |l| {
        l.unit(|unit| days_until(l, unit.received_on))
    }),
    swaps("spare_revision", "revision of the spare", FactKind::Revision, "", |l| {
        l.unit(|unit| text(unit.revision.as_deref()))
    }),
    swaps("spare_serial", "serial number of the spare", FactKind::Text, "", |l| {
        l.unit(|unit| text(Some(unit.serial.as_str())))
    }),
    swaps("spare_storeroom", "storeroom of the spare", FactKind::Text, "", |l| {
        l.unit(|unit| match unit.place.bin() {
            Some(bin) => text(Some(bin.storeroom())),
            None => Answer::Nothing,
        })
    }),
];

type Of = for<'a> fn(&Looked<'a>) -> Answer<'a>;

const fn both(
    name: &'static str,
    said: &'static str,
    kind: FactKind,
    unit: &'static str,
    of: Of,
) -> Fact {
    Fact { name, said, kind, unit, asked_of: AskedOf::Both, of }
}

const fn swaps(
    name: &'static str,
    said: &'static str,
    kind: FactKind,
    unit: &'static str,
    of: Of,
) -> Fact {
    Fact { asked_of: AskedOf::Swaps, ..both(name, said, kind, unit, of) }
}

const fn items(
    name: &'static str,
    said: &'static str,
    kind: FactKind,
    unit: &'static str,
    of: Of,
) -> Fact {
    Fact { asked_of: AskedOf::Items, ..both(name, said, kind, unit, of) }
}

fn text(value: Option<&str>) -> Answer<'_> {
    value.map_or(Answer::NotRecorded, |value| Answer::Text(Cow::Borrowed(value)))
}

fn number<'a>(value: Option<f64>) -> Answer<'a> {
    value.filter(|value| value.is_finite()).map_or(Answer::NotRecorded, Answer::Number)
}

fn flag<'a>(value: Option<bool>) -> Answer<'a> {
    value.map_or(Answer::NotRecorded, Answer::Flag)
}

fn days_until<'a>(l: &Looked<'_>, from: Option<chrono::NaiveDate>) -> Answer<'a> {
    let today = l.situation.map(|s| s.seat.today);
    number(today.zip(from).map(|(today, from)| (today - from).num_days() as f64))
}

/// From the day the cell was made. Says nothing of models without a battery.
fn battery_age_y<'a>(l: &Looked<'a>) -> Answer<'a> {
    let needs = l.situation.is_some_and(|s| s.spare.model.battery.is_some());
    if !needs {
        return Answer::NotMeant;
    }
    l.unit(|unit| {
        let made_on = unit.battery.as_ref().and_then(|battery| battery.made_on);
        match days_until(l, made_on) {
            Answer::Number(days) => Answer::Number(days / 365.25),
            other => other,
        }
    })
}

fn place(unit: &Unit) -> &'static str {
    match unit.place {
        UnitPlace::Slot(_) => "slot",
        UnitPlace::Bin(_) => "bin",
        UnitPlace::Bench => "bench",
        UnitPlace::Repair => "repair",
        UnitPlace::Scrapped => "scrapped",
        UnitPlace::Lost => "lost",
    }
}
