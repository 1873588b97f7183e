//! What the invented catalogue says of failing, buying and repairing.

use super::catalogue::Model;
use serde_json::{Map, Value, json};

/// Adds to a catalogue line what is known of its supply.
pub fn fill(model: &Model, line: &mut Map<String, Value>) {
    let mut put = |field: &str, value: Value| line.insert(field.to_owned(), value);
    if let Some(family) = family(model.part_no) {
        put("family", json!(family));
    }
    put("lead_time_spread_d", json!(model.lead_time_d() / 6));
    if model.repairable {
        put("repair_yield_pct", json!(if model.kind == "controller" { 92 } else { 85 }));
        put("repair_price_cents", json!(model.price_cents() / 1000 * 320));
    }
    for (part_no, field, value) in special() {
        if part_no == model.part_no {
            put(field, value);
        }
    }
    // The rate is stated once: these two say it in another way.
    if line.contains_key("mtbf_h") || line.contains_key("parts_count") {
        line.remove("failure_rate_fit");
    }
}

fn family(part_no: &str) -> Option<&'static str> {
    let name = part_no.trim_start_matches("MP-");
    let starts = |with: &[&str]| with.iter().any(|with| name.starts_with(with));
    Some(match () {
        () if starts(&["CP"]) => "controllers",
        () if starts(&["PS"]) => "power supplies",
        () if starts(&["BC"]) => "bus couplers",
        () if starts(&["AI", "AO"]) => "analogue",
        () if starts(&["DO08"]) => "relays",
        () if starts(&["DI", "DO"]) => "digital",
        () if starts(&["TC", "TU", "RT"]) => "temperature",
        () => return None,
    })
}

fn special() -> Vec<(&'static str, &'static str, Value)> {
    vec![
        ("MP-VI02-C", "mtbf_h", json!(870_000)),
        (
            "MP-MB1",
            "parts_count",
            json!([
                {"title": "Measuring input", "count": 4, "fit": 95},
                {"title": "Processor", "count": 1, "fit": 180},
                {"title": "Supply stage", "count": 1, "fit": 140},
                {"title": "Bus driver", "count": 1, "fit": 120}
            ]),
        ),
        ("MP-PS03", "failure_rate_at_c", json!(25)),
        ("MP-PS03", "failure_activation_ev", json!(0.6)),
        ("MP-PS05", "failure_rate_at_c", json!(25)),
        ("MP-PS05", "failure_activation_ev", json!(0.6)),
        ("MP-AI08-C", "failure_rate_worth", json!(2)),
        ("MP-CP2", "failure_rate_worth", json!(3)),
        ("MP-VI02-C", "min_order", json!(2)),
        ("MP-PSI2", "min_order", json!(2)),
        ("MP-DI16-C", "pack_size", json!(2)),
        ("MP-DI16-C", "price_breaks", json!([{"from": 6, "price_cents": 27200}])),
        (
            "MP-AI08-C",
            "price_breaks",
            json!([{"from": 5, "price_cents": 51500}, {"from": 10, "price_cents": 49800}]),
        ),
        // Its maker has announced the end; the second series takes any sensor.
        ("MP-TC08-C", "last_order_on", json!("2027-06-30")),
        ("MP-PS03", "last_order_on", json!("2027-05-31")),
    ]
}

/// Fuse links and the like, which work uses up.
pub fn consumables() -> Vec<Value> {
    CONSUMABLES.iter().map(line).collect()
}

pub struct Consumable {
    pub part_no: &'static str,
    title: &'static str,
    pub bin: &'static str,
    pub lot: &'static str,
    /// Pieces on the shelf today.
    pub pieces: u32,
    price_cents: u32,
    lead_time_d: u32,
    pack_size: u32,
    breaks: &'static [(u32, u32)],
    shelf_life_y: Option<f64>,
    pub use_: Use,
}

/// How a consumable is asked for, month by month.
#[derive(Clone, Copy)]
pub enum Use {
    /// Every month about as many.
    Smooth { mean: i64, about: i64 },
    /// Some months a few.
    Intermittent { per_mille: usize, most: i64 },
    /// Some months, few or very many.
    Lumpy { per_mille: usize, few: i64, many: i64 },
    /// Every month, from few to very many.
    Erratic { few: i64, many: i64 },
}

fn line(of: &Consumable) -> Value {
    let mut line = json!({"part_no": of.part_no, "title": of.title, "kind": "consumable",
        "width_mm": 0, "lead_time_d": of.lead_time_d, "lead_time_spread_d": of.lead_time_d / 4,
        "price_cents": of.price_cents, "pack_size": of.pack_size, "counted": true});
    if !of.breaks.is_empty() {
        let breaks =
            of.breaks.iter().map(|(from, cents)| json!({"from": from, "price_cents": cents}));
        line["price_breaks"] = breaks.collect();
    }
    if let Some(years) = of.shelf_life_y {
        line["shelf_life_y"] = json!(years);
    }
    line
}

pub const CONSUMABLES: &[Consumable] = &[
    Consumable {
        part_no: "MP-FER075",
        title: "Ferrules 0.75 mm², bag of 100",
        bin: "ST1/D-01",
        lot: "F-075-26",
        pieces: 31,
        price_cents: 480,
        lead_time_d: 14,
        pack_size: 10,
        breaks: &[(50, 420)],
        shelf_life_y: None,
        use_: Use::Smooth { mean: 9, about: 3 },
    },
    Consumable {
        part_no: "MP-FU2A",
        title: "Fuse link 5 × 20 mm, 2 A",
        bin: "ST1/D-02",
        lot: "S-2-0931",
        pieces: 70,
        price_cents: 95,
        lead_time_d: 21,
        pack_size: 10,
        breaks: &[(100, 80), (500, 66)],
        shelf_life_y: None,
        use_: Use::Smooth { mean: 7, about: 4 },
    },
    Consumable {
        part_no: "MP-FU063",
        title: "Fuse link 5 × 20 mm, 0.63 A",
        bin: "ST1/D-02",
        lot: "S-063-118",
        pieces: 6,
        price_cents: 110,
        lead_time_d: 21,
        pack_size: 10,
        breaks: &[],
        shelf_life_y: None,
        use_: Use::Intermittent { per_mille: 330, most: 2 },
    },
    Consumable {
        part_no: "MP-MKS",
        title: "Marker strip for terminals",
        bin: "ST1/D-03",
        lot: "M-40",
        pieces: 44,
        price_cents: 210,
        lead_time_d: 28,
        pack_size: 20,
        breaks: &[(100, 180)],
        shelf_life_y: None,
        use_: Use::Erratic { few: 1, many: 30 },
    },
    Consumable {
        part_no: "MP-GSK16",
        title: "Cable gland seal M16",
        bin: "ST1/D-03",
        lot: "G-16-7",
        pieces: 18,
        price_cents: 160,
        lead_time_d: 35,
        pack_size: 25,
        breaks: &[],
        shelf_life_y: Some(5.0),
        use_: Use::Lumpy { per_mille: 260, few: 1, many: 36 },
    },
    Consumable {
        part_no: "MP-SIL24",
        title: "Signal lamp insert 24 V",
        bin: "ST2/D-01",
        lot: "L-24-3",
        pieces: 5,
        price_cents: 1250,
        lead_time_d: 42,
        pack_size: 5,
        breaks: &[],
        shelf_life_y: None,
        use_: Use::Intermittent { per_mille: 420, most: 3 },
    },
];
