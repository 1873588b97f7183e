//! The CSV files of places: areas, cabinets, rails with their items, slots, storerooms and bins.

use super::catalogue::{base_kind, word};
use super::csv_file::{Cells, Loaded, Misfit};
use super::schema::RowSchema;
use super::tables::{Source, fits, maybe, means, part, rail_address, schema, slot_address};
use super::{BinRow, CabinetRow, SlotRow};
use slotkeep_domain::key::KeySetting;
use slotkeep_domain::lineup::Stand;
use slotkeep_domain::place::{
    Area, BinPath, BusPosition, CabinetAddress, Criticality, Rail, RailAddress, RailFeed, RailItem,
    RailItemKind, Storeroom, TEMPERATURES_C,
};

pub(super) fn areas(source: &mut Source<'_>) -> Loaded<Area> {
    let schema = schema!("areas");
    let [code, title] = schema.at(["code", "title"]);
    source.load(&schema, |c| Ok(Area { code: c.owned(code), title: c.owned(title) }))
}

pub(super) fn cabinets(source: &mut Source<'_>) -> Loaded<CabinetRow> {
    let schema = schema!("cabinets");
    let [address, area, title, width, height] =
        schema.at(["address", "area", "title", "width_mm", "height_mm"]);
    let [temperature, months, spread] =
        schema.at(["temperature_c", "temperatures_c", "temperature_spread_k"]);
    let [depth, back, neighbours, top, room] =
        schema.at(["depth_mm", "back_to_wall", "neighbours", "top_covered", "room_c"]);
    source.load(&schema, |c| {
        Ok(CabinetRow {
            address: fits(address, CabinetAddress::parse(c.text(address)))?,
            area: c.owned(area),
            title: c.owned(title),
            width_mm: c.measure(width),
            height_mm: c.measure(height),
            temperature_c: c.number(temperature),
            temperatures_c: maybe(c, months, twelve)?,
            temperature_spread_k: c.number(spread),
            depth_mm: c.number(depth),
            stand: stand(c, [back, neighbours, top])?,
            room_c: c.number(room),
        })
    })
}

/// How a cabinet stands: the three columns together, or none of them.
fn stand(cells: &Cells<'_>, at: [usize; 3]) -> Result<Option<Stand>, Misfit> {
    let [back, neighbours, top] = at;
    if at.iter().all(|at| !cells.filled(*at)) {
        return Ok(None);
    }
    if let Some(missing) = at.iter().find(|at| !cells.filled(**at)) {
        let all = "back_to_wall, neighbours and top_covered together, or none of them";
        return Err((*missing, all.to_owned()));
    }
    Ok(Some(Stand {
        back_to_wall: cells.text(back) == "yes",
        neighbours: cells.count(neighbours).unwrap_or(0).min(2) as u8,
        top_covered: cells.text(top) == "yes",
    }))
}

/// Twelve temperatures, the form of which the schema has checked.
fn twelve(cells: &Cells<'_>, at: usize) -> Result<[f64; 12], Misfit> {
    let expected = || {
        let (least, most) = (TEMPERATURES_C.start(), TEMPERATURES_C.end());
        (at, format!("twelve temperatures of {least} to {most} °C, January first"))
    };
    let read = cells.text(at).split(' ').map(str::parse);
    let months: Vec<f64> = read.collect::<Result<_, _>>().map_err(|_| expected())?;
    let sound = months.iter().all(|month| TEMPERATURES_C.contains(month));
    months.try_into().ok().filter(|_| sound).ok_or_else(expected)
}

pub(super) fn rails(source: &mut Source<'_>) -> Loaded<Rail> {
    let schema = schema!("rails");
    let [address, length, y, title] = schema.at(["address", "length_mm", "y_mm", "title"]);
    let [fed_by, redundant, line, conductor] =
        schema.at(["fed_by", "supply_redundant", "line_m", "line_mm2"]);
    let [left, right] = schema.at(["bus_left", "bus_right"]);
    source.load(&schema, |c| {
        Ok(Rail {
            address: fits(address, RailAddress::parse(c.text(address)))?,
            title: c.owned(title),
            length_mm: c.measure(length),
            y_mm: c.measure(y),
            items: Vec::new(),
            feed: RailFeed {
                fed_by: maybe(c, fed_by, rail_address)?,
                redundant: c.filled(redundant).then(|| c.text(redundant) == "yes"),
                line_m: c.number(line),
                line_mm2: c.number(conductor),
            },
            bus_left: maybe(c, left, rail_address)?,
            bus_right: maybe(c, right, rail_address)?,
        })
    })
}

pub(super) fn rail_items(source: &mut Source<'_>) -> Loaded<(RailAddress, RailItem)> {
    let schema = schema!("rail_items");
    let [rail, x, width, kind, model] = schema.at(["rail", "x_mm", "width_mm", "kind", "model"]);
    source.load(&schema, |c| {
        let item = RailItem {
            x_mm: c.measure(x),
            width_mm: c.measure(width),
            kind: means(kind, word(RAIL_ITEM_KINDS, c.text(kind)))?,
            model: maybe(c, model, part)?,
        };
        Ok((fits(rail, RailAddress::parse(c.text(rail)))?, item))
    })
}

pub(super) fn slots(source: &mut Source<'_>) -> Loaded<SlotRow> {
    let schema = schema!("slots");
    let [address, x, width, base, scheme, code, wanted] = schema.at([
        "address",
        "x_mm",
        "width_mm",
        "base",
        "key_scheme",
        "key_code",
        "model_wanted",
    ]);
    let [revision, firmware, partner, bus, hot_swap, criticality, title] = schema.at([
        "min_revision",
        "min_firmware",
        "redundant_partner",
        "bus_position",
        "hot_swap",
        "criticality",
        "title",
    ]);
    let [bus_address] = schema.at(["bus_address"]);
    source.load(&schema, |c| {
        if c.filled(scheme) != c.filled(code) {
            return Err((code, "key_scheme and key_code together, or neither".to_owned()));
        }
        Ok(SlotRow {
            address: slot_address(c, address)?,
            title: c.owned(title),
            x_mm: c.measure(x),
            width_mm: c.measure(width),
            base: means(base, base_kind(c.text(base)))?,
            key: c
                .optional(code)
                .map(|code| KeySetting { scheme: c.owned(scheme), code: code.to_uppercase() }),
            model_wanted: maybe(c, wanted, part)?,
            min_revision: c.optional(revision),
            min_firmware: c.optional(firmware),
            redundant_partner: maybe(c, partner, slot_address)?,
            bus_position: means(bus, word(BUS_POSITIONS, c.text(bus)))?,
            bus_address: c.count(bus_address),
            hot_swap: c.text(hot_swap) == "yes",
            criticality: means(criticality, word(CRITICALITIES, c.text(criticality)))?,
        })
    })
}

pub(super) fn storerooms(source: &mut Source<'_>) -> Loaded<Storeroom> {
    let schema = schema!("stores");
    let [code, title, supplied_by, resupply, areas] =
        schema.at(["code", "title", "supplied_by", "resupply_d", "areas"]);
    source.load(&schema, |c| {
        if c.filled(supplied_by) != c.filled(resupply) {
            let both = "supplied_by and resupply_d together, or neither";
            return Err((resupply, both.to_owned()));
        }
        Ok(Storeroom {
            code: c.owned(code),
            title: c.owned(title),
            supplied_by: c.optional(supplied_by),
            resupply_d: c.count(resupply),
            areas: c.text(areas).split_whitespace().map(str::to_owned).collect(),
        })
    })
}

pub(super) fn bins(source: &mut Source<'_>) -> Loaded<BinRow> {
    let schema = schema!("bins");
    let [path, title] = schema.at(["path", "title"]);
    source.load(&schema, |c| {
        Ok(BinRow { path: fits(path, BinPath::parse(c.text(path)))?, title: c.owned(title) })
    })
}

const RAIL_ITEM_KINDS: &[(&str, RailItemKind)] = &[
    ("terminator", RailItemKind::Terminator),
    ("end_support", RailItemKind::EndSupport),
    ("blank", RailItemKind::Blank),
    ("base", RailItemKind::Base),
];

const BUS_POSITIONS: &[(&str, BusPosition)] =
    &[("none", BusPosition::Off), ("inner", BusPosition::Inner), ("end", BusPosition::End)];

const CRITICALITIES: &[(&str, Criticality)] = &[
    ("vital", Criticality::Vital),
    ("essential", Criticality::Essential),
    ("desirable", Criticality::Desirable),
];
