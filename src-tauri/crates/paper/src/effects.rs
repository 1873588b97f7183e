//! The list that the control room signs before work in a slot: loops, what they do, what is done.

use crate::flow::{Flow, PageSize, Running, Style};
use crate::swap::{ScanLabel, scan_row};
use crate::table::{Cell, Column};
use chrono::NaiveDate;
use slotkeep_domain::swap::CAUTIONS;

/// Everything that stands on the list for one slot.
#[derive(Debug, Clone, PartialEq)]
pub struct EffectsSheet {
    pub page: PageSize,
    /// Name of the site.
    pub site: String,
    pub printed_on: NaiveDate,
    /// Which state of the register the list was made from.
    pub revision: String,
    /// Address of the slot.
    pub slot_address: String,
    /// What the slot is for and how much depends on it, in one line.
    pub slot_detail: String,
    /// What stands in the slot, in one line.
    pub unit: String,
    /// The effects in one sentence.
    pub message: String,
    /// Who carries the function meanwhile, in one sentence.
    pub redundancy: String,
    /// The rail whose supply must be isolated.
    pub isolates: Option<String>,
    /// Loops on the unit itself.
    pub loops: Vec<EffectRow>,
    /// Other units that are disturbed, each with its loops.
    pub disturbed: Vec<Section>,
    pub scan: ScanLabel,
}

/// One loop.
#[derive(Debug, Clone, PartialEq)]
pub struct EffectRow {
    pub tag: String,
    pub channel: String,
    pub service: String,
    /// What happens when its signal goes.
    pub happens: String,
    /// What operations do before.
    pub to_do: String,
    pub safety_function: bool,
}

/// A unit that is disturbed, and its loops.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    pub title: String,
    pub rows: Vec<EffectRow>,
}

/// Makes the PDF of a list of effects; cautions come first.
///
/// Loops of a safety function are marked. Characters that the built-in faces lack are printed as an
/// empty square.
pub fn effects_sheet(sheet: &EffectsSheet) -> Vec<u8> {
    let running = Running {
        title: format!("Effects of work at {}", sheet.slot_address),
        head_left: format!("{} \u{2013} effects of work at {}", sheet.site, sheet.slot_address),
        head_right: format!("Printed {}", sheet.printed_on),
        foot_left: format!("Register: {}", sheet.revision),
    };
    let mut flow = Flow::new(sheet.page, running);
    flow.lines(Style::TITLE, 0.0, &format!("Effects of work at {}", sheet.slot_address));
    flow.gap(2.0);
    let cautions: Vec<_> = CAUTIONS.iter().map(|&caution| caution.to_owned()).collect();
    flow.notice("Before any work", &cautions);
    particulars(&mut flow, sheet);
    flow.heading("Loops on the unit");
    if sheet.loops.is_empty() {
        let none = "The register knows no loop on this slot. Confirm it with operations.";
        flow.lines(Style::BODY, 0.0, none);
    } else {
        rows(&mut flow, &sheet.loops);
    }
    others(&mut flow, &sheet.disturbed);
    flow.signatures(&[
        "Control room, before work",
        "Technician",
        "Owner of the safety function",
        "Control room, after work",
    ]);
    flow.finish()
}

fn particulars(flow: &mut Flow, sheet: &EffectsSheet) {
    flow.heading("What is worked on");
    let mut lines = vec![
        ("Slot", format!("{} \u{2013} {}", sheet.slot_address, sheet.slot_detail)),
        ("Out", sheet.unit.clone()),
        ("Effects", sheet.message.clone()),
        ("Partner", sheet.redundancy.clone()),
    ];
    if let Some(rail) = &sheet.isolates {
        lines.push(("Supply", format!("rail {rail} is isolated; everything on it goes down")));
    }
    for (name, value) in &lines {
        flow.keep(Style::BODY.line_mm());
        flow.put(Style::STRONG, 0.0, 0.0, name);
        flow.lines(Style::BODY, 18.0, value);
        flow.gap(0.8);
    }
    scan_row(flow, std::slice::from_ref(&sheet.scan));
}

fn rows(flow: &mut Flow, effects: &[EffectRow]) {
    let columns = [
        Column { head: "Loop", share: 0.15 },
        Column { head: "Ch.", share: 0.06 },
        Column { head: "What happens", share: 0.27 },
        Column { head: "Operations do before", share: 0.26 },
        Column { head: "Done (sign)", share: 0.13 },
        Column { head: "Back (sign)", share: 0.13 },
    ];
    let rows: Vec<_> = effects
        .iter()
        .map(|effect| {
            let safety = if effect.safety_function { ". SAFETY FUNCTION" } else { "" };
            vec![
                Cell::Strong(effect.tag.clone()),
                Cell::Text(effect.channel.clone()),
                Cell::Text(format!("{}: {}{safety}", effect.service, effect.happens)),
                Cell::Text(effect.to_do.clone()),
                Cell::Blank,
                Cell::Blank,
            ]
        })
        .collect();
    flow.table(&columns, &rows);
}

fn others(flow: &mut Flow, disturbed: &[Section]) {
    if disturbed.is_empty() {
        return;
    }
    flow.heading("Other units that are disturbed");
    for one in disturbed {
        flow.keep(Style::STRONG.line_mm() + 24.0);
        flow.lines(Style::STRONG, 0.0, &one.title);
        flow.gap(0.8);
        if one.rows.is_empty() {
            flow.lines(Style::BODY, 0.0, "No loop is recorded on it.");
            flow.gap(2.0);
        } else {
            rows(flow, &one.rows);
        }
    }
}
