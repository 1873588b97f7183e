//! What work in a slot does to running loops and to other units, to show and to sign.

use super::find;
use super::label_sheet::printed;
use super::lines::Catalogue;
use super::lineup::described;
use super::swap::cautions;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command, File};
use crate::wire::swap_effects::{
    ClearanceCounts, DisturbedLine, EffectLine, EffectsInput, EffectsSheetInput, SwapEffects,
};
use crate::wire::words;
use slotkeep_domain::lineup::Derating;
use slotkeep_domain::loops::{
    Clearance, Disturbed, Effects, Loop, LossEffect, Neighbour, Redundancy, Why, Work, effects,
};
use slotkeep_domain::place::Slot;
use slotkeep_domain::register::View;
use slotkeep_domain::{counted, counted_as};
use slotkeep_paper::{EffectRow, EffectsSheet, ScanLabel, Section as SheetSection, effects_sheet};
use slotkeep_store::Reader;
use std::collections::HashMap;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask(
            "swap.effects",
            "Says what taking the unit out of a slot does to loops and other units.",
            shown,
        ),
        table::file(
            "swap.effects_sheet",
            "Prints the list of effects that the control room signs before work in a slot (PDF).",
            sheet,
        ),
    ]
}

fn shown(ask: &Ask<'_>, input: EffectsInput) -> Result<SwapEffects, Failure> {
    ask.read(|r| reply(r, &find::slot(r, &input.slot)?))
}

/// The effects of work in a slot, by the units of its cabinet.
pub(super) fn of(r: &Reader<'_>, slot: &Slot) -> Result<Effects, Failure> {
    let cabinet = slot.address.cabinet();
    let slots = r.slots_of(&cabinet)?;
    let units = r.units_in_cabinet(&cabinet)?.into_iter();
    let mut standing: HashMap<_, _> =
        units.filter_map(|unit| Some((unit.place.slot()?.clone(), unit))).collect();
    let catalogue = Catalogue::new(r);
    let outgoing = standing.remove(&slot.address).and_then(|unit| catalogue.model(&unit.model));
    let partner = slot.redundant_partner.as_ref().map(|address| {
        let unit = r.unit_in(address).and_then(|label| r.unit(&label));
        (address, unit)
    });
    let neighbours = slots.into_iter().filter_map(|slot| {
        let unit = standing.remove(&slot.address)?;
        let loops = r.loops_of(&slot.address);
        Some(Neighbour { model: catalogue.model(&unit.model), slot, unit, loops })
    });
    let neighbours: Vec<_> = neighbours.collect();
    let site = r.site().ok_or_else(find::empty)?;
    let described = described(r, &site, &cabinet)?;
    let work = Work {
        slot,
        outgoing: outgoing.as_ref(),
        loops: &r.loops_of(&slot.address),
        partner: partner.as_ref().map(|(address, unit)| (*address, unit.as_ref())),
        cabinet: Some(&described),
        derating: Derating::kept(&site.rules),
    };
    Ok(effects(&work, &neighbours))
}

fn reply(r: &Reader<'_>, slot: &Slot) -> Result<SwapEffects, Failure> {
    let effects = of(r, slot)?;
    let catalogue = Catalogue::new(r);
    let unit = r.unit_in(&slot.address).and_then(|label| r.unit(&label));
    let (state, redundancy_message) = redundancy(&effects.redundancy);
    let counts = counts(&effects);
    Ok(SwapEffects {
        slot: slot.address.to_string(),
        title: slot.title.clone(),
        criticality: words::criticality(slot.criticality).to_owned(),
        unit: unit.as_ref().map(|unit| catalogue.unit(unit)),
        loops: effects.loops.iter().map(line).collect(),
        redundancy: state.to_owned(),
        partner: slot.redundant_partner.as_ref().map(ToString::to_string),
        redundancy_message,
        isolates_rail: effects.isolates_rail,
        disturbed: effects.disturbed.iter().map(|one| disturbed(one, &catalogue)).collect(),
        message: message(slot, &effects, &counts),
        counts,
        cautions: cautions(),
    })
}

fn disturbed(one: &Disturbed, catalogue: &Catalogue<'_, '_>) -> DisturbedLine {
    let (why, why_message) = why(one.why);
    DisturbedLine {
        slot: one.slot.to_string(),
        title: one.title.clone(),
        unit: catalogue.unit(&one.unit),
        why: why.to_owned(),
        why_message: why_message.to_owned(),
        loops: one.loops.iter().map(line).collect(),
    }
}

fn why(why: Why) -> (&'static str, &'static str) {
    match why {
        Why::SupplyOut => ("supply_out", "it is fed by the power supply that comes out"),
        Why::RailIsolated => {
            ("rail_isolated", "its rail is isolated: this slot must not be changed under power")
        }
        Why::SupplyTooSmall => {
            ("supply_too_small", "the power supplies that stay are too small to keep it up")
        }
        Why::SharedSupply => (
            "shared_supply",
            "it hangs on the power supplies of the rail that is isolated: it goes down too, unless \
             that rail can be switched off alone",
        ),
        Why::ControllerOut => {
            ("controller_out", "it may hang on the controller that comes out: nobody takes over")
        }
        Why::BusOpened => ("bus_opened", "the bus runs through the unit that comes out"),
    }
}

/// State and sentence of the redundancy.
pub(super) fn redundancy(redundancy: &Redundancy) -> (&'static str, String) {
    match redundancy {
        Redundancy::Single => {
            ("single", "there is no redundant partner: the function is gone meanwhile".to_owned())
        }
        Redundancy::Carried(partner) => (
            "carried",
            format!("the redundant partner in {partner} carries the function; nobody backs it up"),
        ),
        Redundancy::Lost(partner, why) => (
            "lost",
            format!("the redundant partner in {partner} does not carry the function: {why}"),
        ),
    }
}

/// A loop with what happens to it.
pub(super) fn line(wired: &Loop) -> EffectLine {
    EffectLine {
        tag: wired.tag.clone(),
        slot: wired.slot.to_string(),
        channel: wired.channel,
        service: wired.service.clone(),
        on_loss: wired.on_loss.clone(),
        effect: wired.effect.map(|effect| words::loss_effect(effect).to_owned()),
        clearance: wired.clearance.map(|one| words::clearance(one).to_owned()),
        safety_function: wired.safety_function,
        happens: happens(wired),
        to_do: to_do(wired),
    }
}

/// What happens, in the site's own words where it has some; the kind of effect is added where they
/// do not say it yet.
fn happens(wired: &Loop) -> String {
    match (&wired.on_loss, wired.effect.map(kind_and_marks)) {
        (Some(said), Some((kind, marks))) => {
            let lower = said.to_lowercase();
            match marks.iter().all(|mark| lower.contains(mark)) {
                true => said.clone(),
                false => format!("{said} ({kind})"),
            }
        }
        (Some(said), None) => said.clone(),
        (None, Some((kind, _))) => kind.to_owned(),
        (None, None) => "not recorded: ask operations".to_owned(),
    }
}

/// A kind of effect in words, and the words that tell it in a sentence of the site.
fn kind_and_marks(effect: LossEffect) -> (&'static str, &'static [&'static str]) {
    match effect {
        LossEffect::Trip => ("trip", &["trip"]),
        LossEffect::ValveOpens => ("valve opens", &["valve", "open"]),
        LossEffect::ValveCloses => ("valve closes", &["valve", "close"]),
        LossEffect::ValveStays => ("valve stays where it is", &["valve", "stay"]),
        LossEffect::ValueHeld => ("last value is held", &["last value", "held"]),
        LossEffect::AlarmOnly => ("alarm and nothing else", &["alarm"]),
    }
}

fn to_do(wired: &Loop) -> String {
    let first = match wired.clearance {
        Some(Clearance::Manual) => "put the controller in manual",
        Some(Clearance::Bypass) => "bypass the trip, by the rules of the site",
        Some(Clearance::Announce) => "announce it to the control room",
        Some(Clearance::Nothing) => "nothing is needed",
        None => "not recorded: ask operations what is needed",
    };
    let release = "; the owner of the safety function releases it in writing";
    format!("{first}{}", if wired.safety_function { release } else { "" })
}

fn counts(effects: &Effects) -> ClearanceCounts {
    let count = |clearance| effects.count(clearance) as u32;
    ClearanceCounts {
        loops: effects.every_loop().count() as u32,
        manual: count(Some(Clearance::Manual)),
        bypass: count(Some(Clearance::Bypass)),
        announce: count(Some(Clearance::Announce)),
        nothing: count(Some(Clearance::Nothing)),
        not_recorded: count(None),
        safety: effects.every_loop().filter(|wired| wired.safety_function).count() as u32,
    }
}

fn message(slot: &Slot, effects: &Effects, counts: &ClearanceCounts) -> String {
    let own = counted_as(effects.loops.len() as u64, "loop is", "loops are");
    let mut text = format!("{own} wired to {}", slot.address);
    if !effects.disturbed.is_empty() {
        let units = counted_as(effects.disturbed.len() as u64, "other unit is", "other units are");
        let more = counts.loops - effects.loops.len() as u32;
        text.push_str(&format!("; {units} disturbed, with {}", counted(more, "loop")));
    }
    let wanted = [
        (counts.manual, "to put in manual"),
        (counts.bypass, "to bypass"),
        (counts.announce, "to announce"),
        (counts.not_recorded, "to ask operations about"),
    ];
    let wanted = wanted.iter().filter(|(count, _)| *count > 0);
    let wanted: Vec<_> = wanted.map(|(count, what)| format!("{count} {what}")).collect();
    if !wanted.is_empty() {
        text.push_str(&format!(": {}", wanted.join(", ")));
    }
    text
}

fn sheet(ask: &Ask<'_>, input: EffectsSheetInput) -> Result<File, Failure> {
    let page = find::page(input.page.as_deref())?;
    let (slot, sheet) = ask.read(|r| {
        let site = r.site().ok_or_else(find::empty)?;
        let slot = find::slot(r, &input.slot)?;
        let found = reply(r, &slot)?;
        let unit = found.unit.as_ref().map_or("Nothing: the slot is empty".to_owned(), |unit| {
            format!(
                "{} {}, serial {}, {}",
                unit.model, unit.model_title, unit.serial, unit.label_human
            )
        });
        let mut disturbed: Vec<SheetSection> = Vec::new();
        for one in &found.disturbed {
            disturbed.push(SheetSection {
                title: format!("{} {}, {}", one.slot, one.unit.model, one.why_message),
                rows: one.loops.iter().map(row).collect(),
            });
        }
        let sheet = EffectsSheet {
            page,
            site: site.name,
            printed_on: ask.today(),
            revision: find::revision(r)?,
            slot_address: found.slot.clone(),
            slot_detail: format!("{}, {}", found.title, found.criticality),
            unit,
            message: found.message.clone(),
            redundancy: found.redundancy_message.clone(),
            isolates: found.isolates_rail.then(|| isolated(r, &slot)).transpose()?,
            loops: found.loops.iter().map(row).collect(),
            disturbed,
            scan: ScanLabel {
                title: format!("Slot {}", slot.address),
                human_line: slot.label.human(),
                symbol: printed(slot.label.as_str())?,
            },
        };
        Ok((found.slot, sheet))
    })?;
    Ok(File {
        name: format!("effects{}.pdf", slot.replace(['+', '.'], "-")),
        content_type: "application/pdf",
        bytes: effects_sheet(&sheet),
    })
}

/// The rail that is isolated, and those that hang on the same power supplies.
fn isolated(r: &Reader<'_>, slot: &Slot) -> Result<String, Failure> {
    let address = slot.address.rail();
    let site = r.site().ok_or_else(find::empty)?;
    let cabinet = described(r, &site, &address.cabinet())?;
    let Some(rail) = cabinet.rail(&address) else { return Ok(address.to_string()) };
    let source = &cabinet.source(rail).address;
    let others = cabinet
        .rails
        .iter()
        .filter(|one| one.address != address && cabinet.source(one).address == *source);
    let others: Vec<_> = others.map(|one| one.address.to_string()).collect();
    Ok(match others.is_empty() {
        true => address.to_string(),
        false => {
            format!("{address} (and with it {}, on the same power supplies)", others.join(", "))
        }
    })
}

/// What work in a slot does to other units, for the method statement; empty where nothing.
pub(super) fn on_others(r: &Reader<'_>, slot: &Slot) -> Result<String, Failure> {
    let effects = of(r, slot)?;
    if effects.disturbed.is_empty() {
        return Ok(String::new());
    }
    let loops: usize = effects.disturbed.iter().map(|one| one.loops.len()).sum();
    let units = effects.disturbed.len() as u64;
    Ok(format!(
        "{} disturbed, with {}: the list of effects names them, and the control room signs it before \
         this work.",
        counted_as(units, "other unit is", "other units are"),
        counted(loops as u64, "loop")
    ))
}

fn row(line: &EffectLine) -> EffectRow {
    EffectRow {
        tag: line.tag.clone(),
        channel: line.channel.to_string(),
        service: line.service.clone(),
        happens: line.happens.clone(),
        to_do: line.to_do.clone(),
        safety_function: line.safety_function,
    }
}
