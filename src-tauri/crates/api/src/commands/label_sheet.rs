use super::label::thing;
use super::lines::Catalogue;
use super::{find, label_design, label_printer};
use crate::ask::Ask;
use crate::table::{self, Command, File};
use crate::wire::Nothing;
use crate::wire::label::{FormatLine, LabelChoice, LabelLine, SheetInput};
use crate::wire::label_sheet::{PlaceLine, Preview, PreviewInput, PrintedLabel, PrintedRow};
use crate::{Failure, FailureKind};
use slotkeep_domain::label::LabelCode;
use slotkeep_domain::register::View;
use slotkeep_optics::{Level, distance_mm, symbol, symbols};
use slotkeep_paper::{FORMATS, Printing, SheetFormat, SheetLabel, label_sheet, lay_out};
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![
        table::ask("label.formats", "Lists the sheets and rolls that labels fit on.", formats),
        table::ask("label.list", "Lists labels with their symbols.", list),
        table::file("label.sheet", "Prints labels on a sheet or roll (PDF).", sheet),
        table::ask(
            "label.preview",
            "Shows one page of a sheet as it will be printed, with every label in its place.",
            preview,
        ),
    ]
}

fn formats(_: &Ask<'_>, _: Nothing) -> Result<Vec<FormatLine>, Failure> {
    let lines = FORMATS.iter().map(|format| FormatLine {
        name: format.name.to_owned(),
        title: format!(
            "{}{} × {} mm, {}",
            paper(format),
            tenths(format.label_width_mm),
            tenths(format.label_height_mm),
            if format.is_roll() {
                "one by one".to_owned()
            } else {
                format!("{} on a page", format.places())
            },
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

/// The kind of paper, for the beginning of a title.
fn paper(format: &SheetFormat) -> &'static str {
    match format.name.split_once('-') {
        Some(("a4", _)) => "A4: ",
        Some(("letter", _)) => "Letter: ",
        _ => "Roll: ",
    }
}

/// Rounds to tenths: measures in inches have many digits in mm.
fn tenths(mm: f64) -> f64 {
    (mm * 10.0).round() / 10.0
}

/// Everything that a sheet is made of.
struct Sheet {
    format: &'static SheetFormat,
    printing: Printing,
    labels: Vec<SheetLabel>,
}

fn made(ask: &Ask<'_>, input: &SheetInput) -> Result<Sheet, Failure> {
    let format = label_printer::format(input.format.as_deref())?;
    let least = label_design::level(input.least_level.as_deref())?;
    let chosen = ask.read(|r| choose(r, &input.labels))?;
    let text = |one: &Chosen| label_design::text(&one.label, input.link_base.as_deref());
    let texts: Vec<String> = chosen.iter().map(text).collect();
    let symbols =
        symbols(&texts, least).map_err(|refusal| Failure::bad_input(refusal.to_string()))?;
    let labels = texts.into_iter().zip(symbols).zip(chosen).map(|((text, made), one)| {
        let symbol = slotkeep_paper::Symbol::new(made.size, made.modules).map_err(refused)?;
        Ok(SheetLabel { text, symbol, human_line: one.label.human(), second_line: one.name })
    });
    let printing = Printing {
        dpi: label_printer::dpi(input.dpi)?,
        start_position: input.start.unwrap_or(1) as usize,
        distance_mm: input.distance_mm.unwrap_or(0.0),
        ..label_printer::corrected(input.correction)
    };
    Ok(Sheet { format, printing, labels: labels.collect::<Result<_, Failure>>()? })
}

fn sheet(ask: &Ask<'_>, input: SheetInput) -> Result<File, Failure> {
    let Sheet { format, printing, labels } = made(ask, &input)?;
    let bytes = label_sheet(format, &printing, &labels).map_err(refused)?;
    Ok(File { name: "labels.pdf".to_owned(), content_type: "application/pdf", bytes })
}

fn preview(ask: &Ask<'_>, input: PreviewInput) -> Result<Preview, Failure> {
    let Sheet { format, printing, labels } = made(ask, &input.sheet)?;
    let placed = lay_out(format, &printing, &labels).map_err(refused)?;
    let pages = placed.last().map_or(0, |last| last.page + 1) as u32;
    let page = input.page.unwrap_or(1).clamp(1, pages.max(1));
    let mm = |dots: i64| dots as f64 * 25.4 / f64::from(printing.dpi);
    let module_mm = placed.first().map_or(0.0, |first| mm(first.module_dots));
    let narrowest = labels.iter().map(|label| label.symbol.size()).min().unwrap_or(0);
    let bold = placed.iter().flat_map(|one| &one.rows).find(|row| row.bold);
    let on_page = labels.iter().zip(&placed).filter(|(_, one)| one.page as u32 + 1 == page);
    let printed = on_page.map(|(label, one)| PrintedLabel {
        place: one.place as u32 + 1,
        label: label.human_line.clone(),
        modules: label.symbol.size() as u32,
        symbol: label.symbol.modules().iter().map(|dark| if *dark { '1' } else { '0' }).collect(),
        x_mm: mm(one.symbol_x_dots),
        y_mm: mm(one.symbol_y_dots),
        rows: one.rows.iter().map(row).collect(),
    });
    Ok(Preview {
        format: format.name.to_owned(),
        page_width_mm: format.page_width_mm,
        page_height_mm: format.page_height_mm,
        label_width_mm: format.label_width_mm,
        label_height_mm: format.label_height_mm,
        page,
        pages,
        labels: labels.len() as u32,
        places: (0..format.places()).map(|place| corner(format, place)).collect(),
        printed: printed.collect(),
        module_mm,
        distance_mm: distance_mm(module_mm * narrowest as f64),
        human_pt: bold.map_or(0.0, |row| row.size_pt),
    })
}

fn corner(format: &SheetFormat, place: usize) -> PlaceLine {
    let (x_mm, y_mm) = format.corner_mm(place);
    PlaceLine { x_mm, y_mm }
}

fn row(row: &slotkeep_paper::Row) -> PrintedRow {
    PrintedRow {
        text: row.text.clone(),
        bold: row.bold,
        size_pt: row.size_pt,
        x_mm: row.x_mm,
        baseline_mm: row.baseline_mm,
    }
}

/// A symbol of a text, ready for paper.
pub(super) fn printed(text: &str) -> Result<slotkeep_paper::Symbol, Failure> {
    let made = symbol(text, Level::M).map_err(broken)?;
    slotkeep_paper::Symbol::new(made.size, made.modules).map_err(refused)
}

fn broken(refusal: impl std::fmt::Display) -> Failure {
    Failure::new(FailureKind::Broken, refusal.to_string())
}

pub(super) fn refused(refusal: slotkeep_paper::PaperRefusal) -> Failure {
    Failure::bad_input(refusal.to_string())
}
