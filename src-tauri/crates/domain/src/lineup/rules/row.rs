//! What stands on the rail, edge by edge.

use super::{Findings, figure, named};
use crate::lineup::{Cabinet, Item, Rail, What, rail_fit};
use crate::model::BaseKind;

/// Edges are recorded to a tenth of a millimetre.
const EDGE_MM: f64 = 0.05;

pub(super) fn touching(_: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    let before = found.count();
    let gap_mm = found.limit("gap_mm");
    for pair in rail.items.windows(2) {
        let (left, right) = (rail.name_of(&pair[0]), rail.name_of(&pair[1]));
        let between_mm = pair[1].x_mm - pair[0].right_mm();
        let said = figure(between_mm.abs(), 1);
        if !between_mm.is_finite() {
            let said = format!("where {left} ends and {right} begins is not known");
            found.unknown(&rail.address, said, "measure both and record their places and widths (x_mm, width_mm in slots.csv and rail_items.csv)");
        } else if between_mm > gap_mm {
            let said = format!("{said} mm stand free between {left} and {right}");
            let to_do = "push the items together, or put a blank where width is kept free";
            found.broken(&rail.address, said, to_do);
        } else if between_mm < -EDGE_MM {
            let said = format!("{left} and {right} overlap by {said} mm");
            found.broken(&rail.address, said, "measure both and correct their places and widths (x_mm, width_mm in slots.csv and rail_items.csv)");
        }
    }
    if found.count() == before && rail.items.len() > 1 {
        found.pass(&rail.address, format!("all {} items touch", rail.items.len()));
    }
}

pub(super) fn length(_: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    let widths: Vec<_> = rail.items.iter().map(width_mm).collect();
    let fit = rail_fit(rail.length_mm, &widths);
    let (used, length) = (figure(fit.used_mm, 1), figure(rail.length_mm, 1));
    let past = rail.items.iter().map(Item::right_mm).fold(0.0, f64::max) - rail.length_mm;
    let unknown = rail.items.iter().zip(&widths).filter(|(_, width)| width.is_none());
    let unknown: Vec<_> = unknown.map(|(item, _)| rail.name_of(item)).collect();
    if fit.left_mm < -EDGE_MM {
        let said = format!("the items are {used} mm wide together, the rail is {length} mm long");
        found.broken(&rail.address, said, "take items off, or move some to another rail");
    } else if past > EDGE_MM {
        let said = format!("the last item ends {} mm past the rail's end", figure(past, 1));
        found.broken(&rail.address, said, "move the items to the left, or correct their places (x_mm in slots.csv and rail_items.csv)");
    } else if !unknown.is_empty() {
        let said =
            format!("the width of {} is not known; the rest takes {used} mm", named(&unknown));
        found.unknown(&rail.address, said, "record their models with widths in the catalogue");
    } else {
        let left = figure(fit.left_mm, 1);
        found.pass(&rail.address, format!("{used} of {length} mm are taken, {left} mm are left"));
    }
}

/// By the catalogue; what has no model has no width that can be relied on.
fn width_mm(item: &Item) -> Option<f64> {
    item.meant().map(|model| model.width_mm).filter(|width| *width > 0.0)
}

pub(super) fn widths(_: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    let before = found.count();
    let mut unknown = Vec::new();
    for item in &rail.items {
        let Some(width_mm) = width_mm(item) else {
            unknown.push(rail.name_of(item));
            continue;
        };
        if (width_mm - item.width_mm).abs() > EDGE_MM {
            let (kept, have) = (figure(item.width_mm, 1), figure(width_mm, 1));
            let name = rail.name_of(item);
            let said = format!("{name} is {kept} mm by the register, {have} mm by the catalogue");
            let to_do = "measure it, then correct the register or the catalogue";
            found.broken(&rail.address, said, to_do);
        }
    }
    if !unknown.is_empty() {
        let said = format!("the catalogue gives no width for {}", named(&unknown));
        found.unknown(&rail.address, said, "record the model, and its width in the catalogue");
    } else if found.count() == before && !rail.items.is_empty() {
        found.pass(&rail.address, "every width is that of the catalogue");
    }
}

pub(super) fn end_supports(_: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    let is_support = |item: &Item| matches!(item.what, What::EndSupport);
    let [first, .., last] = rail.items.as_slice() else {
        let said = "fewer than two items are recorded".to_owned();
        let to_do = "record what stands on the rail, its end supports too";
        return found.unknown(&rail.address, said, to_do);
    };
    let missing = match (is_support(first), is_support(last)) {
        (true, true) => None,
        (false, true) => Some("the left end"),
        (true, false) => Some("the right end"),
        (false, false) => Some("both ends"),
    };
    if let Some(end) = missing {
        let said = format!("no end support holds {end} of the row");
        found.broken(&rail.address, said, "put an end support there and screw it down");
        return;
    }
    let inside = rail.items[1..rail.items.len() - 1].iter().filter(|item| is_support(item));
    match inside.count() {
        0 => found.pass(&rail.address, "an end support holds each end"),
        more => {
            let said = format!("{more} end supports stand between other items");
            let to_do = "take them out, or record where one row ends and the next begins";
            found.broken(&rail.address, said, to_do);
        }
    }
}

pub(super) fn empty_bases(_: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    let mut bases = 0;
    let mut empty = Vec::new();
    let mut loose = Vec::new();
    for item in &rail.items {
        match &item.what {
            What::Slot(place) if on_base(place.base) => {
                bases += 1;
                if !place.filled {
                    empty.push(place.address.number().to_owned());
                }
            }
            What::Base => loose.push(rail.name_of(item)),
            _ => {}
        }
    }
    if !loose.is_empty() {
        let said = format!("whether {} carries a module is not known", named(&loose));
        found.unknown(&rail.address, said, "give the base a slot number and record its module");
    }
    if !empty.is_empty() {
        let said = format!("{} of {bases} bases carry no module: {}", empty.len(), named(&empty));
        let to_do = "plug the module that is wanted, or cover the base";
        found.broken(&rail.address, said, to_do);
    } else if bases > 0 {
        found.pass(&rail.address, format!("all {bases} bases carry a module"));
    }
}

pub(super) fn on_base(base: BaseKind) -> bool {
    matches!(base, BaseKind::Compact | BaseKind::Extended | BaseKind::IntrinsicallySafe)
}

pub(super) fn numbers(_: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    let before = found.count();
    let numbers: Vec<&str> = rail.places().map(|(_, place)| place.address.number()).collect();
    let mut sorted = numbers.clone();
    sorted.sort_unstable();
    for pair in sorted.windows(2).filter(|pair| pair[0] == pair[1]) {
        let said = format!("two positions have the number {}", pair[0]);
        found.broken(&rail.address, said, "give each position a number of its own");
    }
    if let Some(stray) = rail.places().find(|(_, place)| place.address.rail() != rail.address) {
        let said = format!("{} has the address of another rail", stray.1.address);
        found.broken(&rail.address, said, "give it an address of this rail");
    }
    if rail.items.iter().any(|item| matches!(item.what, What::Base)) {
        let said = "a base on the rail has no slot number".to_owned();
        found.unknown(&rail.address, said, "give it a number, or record it as a blank");
    }
    if found.count() == before && !numbers.is_empty() {
        found.pass(&rail.address, format!("{} positions, each with its own number", numbers.len()));
    }
}
