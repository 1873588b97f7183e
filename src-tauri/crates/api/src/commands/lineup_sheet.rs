//! The line-up of a cabinet as a drawing to scale.

use super::find;
use super::lineup::{described, of_rail};
use super::place::joins;
use crate::Failure;
use crate::ask::Ask;
use crate::table::{self, Command, File};
use crate::wire::lineup::LineupSheetInput;
use slotkeep_domain::lineup::{self, Item, Rail, What};
use slotkeep_domain::register::View;
use slotkeep_domain::rules::Severity;
use slotkeep_paper::{DrawnItem, DrawnRail, LineupSheet, Look, lineup_sheet};
use slotkeep_store::Reader;

pub(super) fn commands() -> Vec<Command> {
    vec![table::file(
        "lineup.sheet",
        "Draws the rails of a cabinet to scale, with what stands on them and the findings (PDF).",
        sheet,
    )]
}

fn sheet(ask: &Ask<'_>, input: LineupSheetInput) -> Result<File, Failure> {
    let page = find::page(input.page.as_deref())?;
    let (name, sheet) = ask.read(|r| {
        let site = r.site().ok_or_else(find::empty)?;
        let kept = find::cabinet(r, &input.cabinet)?;
        let mut cabinet = described(r, &site, &kept.address)?;
        if cabinet.rails.is_empty() {
            return Err(Failure::refused(format!(
                "cabinet {} has no rails yet: import them first",
                kept.address
            )));
        }
        let found = lineup::check(&cabinet, &site.rules, &site.own_rules);
        let heights = r.rails_of(&kept.address)?;
        let y_mm = |rail: &Rail| {
            let of = heights.iter().find(|of| of.address == rail.address);
            of.map_or(0.0, |of| of.y_mm)
        };
        cabinet.rails.sort_by(|a, b| y_mm(a).total_cmp(&y_mm(b)));
        let mut rails = Vec::new();
        for rail in &cabinet.rails {
            let placed = heights.iter().find(|of| of.address == rail.address);
            let findings = of_rail(found.clone(), &cabinet, Some(&rail.address));
            rails.push(DrawnRail {
                address: rail.address.to_string(),
                title: placed.map(|of| of.title.clone()).unwrap_or_default(),
                joins: placed.map(|of| joins(of, &heights)).unwrap_or_default(),
                length_mm: rail.length_mm,
                items: rail.items.iter().map(|item| drawn(r, item)).collect(),
                findings: findings
                    .iter()
                    .filter(|finding| finding.severity > Severity::Pass)
                    .map(said)
                    .collect(),
            });
        }
        let sheet = LineupSheet {
            page,
            site: site.name,
            printed_on: ask.today(),
            revision: find::revision(r)?,
            cabinet: format!("{} {}", kept.address, kept.title),
            rails,
        };
        Ok((format!("line-up-{}.pdf", kept.address.as_str().trim_start_matches('+')), sheet))
    })?;
    Ok(File { name, content_type: "application/pdf", bytes: lineup_sheet(&sheet) })
}

fn said(finding: &lineup::Finding) -> String {
    let unknown = if finding.unknown { ", not known" } else { "" };
    format!(
        "{}{unknown} ({}, {}): {}. To do: {}.",
        finding.severity.word().to_uppercase(),
        finding.at,
        finding.rule,
        finding.compared,
        finding.to_do
    )
}

fn drawn(r: &Reader<'_>, item: &Item) -> DrawnItem {
    let place = item.place();
    let unit = place.and_then(|place| r.unit_in(&place.address)).and_then(|label| r.unit(&label));
    let standing = unit.map(|unit| format!("{} no. {}", unit.model, unit.serial));
    let model = item.meant().map(|model| model.part_no.to_string()).unwrap_or_default();
    let (look, what) = match &item.what {
        What::Slot(place) if place.filled => (Look::Filled, ""),
        What::Slot(_) => (Look::Empty, "kept for"),
        What::Terminator => (Look::Terminator, "terminator"),
        What::EndSupport => (Look::EndSupport, "end support"),
        What::Blank => (Look::Blank, "blank"),
        What::Base => (Look::Base, "base"),
    };
    DrawnItem {
        x_mm: item.x_mm,
        width_mm: item.width_mm,
        look,
        number: place.map(|place| place.address.number().to_owned()).unwrap_or_default(),
        key: place
            .and_then(|place| place.key.as_ref())
            .map(|key| key.code.clone())
            .unwrap_or_default(),
        what: format!("{what} {model}").trim().to_owned(),
        standing: standing.unwrap_or_else(|| match place {
            Some(_) => "empty".to_owned(),
            None => String::new(),
        }),
    }
}
