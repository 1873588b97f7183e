use super::lines::Catalogue;
use super::{find, lines};
use crate::Failure;
use crate::ask::{Ask, Stamp};
use crate::table::{self, Command};
use crate::wire::place::{
    CabinetDrawing, CabinetInput, CabinetLine, ItemDrawing, RailDrawing, RekeyInput, SlotCard,
    SlotInput, TemperatureInput,
};
use crate::wire::{Done, Nothing, words};
use slotkeep_domain::journal::{Body, TemperatureLogged};
use slotkeep_domain::key::KeySetting;
use slotkeep_domain::listed;
use slotkeep_domain::place::{Area, Cabinet, Rail, Slot, SlotAddress};
use slotkeep_domain::register::View;
use slotkeep_domain::unit::{Condition, Unit};
use slotkeep_store::Reader;
use std::collections::HashMap;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("place.cabinets", "Lists every cabinet with how full it is.", cabinets),
        table::ask("place.cabinet", "Draws a cabinet: rails, items and slots in mm.", cabinet),
        table::ask("place.slot", "Shows one slot: its key, its loops and its history.", slot),
        table::record(
            "place.rekey",
            "Records the key letters that an empty base is set to now.",
            table::HANDS,
            rekey,
        ),
        table::record(
            "place.temperature",
            "Records a temperature that was read inside a cabinet.",
            table::HANDS,
            temperature,
        ),
    ]
}

fn cabinets(ask: &Ask<'_>, _: Nothing) -> Result<Vec<CabinetLine>, Failure> {
    ask.read(|r| {
        let areas = r.areas()?;
        r.cabinets()?.iter().map(|cabinet| line(r, cabinet, &areas)).collect()
    })
}

fn line(r: &Reader<'_>, cabinet: &Cabinet, areas: &[Area]) -> Result<CabinetLine, Failure> {
    let units = r.units_in_cabinet(&cabinet.address)?;
    Ok(CabinetLine {
        address: cabinet.address.to_string(),
        label: cabinet.label.to_string(),
        title: cabinet.title.clone(),
        area: cabinet.area.clone(),
        area_title: area_title(areas, &cabinet.area),
        rails: r.rails_of(&cabinet.address)?.len() as u32,
        slots: r.slots_of(&cabinet.address)?.len() as u32,
        units: units.len() as u32,
        not_good: units.iter().filter(|unit| unit.condition != Condition::Good).count() as u32,
    })
}

fn area_title(areas: &[Area], code: &str) -> String {
    areas.iter().find(|area| area.code == code).map(|area| area.title.clone()).unwrap_or_default()
}

fn cabinet(ask: &Ask<'_>, input: CabinetInput) -> Result<CabinetDrawing, Failure> {
    ask.read(|r| {
        let cabinet = find::cabinet(r, &input.cabinet)?;
        let catalogue = Catalogue::new(r);
        let standing: HashMap<SlotAddress, Unit> = r
            .units_in_cabinet(&cabinet.address)?
            .into_iter()
            .filter_map(|unit| unit.place.slot().cloned().map(|slot| (slot, unit)))
            .collect();
        let slots = r.slots_of(&cabinet.address)?;
        let rails = r.rails_of(&cabinet.address)?;
        Ok(CabinetDrawing {
            address: cabinet.address.to_string(),
            label: cabinet.label.to_string(),
            title: cabinet.title,
            area_title: area_title(&r.areas()?, &cabinet.area),
            area: cabinet.area,
            width_mm: cabinet.width_mm,
            height_mm: cabinet.height_mm,
            temperature_c: cabinet.temperature_c,
            rails: rails
                .iter()
                .map(|rail| draw(rail, &rails, &slots, &standing, &catalogue))
                .collect(),
        })
    })
}

fn draw(
    rail: &Rail,
    rails: &[Rail],
    slots: &[Slot],
    standing: &HashMap<SlotAddress, Unit>,
    catalogue: &Catalogue<'_, '_>,
) -> RailDrawing {
    let own = slots.iter().filter(|slot| slot.address.rail() == rail.address);
    let mut items: Vec<_> = own
        .map(|slot| ItemDrawing {
            kind: "slot".to_owned(),
            x_mm: slot.x_mm,
            width_mm: slot.width_mm,
            slot: Some(catalogue.slot(slot, standing.get(&slot.address))),
        })
        .chain(rail.items.iter().map(|item| ItemDrawing {
            kind: words::rail_item(item.kind).to_owned(),
            x_mm: item.x_mm,
            width_mm: item.width_mm,
            slot: None,
        }))
        .collect();
    items.sort_by(|a, b| a.x_mm.total_cmp(&b.x_mm));
    RailDrawing {
        address: rail.address.to_string(),
        title: rail.title.clone(),
        length_mm: rail.length_mm,
        y_mm: rail.y_mm,
        joins: joins(rail, rails),
        items,
    }
}

/// How supply and buses of a rail hang together with others of its cabinet, a sentence each.
pub(super) fn joins(rail: &Rail, rails: &[Rail]) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(by) = &rail.feed.fed_by {
        said.push(format!("24 V comes from the power supplies on {by}"));
    }
    let fed = rails.iter().filter(|one| one.feed.fed_by.as_ref() == Some(&rail.address));
    let fed: Vec<_> = fed.map(|one| one.address.to_string()).collect();
    let supplies = match rail.feed.redundant {
        Some(true) => Some("are recorded as redundant"),
        Some(false) => Some("are needed together"),
        None => None,
    };
    let feed = (!fed.is_empty()).then(|| format!("feed {} too", listed(&fed)));
    let both: Vec<_> = supplies.map(str::to_owned).into_iter().chain(feed).collect();
    if !both.is_empty() {
        said.push(format!("its power supplies {}", listed(&both)));
    }
    for (side, to) in [("left", &rail.bus_left), ("right", &rail.bus_right)] {
        if let Some(to) = to {
            said.push(format!("the bus goes on from its {side} end to {to}"));
        }
    }
    said
}

fn slot(ask: &Ask<'_>, input: SlotInput) -> Result<SlotCard, Failure> {
    ask.read(|r| card(r, &find::slot(r, &input.slot)?))
}

/// Everything about one slot.
pub(super) fn card(r: &Reader<'_>, slot: &Slot) -> Result<SlotCard, Failure> {
    let unit = r.unit_in(&slot.address).and_then(|label| r.unit(&label));
    Ok(SlotCard {
        slot: Catalogue::new(r).slot(slot, unit.as_ref()),
        min_revision: slot.min_revision.clone(),
        min_firmware: slot.min_firmware.clone(),
        redundant_partner: slot.redundant_partner.as_ref().map(ToString::to_string),
        bus_position: words::bus_position(slot.bus_position).to_owned(),
        hot_swap: slot.hot_swap,
        criticality: words::criticality(slot.criticality).to_owned(),
        x_mm: slot.x_mm,
        width_mm: slot.width_mm,
        loops: r.loops_of(&slot.address).iter().map(lines::wired).collect(),
        open_swap: r.open_swap(&slot.address),
        history: lines::history(r, slot.address.as_str(), 30)?,
    })
}

fn rekey(ask: &Ask<'_>, stamp: &Stamp, input: RekeyInput) -> Result<Done, Failure> {
    let mut message = String::new();
    let recorded = ask.record_within(stamp, |r| {
        let mut slot = find::slot(r, &input.slot)?;
        if let Some(unit) = r.unit_in(&slot.address) {
            return Err(Failure::refused(format!(
                "slot {} holds unit {}: a base is re-keyed only with its module pulled; remove it \
                 first",
                slot.address,
                unit.human()
            )));
        }
        let scheme = r.key_scheme(&input.key.scheme).ok_or_else(|| {
            Failure::bad_input(format!("there is no key scheme {:?}", input.key.scheme))
        })?;
        let key: KeySetting = scheme.setting(&input.key.code).map_err(Failure::bad_input)?;
        message = format!("slot {} is keyed {key}", slot.address);
        slot.key = Some(key);
        Ok(Body::SlotSet(slot))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}

fn temperature(ask: &Ask<'_>, stamp: &Stamp, input: TemperatureInput) -> Result<Done, Failure> {
    let mut message = String::new();
    let recorded = ask.record_within(stamp, |r| {
        let cabinet = find::cabinet(r, &input.cabinet)?.address;
        let temperature_c = input.temperature_c;
        message = format!("{temperature_c} °C is recorded for cabinet {cabinet}");
        Ok(Body::TemperatureLogged(TemperatureLogged { cabinet, temperature_c }))
    })?;
    Ok(Done { entry: stamp.id, repeated: recorded.repeated, message })
}
