//! Buses: closed at both ends, unbroken between, not overloaded, every unit with its own number.

use super::{Findings, figure, named};
use crate::lineup::{Bus, Cabinet, Item, Rail, What, WholeBus, bus_budget, buses};
use crate::model::BaseKind;
use crate::place::{BusPosition, RailAddress};

/// Name of a bus with a blank before it where it has one.
fn called(bus: &Bus<'_>) -> String {
    if bus.name.is_empty() { "the bus".to_owned() } else { format!("bus {:?}", bus.name) }
}

/// The bus over all its rails where it is added up on this one; says so where it is elsewhere.
fn added_up<'c>(
    cabinet: &'c Cabinet,
    rail: &'c Rail,
    bus: &Bus<'c>,
    found: &mut Findings<'_>,
) -> Option<(WholeBus<'c>, String)> {
    let whole = cabinet.whole_bus(rail, bus);
    let at = &whole.counted_at().address;
    if *at != rail.address {
        let said = format!("{} runs on {at} too and is counted there", called(bus));
        found.pass(&rail.address, said);
        return None;
    }
    let rails: Vec<_> = whole.rails.iter().map(|(rail, _)| rail.address.to_string()).collect();
    let called = match rails.split_last() {
        Some((last, before)) if !before.is_empty() => {
            format!("{} on {} and {last}", called(bus), before.join(", "))
        }
        _ => called(bus),
    };
    Some((whole, called))
}

pub(super) fn ends(cabinet: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    let all = buses(rail);
    let unclear = all.unclear.iter().map(|&at| &rail.items[at]);
    let unclear: Vec<_> = unclear.map(|item| rail.name_of(item)).collect();
    if !unclear.is_empty() {
        let said = format!("to which bus {} belongs is not known", named(&unclear));
        let to_do = "name the buses of these models in the catalogue";
        found.unknown(&rail.address, said, to_do);
    }
    for bus in &all.buses {
        let (Some(&first), Some(&last)) = (bus.units.first(), bus.units.last()) else { continue };
        let before = found.count();
        let called = called(bus);
        let between = bus.terminators.iter().filter(|at| (first..last).contains(at)).count();
        let closing = bus.closing.iter().filter(|&&at| at != first && at != last).count();
        if between + closing > 0 {
            let said = format!("{} terminators stand within {called}", between + closing);
            found.broken(&rail.address, said, "take them out: a bus is closed at its ends only");
        }
        let left = bus.terminators.iter().filter(|at| **at < first).count();
        let right = bus.terminators.iter().filter(|at| **at > last).count();
        // A bus of one unit that closes itself is closed at the end that has no terminator.
        let alone = first == last;
        let closes_left = bus.closing.contains(&first) && !(alone && left > 0);
        let closes_right = bus.closing.contains(&last) && !alone
            || alone && bus.closing.contains(&last) && left > 0 && right == 0;
        for (side, count, goes_on) in [
            ("left", left + usize::from(closes_left), &rail.bus_left),
            ("right", right + usize::from(closes_right), &rail.bus_right),
        ] {
            match (count, goes_on) {
                (0, Some(on)) => taken_on(cabinet, rail, &called, on, found),
                (1, None) => {}
                (0, None) => {
                    let said = format!("no terminator closes the {side} end of {called}");
                    let to_do = "fit one there, or record on which rail the bus goes on (bus_left, bus_right in rails.csv)";
                    found.broken(&rail.address, said, to_do);
                }
                (_, Some(on)) => {
                    let said =
                        format!("{called} goes on to {on}, yet a terminator closes its {side} end");
                    found.broken(
                        &rail.address,
                        said,
                        "take the terminator off, or correct where the bus goes on (bus_left, bus_right in rails.csv)",
                    );
                }
                (more, None) => {
                    let said = format!("{more} terminators close the {side} end of {called}");
                    found.broken(&rail.address, said, "leave one there and take the others off");
                }
            }
        }
        if found.count() == before {
            let said = match (&rail.bus_left, &rail.bus_right) {
                (None, None) => format!("each end of {called} has one terminator"),
                _ => format!("each end of {called} has one terminator or goes on to another rail"),
            };
            found.pass(&rail.address, said);
        }
    }
}

/// Whether the rail on which a bus goes on says so too; nothing is known of other cabinets here.
fn taken_on(
    cabinet: &Cabinet,
    rail: &Rail,
    called: &str,
    on: &RailAddress,
    found: &mut Findings<'_>,
) {
    let Some(next) = cabinet.rail(on) else { return };
    let back = [&next.bus_left, &next.bus_right];
    if !back.into_iter().flatten().any(|to| *to == rail.address) {
        let said = format!("{called} goes on to {on}, of which no such thing is recorded");
        let to_do = "look where the bus runs, and record it of both rails (bus_left, bus_right in rails.csv)";
        found.unknown(&rail.address, said, to_do);
    }
}

pub(super) fn passes(_: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    let gap_mm = found.limit("gap_mm");
    for bus in &buses(rail).buses {
        let (Some(&first), Some(&last)) = (bus.units.first(), bus.units.last()) else { continue };
        let before = found.count();
        let called = called(bus);
        for at in first..last {
            let (item, next) = (&rail.items[at], &rail.items[at + 1]);
            if next.x_mm - item.right_mm() > gap_mm {
                let (left, right) = (rail.name_of(item), rail.name_of(next));
                let said =
                    format!("{called} is open between {left} and {right}, which do not touch");
                found.broken(&rail.address, said, "push them together, or fit what is missing");
            }
        }
        for item in &rail.items[first..=last] {
            match carries(item, bus) {
                Some(true) => {}
                Some(false) => {
                    let name = rail.name_of(item);
                    let said = match &item.what {
                        What::Slot(_) => format!(
                            "nothing stands in {name}: {called} is open there, since one-piece units carry it themselves"
                        ),
                        _ => format!("{called} does not pass through {name}"),
                    };
                    let to_do = "fit a unit or base that carries the bus there";
                    found.broken(&rail.address, said, to_do);
                }
                None => {
                    let said =
                        format!("whether {called} passes {} is not known", rail.name_of(item));
                    found.unknown(
                        &rail.address,
                        said,
                        "record its model, and its buses in the catalogue",
                    );
                }
            }
        }
        if found.count() == before {
            found.pass(&rail.address, format!("{called} passes all {} units", bus.units.len()));
        }
    }
}

/// Whether a bus passes an item that stands between two of its units.
fn carries(item: &Item, bus: &Bus<'_>) -> Option<bool> {
    match &item.what {
        What::Slot(place) if place.filled || super::row::on_base(place.base) => Some(true),
        What::Slot(place) => Some(place.base != BaseKind::OnePiece && place.base != BaseKind::Own),
        What::Terminator | What::EndSupport => Some(true),
        What::Base => Some(true),
        What::Blank => {
            let model = item.model.as_ref()?;
            Some(model.on_rail.buses.iter().any(|name| bus.name.is_empty() || name == bus.name))
        }
    }
}

pub(super) fn positions(_: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    let all = buses(rail);
    for &at in &all.unclear {
        if rail.items[at].place().is_some() {
            let name = rail.name_of(&rail.items[at]);
            let said = format!("on which of several buses {name} sits is not known");
            found.unknown(&name, said, "name the buses of its model in the catalogue");
        }
    }
    let before = found.count();
    for (at, item) in rail.items.iter().enumerate() {
        let Some(place) = item.place() else { continue };
        let mut of = all.buses.iter().filter(|bus| bus.units.contains(&at)).peekable();
        if place.bus == BusPosition::Off || of.peek().is_none() {
            continue;
        }
        let is_end = of.any(|bus| {
            let left = bus.units.first() == Some(&at) && rail.bus_left.is_none();
            left || bus.units.last() == Some(&at) && rail.bus_right.is_none()
        });
        let (said, is) = match (place.bus, is_end) {
            (BusPosition::End, false) => ("at an end of its bus", "between others"),
            (BusPosition::Inner, true) => ("between others on its bus", "at an end"),
            _ => continue,
        };
        let said = format!("{} is recorded {said}, and stands {is}", place.address);
        let to_do = "correct its position on the bus (bus_position in slots.csv): steps of a swap follow it";
        found.broken(&place.address, said, to_do);
    }
    if found.count() == before && !all.buses.is_empty() {
        found.pass(&rail.address, "ends of buses are where the register has them");
    }
}

pub(super) fn units(cabinet: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    for bus in &buses(rail).buses {
        let Some((whole, called)) = added_up(cabinet, rail, bus, found) else { continue };
        let budget = bus_budget(&whole);
        let set = found.limit("units");
        let most = budget.units_max.map(f64::from).or((set > 0.0).then_some(set));
        let Some(most) = most else {
            let said =
                format!("{called} has {} units; how many it may have is not known", budget.units);
            let to_do = "record how many units its head bears (bus_units_max in models.json), or set the site's limit";
            found.unknown(&rail.address, said, to_do);
            continue;
        };
        let said = format!("{called} has {} units, {most} are allowed", budget.units);
        if budget.units as f64 > most {
            found.broken(&rail.address, said, "move units to a bus of their own");
        } else {
            found.pass(&rail.address, said);
        }
    }
}

pub(super) fn budget(cabinet: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    for bus in &buses(rail).buses {
        let Some((whole, called)) = added_up(cabinet, rail, bus, found) else { continue };
        let of = bus_budget(&whole);
        let drawn = figure(of.drawn_ma, 0);
        let Some(supply_ma) = of.supply_ma else {
            let said = format!("{called} draws {drawn} mA; what its head delivers is not known");
            found.unknown(
                &rail.address,
                said,
                "record the current that its head gives (bus_supply_ma in models.json)",
            );
            continue;
        };
        let said = format!("{called} draws {drawn} mA of {} mA", figure(supply_ma, 0));
        if of.drawn_ma > supply_ma {
            found.broken(&rail.address, said, "move units to a bus with a head of their own");
        } else if !of.unknown.is_empty() {
            let said = format!("{said}, without {}", named(&of.unknown));
            found.unknown(
                &rail.address,
                said,
                "record what these models take from the bus (bus_current_ma in models.json)",
            );
        } else {
            found.pass(&rail.address, said);
        }
    }
}

pub(super) fn addresses(cabinet: &Cabinet, rail: &Rail, found: &mut Findings<'_>) {
    for bus in &buses(rail).buses {
        let Some((whole, called)) = added_up(cabinet, rail, bus, found) else { continue };
        let before = found.count();
        let places = whole.units().filter_map(|(_, item)| item.place());
        let (mut known, mut unknown) = (Vec::new(), Vec::new());
        for place in places {
            match place.bus_address {
                Some(number) => known.push((number, &place.address)),
                None => unknown.push(place.address.to_string()),
            }
        }
        known.sort_unstable();
        for pair in known.windows(2).filter(|pair| pair[0].0 == pair[1].0) {
            let said = format!(
                "{} and {} both have address {} on {called}",
                pair[0].1, pair[1].1, pair[0].0
            );
            found.broken(&rail.address, said, "set another address on one of them");
        }
        if !unknown.is_empty() {
            let said = format!("no address on {called} is recorded for {}", named(&unknown));
            let to_do = "read it off the unit and record it (bus_address in slots.csv)";
            found.unknown(&rail.address, said, to_do);
        }
        if found.count() == before {
            let said = format!("{} addresses on {called}, none twice", known.len());
            found.pass(&rail.address, said);
        }
    }
}
