//! The files of a plant of many models: each stands once in each area, and each area has its
//! storeroom, filled by the first.

use serde_json::{Value, json};
use slotkeep_tests::measure::Draws;

/// Slots of one cabinet.
const SLOTS: usize = 50;

pub fn part_no(model: usize) -> String {
    format!("MP-X{model:05}")
}

/// Names and texts of the site files.
pub fn files(models: usize, areas: usize) -> Vec<(&'static str, String)> {
    let mut chance = Draws(20_26);
    vec![
        ("site.json", site()),
        ("models.json", catalogue(models, &mut chance)),
        ("areas.csv", rows("code,title", (0..areas).map(|area| format!("A{area},Area {area}")))),
        ("stores.csv", stores(areas)),
        ("bins.csv", rows("path,title", (0..areas).map(|area| format!("S{area}/1,Shelf")))),
        ("cabinets.csv", cabinets(models, areas)),
        ("rails.csv", rails(models, areas)),
        ("slots.csv", slots(models, areas)),
        ("units.csv", units(models, areas, &mut chance)),
    ]
}

fn rows(head: &str, lines: impl Iterator<Item = String>) -> String {
    let mut text = head.to_owned();
    for line in lines {
        text.push('\n');
        text.push_str(&line);
    }
    text.push('\n');
    text
}

fn site() -> String {
    let site = json!({
        "name": "Marrow Point, all works", "label_prefix": "MP", "temperature_c": 30,
        "shelf_temperature_c": 22, "hold_up_required_h": 72, "protection": 0.99
    });
    site.to_string()
}

fn catalogue(models: usize, chance: &mut Draws) -> String {
    let line = |model: usize| -> Value {
        json!({
            "part_no": part_no(model), "title": "Input module", "kind": "module_one_piece",
            "base": "one_piece", "width_mm": 12, "channels": 8,
            "failure_rate_fit": (200.0 * 25f64.powf(chance.share())).round(),
            "lead_time_d": 30 + (300.0 * chance.share()) as u32,
            "lead_time_spread_d": 20,
            "price_cents": 20_000 + (400_000.0 * chance.share()) as i64,
            "family": format!("family {}", model / 25)
        })
    };
    json!({ "models": (0..models).map(line).collect::<Vec<_>>() }).to_string()
}

fn stores(areas: usize) -> String {
    let line = |area: usize| match area {
        0 => "S0,Central store,,,A0".to_owned(),
        _ => format!("S{area},Store {area},S0,2,A{area}"),
    };
    rows("code,title,supplied_by,resupply_d,areas", (0..areas).map(line))
}

/// Number of each cabinet, and its area.
fn all_cabinets(models: usize, areas: usize) -> impl Iterator<Item = (usize, usize)> {
    let of_area = models.div_ceil(SLOTS);
    (0..areas * of_area).map(move |number| (number, number / of_area))
}

fn cabinets(models: usize, areas: usize) -> String {
    let line = |(number, area): (usize, usize)| {
        format!("+K{number},A{area},Cabinet,760,1900,{}", 26 + number % 15)
    };
    rows(
        "address,area,title,width_mm,height_mm,temperature_c",
        all_cabinets(models, areas).map(line),
    )
}

fn rails(models: usize, areas: usize) -> String {
    let line = |(number, _): (usize, usize)| format!("+K{number}.1,700,350,Modules");
    rows("address,length_mm,y_mm,title", all_cabinets(models, areas).map(line))
}

/// Address of the slot of a model in an area.
fn address(models: usize, area: usize, model: usize) -> String {
    let cabinet = area * models.div_ceil(SLOTS) + model / SLOTS;
    format!("+K{cabinet}.1.{:02}", model % SLOTS + 1)
}

fn each(models: usize, areas: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..areas).flat_map(move |area| (0..models).map(move |model| (area, model)))
}

fn slots(models: usize, areas: usize) -> String {
    let line = |(area, model): (usize, usize)| {
        let class = ["vital", "essential", "desirable"][model % 3];
        let x_mm = 12 * (model % SLOTS);
        let address = address(models, area, model);
        format!("{address},{x_mm},12,one_piece,{},none,no,{class}", part_no(model))
    };
    let head = "address,x_mm,width_mm,base,model_wanted,bus_position,hot_swap,criticality";
    rows(head, each(models, areas).map(line))
}

fn units(models: usize, areas: usize, chance: &mut Draws) -> String {
    let mut standing: Vec<String> = Vec::with_capacity(models * areas);
    for (area, model) in each(models, areas) {
        let year = 2016 + (10.0 * chance.share()) as u32;
        let place = address(models, area, model);
        standing.push(format!(
            "U{area}-{model},{},{place},{year}-03-01,{year}-02-01,good",
            part_no(model)
        ));
    }
    let spares = (0..models)
        .map(|model| format!("R{model},{},S{}/1,,2024-02-01,good", part_no(model), model % areas));
    rows(
        "serial,model,place,installed_on,received_on,condition",
        standing.into_iter().chain(spares),
    )
}
