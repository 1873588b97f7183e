//! Label design by physics.

use super::label_printer;
use super::label_sheet::refused;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command};
use crate::wire::label_sheet::{Design, DesignInput};
use slotkeep_domain::label::LabelCode;
use slotkeep_optics::{Level, TextMode};
use slotkeep_paper::{LabelWish, design};

pub(super) fn commands() -> Vec<Command> {
    vec![table::ask(
        "label.design",
        "Chooses version, error correction and module size of a label, or says what would do.",
        designed,
    )]
}

/// Reads a level of error correction; M where none is named.
pub(super) fn level(name: Option<&str>) -> Result<Level, Failure> {
    match name.map(str::to_ascii_uppercase).as_deref() {
        None | Some("") | Some("M") => Ok(Level::M),
        Some("L") => Ok(Level::L),
        Some("Q") => Ok(Level::Q),
        Some("H") => Ok(Level::H),
        Some(other) => Err(Failure::bad_input(format!(
            "there is no error correction {other:?}: choose L (about 7 % of a symbol may be lost), \
             M (15 %), Q (25 %) or H (30 %)"
        ))),
    }
}

/// What the symbol of a label says: its ten characters, or a link to them.
pub(super) fn text(label: &LabelCode, link_base: Option<&str>) -> String {
    match link_base.filter(|base| !base.is_empty()) {
        Some(door) => label.link(door),
        None => label.to_string(),
    }
}

fn designed(_: &Ask<'_>, input: DesignInput) -> Result<Design, Failure> {
    let format =
        input.format.as_deref().map(|name| label_printer::format(Some(name))).transpose()?;
    let (width_mm, height_mm) = match (input.width_mm, input.height_mm, format) {
        (Some(width_mm), Some(height_mm), None) => (width_mm, height_mm),
        (None, None, Some(format)) => (format.label_width_mm, format.label_height_mm),
        _ => {
            return Err(Failure::bad_input(
                "give a format, or width and height of the label in mm",
            ));
        }
    };
    let text = match (&input.text, input.link_base.as_deref().filter(|base| !base.is_empty())) {
        (Some(text), None) => text.clone(),
        (Some(text), Some(door)) => {
            format!("{}/L/{text}", door.trim_end_matches('/').to_uppercase())
        }
        (None, Some(door)) => format!("{}/L/{SAMPLE}", door.trim_end_matches('/').to_uppercase()),
        (None, None) => SAMPLE.to_owned(),
    };
    let wish = LabelWish {
        dpi: label_printer::dpi(input.dpi)?,
        width_mm,
        height_mm,
        length: text.len(),
        mode: TextMode::of(&text),
        least: level(input.least_level.as_deref())?,
        distance_mm: input.distance_mm.unwrap_or(0.0),
        human_line: WIDEST.to_owned(),
        second_line: input.second_line.unwrap_or_default(),
    };
    let made = design(&wish).map_err(refused)?;
    Ok(Design {
        length: text.chars().count() as u32,
        version: made.version,
        level: format!("{:?}", made.level),
        modules: made.modules,
        module_dots: made.module_dots,
        module_mm: made.module_mm,
        symbol_mm: made.symbol_mm,
        with_quiet_mm: made.with_quiet_mm,
        distance_mm: made.distance_mm,
        human_pt: made.human_pt,
        message: format!(
            "{} × {} modules of {} dots ({:.3} mm), {:.1} mm wide, read from {:.0} mm",
            made.modules,
            made.modules,
            made.module_dots,
            made.module_mm,
            made.symbol_mm,
            made.distance_mm
        ),
    })
}

/// A label text: they all are as long.
const SAMPLE: &str = "MPU4F7Q2K9";

/// The human line of a label with the widest letters that labels have.
const WIDEST: &str = "WWU-WWW-WWW-W";
