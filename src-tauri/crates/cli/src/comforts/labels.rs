use crate::outcome::Stop;
use crate::output;
use crate::session::Session;
use clap::Args;
use serde_json::json;
use slotkeep_api::{Payload, Reply};
use std::path::PathBuf;

#[derive(Debug, Args)]
pub struct Labels {
    /// Labels of a cabinet, its slots and the units in them, e.g. +K01
    #[arg(long, value_name = "ADDRESS")]
    cabinet: Option<String>,
    /// Labels of a storeroom's bins, units and lots
    #[arg(long, value_name = "CODE")]
    storeroom: Option<String>,
    /// Only labels of this kind: unit, slot, bin, lot or cabinet; may be repeated
    #[arg(long, value_name = "KIND")]
    kind: Vec<String>,
    /// Exactly this label or address; may be repeated
    #[arg(long, value_name = "LABEL")]
    thing: Vec<String>,
    /// Sheet or roll, by its name in `slotkeep label formats`; the first of them, where left out
    #[arg(long, value_name = "NAME")]
    format: Option<String>,
    /// First free position of the first sheet, counted from 1
    #[arg(long, value_name = "NUMBER")]
    start: Option<u32>,
    /// Dots of the printer on an inch; 300, where left out
    #[arg(long, value_name = "NUMBER")]
    dpi: Option<u32>,
    /// Moves every label to the right, in mm; `slotkeep label adjustment` reckons it
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    offset_x_mm: Option<f64>,
    /// Moves every label down, in mm
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    offset_y_mm: Option<f64>,
    /// Stretches the distances across, for printers that shrink the page
    #[arg(long, value_name = "FACTOR")]
    scale_x: Option<f64>,
    /// Stretches the distances down
    #[arg(long, value_name = "FACTOR")]
    scale_y: Option<f64>,
    /// Write links for phones' own cameras, to the door at this address
    #[arg(long, value_name = "ADDRESS")]
    link_base: Option<String>,
    /// Distance from which every label must be read, in mm; refused where it cannot be met
    #[arg(long, value_name = "MM")]
    distance_mm: Option<f64>,
    /// Least error correction: L, M, Q or H; M, where left out
    #[arg(long, value_name = "LEVEL")]
    least_level: Option<String>,
    /// Where to write the PDF
    #[arg(long, value_name = "FILE", default_value = "labels.pdf")]
    out: PathBuf,
    /// Replace a file that is there already
    #[arg(long)]
    force: bool,
}

impl Labels {
    pub fn run(&self, session: &Session) -> Result<(), Stop> {
        let some = |list: &Vec<String>| (!list.is_empty()).then(|| json!(list));
        let input = json!({
            "labels": {
                "cabinet": self.cabinet,
                "storeroom": self.storeroom,
                "kinds": some(&self.kind),
                "things": some(&self.thing),
            },
            "format": self.format,
            "start": self.start,
            "dpi": self.dpi,
            "correction": {
                "offset_x_mm": self.offset_x_mm.unwrap_or(0.0),
                "offset_y_mm": self.offset_y_mm.unwrap_or(0.0),
                "scale_x": self.scale_x.unwrap_or(1.0),
                "scale_y": self.scale_y.unwrap_or(1.0),
            },
            "link_base": self.link_base,
            "distance_mm": self.distance_mm,
            "least_level": self.least_level,
        });
        match session.call("label.sheet", Payload::Json(input), false)? {
            Reply::File(file) => session.keep(&file.bytes, &self.out, self.force),
            Reply::Json(value) => Ok(output::reply(&value, session.json())?),
        }
    }
}
