use super::find;
use super::label::thing;
use super::lines::Catalogue;
use crate::ask::Ask;
use crate::table::{self, Command, File};
use crate::wire::Nothing;
use crate::wire::label::{FormatLine, LabelChoice, LabelLine, SheetInput};
use crate::{Failure, FailureKind};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::register::View;
use slotkeep_optics::{Level, symbol};
use slotkeep_paper::{FORMATS, Printing, SheetFormat, SheetLabel, label_sheet};
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("label.formats", "Lists the sheets and rolls that labels fit on.", formats),
        table::ask("label.list", "Lists labels with their symbols.", list),
        table::file("label.sheet", "Prints labels on a sheet or roll (PDF).", sheet),
    ]
}

fn formats(_: &Ask<'_>, _: Nothing) -> Result<Vec<FormatLine>, Failure> {
    let lines = FORMATS.iter().map(|format| FormatLine {
        name: format.name.to_owned(),
        title: format!(
            "{} × {} mm, {} on a page of {} × {} mm",
            format.label_width_mm,
            format.label_height_mm,
            format.places(),
            format.page_width_mm,
            format.page_height_mm
        ),
        label_width_mm: format.label_width_mm,
        label_height_mm: format.label_height_mm,
        per_page: format.places() as u32,
    });
    Ok(lines.collect())
}

/// A label and the name of what carries it.
pub(super) struct Chosen {
    pub label: LabelCode,
    pub name: String,
}

fn list(ask: &Ask<'_>, input: LabelChoice) -> Result<Vec<LabelLine>, Failure> {
    ask.read(|r| {
        let mut lines = Vec::new();
        for chosen in choose(r, &input)? {
            let made = symbol(chosen.label.as_str(), Level::M).map_err(broken)?;
            lines.push(LabelLine {
                kind: chosen.label.kind().word().to_owned(),
                label: chosen.label.to_string(),
                label_human: chosen.label.human(),
                name: chosen.name,
                modules: made.size as u32,
                symbol: made.modules.iter().map(|dark| if *dark { '1' } else { '0' }).collect(),
            });
        }
        Ok(lines)
    })
}

/// The labels that a choice names; everything of the site where it names nothing.
fn choose(r: &Reader<'_>, choice: &LabelChoice) -> Result<Vec<Chosen>, Failure> {
    let mut chosen = Vec::new();
    let mut add = |label: LabelCode, name: String| chosen.push(Chosen { label, name });
    if let Some(things) = &choice.things {
        for text in things {
            let thing = thing(r, text);
            let label = thing.label.as_deref().filter(|_| thing.key.is_some());
            let label = label.and_then(|label| LabelCode::parse(label).ok());
            let label = label.ok_or_else(|| Failure::not_found(thing.message.clone()))?;
            add(label, name_of(r, &label));
        }
    }
    let everything =
        choice.things.is_none() && choice.cabinet.is_none() && choice.storeroom.is_none();
    let catalogue = Catalogue::new(r);
    for cabinet in r.cabinets()? {
        let wanted = choice.cabinet.as_deref().map(|text| find::cabinet(r, text)).transpose()?;
        if !(everything || wanted.is_some_and(|wanted| wanted.address == cabinet.address)) {
            continue;
        }
        add(cabinet.label, format!("{} {}", cabinet.address, cabinet.title));
        for slot in r.slots_of(&cabinet.address)? {
            add(slot.label, slot.address.to_string());
        }
        for unit in r.units_in_cabinet(&cabinet.address)? {
            let line = catalogue.unit(&unit);
            add(unit.label, format!("{} {}", line.model, line.serial));
        }
    }
    for storeroom in r.storerooms()? {
        if !(everything || choice.storeroom.as_deref() == Some(&storeroom.code)) {
            continue;
        }
        stored(r, &storeroom.code, &mut add)?;
    }
    if let Some(kinds) = &choice.kinds {
        chosen.retain(|one| kinds.iter().any(|kind| kind == one.label.kind().word()));
    }
    if chosen.is_empty() {
        return Err(Failure::not_found("no label fits this choice: choose a cabinet or storeroom"));
    }
    Ok(chosen)
}

fn stored(
    r: &Reader<'_>,
    storeroom: &str,
    add: &mut impl FnMut(LabelCode, String),
) -> Result<(), Failure> {
    for bin in r.bins()?.into_iter().filter(|bin| bin.path.storeroom() == storeroom) {
        add(bin.label, bin.path.to_string());
    }
    for unit in r.units_in_storeroom(storeroom)? {
        add(unit.label, format!("{} {}", unit.model, unit.serial));
    }
    for lot in r.lots()? {
        if lot.pieces.keys().any(|bin| bin.storeroom() == storeroom) {
            add(lot.label, format!("{} {}", lot.model, lot.code));
        }
    }
    Ok(())
}

fn name_of(r: &Reader<'_>, label: &LabelCode) -> String {
    let what = r.labelled(label).unwrap_or_default();
    what.split_once(' ').map(|(_, name)| name.to_owned()).unwrap_or(what)
}

fn sheet(ask: &Ask<'_>, input: SheetInput) -> Result<File, Failure> {
    let format = match &input.format {
        Some(name) => SheetFormat::named(name).map_err(refused)?,
        None => FORMATS.first().ok_or_else(|| Failure::refused("no format is known"))?,
    };
    let chosen = ask.read(|r| choose(r, &input.labels))?;
    let labels = chosen.iter().map(|one| {
        let text = match input.link_base.as_deref().filter(|base| !base.is_empty()) {
            Some(door) => one.label.link(door),
            None => one.label.to_string(),
        };
        Ok(SheetLabel {
            symbol: printed(&text)?,
            human_line: one.label.human(),
            second_line: one.name.clone(),
        })
    });
    let labels = labels.collect::<Result<Vec<_>, Failure>>()?;
    let printing = Printing {
        dpi: u16::try_from(input.dpi.unwrap_or(300))
            .map_err(|_| Failure::bad_input("no printer has so many dots on an inch"))?,
        start_position: input.start.unwrap_or(1) as usize,
        ..Printing::default()
    };
    let bytes = label_sheet(format, &printing, &labels).map_err(refused)?;
    Ok(File { name: "labels.pdf".to_owned(), content_type: "application/pdf", bytes })
}

/// A symbol of a text, ready for paper.
pub(super) fn printed(text: &str) -> Result<slotkeep_paper::Symbol, Failure> {
    let made = symbol(text, Level::M).map_err(broken)?;
    slotkeep_paper::Symbol::new(made.size, made.modules).map_err(refused)
}

fn broken(refusal: impl std::fmt::Display) -> Failure {
    Failure::new(FailureKind::Broken, refusal.to_string())
}

fn refused(refusal: slotkeep_paper::PaperRefusal) -> Failure {
    Failure::bad_input(refusal.to_string())
}
