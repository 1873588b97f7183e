//! Makes the files of an invented plant of any size, the same for the same seed.

mod catalogue;
mod cells;
mod chance;
mod joined;
mod life;
mod on_rail;
mod plant;
mod sheet;
mod shelf;
mod supply;
mod wiring;
mod works;

use chance::Chance;
use life::{Event, Life, after, day, today};
use plant::{AREAS, CABINET_HEIGHT_MM, CABINET_WIDTH_MM, Cabinet, RAIL_LENGTH_MM};
use sheet::{Sheet, maybe};
use std::path::Path;

/// The seed of the committed sample site.
pub const SAMPLE_SEED: u64 = 7;

/// The templates that the program ships with, as a site edits them.
const PROCEDURE: &str = include_str!("../../api/src/procedure.json");

/// Settings of the invented plant.
const SITE: &str = include_str!("make_site/site.json");

/// Sets the chance of cells apart from that of everything else.
const CELLS: u64 = 0xce11;

/// How large the plant becomes.
#[derive(Debug, Clone)]
pub struct Size {
    cabinets: usize,
    /// Units that stand in slots at most.
    installed: usize,
    /// Units of any place.
    units: usize,
    /// Rows of history at least; inspections fill up.
    history: usize,
    /// Share of channels that carry a loop, per mille.
    wired_per_mille: usize,
    /// Whether the stores remember hand-outs and know what is to come.
    works: bool,
}

/// Slots of one cabinet at least, for planning a size.
const SLOTS_OF_A_CABINET: usize = 38;

impl Size {
    /// The plant of `sample-site/`.
    pub fn sample() -> Self {
        Self {
            cabinets: 14,
            installed: usize::MAX,
            units: 740,
            history: 0,
            wired_per_mille: 420,
            works: true,
        }
    }

    /// A plant of `units` units and `history` rows of history, for measuring.
    pub fn units(units: usize, history: usize) -> Self {
        let installed = units - units / 10;
        let cabinets = installed / SLOTS_OF_A_CABINET + 1;
        Self { cabinets, installed, units, history, wired_per_mille: 300, works: false }
    }

    /// The same with stores that remember hand-outs and know what is to come.
    pub fn with_works(self) -> Self {
        Self { works: true, ..self }
    }
}

/// Writes the files of a plant into a folder, which is made where it is not there.
///
/// Fails when the folder or a file cannot be written.
pub fn make_site(folder: &Path, size: &Size, seed: u64) -> std::io::Result<()> {
    std::fs::create_dir_all(folder)?;
    for (name, text) in files(size, seed) {
        std::fs::write(folder.join(name), text)?;
    }
    Ok(())
}

/// The files of a plant: name and text.
pub fn files(size: &Size, seed: u64) -> Vec<(&'static str, String)> {
    let mut chance = Chance::new(seed);
    let mut cabinets = plant::cabinets(size.cabinets, &mut chance);
    let mut life = Life::of(&cabinets, size.installed, Chance::new(seed ^ CELLS), &mut chance);
    shelf::failed_module(&mut life, &cabinets, &mut chance);
    shelf::spares(&mut life, size.units, &mut chance);
    shelf::movements(&mut life, &mut chance);
    joined::join(&mut cabinets, &mut life);
    inspections(&mut life, &cabinets, size.history);
    if size.works {
        works::remember(&mut life, &cabinets, seed);
    }
    life.events.sort_by(|a, b| {
        (a.on, &a.slot, &a.serial, a.what).cmp(&(b.on, &b.slot, &b.serial, b.what))
    });
    let mut files = vec![
        ("site.json", SITE.to_owned()),
        ("models.json", catalogue::file()),
        ("procedure.json", PROCEDURE.to_owned()),
    ];
    let sheets = [
        areas(),
        cabinet_sheet(&cabinets),
        rails(&cabinets),
        rail_items(&cabinets),
        slots(&cabinets),
        stores(),
        bins(),
        units(&life),
        lots(size.works),
        wiring::loops(&cabinets, size.wired_per_mille, &mut chance),
        power_offs(&cabinets),
        history(&life),
        people(),
    ];
    files.extend(sheets.map(|sheet| (sheet.name, sheet.text)));
    if size.works {
        let sheets = [works::orders(), works::reservations(&life), works::planned_changes()];
        files.extend(sheets.map(|sheet| (sheet.name, sheet.text)));
    }
    files
}

/// Yearly inspections of each cabinet, then as many of single slots as are wanted.
fn inspections(life: &mut Life, cabinets: &[Cabinet], wanted: usize) {
    for year in 2022..=2026 {
        for (at, cabinet) in cabinets.iter().enumerate() {
            let on = after(day(year, 3, 1), (at * 3 % 200) as i64);
            let mut event = Event::new(on, "inspection", "Yearly: filters, terminals, lamps");
            event.slot = format!("{}.1.02", cabinet.address);
            life.events.push(event);
        }
    }
    let rails = || cabinets.iter().flat_map(|cabinet| &cabinet.rails);
    let slots: Vec<_> = rails().flat_map(|rail| &rail.slots).collect();
    let mut round = 0;
    while life.events.len() < wanted {
        let slot = slots[round % slots.len()];
        let on = after(day(2021, 11, 26), (round / slots.len() * 53 + round % 50) as i64);
        let mut event = Event::new(on.min(today()), "inspection", "Round");
        event.slot = slot.address.clone();
        life.events.push(event);
        round += 1;
    }
}

fn areas() -> Sheet {
    let mut sheet = Sheet::new("areas.csv", "code,title");
    for area in AREAS {
        sheet.row(&[&area.code, &area.title]);
    }
    sheet
}

fn cabinet_sheet(cabinets: &[Cabinet]) -> Sheet {
    let mut sheet = Sheet::new(
        "cabinets.csv",
        "address,area,title,width_mm,height_mm,temperature_c,temperatures_c,temperature_spread_k,\
         depth_mm,back_to_wall,neighbours,top_covered,room_c",
    );
    for (at, cabinet) in cabinets.iter().enumerate() {
        let temperature = cabinet.temperature_c.map_or(String::new(), |c| c.to_string());
        let profile = cabinet.temperature_c.filter(|_| at % 5 == 3).map(profile);
        let spread = if profile.is_some() { "3" } else { "" };
        let [depth, back, neighbours, top, room] = on_rail::body(at);
        sheet.row(&[
            &cabinet.address,
            &AREAS[cabinet.area].code,
            &cabinet.title,
            &CABINET_WIDTH_MM,
            &CABINET_HEIGHT_MM,
            &temperature,
            &profile.unwrap_or_default(),
            &spread,
            &depth,
            &back,
            &neighbours,
            &top,
            &room,
        ]);
    }
    sheet
}

/// Monthly means about a yearly one, for cabinets in the open.
fn profile(mean_c: f64) -> String {
    const ABOVE_K: [f64; 12] = [-7.0, -6.0, -4.0, -1.0, 2.0, 5.0, 7.0, 7.0, 5.0, 0.0, -3.0, -5.0];
    ABOVE_K.map(|above| (mean_c + above).to_string()).join(" ")
}

fn rails(cabinets: &[Cabinet]) -> Sheet {
    let mut sheet = Sheet::new(
        "rails.csv",
        "address,length_mm,y_mm,title,fed_by,supply_redundant,line_m,line_mm2,bus_left,bus_right",
    );
    for (at, cabinet) in cabinets.iter().enumerate() {
        for (number, rail) in cabinet.rails.iter().enumerate() {
            let [m, mm2] = on_rail::line(at, number);
            let links = &rail.links;
            sheet.row(&[
                &rail.address,
                &RAIL_LENGTH_MM,
                &rail.y_mm,
                &rail.title,
                &links.fed_by,
                &links.supply_redundant,
                &m,
                &mm2,
                &links.bus_left,
                &links.bus_right,
            ]);
        }
    }
    sheet
}

fn rail_items(cabinets: &[Cabinet]) -> Sheet {
    let mut sheet = Sheet::new("rail_items.csv", "rail,x_mm,width_mm,kind,model");
    for rail in cabinets.iter().flat_map(|cabinet| &cabinet.rails) {
        for item in &rail.items {
            sheet.row(&[&rail.address, &item.x_mm, &item.width_mm, &item.kind, &item.model]);
        }
    }
    sheet
}

fn slots(cabinets: &[Cabinet]) -> Sheet {
    let mut sheet = Sheet::new(
        "slots.csv",
        "address,x_mm,width_mm,base,key_scheme,key_code,model_wanted,min_revision,min_firmware,\
         redundant_partner,bus_position,bus_address,hot_swap,criticality,title",
    );
    for (at, cabinet) in cabinets.iter().enumerate() {
        for rail in &cabinet.rails {
            for slot in &rail.slots {
                let model = slot.model;
                let pulled = model.kind == "module";
                let title = if slot.reserve { "Reserve" } else { AREAS[cabinet.area].title };
                sheet.row(&[
                    &slot.address,
                    &slot.x_mm,
                    &model.width_mm,
                    &model.base,
                    &model.scheme(),
                    &model.key,
                    &model.part_no,
                    &if slot.criticality == "vital" { model.revisions[0] } else { "" },
                    &if model.kind == "controller" { "1.0" } else { "" },
                    &slot.partner.as_deref().unwrap_or_default(),
                    &slot.bus,
                    &on_rail::bus_address(at, cabinet, rail, slot),
                    &if pulled || slot.partner.is_some() { "yes" } else { "no" },
                    &slot.criticality,
                    &title,
                ]);
            }
        }
    }
    sheet
}

fn stores() -> Sheet {
    let mut sheet = Sheet::new("stores.csv", "code,title,supplied_by,resupply_d,areas");
    for (code, title, supplied_by, resupply_d, areas) in shelf::STORES {
        sheet.row(&[code, title, supplied_by, resupply_d, areas]);
    }
    sheet
}

fn bins() -> Sheet {
    let mut sheet = Sheet::new("bins.csv", "path,title");
    for (path, title) in shelf::BINS {
        sheet.row(&[path, title]);
    }
    sheet
}

fn units(life: &Life) -> Sheet {
    let mut sheet = Sheet::new(
        "units.csv",
        "serial,model,revision,firmware,place,installed_on,received_on,condition,battery_model,\
         battery_made_on,battery_fitted_on",
    );
    for unit in &life.units {
        let battery = unit.battery.as_ref();
        sheet.row(&[
            &unit.serial,
            &unit.model.part_no,
            &unit.revision,
            &unit.firmware,
            &unit.place,
            &maybe(unit.installed_on),
            &unit.received_on,
            &unit.condition,
            &battery.map_or("", |battery| battery.model),
            &maybe(battery.map(|battery| battery.made_on)),
            &maybe(battery.map(|battery| battery.fitted_on)),
        ]);
    }
    sheet
}

fn lots(works: bool) -> Sheet {
    let mut sheet =
        Sheet::new("lots.csv", "code,model,bin,quantity,made_on,shelf_until,quarantined");
    for lot in shelf::LOTS {
        let (made, until) = lot.dates().unzip();
        let quarantined = if lot.quarantined { "yes" } else { "no" };
        sheet.row(&[
            &lot.code,
            &lot.model,
            &lot.bin,
            &lot.quantity,
            &maybe(made),
            &maybe(until),
            &quarantined,
        ]);
    }
    for of in supply::CONSUMABLES.iter().filter(|_| works) {
        sheet.row(&[&of.lot, &of.part_no, &of.bin, &of.pieces, &"", &"", &"no"]);
    }
    sheet
}

/// Yearly shutdowns of the site, repairs of single areas and cabinets, and one to come.
fn power_offs(cabinets: &[Cabinet]) -> Sheet {
    let mut sheet = Sheet::new("power_offs.csv", "scope,from,to,planned,reason");
    for year in 2020..=2026 {
        let (from, to) = (format!("{year}-04-12T04:00:00Z"), format!("{year}-04-13T16:00:00Z"));
        sheet.row(&[&"site", &from, &to, &"", &"Yearly shutdown"]);
    }
    sheet.row(&[
        &"EL",
        &"2023-09-02T06:00:00Z",
        &"2023-09-05T14:00:00Z",
        &"",
        &"Transformer 2 replaced",
    ]);
    sheet.row(&[
        &"HP",
        &"2025-01-18T22:00:00Z",
        &"2025-01-20T05:30:00Z",
        &"",
        &"Feeder cable damaged by works",
    ]);
    for cabinet in cabinets.iter().take(3) {
        sheet.row(&[
            &cabinet.address,
            &"2024-08-20T07:00:00Z",
            &"2024-08-20T15:00:00Z",
            &"",
            &"Rails extended",
        ]);
    }
    sheet.row(&[
        &"site",
        &"2027-04-11T04:00:00Z",
        &"2027-04-14T04:00:00Z",
        &"yes",
        &"Yearly shutdown",
    ]);
    sheet
}

fn history(life: &Life) -> Sheet {
    let mut sheet = Sheet::new(
        "history.csv",
        "on,what,serial,model,slot,lot,quantity,failure_mode,failure_cause,detection,found,\
         found_mv,fitted_on,note",
    );
    for event in &life.events {
        let (mode, cause, detection) = event.failure.unwrap_or_default();
        let mv = event.found.as_ref().and_then(|found| found.mv);
        let quantity = event.quantity.map_or(String::new(), |quantity| quantity.to_string());
        sheet.row(&[
            &event.on,
            &event.what,
            &event.serial,
            &event.model,
            &event.slot,
            &event.lot,
            &quantity,
            &mode,
            &cause,
            &detection,
            &event.found.as_ref().map_or("", |found| found.word),
            &mv.map_or(String::new(), |mv| mv.to_string()),
            &maybe(event.found.as_ref().map(|found| found.fitted_on).or(event.fitted_on)),
            &event.note,
        ]);
    }
    sheet
}

fn people() -> Sheet {
    let mut sheet = Sheet::new("people.csv", "name,roles");
    for (name, roles) in [
        ("Site owner", "owner planner technician clerk"),
        ("Planner", "planner"),
        ("Technician 1", "technician"),
        ("Technician 2", "technician"),
        ("Stores clerk", "clerk"),
    ] {
        sheet.row(&[&name, &roles]);
    }
    sheet
}
