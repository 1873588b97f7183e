//! The CSV files: from cells that their schemas found right to typed rows.

use super::catalogue::{base_kind, word};
use super::csv_file::{Cells, Loaded, Misfit, read};
use super::problem::Problems;
use super::schema::RowSchema;
use super::{
    BatteryRow, BinRow, CabinetRow, HistoryRow, LotRow, PowerOffRow, SiteFile, SlotRow, UnitRow,
};
use crate::wire::words;
use chrono::NaiveDate;
use slotkeep_domain::journal::{CellFound, FailureNote, PastKind, PowerOff, PowerScope};
use slotkeep_domain::key::KeySetting;
use slotkeep_domain::lineup::Stand;
use slotkeep_domain::loops::{EntityInput, Loop};
use slotkeep_domain::model::PartNo;
use slotkeep_domain::people::{Person, Role};
use slotkeep_domain::place::{
    Area, BinPath, BusPosition, CabinetAddress, Criticality, Rail, RailAddress, RailFeed, RailItem,
    RailItemKind, SlotAddress, Storeroom, TEMPERATURES_C,
};
use slotkeep_domain::unit::{Condition, UnitPlace};

/// Where the rows come from and where their problems go.
pub(super) struct Source<'a> {
    pub files: &'a [SiteFile],
    pub problems: &'a mut Problems,
}

impl Source<'_> {
    pub(super) fn load<T>(
        &mut self,
        schema: &RowSchema,
        build: impl FnMut(&Cells<'_>) -> Result<T, Misfit>,
    ) -> Loaded<T> {
        let file = self.files.iter().find(|file| file.name == schema.file);
        read(schema, file, self.problems, build)
    }
}

/// Loads the schema of a file by its name.
macro_rules! schema {
    ($name:literal) => {
        RowSchema::load(
            concat!($name, ".csv"),
            include_str!(concat!("../../../../../schemas/files/", $name, ".row.json")),
        )
    };
}

pub(super) use schema;

/// Turns the refusal of a domain type into a misfit of a column.
fn fits<T, E: ToString>(at: usize, read: Result<T, E>) -> Result<T, Misfit> {
    read.map_err(|why| (at, why.to_string()))
}

/// A word that the schema allows must mean something here.
fn means<T>(at: usize, found: Option<T>) -> Result<T, Misfit> {
    found.ok_or_else(|| (at, "a word that this version knows".to_owned()))
}

pub(super) fn part(cells: &Cells<'_>, at: usize) -> Result<PartNo, Misfit> {
    fits(at, PartNo::parse(cells.text(at)))
}

fn maybe<T>(
    cells: &Cells<'_>,
    at: usize,
    read: impl Fn(&Cells<'_>, usize) -> Result<T, Misfit>,
) -> Result<Option<T>, Misfit> {
    if cells.filled(at) { read(cells, at).map(Some) } else { Ok(None) }
}

fn slot_address(cells: &Cells<'_>, at: usize) -> Result<SlotAddress, Misfit> {
    fits(at, SlotAddress::parse(cells.text(at)))
}

fn rail_address(cells: &Cells<'_>, at: usize) -> Result<RailAddress, Misfit> {
    fits(at, RailAddress::parse(cells.text(at)))
}

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

pub(super) fn units(source: &mut Source<'_>) -> Loaded<UnitRow> {
    let schema = schema!("units");
    let [serial, model, revision, firmware, place] =
        schema.at(["serial", "model", "revision", "firmware", "place"]);
    let [installed, received, condition] = schema.at(["installed_on", "received_on", "condition"]);
    let [battery, made, fitted] =
        schema.at(["battery_model", "battery_made_on", "battery_fitted_on"]);
    source.load(&schema, |c| {
        let battery = match (maybe(c, battery, part)?, c.date(fitted)) {
            (Some(model), Some(fitted_on)) => {
                Some(BatteryRow { model, made_on: c.date(made), fitted_on })
            }
            (None, None) if !c.filled(made) => None,
            (Some(_), None) => return Err((fitted, "the day the battery was fitted".to_owned())),
            _ => {
                return Err((
                    battery,
                    "the model of the battery that the dates tell of".to_owned(),
                ));
            }
        };
        Ok(UnitRow {
            serial: c.owned(serial),
            model: part(c, model)?,
            revision: c.optional(revision),
            firmware: c.optional(firmware),
            place: fits(place, UnitPlace::parse(c.text(place)))?,
            installed_on: c.date(installed),
            received_on: c.date(received),
            condition: means(condition, word(CONDITIONS, c.text(condition)))?,
            battery,
        })
    })
}

pub(super) fn lots(source: &mut Source<'_>) -> Loaded<LotRow> {
    let schema = schema!("lots");
    let [code, model, bin, quantity] = schema.at(["code", "model", "bin", "quantity"]);
    let [made, until, quarantined] = schema.at(["made_on", "shelf_until", "quarantined"]);
    source.load(&schema, |c| {
        Ok(LotRow {
            code: c.owned(code),
            model: part(c, model)?,
            bin: fits(bin, BinPath::parse(c.text(bin)))?,
            quantity: c.count(quantity).unwrap_or_default(),
            made_on: c.date(made),
            shelf_until: c.date(until),
            quarantined: c.text(quarantined) == "yes",
        })
    })
}

pub(super) fn loops(source: &mut Source<'_>) -> Loaded<Loop> {
    let schema = schema!("loops");
    let [tag, slot, channel, service, on_loss, safety] =
        schema.at(["tag", "slot", "channel", "service", "on_loss", "in_safety_function"]);
    let [effect, clearance] = schema.at(["effect", "clearance"]);
    let entity = schema.at([
        "ui_v",
        "ii_ma",
        "pi_mw",
        "ci_nf",
        "li_mh",
        "cable_m",
        "cable_nf",
        "cable_mh",
        "cable_uh_ohm",
    ]);
    source.load(&schema, |c| {
        let given = entity.iter().any(|at| c.filled(*at));
        let [ui_v, ii_ma, pi_mw, ci_nf, li_mh, cable_m, cable_nf, cable_mh, cable_uh_ohm] =
            entity.map(|at| c.number(at));
        let field = EntityInput {
            ui_v,
            ii_ma,
            pi_mw,
            ci_nf,
            li_mh,
            cable_m,
            cable_nf,
            cable_mh,
            cable_uh_ohm,
        };
        Ok(Loop {
            tag: c.owned(tag),
            slot: slot_address(c, slot)?,
            channel: c.count(channel).unwrap_or_default(),
            service: c.owned(service),
            on_loss: c.optional(on_loss),
            effect: words::read_loss_effect(c.text(effect)),
            clearance: words::read_clearance(c.text(clearance)),
            safety_function: c.text(safety) == "yes",
            entity: given.then_some(field),
        })
    })
}

pub(super) fn power_offs(source: &mut Source<'_>) -> Loaded<PowerOffRow> {
    let schema = schema!("power_offs");
    let [scope, from, to, planned, reason] =
        schema.at(["scope", "from", "to", "planned", "reason"]);
    source.load(&schema, |c| {
        if c.time(to) <= c.time(from) {
            return Err((to, "a time after the power went".to_owned()));
        }
        let off = PowerOff {
            scope: fits(scope, PowerScope::parse(c.text(scope)))?,
            from: c.time(from),
            to: c.time(to),
            reason: c.owned(reason),
        };
        Ok(PowerOffRow { off, planned: c.text(planned) == "yes" })
    })
}

/// A past event, and the serial number that is still to be found among the units.
pub(super) type Past = (HistoryRow, Option<String>);

pub(super) fn history(source: &mut Source<'_>) -> Loaded<Past> {
    let schema = schema!("history");
    let [on, what, serial, model, slot, lot, quantity] =
        schema.at(["on", "what", "serial", "model", "slot", "lot", "quantity"]);
    let [mode, cause, detection, note] =
        schema.at(["failure_mode", "failure_cause", "detection", "note"]);
    let cell = schema.at(["found", "found_mv", "fitted_on"]);
    source.load(&schema, |c| {
        if !c.filled(serial) && !c.filled(model) && !c.filled(slot) {
            return Err((serial, "a serial number, a model or a slot that it tells of".to_owned()));
        }
        if c.filled(lot) && !c.filled(model) {
            return Err((model, "the model of the lot".to_owned()));
        }
        if !c.filled(mode) && (c.filled(cause) || c.filled(detection)) {
            return Err((mode, "the failure mode that cause and detection belong to".to_owned()));
        }
        let what_kind = means(what, word(PAST_KINDS, c.text(what)))?;
        let (found, fitted_on) = past_cell(c, what_kind, cell, on)?;
        let row = HistoryRow {
            on: c.date(on).unwrap_or_default(),
            what: what_kind,
            unit: None,
            model: maybe(c, model, part)?,
            slot: maybe(c, slot, slot_address)?,
            lot: c.optional(lot),
            quantity: c.count(quantity),
            failure: c.optional(mode).map(|mode| FailureNote {
                mode,
                cause: c.optional(cause),
                detection: c.optional(detection),
            }),
            found,
            found_mv: c.count(cell[1]),
            fitted_on,
            note: c.owned(note),
        };
        Ok((row, c.optional(serial)))
    })
}

/// How a battery was found, and when it had been fitted; only where the row is about a battery.
fn past_cell(
    cells: &Cells<'_>,
    what: PastKind,
    [found, mv, fitted]: [usize; 3],
    on: usize,
) -> Result<(Option<CellFound>, Option<NaiveDate>), Misfit> {
    let about_one = matches!(what, PastKind::BatteryChanged | PastKind::BatterySeen);
    if let Some(at) = [found, mv].into_iter().find(|at| cells.filled(*at))
        && !about_one
    {
        return Err((at, "nothing: only battery_changed and battery_seen tell of a cell".into()));
    }
    let came_out = matches!(what, PastKind::Failure | PastKind::NoFaultFound | PastKind::Removed);
    if cells.filled(fitted) && !about_one && !came_out {
        let expected = "nothing: only what came out, and batteries, had been fitted";
        return Err((fitted, expected.to_owned()));
    }
    let fitted_on = cells.date(fitted);
    if fitted_on.is_some() && fitted_on > cells.date(on) {
        return Err((fitted, "a date not after the day on which it was found".to_owned()));
    }
    let read = |c: &Cells<'_>, at| means(at, word(CELLS_FOUND, c.text(at)));
    Ok((maybe(cells, found, read)?, fitted_on))
}

pub(super) fn people(source: &mut Source<'_>) -> Loaded<Person> {
    let schema = schema!("people");
    let [name, roles] = schema.at(["name", "roles"]);
    source.load(&schema, |c| {
        let words = c.text(roles).split(' ').map(Role::parse);
        let read = fits(roles, words.collect::<Result<Vec<_>, _>>())?;
        Ok(Person { name: c.owned(name), roles: read })
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

const CONDITIONS: &[(&str, Condition)] = &[
    ("good", Condition::Good),
    ("suspect", Condition::Suspect),
    ("failed", Condition::Failed),
    ("quarantined", Condition::Quarantined),
];

const CELLS_FOUND: &[(&str, CellFound)] = &[
    ("good", CellFound::Good),
    ("weak", CellFound::Weak),
    ("spent", CellFound::Spent),
    ("not_judged", CellFound::NotJudged),
];

const PAST_KINDS: &[(&str, PastKind)] = &[
    ("failure", PastKind::Failure),
    ("no_fault_found", PastKind::NoFaultFound),
    ("repair", PastKind::Repair),
    ("removed", PastKind::Removed),
    ("installed", PastKind::Installed),
    ("battery_changed", PastKind::BatteryChanged),
    ("battery_seen", PastKind::BatterySeen),
    ("inspection", PastKind::Inspection),
    ("received", PastKind::Received),
    ("issued", PastKind::Issued),
];
