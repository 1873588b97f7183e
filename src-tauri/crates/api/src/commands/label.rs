use super::find;
use super::lines::Catalogue;
use crate::ask::Ask;
use crate::table::{self, Command, File};
use crate::wire::Nothing;
use crate::wire::label::{
    Corner, FormatLine, FoundLabel, LabelChoice, LabelLine, PhotoReading, ResolveInput, SheetInput,
    Thing, ThingKind,
};
use crate::{Failure, FailureKind};
use slotkeep_domain::label::{LabelCode, LabelKind, LabelRefusal};
use slotkeep_domain::place::SlotAddress;
use slotkeep_domain::register::View;
use slotkeep_optics::{Level, Limits, Verdict, read_photo, symbol};
use slotkeep_paper::{FORMATS, Printing, SheetFormat, SheetLabel, label_sheet};
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("label.resolve", "Says what a scanned or typed text stands for.", resolve),
        table::look("label.read_photo", "Reads every label in a photo.", read),
        table::ask("label.formats", "Lists the sheets and rolls that labels fit on.", formats),
        table::ask("label.list", "Lists labels with their symbols.", list),
        table::file("label.sheet", "Prints labels on a sheet or roll (PDF).", sheet),
    ]
}

fn resolve(ask: &Ask<'_>, input: ResolveInput) -> Result<Thing, Failure> {
    ask.read(|r| Ok(thing(r, &input.text)))
}

/// What a text stands for; always an answer, never a failure.
fn thing(r: &Reader<'_>, text: &str) -> Thing {
    let bare = |kind, text: &str, message: String| Thing {
        kind,
        text: text.chars().take(60).collect(),
        label: None,
        label_human: None,
        key: None,
        message,
    };
    let label = match LabelCode::parse_scan(text) {
        Ok(label) => label,
        Err(refusal) => {
            if let Some(found) = by_name(r, text) {
                return found;
            }
            let kind = match refusal {
                LabelRefusal::Check(_) | LabelRefusal::Length { .. } => ThingKind::Damaged,
                _ => ThingKind::Foreign,
            };
            return bare(kind, text, refusal.to_string());
        }
    };
    match r.labelled(&label) {
        Some(what) => {
            let (_, key) = find::opened_by(r, &label);
            known(&label, text, key, what + &afterwards(r, &label))
        }
        None => Thing {
            label: Some(label.to_string()),
            label_human: Some(label.human()),
            ..bare(ThingKind::Unknown, text, unknown(r, &label))
        },
    }
}

fn known(label: &LabelCode, text: &str, key: String, message: String) -> Thing {
    let kind = match label.kind() {
        LabelKind::Unit => ThingKind::Unit,
        LabelKind::Slot => ThingKind::Slot,
        LabelKind::Bin => ThingKind::Bin,
        LabelKind::Lot => ThingKind::Lot,
        LabelKind::Cabinet => ThingKind::Cabinet,
    };
    Thing {
        kind,
        text: text.chars().take(60).collect(),
        label: Some(label.to_string()),
        label_human: Some(label.human()),
        key: Some(key),
        message,
    }
}

/// A unit that is scrapped says so when its label is read.
fn afterwards(r: &Reader<'_>, label: &LabelCode) -> String {
    match r.unit(label) {
        Some(unit) => format!(", {} in {}", unit.condition.word(), unit.place),
        None => String::new(),
    }
}

fn unknown(r: &Reader<'_>, label: &LabelCode) -> String {
    let own = r.site().is_some_and(|site| site.prefix == label.prefix());
    if own {
        format!(
            "label {} is of this site, but nothing in the register carries it: register the \
             thing, or check whether this is the right store",
            label.human()
        )
    } else {
        format!(
            "label {} is of another site ({}): it is not in this register",
            label.human(),
            label.prefix()
        )
    }
}

/// A slot address or serial number typed instead of a label.
fn by_name(r: &Reader<'_>, text: &str) -> Option<Thing> {
    let address = SlotAddress::parse(text).ok();
    if let Some(slot) = address.and_then(|address| r.slot(&address)) {
        let key = slot.address.to_string();
        return Some(known(&slot.label, text, key.clone(), format!("slot {key}")));
    }
    if let Ok(cabinet) = find::cabinet(r, text) {
        let key = cabinet.address.to_string();
        return Some(known(&cabinet.label, text, key.clone(), format!("cabinet {key}")));
    }
    if let Ok(bin) = find::bin(r, text) {
        let key = bin.path.to_string();
        return Some(known(&bin.label, text, key.clone(), format!("bin {key}")));
    }
    if let Ok(lot) = find::lot(r, text) {
        let what = format!("lot {} of {}", lot.code, lot.model);
        return Some(known(&lot.label, text, lot.label.to_string(), what));
    }
    let unit = find::unit(r, text).ok()?;
    let what = format!("unit {} {}", unit.model, unit.serial);
    Some(known(&unit.label, text, unit.label.to_string(), what + &afterwards(r, &unit.label)))
}

fn read(ask: &Ask<'_>, bytes: &[u8]) -> Result<PhotoReading, Failure> {
    let reading = read_photo(bytes, &Limits::default())
        .map_err(|refusal| Failure::bad_input(refusal.to_string()))?;
    let found =
        ask.read(|r| Ok(reading.found.iter().map(|found| in_photo(r, found)).collect::<Vec<_>>()))?;
    let own = found.iter().filter(|found| found.thing.key.is_some()).count();
    let message = match (found.len(), own) {
        (0, _) => "no label was found: go closer, hold still, avoid glare".to_owned(),
        (all, own) if all == own => format!("{own} labels read"),
        (all, own) => format!("{all} symbols found, {own} of them labels in the register"),
    };
    Ok(PhotoReading { width_px: reading.width, height_px: reading.height, found, message })
}

fn in_photo(r: &Reader<'_>, found: &slotkeep_optics::Found) -> FoundLabel {
    let thing = match &found.verdict {
        Verdict::Ours(label) => thing(r, label.as_str()),
        Verdict::Foreign(_) => thing(r, &found.text),
        Verdict::Misread(why) => damaged(&found.text, why),
        Verdict::Damaged => damaged(
            "",
            "a symbol is here, but too much of it is dirty, hidden or blurred: clean it, take a \
             closer photo, or type the line beside it",
        ),
    };
    FoundLabel {
        corners: found.corners.iter().map(|&(x, y)| Corner { x, y }).collect(),
        symbology: found.symbology.clone(),
        reader: match found.reader {
            slotkeep_optics::Reader::First => "first",
            slotkeep_optics::Reader::Enlarged => "enlarged",
            slotkeep_optics::Reader::Second => "second",
        }
        .to_owned(),
        thing,
    }
}

fn damaged(text: &str, why: &str) -> Thing {
    Thing {
        kind: ThingKind::Damaged,
        text: text.chars().take(60).collect(),
        label: None,
        label_human: None,
        key: None,
        message: why.to_owned(),
    }
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
