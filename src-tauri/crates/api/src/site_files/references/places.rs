use super::super::problem::Problems;
use super::super::{Row, SlotRow};
use super::{Models, Read, key_misfit, known, model};
use slotkeep_domain::model::{BaseKind, Model};
use slotkeep_domain::place::Rail;
use std::collections::HashMap;

/// Rounding that a drawing may carry, mm.
const SLACK_MM: f64 = 0.05;

/// Checks cabinets, rails, what stands on them, and bins.
pub(super) fn check(read: &Read, models: &Models<'_>, problems: &mut Problems) {
    for row in &read.cabinets.rows {
        known(&read.areas, "areas.csv", &row.value.area, (row.file, row.line, "area"), problems);
    }
    for row in &read.rails.rows {
        rail(read, row, problems);
    }
    for row in &read.items.rows {
        let (address, item) = &row.value;
        let at = (row.file, row.line, "rail");
        known(&read.rails, "rails.csv", address.as_str(), at, problems);
        if let Some(part_no) = &item.model {
            model(models, part_no.as_str(), (row.file, row.line, "model"), problems);
        }
    }
    for row in &read.slots.rows {
        slot(read, models, row, problems);
    }
    for row in &read.bins.rows {
        let storeroom = row.value.path.storeroom();
        let at = (row.file, row.line, "path");
        known(&read.storerooms, "stores.csv", storeroom, at, problems);
    }
    storerooms(read, problems);
    overlaps(read, problems);
}

/// Checks what supplies storerooms and which areas they serve.
fn storerooms(read: &Read, problems: &mut Problems) {
    let mut served: HashMap<&str, &str> = HashMap::new();
    for row in &read.storerooms.rows {
        let room = &row.value;
        if let Some(central) = &room.supplied_by {
            let at = (row.file, row.line, "supplied_by");
            known(&read.storerooms, "stores.csv", central, at, problems);
            let is_supplied =
                read.storerooms.get(central).is_some_and(|other| other.supplied_by.is_some());
            if is_supplied || *central == room.code {
                let expected = "a central storeroom, which none supplies";
                problems.cell(row.file, row.line, "supplied_by", central, expected);
            }
        }
        for area in &room.areas {
            known(&read.areas, "areas.csv", area, (row.file, row.line, "areas"), problems);
            if let Some(other) = served.insert(area, &room.code) {
                let expected = format!("each area at one storeroom; {other} serves it already");
                problems.cell(row.file, row.line, "areas", area, expected);
            }
        }
    }
}

fn rail(read: &Read, row: &Row<Rail>, problems: &mut Problems) {
    let cabinet = row.value.address.cabinet();
    let at = (row.file, row.line, "address");
    known(&read.cabinets, "cabinets.csv", cabinet.as_str(), at, problems);
    let goes_to = [
        ("fed_by", &row.value.feed.fed_by),
        ("bus_left", &row.value.bus_left),
        ("bus_right", &row.value.bus_right),
    ];
    for (field, to) in goes_to {
        let Some(to) = to else { continue };
        known(&read.rails, "rails.csv", to.as_str(), (row.file, row.line, field), problems);
        if *to == row.value.address {
            problems.cell(row.file, row.line, field, to, "another rail");
        } else if field == "fed_by" && to.cabinet() != cabinet {
            let expected = format!("a rail of cabinet {cabinet}");
            problems.cell(row.file, row.line, field, to, expected);
        }
    }
    let Some(cabinet) = read.cabinets.get(cabinet.as_str()) else { return };
    for (field, have, room) in [
        ("length_mm", row.value.length_mm, cabinet.width_mm),
        ("y_mm", row.value.y_mm, cabinet.height_mm),
    ] {
        if have > room + SLACK_MM {
            let expected = format!("at most {room} mm, the size of cabinet {}", cabinet.address);
            problems.cell(row.file, row.line, field, have, expected);
        }
    }
}

fn slot(read: &Read, models: &Models<'_>, row: &Row<SlotRow>, problems: &mut Problems) {
    let slot = &row.value;
    let at = |field| (row.file, row.line, field);
    known(&read.rails, "rails.csv", slot.address.rail().as_str(), at("address"), problems);
    if let Some(key) = &slot.key
        && let Some((field, expected)) = key_misfit(&read.key_schemes, key, problems)
    {
        let value = if field == "key_code" { &key.code } else { &key.scheme };
        problems.cell(row.file, row.line, field, value, expected);
    }
    let keyed = !matches!(slot.base, BaseKind::OnePiece | BaseKind::Own);
    if keyed != slot.key.is_some() {
        let value = slot.key.as_ref().map_or(String::new(), |key| key.code.clone());
        let expected = if keyed { "the key as set on this base" } else { "no key on this base" };
        problems.cell(row.file, row.line, "key_code", value, expected);
    }
    if let Some(partner) = &slot.redundant_partner {
        let field = at("redundant_partner");
        if *partner == slot.address {
            problems.cell(field.0, field.1, field.2, partner, "another slot");
        } else {
            known(&read.slots, "slots.csv", partner.as_str(), field, problems);
        }
    }
    if let Some(part_no) = &slot.model_wanted
        && let Some(wanted) = model(models, part_no.as_str(), at("model_wanted"), problems)
    {
        wanted_fits(row, wanted, problems);
    }
}

/// Checks that the model that a slot is engineered for can stand there.
fn wanted_fits(row: &Row<SlotRow>, wanted: &Model, problems: &mut Problems) {
    let slot = &row.value;
    let part_no = &wanted.part_no;
    let mut misfit = |field, value: String, expected: String| {
        problems.cell(row.file, row.line, field, value, expected);
    };
    if !wanted.is_slot_unit() {
        misfit("model_wanted", part_no.to_string(), "a model that stands in a slot".to_owned());
        return;
    }
    if wanted.base.is_some_and(|base| base != slot.base) {
        let expected = format!("a model for the base of this slot; {part_no} takes another");
        misfit("model_wanted", part_no.to_string(), expected);
    } else if wanted.key != slot.key {
        let shown = wanted.key.as_ref().map_or("no key".to_owned(), ToString::to_string);
        let value = slot.key.as_ref().map_or(String::new(), |key| key.code.clone());
        misfit("key_code", value, format!("the key of {part_no}, {shown}"));
    }
    if wanted.width_mm > slot.width_mm + SLACK_MM {
        let expected = format!("at least {} mm, the width of {part_no}", wanted.width_mm);
        misfit("width_mm", slot.width_mm.to_string(), expected);
    }
    if let Some(revision) = &slot.min_revision
        && wanted.revision_rank(revision).is_none()
    {
        let expected = format!("a revision of {part_no}: {}", wanted.revisions.join(", "));
        misfit("min_revision", revision.clone(), expected);
    }
}

/// Something that takes room on a rail.
struct Span<'a> {
    x_mm: f64,
    end_mm: f64,
    what: &'a str,
    at: (&'static str, u32),
}

/// Notes what leaves its rail and what stands on its neighbour.
fn overlaps(read: &Read, problems: &mut Problems) {
    let mut rails: HashMap<String, Vec<Span<'_>>> = HashMap::new();
    for row in &read.slots.rows {
        let slot = &row.value;
        rails.entry(slot.address.rail().to_string()).or_default().push(Span {
            x_mm: slot.x_mm,
            end_mm: slot.x_mm + slot.width_mm,
            what: slot.address.as_str(),
            at: (row.file, row.line),
        });
    }
    for row in &read.items.rows {
        let (rail, item) = &row.value;
        rails.entry(rail.to_string()).or_default().push(Span {
            x_mm: item.x_mm,
            end_mm: item.x_mm + item.width_mm,
            what: "a rail item",
            at: (row.file, row.line),
        });
    }
    for (address, spans) in &mut rails {
        let length = read.rails.get(address).map(|rail| rail.length_mm);
        spans.sort_by(|a, b| a.x_mm.total_cmp(&b.x_mm));
        let mut reach: Option<&Span<'_>> = None;
        for span in spans.iter() {
            let (file, line) = span.at;
            if let Some(length) = length
                && span.end_mm > length + SLACK_MM
            {
                let expected = format!(
                    "a place on rail {address} of {length} mm; this ends at {}",
                    span.end_mm
                );
                problems.cell(file, line, "x_mm", span.x_mm, expected);
            }
            if let Some(before) = reach
                && span.x_mm < before.end_mm - SLACK_MM
            {
                let expected = format!(
                    "at least {} mm: {} of {} line {} ends there",
                    before.end_mm, before.what, before.at.0, before.at.1
                );
                problems.cell(file, line, "x_mm", span.x_mm, expected);
            }
            if reach.is_none_or(|before| before.end_mm < span.end_mm) {
                reach = Some(span);
            }
        }
    }
}
