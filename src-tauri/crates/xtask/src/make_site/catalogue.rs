//! The invented catalogue of the sample plant.

use super::on_rail;
use super::supply::consumables;
use serde_json::{Map, Value, json};

/// What the generator has to know of a model; the rest goes straight into the file.
pub struct Model {
    pub part_no: &'static str,
    pub kind: &'static str,
    pub base: &'static str,
    pub key: &'static str,
    pub width_mm: f64,
    pub channels: u32,
    pub signal: Signal,
    pub revisions: &'static [&'static str],
    pub repairable: bool,
    pub battery: Option<&'static str>,
    title: &'static str,
    current_ma: u32,
    fit: u32,
    lead_time_d: u32,
    price_cents: u32,
}

/// What a channel carries, for choosing tags that make sense.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Signal {
    None,
    AnalogueIn,
    AnalogueOut,
    DigitalIn,
    DigitalOut,
    Temperature,
    Speed,
}

impl Model {
    pub fn scheme(&self) -> &'static str {
        match (self.key, self.base) {
            ("", _) => "",
            (_, "intrinsically_safe") => "is",
            _ => "std",
        }
    }

    /// Cells that it takes together.
    pub fn cells(&self) -> u32 {
        if self.part_no == "MP-CP3" { 2 } else { 1 }
    }

    /// Failures in 1e9 h.
    pub fn fit(&self) -> u32 {
        self.fit
    }

    pub fn lead_time_d(&self) -> u32 {
        self.lead_time_d
    }

    pub fn price_cents(&self) -> u32 {
        self.price_cents
    }
}

/// The catalogue line of a part number that the generator itself uses.
pub fn model(part_no: &str) -> &'static Model {
    MODELS.iter().find(|model| model.part_no == part_no).unwrap_or(&MODELS[0])
}

/// The whole of `models.json`.
pub fn file() -> String {
    let mut lines: Vec<Value> =
        MODELS.iter().map(line).chain(furniture()).chain(consumables()).collect();
    lines.iter_mut().for_each(on_rail::fill);
    let mut text = String::from("{\n  \"models\": [\n");
    for (at, line) in lines.iter().enumerate() {
        let end = if at + 1 < lines.len() { "," } else { "" };
        text.push_str(&format!("    {line}{end}\n"));
    }
    text.push_str("  ]\n}\n");
    text
}

fn line(model: &Model) -> Value {
    let mut line = Map::new();
    let mut put = |field: &str, value: Value| line.insert(field.to_owned(), value);
    put("part_no", json!(model.part_no));
    put("title", json!(model.title));
    put("kind", json!(model.kind));
    put("base", json!(model.base));
    if !model.key.is_empty() {
        put("key_scheme", json!(model.scheme()));
        put("key_code", json!(model.key));
    }
    put("width_mm", json!(model.width_mm));
    put("channels", json!(model.channels));
    if model.kind == "power_supply" {
        put("supply_rating_ma", json!(model.current_ma));
        put("heat_w", json!(f64::from(model.current_ma) * 0.024 * 0.12));
    } else {
        put("current_24v_ma", json!(model.current_ma));
        put("heat_w", json!(f64::from(model.current_ma) * 0.024));
    }
    if model.base == "intrinsically_safe" {
        put("intrinsically_safe", json!(true));
        put(
            "entity",
            json!({"uo_v": 25.2, "io_ma": 93.0, "po_mw": 586.0, "co_nf": 107.0, "lo_mh": 4.1,
                   "lo_ro_uh_ohm": 62.0}),
        );
    }
    if let Some(battery) = model.battery {
        put("battery", need(model, battery));
    }
    put("failure_rate_fit", json!(model.fit));
    put("lead_time_d", json!(model.lead_time_d));
    put("price_cents", json!(model.price_cents));
    for (part_no, field, value) in special() {
        if part_no == model.part_no {
            put(field, value);
        }
    }
    put("revisions", json!(model.revisions));
    put("repairable", json!(model.repairable));
    if model.repairable {
        put("turn_round_d", json!(model.lead_time_d / 2 + 14));
    }
    super::supply::fill(model, &mut line);
    Value::Object(line)
}

/// Drains that make a wired cell last some four years in a warm cabinet with yearly shutdowns, and a
/// plug-in one some eight.
fn need(model: &Model, battery: &str) -> Value {
    let (standby, backup) = match model.part_no {
        "MP-CP1" => (30.0, 160.0),
        "MP-CP3" => (30.0, 240.0),
        _ => (26.0, 110.0),
    };
    let mut need = json!({"model": battery, "cells": model.cells(), "standby_drain_ua": standby,
                          "backup_drain_ua": backup, "ride_through_s": 300,
                          "standby_spread_pct": 12, "backup_spread_pct": 10});
    match model.part_no {
        // The large one has its cells behind a cover over live parts.
        "MP-CP3" => {
            need["change_with"] = json!("unpowered");
            need["change_min"] = json!(25);
        }
        "MP-CP1" => need["change_with"] = json!("powered"),
        _ => {}
    }
    need
}

/// An invented form of makers' codes: part, revision and serial number between strokes.
const STROKES: &str = "(?<part>[0-9A-Z-]+)/(?<revision>[A-Z])/(?<serial>[0-9]{2}-[0-9]{6})";

/// Another one, for controllers: short name, serial number, week of making.
const HASHES: &str = "(?<part>CP[0-9A-Z]+)#(?<serial>[0-9]{2}-[0-9]{6})#(?<date>[0-9]{4})";

/// And one for cells: name, lot and day of making.
const CELLS: &str = "(?<part>CEL[0-9])L(?<lot>[0-9A-Z]+)D(?<date>[0-9]{6})";

/// What makes single models worth a look. Trade item numbers are of the prefix that GS1 keeps
/// for examples (952).
fn special() -> Vec<(&'static str, &'static str, Value)> {
    vec![
        ("MP-CP1", "maker_codes", json!(["CP1"])),
        ("MP-CP2", "maker_codes", json!(["CP2"])),
        ("MP-CP2R", "maker_codes", json!(["CP2R"])),
        ("MP-CP3", "maker_codes", json!(["CP3"])),
        ("MP-CP1", "code_patterns", json!([HASHES])),
        ("MP-PS03", "maker_codes", json!(["09521234000013"])),
        ("MP-PS05", "maker_codes", json!(["09521234000020"])),
        ("MP-PS10", "maker_codes", json!(["09521234000037"])),
        ("MP-AI08-C", "code_patterns", json!([STROKES])),
        ("MP-CP1", "lifecycle", json!("discontinued")),
        ("MP-CP1", "substitutes", json!(["MP-CP2"])),
        ("MP-AI08-C", "substitutes", json!(["MP-AI08X-C"])),
        ("MP-AI08-E", "substitutes", json!(["MP-AI08X-E"])),
        ("MP-DO08R-C", "lifecycle", json!("discontinued")),
        ("MP-DO08R-C", "substitutes", json!(["MP-DO08S-C"])),
        ("MP-TC08-C", "substitutes", json!(["MP-TU08-C"])),
        ("MP-DI16-C", "substitutes", json!(["MP-DI16X-C"])),
        ("MP-PS03", "substitutes", json!(["MP-PS05"])),
        ("MP-SC02-C", "lifecycle", json!("recalled")),
    ]
}

/// What is counted or stands on a rail without being a unit.
fn furniture() -> Vec<Value> {
    let thing = |part_no: &str, title: &str, kind: &str, width_mm: f64, price_cents: u32| {
        json!({"part_no": part_no, "title": title, "kind": kind, "width_mm": width_mm,
               "lead_time_d": 21, "price_cents": price_cents, "counted": true})
    };
    let base = |part_no: &str, title: &str, base: &str, width_mm: f64| {
        json!({"part_no": part_no, "title": title, "kind": "base", "base": base,
               "width_mm": width_mm, "failure_rate_fit": 40, "lead_time_d": 42,
               "price_cents": 9800, "counted": true})
    };
    let cell = |part_no: &str, title: &str, designation: &str, capacity_mah: f64, price: u32| {
        let mut line = json!({"part_no": part_no, "title": title, "kind": "battery", "width_mm": 0,
               "cell": {"designation": designation, "capacity_mah": capacity_mah,
                        "self_discharge_pct_a": 1.0, "shelf_life_y": 3, "max_age_y": 8},
               "lead_time_d": 28, "price_cents": price, "counted": true,
               "maker_codes": [part_no.trim_start_matches("MP-")], "code_patterns": [CELLS]});
        // The one doubles its self-discharge with every 10 K, the other has an energy stated.
        let (capacity, energy) =
            if designation.starts_with("ER") { (6, Value::Null) } else { (4, json!(0.55)) };
        line["cell"]["capacity_spread_pct"] = json!(capacity);
        line["cell"]["self_discharge_spread_pct"] = json!(30);
        if !energy.is_null() {
            line["cell"]["activation_energy_ev"] = energy;
        }
        line
    };
    let packed = |mut line: Value, pieces: u32| {
        line["pack_size"] = json!(pieces);
        line
    };
    vec![
        packed(thing("MP-TRM1", "Bus terminator", "terminator", 10.0, 2900), 5),
        thing("MP-TRM2", "Bus terminator, intrinsically safe", "terminator", 10.0, 4100),
        packed(thing("MP-ENS1", "End support", "end_support", 8.0, 250), 50),
        thing("MP-BLK24", "Blank, 24 mm", "blank", 24.0, 400),
        base("MP-BSC", "Base, compact", "compact", 24.0),
        base("MP-BSE", "Base, extended", "extended", 48.0),
        base("MP-BSI", "Base, intrinsically safe", "intrinsically_safe", 30.0),
        cell("MP-CEL1", "Lithium cell 3.6 V, plug-in holder", "ER14505", 2400.0, 1900),
        cell("MP-CEL2", "Lithium cell 3 V, wired", "CR17345", 1400.0, 1450),
    ]
}

const ABC: &[&str] = &["A", "B", "C"];
const AB: &[&str] = &["A", "B"];
const A: &[&str] = &["A"];

macro_rules! models {
    ($($part:literal $title:literal $kind:ident $base:ident $key:literal $width:literal
       $channels:literal $signal:ident $ma:literal $fit:literal $lead:literal $price:literal
       $revisions:ident $repairable:literal $battery:expr;)*) => {
        &[$(Model {
            part_no: $part, title: $title, kind: stringify!($kind), base: stringify!($base),
            key: $key, width_mm: $width, channels: $channels, signal: Signal::$signal,
            current_ma: $ma, fit: $fit, lead_time_d: $lead, price_cents: $price,
            revisions: $revisions, repairable: $repairable, battery: $battery,
        },)*]
    };
}

/// Part number, title, kind, base, key, width (mm), channels, signal, current or rating (mA),
/// failures in 1e9 h, lead time (days), price (cents), revisions, repairable, battery.
#[rustfmt::skip]
pub const MODELS: &[Model] = models! {
    "MP-CP1" "Controller, first series" controller own "" 96.0 0 None 420 2600 360 412000 ABC true Some("MP-CEL2");
    "MP-CP2" "Controller" controller own "" 96.0 0 None 380 1900 168 389000 ABC true Some("MP-CEL1");
    "MP-CP2R" "Controller for redundant pairs" controller own "" 96.0 0 None 410 2000 210 468000 AB true Some("MP-CEL1");
    "MP-CP3" "Controller, large" controller own "" 120.0 0 None 610 2300 252 742000 AB true Some("MP-CEL1");
    "MP-PS03" "Power supply 24 V, 3 A" power_supply own "" 60.0 0 None 3000 1500 105 18900 AB false None;
    "MP-PS05" "Power supply 24 V, 5 A" power_supply own "" 60.0 0 None 5000 1600 105 24900 AB false None;
    "MP-PS10" "Power supply 24 V, 10 A" power_supply own "" 84.0 0 None 10000 1900 147 41900 A false None;
    "MP-PSI2" "Power supply for intrinsically safe bases" power_supply own "" 60.0 0 None 2000 1400 189 58900 A false None;
    "MP-BC1" "Bus coupler" module_one_piece one_piece "" 48.0 0 None 180 1100 147 96000 ABC true None;
    "MP-BC2" "Bus coupler, intrinsically safe rail" module_one_piece one_piece "" 48.0 0 None 190 1200 189 118000 AB true None;
    "MP-DI16-P" "16 digital inputs, one-piece" module_one_piece one_piece "" 48.0 16 DigitalIn 90 520 105 31000 AB false None;
    "MP-DO16-P" "16 digital outputs, one-piece" module_one_piece one_piece "" 48.0 16 DigitalOut 110 640 105 33500 AB false None;
    "MP-AI04-P" "4 analogue inputs, one-piece" module_one_piece one_piece "" 48.0 4 AnalogueIn 120 610 105 39000 AB false None;
    "MP-AO02-P" "2 analogue outputs, one-piece" module_one_piece one_piece "" 48.0 2 AnalogueOut 140 690 126 41000 A false None;
    "MP-MB1" "Energy meter block" module_one_piece one_piece "" 60.0 4 AnalogueIn 160 820 168 72000 A true None;
    "MP-AI08-C" "8 analogue inputs 4-20 mA, compact" module compact "AC" 24.0 8 AnalogueIn 150 740 126 54000 ABC true None;
    "MP-AI08X-C" "8 analogue inputs 4-20 mA, second series, compact" module compact "AC" 24.0 8 AnalogueIn 130 560 126 57500 A true None;
    "MP-AI16-C" "16 analogue inputs 4-20 mA, compact" module compact "AD" 24.0 16 AnalogueIn 210 980 147 83000 AB true None;
    "MP-AO04-C" "4 analogue outputs, compact" module compact "BC" 24.0 4 AnalogueOut 180 860 126 61000 AB true None;
    "MP-AO08-C" "8 analogue outputs, compact" module compact "BD" 24.0 8 AnalogueOut 240 1100 147 88000 AB true None;
    "MP-DI16-C" "16 digital inputs, compact" module compact "CA" 24.0 16 DigitalIn 80 430 105 29000 ABC false None;
    "MP-DI16X-C" "16 digital inputs with time stamps, compact" module compact "CA" 24.0 16 DigitalIn 95 450 126 38000 A false None;
    "MP-DI32-C" "32 digital inputs, compact" module compact "CB" 24.0 32 DigitalIn 120 640 126 46000 AB false None;
    "MP-DO16-C" "16 digital outputs, compact" module compact "DA" 24.0 16 DigitalOut 110 590 105 32000 ABC false None;
    "MP-DO08R-C" "8 relay outputs, compact" module compact "DB" 24.0 8 DigitalOut 130 1300 210 39500 AB true None;
    "MP-DO08S-C" "8 relay outputs, second series, compact" module compact "DB" 24.0 8 DigitalOut 120 900 126 42500 A true None;
    "MP-TC08-C" "8 thermocouples, compact" module compact "EA" 24.0 8 Temperature 100 690 147 66000 AB true None;
    "MP-TU08-C" "8 temperature inputs, any sensor, compact" module compact "EA" 24.0 8 Temperature 110 640 147 71000 A true None;
    "MP-RT08-C" "8 resistance thermometers, compact" module compact "EB" 24.0 8 Temperature 100 650 147 64000 AB true None;
    "MP-FI04-C" "4 speed inputs, compact" module compact "FA" 24.0 4 Speed 120 820 168 79000 AB true None;
    "MP-VI02-C" "2 vibration inputs, compact" module compact "FB" 24.0 2 Speed 160 1150 252 134000 A true None;
    "MP-SC02-C" "2 serial lines, compact" module compact "FC" 24.0 2 None 140 1500 231 68000 AB true None;
    "MP-AI08-E" "8 analogue inputs 4-20 mA, extended" module extended "AC" 48.0 8 AnalogueIn 150 740 126 56000 ABC true None;
    "MP-AI08X-E" "8 analogue inputs 4-20 mA, second series, extended" module extended "AC" 48.0 8 AnalogueIn 130 560 126 59500 A true None;
    "MP-AO08-E" "8 analogue outputs, extended" module extended "BD" 48.0 8 AnalogueOut 240 1100 147 91000 AB true None;
    "MP-DI16-E" "16 digital inputs, extended" module extended "CA" 48.0 16 DigitalIn 80 430 105 31000 AB false None;
    "MP-DO16-E" "16 digital outputs, extended" module extended "DA" 48.0 16 DigitalOut 110 590 105 34000 AB false None;
    "MP-DO08R-E" "8 relay outputs, extended" module extended "DB" 48.0 8 DigitalOut 130 1200 126 41500 AB true None;
    "MP-RT08-E" "8 resistance thermometers, extended" module extended "EB" 48.0 8 Temperature 100 650 147 66000 A true None;
    "MP-AI04-IS" "4 analogue inputs, intrinsically safe" module intrinsically_safe "KM" 30.0 4 AnalogueIn 130 810 189 98000 AB true None;
    "MP-AO04-IS" "4 analogue outputs, intrinsically safe" module intrinsically_safe "KN" 30.0 4 AnalogueOut 150 930 189 104000 AB true None;
    "MP-DI08-IS" "8 contact inputs, intrinsically safe" module intrinsically_safe "LM" 30.0 8 DigitalIn 90 560 189 76000 AB true None;
    "MP-DO04-IS" "4 solenoid outputs, intrinsically safe" module intrinsically_safe "LN" 30.0 4 DigitalOut 170 880 189 92000 AB true None;
    "MP-RT04-IS" "4 resistance thermometers, intrinsically safe" module intrinsically_safe "PM" 30.0 4 Temperature 100 720 189 88000 A true None;
};
