//! 24 V and heat.

use super::{Findings, figure, named};
use crate::lineup::{Cabinet, Derating, Rail, Supplied, along, feeds_both, supplied, warmth};
use crate::model::Feeds;

/// The supplies of a rail to look at, each with what it is called.
fn each(rail: &Rail) -> &'static [(Feeds, &'static str)] {
    match feeds_both(rail) {
        true => &[
            (Feeds::Standard, "the supply"),
            (Feeds::IntrinsicallySafe, "the intrinsically safe supply"),
        ],
        false => &[(Feeds::Standard, "the supply")],
    }
}

fn derating(found: &Findings<'_>) -> Derating {
    Derating { from_c: found.limit("derating_from_c"), pct_k: found.limit("derating_pct_k") }
}

/// Whether there is something that wants 24 V and supplies of the rail's own; says so if not.
fn own_supply(cabinet: &Cabinet, rail: &Rail, found: &mut Findings<'_>) -> bool {
    if rail.items.iter().any(|item| item.is_supply()) {
        return true;
    }
    if rail.places().next().is_none() {
        return false;
    }
    match &rail.fed_by {
        Some(by) if cabinet.rail(by).is_some() => {
            let source = &cabinet.source(rail).address;
            found.pass(&rail.address, format!("fed by {source} and counted there"));
        }
        Some(by) => {
            let said = format!("fed by {by}, which is not in this cabinet");
            found.unknown(
                &rail.address,
                said,
                "record the rail whose supplies feed this one (fed_by in rails.csv)",
            );
        }
        None => {
            let said = "no power supply stands here, and none is recorded that feeds it".to_owned();
            found.unknown(
                &rail.address,
                said,
                "record which rail's supply feeds it (fed_by in rails.csv)",
            );
        }
    }
    false
}

pub(super) fn budget(cabinet: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    if !own_supply(cabinet, rail, found) {
        return;
    }
    for (feeds, called) in each(rail) {
        let of = supplied(cabinet, rail, *feeds, derating(found));
        let usable_ma = of.available_ma * (1.0 - found.limit("reserve_pct") / 100.0);
        let free_pct = found.limit("reserve_pct");
        let said = match free_pct > 0.0 {
            true => {
                let said = budget_said(cabinet, rail, &of, called, usable_ma);
                format!("{said} with {} % kept free", figure(free_pct, 0))
            }
            false => budget_said(cabinet, rail, &of, called, usable_ma),
        };
        if of.drawn_ma > usable_ma && of.unknown.is_empty() {
            let to_do = match of.left_out {
                Some(_) => {
                    "make each supply large enough to carry all alone, move units to another, or cool the cabinet"
                }
                None => "fit a larger supply, move units to another, or cool the cabinet",
            };
            found.broken(&rail.address, said, to_do);
        } else if !of.unknown.is_empty() {
            let said = format!("{said}, without {}", named(&of.unknown));
            let to_do = "record the current or the rating of these models (current_24v_ma, supply_rating_ma in models.json)";
            found.unknown(&rail.address, said, to_do);
        } else if of.redundancy_unknown {
            let said = format!("{said}, if one may fail; whether it may is not recorded");
            found.unknown(
                &rail.address,
                said,
                "record whether one may fail (supply_redundant in rails.csv)",
            );
        } else {
            found.pass(&rail.address, said);
        }
    }
}

fn budget_said(
    cabinet: &Cabinet,
    rail: &Rail,
    of: &Supplied,
    called: &str,
    usable_ma: f64,
) -> String {
    let mut parts = Vec::new();
    if of.fed_ma > 0.0 {
        let fed = cabinet.rails.iter().filter(|one| {
            one.address != rail.address && cabinet.source(one).address == rail.address
        });
        let fed: Vec<_> = fed.map(|one| one.address.to_string()).collect();
        parts.push(format!("{} mA of it on {}", figure(of.fed_ma, 0), named(&fed)));
    }
    if of.kept_ma > 0.0 {
        parts.push(format!("{} mA of it for empty slots", figure(of.kept_ma, 0)));
    }
    let parts: String = parts.iter().map(|part| format!(", {part}")).collect();
    format!(
        "{} mA are drawn{parts}; {} {} mA at {} °C",
        figure(of.drawn_ma, 0),
        gives(of, called),
        figure(usable_ma, 0),
        figure(cabinet.inside_c, 1)
    )
}

/// What gives the current that counts, as the beginning of a sentence about it.
fn gives(of: &Supplied, called: &str) -> String {
    match &of.left_out {
        Some(largest) if of.supplies == 2 => format!("without {largest} {called} that stays gives"),
        Some(largest) => format!("without {largest} the supplies that stay give"),
        None if of.supplies > 1 => "the supplies together give".to_owned(),
        None => format!("{called} gives"),
    }
}

pub(super) fn start(cabinet: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    if !rail.items.iter().any(|item| item.is_supply()) {
        return;
    }
    for (feeds, called) in each(rail) {
        let of = supplied(cabinet, rail, *feeds, derating(found));
        let peak_ma = of.peak_ma.unwrap_or(of.available_ma);
        let (draws, peak) = (figure(of.starting_ma, 0), figure(peak_ma, 0));
        let said = format!(
            "all units start with {draws} mA; {} {peak} mA for a moment",
            gives(&of, called)
        );
        let missing: Vec<_> = of.unknown.iter().chain(&of.unknown_start).cloned().collect();
        if of.starting_ma > peak_ma && of.peak_ma.is_some() {
            let to_do = "start units one after the other, or fit a supply with a higher peak";
            found.broken(&rail.address, said, to_do);
        } else if of.peak_ma.is_none() {
            let said = format!(
                "all units start with {draws} mA; what {called} gives for a moment is not known"
            );
            found.unknown(
                &rail.address,
                said,
                "record what the supply gives at the start (supply_peak_ma in models.json)",
            );
        } else if !missing.is_empty() {
            let said = format!("{said}, without the start of {}", named(&missing));
            found.unknown(
                &rail.address,
                said,
                "record what these models take at the start (inrush_ma in models.json)",
            );
        } else {
            found.pass(&rail.address, said);
        }
    }
}

pub(super) fn voltage(cabinet: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    if !rail.places().any(|(item, _)| !item.is_supply()) {
        return;
    }
    let of = along(cabinet, rail, found.limit("supply_v"), found.limit("least_v"));
    let Some((name, v, need_v)) = &of.worst else {
        let said = "no unit of the rail is in the catalogue".to_owned();
        return found.unknown(&rail.address, said, "record the models of the slots");
    };
    let said = format!(
        "{name} gets {} V of {} V and needs {} V",
        figure(*v, 2),
        figure(of.supply_v, 1),
        figure(*need_v, 1)
    );
    if v < need_v {
        let to_do = "take a thicker or shorter line, or feed the rail at its other end too";
        found.broken(&rail.address, said, to_do);
    } else if !of.unknown.is_empty() {
        let said = format!("{said}, without {}", named(&of.unknown));
        let to_do = "record length and cross-section of the supply line (line_m, line_mm2 in rails.csv) and the resistance through the models (through_mohm in models.json)";
        found.unknown(&rail.address, said, to_do);
    } else {
        found.pass(&rail.address, said);
    }
}

pub(super) fn heat(cabinet: &Cabinet, found: &mut Findings<'_>) {
    let of = warmth(cabinet, found.limit("coefficient_w_m2_k"));
    let ours_c = found.limit("inside_c");
    let (least, bears_c) = match &of.least {
        Some((name, bears_c)) if *bears_c < ours_c => (name.as_str(), *bears_c),
        _ => ("the cabinet", ours_c),
    };
    let bears = format!("{least} bears {} °C", figure(bears_c, 1));
    let heat = figure(of.heat_w, 1);
    if cabinet.inside_known && cabinet.inside_c > bears_c {
        let said = format!("{} °C were recorded inside; {bears}", figure(cabinet.inside_c, 1));
        return found.broken(&cabinet.address, said, "cool the cabinet, or take heat out of it");
    }
    match of.inside_c {
        Some(inside_c) if inside_c > bears_c => {
            let said = format!("{heat} W make {} °C inside; {bears}", figure(inside_c, 1));
            let to_do = "cool the cabinet, give it more surface, or take heat out of it";
            found.broken(&cabinet.address, said, to_do);
        }
        Some(inside_c) if of.unknown.is_empty() => {
            let said = format!("{heat} W make {} °C inside; {bears}", figure(inside_c, 1));
            found.pass(&cabinet.address, said);
        }
        _ => {
            let said = format!("{heat} W, without {}", named(&of.unknown));
            let to_do = "record depth, stand and room of the cabinet (depth_mm, back_to_wall, neighbours, top_covered, room_c in cabinets.csv) and the heat of the models (heat_w in models.json)";
            found.unknown(&cabinet.address, said, to_do);
        }
    }
}
