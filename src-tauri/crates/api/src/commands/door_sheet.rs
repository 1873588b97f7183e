//! The sheet inside a cabinet door.

use super::find;
use super::label_sheet::{printed, refused};
use super::place::joins;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command, File};
use crate::wire::label_sheet::DoorSheetInput;
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::place::{Rail, Slot};
use slotkeep_domain::register::View;
use slotkeep_paper::{DoorLabel, DoorRail, DoorSheet, DoorSlot, door_sheet};

pub(super) fn commands() -> Vec<Command> {
    vec![table::file(
        "label.door_sheet",
        "Prints a sheet for the inside of a cabinet door: every slot with its label (PDF).",
        sheet,
    )]
}

fn sheet(ask: &Ask<'_>, input: DoorSheetInput) -> Result<File, Failure> {
    let page = find::page(input.page.as_deref())?;
    let (name, sheet) = ask.read(|r| {
        let site = r.site().ok_or_else(find::empty)?;
        let cabinet = find::cabinet(r, &input.cabinet)?;
        let slots = r.slots_of(&cabinet.address)?;
        if slots.is_empty() {
            return Err(Failure::refused(format!(
                "cabinet {} has no slots yet: import its rails first",
                cabinet.address
            )));
        }
        let mut rails = r.rails_of(&cabinet.address)?;
        rails.sort_by(|a, b| a.y_mm.total_cmp(&b.y_mm));
        let drawn = rails.iter().map(|rail| door_rail(rail, &rails, &slots));
        let rails = drawn.collect::<Result<_, _>>()?;
        let sheet = DoorSheet {
            page,
            site: site.name,
            printed_on: ask.today(),
            revision: find::revision(r)?,
            cabinet: cabinet.address.to_string(),
            title: cabinet.title.clone(),
            label: label(&cabinet.label)?,
            rails,
        };
        Ok((format!("door-{}.pdf", cabinet.address.to_string().replace('+', "")), sheet))
    })?;
    let bytes = door_sheet(&sheet).map_err(refused)?;
    Ok(File { name, content_type: "application/pdf", bytes })
}

fn door_rail(rail: &Rail, rails: &[Rail], slots: &[Slot]) -> Result<DoorRail, Failure> {
    let own = slots.iter().filter(|slot| slot.address.rail() == rail.address);
    let mut own = own.map(door_slot).collect::<Result<Vec<_>, Failure>>()?;
    own.sort_by(|a, b| a.x_mm.total_cmp(&b.x_mm));
    Ok(DoorRail {
        address: rail.address.to_string(),
        title: rail.title.clone(),
        joins: joins(rail, rails),
        length_mm: rail.length_mm,
        others: rail.items.iter().map(|item| (item.x_mm, item.width_mm)).collect(),
        slots: own,
    })
}

fn door_slot(slot: &Slot) -> Result<DoorSlot, Failure> {
    let address = slot.address.to_string();
    let model = slot.model_wanted.as_ref().map(ToString::to_string).unwrap_or_default();
    let key = slot.key.as_ref().map(|key| format!("key {key}")).unwrap_or_default();
    Ok(DoorSlot {
        number: address.rsplit('.').next().unwrap_or_default().to_owned(),
        address,
        x_mm: slot.x_mm,
        width_mm: slot.width_mm,
        model: format!("{model} {key}").trim().to_owned(),
        label: label(&slot.label)?,
    })
}

fn label(label: &LabelCode) -> Result<DoorLabel, Failure> {
    Ok(DoorLabel {
        text: label.to_string(),
        human_line: label.human(),
        symbol: printed(label.as_str())?,
    })
}
