use super::{Outcome, Refusal, known};
use crate::journal::{Entry, PlaceRemoved, Removable, TemperatureLogged};
use crate::key::{KeyScheme, KeySetting};
use crate::label::{LabelCode, LabelKind};
use crate::loops::Loop;
use crate::model::{BaseKind, Model};
use crate::place::{Bin, Cabinet, Rail, Site, Slot, Storeroom, TEMPERATURES_C, TemperatureReading};
use crate::register::{Change, Table, View};

pub(super) fn site(view: &impl View, site: &Site) -> Outcome {
    if !(0.0..1.0).contains(&site.protection) {
        return Err(Refusal::new(
            format!("a protection of {} is not a probability below 1", site.protection),
            "write for instance 0.95",
        ));
    }
    temperature_is_sound("the site", site.temperature_c)?;
    temperature_is_sound("the shelves", site.shelf_temperature_c)?;
    site.battery_rules
        .check()
        .map_err(|no| Refusal::new(format!("the site's rule for batteries {no}"), no.to_do))?;
    if let Some(rules) = &site.spares_rules {
        let checked = rules.check();
        checked.map_err(|no| Refusal::new(format!("the site's rule for spares {no}"), no.to_do))?;
    }
    if let Some(before) = view.site()
        && before.prefix != site.prefix
    {
        return Err(Refusal::new(
            format!("label prefix {} would replace {}", site.prefix, before.prefix),
            "keep the prefix: labels that are already stuck on would no longer be known",
        ));
    }
    Ok(vec![Change::Site(site.clone())])
}

pub(super) fn key_scheme(scheme: &KeyScheme) -> Outcome {
    if scheme.keys == 0 || scheme.letters.is_empty() {
        return Err(Refusal::new(
            format!("key scheme {:?} has no keys or no letters", scheme.name),
            "state how many keys a base carries and every letter they can show",
        ));
    }
    Ok(vec![Change::KeyScheme(scheme.clone())])
}

/// Refuses a label that is of another kind or already stuck on something else.
pub(super) fn label(
    view: &impl View,
    label: LabelCode,
    kind: LabelKind,
    same: bool,
) -> Result<(), Refusal> {
    if label.kind() != kind {
        return Err(Refusal::new(
            format!("label {} is of another kind", label.human()),
            "use a label made for this kind of thing",
        ));
    }
    if same || !view.is_labelled(&label) {
        return Ok(());
    }
    let holder = view.labelled(&label).unwrap_or_default();
    Err(Refusal::new(format!("label {} is already on {holder}", label.human()), "use a new label"))
}

fn setting(view: &impl View, key: &Option<KeySetting>) -> Result<(), Refusal> {
    if let Some(key) = key {
        let scheme = known(view.key_scheme(&key.scheme), "key scheme", &key.scheme)?;
        let read = scheme.setting(&key.code);
        read.map_err(|what| Refusal::new(what, "read the keys again"))?;
    }
    Ok(())
}

fn measure(what: &str, mm: f64) -> Result<(), Refusal> {
    if mm.is_finite() && mm > 0.0 {
        return Ok(());
    }
    Err(Refusal::new(format!("{what} of {mm} mm"), "write a length above zero"))
}

pub(super) fn cabinet(view: &impl View, cabinet: &Cabinet) -> Outcome {
    let before = view.cabinet(&cabinet.address);
    label(
        view,
        cabinet.label,
        LabelKind::Cabinet,
        before.is_some_and(|c| c.label == cabinet.label),
    )?;
    known(view.area(&cabinet.area), "area", &cabinet.area)?;
    measure("cabinet width", cabinet.width_mm)?;
    measure("cabinet height", cabinet.height_mm)?;
    let name = format!("cabinet {}", cabinet.address);
    let means = cabinet.temperatures_c.iter().flatten().chain(&cabinet.temperature_c);
    means.copied().try_for_each(|mean| temperature_is_sound(&name, mean))?;
    if cabinet.temperature_spread_k.is_some_and(|k| !(0.0..=20.0).contains(&k)) {
        return Err(Refusal::new(
            format!("{name} has a temperature spread outside 0 to 20 K"),
            "write the standard deviation about the monthly means, for instance 3",
        ));
    }
    Ok(vec![Change::Cabinet(cabinet.clone())])
}

fn temperature_is_sound(name: &str, temperature_c: f64) -> Result<(), Refusal> {
    if TEMPERATURES_C.contains(&temperature_c) {
        return Ok(());
    }
    Err(Refusal::new(
        format!("a temperature of {temperature_c} °C for {name}"),
        format!("write one of {} to {} °C", TEMPERATURES_C.start(), TEMPERATURES_C.end()),
    ))
}

/// Keeps a temperature that was read in a cabinet.
pub(super) fn temperature(view: &impl View, entry: &Entry, logged: &TemperatureLogged) -> Outcome {
    let TemperatureLogged { cabinet, temperature_c } = logged.clone();
    known(view.cabinet(&cabinet), "cabinet", &cabinet)?;
    temperature_is_sound(&format!("cabinet {cabinet}"), temperature_c)?;
    let reading = TemperatureReading { id: entry.id, cabinet, at: entry.at, temperature_c };
    Ok(vec![Change::Temperature(reading)])
}

pub(super) fn rail(view: &impl View, rail: &Rail) -> Outcome {
    let cabinet = rail.address.cabinet();
    known(view.cabinet(&cabinet), "cabinet", &cabinet)?;
    measure("rail length", rail.length_mm)?;
    for item in &rail.items {
        if item.x_mm < 0.0 || item.x_mm + item.width_mm > rail.length_mm + 0.05 {
            return Err(Refusal::new(
                format!("an item at {} mm leaves rail {}", item.x_mm, rail.address),
                "correct its position or the length of the rail",
            ));
        }
    }
    Ok(vec![Change::Rail(rail.clone())])
}

pub(super) fn slot(view: &impl View, slot: &Slot) -> Outcome {
    let before = view.slot(&slot.address);
    label(view, slot.label, LabelKind::Slot, before.is_some_and(|s| s.label == slot.label))?;
    let rail = known(view.rail(&slot.address.rail()), "rail", slot.address.rail())?;
    measure("slot width", slot.width_mm)?;
    if slot.x_mm < 0.0 || slot.x_mm + slot.width_mm > rail.length_mm + 0.05 {
        return Err(Refusal::new(
            format!("slot {} leaves its rail of {} mm", slot.address, rail.length_mm),
            "correct its position or width",
        ));
    }
    setting(view, &slot.key)?;
    if matches!(slot.base, BaseKind::OnePiece | BaseKind::Own) && slot.key.is_some() {
        return Err(Refusal::new(
            format!("slot {} has a key, but its base kind carries none", slot.address),
            "leave the key out, or correct the base kind",
        ));
    }
    if let Some(part_no) = &slot.model_wanted {
        known(view.model(part_no), "model", part_no)?;
    }
    standing_unit_still_fits(view, slot)?;
    Ok(vec![Change::Slot(slot.clone())])
}

/// A base is re-keyed with its module pulled: the register holds the same order.
fn standing_unit_still_fits(view: &impl View, slot: &Slot) -> Result<(), Refusal> {
    let Some(label) = view.unit_in(&slot.address) else { return Ok(()) };
    let unit = known(view.unit(&label), "unit", label)?;
    let model = known(view.model(&unit.model), "model", &unit.model)?;
    super::unit::plugs(slot, &unit, &model)
}

pub(super) fn model(view: &impl View, model: &Model) -> Outcome {
    setting(view, &model.key)?;
    model
        .check_supply()
        .map_err(|no| Refusal::new(format!("model {}: {no}", model.part_no), no.to_do))?;
    if let Some(need) = &model.battery {
        if need.cells == 0 {
            return Err(Refusal::new(
                format!("model {} takes a battery of 0 cells", model.part_no),
                "state how many cells it takes",
            ));
        }
        spread(model, "standby_spread_pct", need.standby_spread_pct)?;
        spread(model, "backup_spread_pct", need.backup_spread_pct)?;
    }
    if let Some(cell) = &model.cell {
        spread(model, "capacity_spread_pct", cell.capacity_spread_pct)?;
        spread(model, "self_discharge_spread_pct", cell.self_discharge_spread_pct)?;
        if cell.activation_energy_ev.is_some_and(|ev| !(0.05..=3.0).contains(&ev)) {
            return Err(Refusal::new(
                format!("model {} has an activation energy outside 0.05 to 3 eV", model.part_no),
                "write it in electronvolts, for instance 0.55, or leave it out",
            ));
        }
    }
    Ok(vec![Change::Model(Box::new(model.clone()))])
}

fn spread(model: &Model, field: &str, pct: Option<f64>) -> Result<(), Refusal> {
    match pct {
        Some(pct) if !(0.0..=100.0).contains(&pct) => Err(Refusal::new(
            format!("model {} has a {field} of {pct}", model.part_no),
            "write the standard deviation as 0 to 100 per cent of the value",
        )),
        _ => Ok(()),
    }
}

/// Sets a storeroom. Supply has two echelons: what supplies others is supplied by none. An area
/// is served by one storeroom: another that named it gives it up.
pub(super) fn storeroom(view: &impl View, storeroom: &Storeroom) -> Outcome {
    let Storeroom { code, supplied_by, resupply_d, areas, .. } = storeroom;
    let others = view.every_storeroom();
    if supplied_by.is_some() != resupply_d.is_some() {
        return Err(Refusal::new(
            format!("storeroom {code} states only one of supplied_by and resupply_d"),
            "state both, or neither for a central storeroom",
        ));
    }
    if let Some(central) = supplied_by {
        let central = known(view.storeroom(central), "storeroom", central)?;
        if central.code == *code || central.supplied_by.is_some() {
            return Err(Refusal::new(
                format!(
                    "storeroom {code} would be supplied by {}, which is not central",
                    central.code
                ),
                "name a storeroom that none supplies",
            ));
        }
        if let Some(served) = others.iter().find(|other| other.supplied_by.as_ref() == Some(code)) {
            return Err(Refusal::new(
                format!(
                    "storeroom {code} supplies {}, so it cannot be supplied itself",
                    served.code
                ),
                "change what supplies that one first",
            ));
        }
    }
    areas.iter().try_for_each(|area| known(view.area(area), "area", area).map(drop))?;
    let served_now = |other: &Storeroom| {
        other.code != *code && other.areas.iter().any(|area| areas.contains(area))
    };
    let mut changes: Vec<Change> = others
        .into_iter()
        .filter(served_now)
        .map(|mut other| {
            other.areas.retain(|area| !areas.contains(area));
            Change::Storeroom(other)
        })
        .collect();
    changes.push(Change::Storeroom(storeroom.clone()));
    Ok(changes)
}

pub(super) fn bin(view: &impl View, bin: &Bin) -> Outcome {
    let before = view.bin(&bin.path);
    label(view, bin.label, LabelKind::Bin, before.is_some_and(|b| b.label == bin.label))?;
    known(view.storeroom(bin.path.storeroom()), "storeroom", bin.path.storeroom())?;
    Ok(vec![Change::Bin(bin.clone())])
}

pub(super) fn wire(view: &impl View, wired: &Loop) -> Outcome {
    let slot = known(view.slot(&wired.slot), "slot", &wired.slot)?;
    let channels = slot.model_wanted.and_then(|part_no| view.model(&part_no)).map(|m| m.channels);
    let beyond = channels.is_some_and(|channels| wired.channel > channels);
    if wired.channel == 0 || beyond {
        return Err(Refusal::new(
            format!(
                "loop {} is on channel {}; slot {} has {}",
                wired.tag,
                wired.channel,
                wired.slot,
                channels.map_or("channels counted from 1".to_owned(), |n| format!("{n} channels")),
            ),
            "correct the channel",
        ));
    }
    let taken = view
        .loops_of(&wired.slot)
        .into_iter()
        .find(|other| other.channel == wired.channel && other.tag != wired.tag);
    if let Some(other) = taken {
        return Err(Refusal::new(
            format!("channel {} of slot {} carries {}", wired.channel, wired.slot, other.tag),
            format!("move {} first, or correct the channel of {}", other.tag, wired.tag),
        ));
    }
    Ok(vec![Change::Loop(wired.clone())])
}

pub(super) fn remove(view: &impl View, removed: &PlaceRemoved) -> Outcome {
    let (table, name, there) = match &removed.what {
        Removable::Cabinet(a) => (Table::Cabinet, a.to_string(), view.cabinet(a).is_some()),
        Removable::Rail(a) => (Table::Rail, a.to_string(), view.rail(a).is_some()),
        Removable::Slot(a) => (Table::Slot, a.to_string(), view.slot(a).is_some()),
        Removable::Bin(p) => (Table::Bin, p.to_string(), view.bin(p).is_some()),
        Removable::Loop(tag) => (Table::Loop, tag.clone(), view.wired(tag).is_some()),
    };
    known(there.then_some(()), "place or loop", &name)?;
    if let Some(occupants) = view.occupied(&removed.what) {
        return Err(Refusal::new(
            format!("{name} still holds {occupants}"),
            "move or remove those first",
        ));
    }
    if let Removable::Slot(slot) = &removed.what
        && view.open_swap(slot).is_some()
    {
        return Err(Refusal::new(
            format!("a swap is under way in {slot}"),
            "finish or abandon it first",
        ));
    }
    let mut changes = vec![Change::Gone(table, name.clone())];
    if table == Table::Rail && view.knows(Table::Audit, &name) {
        changes.push(Change::Gone(Table::Audit, name));
    }
    Ok(changes)
}
