//! What the invented catalogue and plant say for the check of line-ups, with some of it missing and
//! some of it wrong on purpose.

use super::plant::{Cabinet, Rail, Slot};
use serde_json::{Map, Value, json};

/// Adds to a catalogue line what matters beside others on a rail.
pub fn fill(line: &mut Value) {
    let text = |field: &str| line[field].as_str().unwrap_or_default().to_owned();
    let (part_no, kind, base) = (text("part_no"), text("kind"), text("base"));
    let ma = line["current_24v_ma"].as_f64();
    let mut facts = Map::new();
    let mut put = |field: &str, value: Value| facts.insert(field.to_owned(), value);
    let safe = base == "intrinsically_safe" || matches!(part_no.as_str(), "MP-BC2" | "MP-TRM2");
    let on_bus =
        ["controller", "module", "module_one_piece", "terminator"].contains(&kind.as_str());
    if on_bus {
        put("buses", json!([if safe { "is" } else { "io" }]));
    }
    match part_no.as_str() {
        "MP-CP1" => put("bus_units_max", json!(12)),
        "MP-CP2" | "MP-CP2R" => put("bus_units_max", json!(24)),
        "MP-CP3" => put("bus_units_max", json!(32)),
        "MP-BC1" => put("bus_units_max", json!(16)),
        _ => None,
    };
    if kind == "controller" {
        put("bus_supply_ma", json!(600));
        put("min_voltage_v", json!(19.2));
    }
    match part_no.as_str() {
        "MP-BC1" => put("bus_supply_ma", json!(400)),
        "MP-BC2" => put("bus_supply_ma", json!(300)),
        "MP-SC02-C" => put("max_ambient_c", json!(45)),
        "MP-CP1" => put("max_ambient_c", json!(50)),
        "MP-PS03" => put("supply_peak_ma", json!(4500)),
        "MP-PS05" => put("supply_peak_ma", json!(6500)),
        "MP-PSI2" => put("supply_peak_ma", json!(3000)),
        _ => None,
    };
    if kind == "power_supply" {
        let feeds = if part_no == "MP-PSI2" { "intrinsically_safe" } else { "standard" };
        put("feeds", json!(feeds));
        put("derating_from_c", json!(50));
        put("derating_pct_k", json!(2.5));
    } else if let Some(ma) = ma {
        if kind != "controller" && part_no != "MP-VI02-C" {
            put("bus_current_ma", json!(18));
        }
        // What starts with a surge is known for modules on bases and for controllers only.
        if kind != "module_one_piece" || part_no.starts_with("MP-BC") {
            put("inrush_ma", json!((ma * 1.8).round()));
        }
        if part_no != "MP-MB1" {
            put("through_mohm", json!(if kind == "module_one_piece" { 9 } else { 6 }));
        }
    }
    if !facts.is_empty() {
        line["on_rail"] = Value::Object(facts);
    }
}

/// Depth, back to the wall, neighbours and top of a cabinet, and the room; some were never measured.
pub fn body(at: usize) -> [String; 5] {
    let texts = |texts: [&str; 5]| texts.map(str::to_owned);
    match at % 7 {
        5 => texts(["", "", "", "", ""]),
        6 => texts(["400", "yes", "1", "no", ""]),
        _ => {
            let neighbours = (at % 3).to_string();
            texts(["400", "yes", &neighbours, "no", if at.is_multiple_of(2) { "32" } else { "36" }])
        }
    }
}

/// Length and conductor of the line to a rail; not known everywhere.
pub fn line(at: usize, rail: usize) -> [String; 2] {
    if (at + rail) % 8 == 5 {
        return [String::new(), String::new()];
    }
    [format!("{}", 1.0 + 0.6 * rail as f64), "1.5".to_owned()]
}

/// Number of a unit on its bus: its place along it. On one rail two have the same one, on another
/// nobody wrote them down.
pub fn bus_address(at: usize, cabinet: &Cabinet, rail: &Rail, slot: &Slot) -> String {
    let position = rail.slots.iter().position(|other| other.address == slot.address).unwrap_or(0);
    let on = |number: usize| cabinet.rails.get(number).is_some_and(|of| of.address == rail.address);
    match slot.bus {
        "none" => String::new(),
        _ if at % 9 == 7 && on(1) => String::new(),
        _ if at == 2 && on(1) && position == 6 => "5".to_owned(),
        _ => position.to_string(),
    }
}
