//! Areas, cabinets, rails and slots of the made plant.

use super::catalogue::{Model, model};
use super::chance::Chance;

pub struct Area {
    pub code: &'static str,
    pub title: &'static str,
    /// First digit of the loop numbers of the area.
    pub hundreds: u32,
    pub things: &'static [&'static str],
}

pub const AREAS: &[Area] = &[
    Area {
        code: "IN",
        title: "Intake",
        hundreds: 1,
        things: &["intake pump 1", "intake pump 2", "band screen A", "band screen B", "wet well"],
    },
    Area {
        code: "PF",
        title: "Prefilters",
        hundreds: 2,
        things: &[
            "filter bed 1",
            "filter bed 2",
            "filter bed 3",
            "backwash blower",
            "cartridge filter A",
        ],
    },
    Area {
        code: "HP",
        title: "High-pressure pumps",
        hundreds: 3,
        things: &[
            "high-pressure pump A",
            "high-pressure pump B",
            "booster pump A",
            "lube oil skid",
        ],
    },
    Area {
        code: "MB",
        title: "Membrane trains",
        hundreds: 4,
        things: &["membrane train A", "membrane train B", "membrane train C", "cleaning tank"],
    },
    Area {
        code: "ER",
        title: "Energy recovery",
        hundreds: 5,
        things: &["pressure exchanger rack A", "pressure exchanger rack B", "brine header"],
    },
    Area {
        code: "RM",
        title: "Remineralisation",
        hundreds: 6,
        things: &["limestone bed 1", "limestone bed 2", "carbon dioxide dosing", "lime saturator"],
    },
    Area {
        code: "PW",
        title: "Product water",
        hundreds: 7,
        things: &[
            "product tank 1",
            "product tank 2",
            "delivery pump A",
            "delivery pump B",
            "disinfection",
        ],
    },
    Area {
        code: "EL",
        title: "Power",
        hundreds: 8,
        things: &["transformer 1", "transformer 2", "medium-voltage board", "emergency generator"],
    },
];

pub struct Cabinet {
    pub address: String,
    pub area: usize,
    pub title: String,
    pub temperature_c: Option<f64>,
    pub rails: Vec<Rail>,
}

pub struct Rail {
    pub address: String,
    pub y_mm: u32,
    pub title: &'static str,
    pub slots: Vec<Slot>,
    pub items: Vec<Item>,
    pub links: Links,
}

/// How a rail hangs together with others of its cabinet; empty where it stands alone.
#[derive(Default)]
pub struct Links {
    pub fed_by: String,
    pub supply_redundant: &'static str,
    pub bus_left: String,
    pub bus_right: String,
}

pub struct Item {
    pub x_mm: f64,
    pub width_mm: f64,
    pub kind: &'static str,
    pub model: &'static str,
}

pub struct Slot {
    pub address: String,
    pub x_mm: f64,
    pub model: &'static Model,
    pub bus: &'static str,
    pub partner: Option<String>,
    pub criticality: &'static str,
    /// Left empty on purpose.
    pub reserve: bool,
}

pub const CABINET_WIDTH_MM: u32 = 760;
pub const CABINET_HEIGHT_MM: u32 = 1900;
pub const RAIL_LENGTH_MM: f64 = 700.0;

/// Lays out cabinets: each has a controller on its first rail and two or three more rails.
pub fn cabinets(count: usize, chance: &mut Chance) -> Vec<Cabinet> {
    (0..count).map(|at| cabinet(at, chance)).collect()
}

fn cabinet(at: usize, chance: &mut Chance) -> Cabinet {
    // The first cabinets cover every area; numbers begin at 11 as is usual on drawings.
    let area = at % AREAS.len();
    let address = format!("+K{}", at + 11);
    let temperature_c = match at % 5 {
        0 => None,
        other => Some(26.0 + 4.0 * other as f64 + chance.between(0, 3) as f64),
    };
    let pair = matches!(AREAS[area].code, "HP" | "MB");
    let kinds: &[RailKind] = match AREAS[area].code {
        "IN" | "PW" => &[RailKind::Head, RailKind::Extended, RailKind::OnePiece],
        "PF" | "RM" => &[RailKind::Head, RailKind::Compact, RailKind::IntrinsicallySafe],
        "EL" => &[RailKind::Head, RailKind::OnePiece, RailKind::Compact],
        _ => &[RailKind::Head, RailKind::Compact, RailKind::Extended],
    };
    let rails = kinds
        .iter()
        .enumerate()
        .map(|(rail, kind)| kind.lay(&address, rail, pair, at, chance))
        .collect();
    let thing = AREAS[area].things[(at / AREAS.len()) % AREAS[area].things.len()];
    let title = format!("{}{}, main cabinet", thing[..1].to_uppercase(), &thing[1..]);
    Cabinet { address, area, title, temperature_c, rails }
}

#[derive(Clone, Copy)]
enum RailKind {
    Head,
    Compact,
    Extended,
    OnePiece,
    IntrinsicallySafe,
}

impl RailKind {
    fn title(self) -> &'static str {
        match self {
            Self::Head => "Supply, controller and fast signals",
            Self::Compact => "Compact bases",
            Self::Extended => "Extended bases, field wiring",
            Self::OnePiece => "One-piece modules",
            Self::IntrinsicallySafe => "Intrinsically safe signals",
        }
    }

    /// What stands before the first terminator, and what heads the bus.
    fn head(self, pair: bool, cabinet: usize) -> (&'static str, Vec<&'static str>) {
        match self {
            Self::Head if pair => ("MP-PS10", vec!["MP-CP2R", "MP-CP2R"]),
            Self::Head => {
                let controller = ["MP-CP2", "MP-CP1", "MP-CP2", "MP-CP3"][cabinet % 4];
                ("MP-PS05", vec![controller])
            }
            Self::IntrinsicallySafe => ("MP-PSI2", vec!["MP-BC2"]),
            _ => ("MP-PS03", vec!["MP-BC1"]),
        }
    }

    fn choices(self) -> &'static [&'static str] {
        match self {
            Self::Head | Self::Compact => COMPACT,
            Self::Extended => EXTENDED,
            Self::OnePiece => ONE_PIECE,
            Self::IntrinsicallySafe => INTRINSICALLY_SAFE,
        }
    }

    fn lay(
        self,
        cabinet: &str,
        rail: usize,
        pair: bool,
        number: usize,
        chance: &mut Chance,
    ) -> Rail {
        let address = format!("{cabinet}.{}", rail + 1);
        let (supply, heads) = self.head(pair, number);
        let mut layout = Layout { address, x_mm: 0.0, slots: Vec::new(), items: Vec::new() };
        let terminator =
            if matches!(self, Self::IntrinsicallySafe) { "MP-TRM2" } else { "MP-TRM1" };
        layout.item("end_support", "MP-ENS1", 8.0);
        layout.slot(model(supply), "none", "essential");
        layout.item("terminator", terminator, 10.0);
        for head in heads {
            layout.slot(model(head), "inner", "vital");
        }
        while layout.slots.len() < self.room() {
            let part_no: &str = chance.one::<&str>(self.choices());
            let next = model(part_no);
            if layout.x_mm + next.width_mm + 10.0 + 24.0 + 8.0 > RAIL_LENGTH_MM {
                break;
            }
            let criticality = *chance.one(&["vital", "essential", "essential", "desirable"]);
            layout.slot(next, "inner", criticality);
            if let Some(slot) = layout.slots.last_mut() {
                slot.reserve = chance.happens(25);
            }
        }
        layout.ends(pair && matches!(self, Self::Head));
        layout.item("terminator", terminator, 10.0);
        layout.item("blank", "MP-BLK24", 24.0);
        layout.item("end_support", "MP-ENS1", 8.0);
        let Layout { address, slots, items, .. } = layout;
        let (y_mm, links) = (350 + 450 * rail as u32, Links::default());
        Rail { address, y_mm, title: self.title(), slots, items, links }
    }

    /// How many slots a rail gets at most.
    fn room(self) -> usize {
        match self {
            Self::Compact | Self::Head => 16,
            _ => 14,
        }
    }
}

/// A rail that fills from left to right.
struct Layout {
    address: String,
    x_mm: f64,
    slots: Vec<Slot>,
    items: Vec<Item>,
}

impl Layout {
    fn item(&mut self, kind: &'static str, model: &'static str, width_mm: f64) {
        self.items.push(Item { x_mm: self.x_mm, width_mm, kind, model });
        self.x_mm += width_mm;
    }

    fn slot(&mut self, model: &'static Model, bus: &'static str, criticality: &'static str) {
        self.slots.push(Slot {
            address: format!("{}.{:02}", self.address, self.slots.len() + 1),
            x_mm: self.x_mm,
            model,
            bus,
            partner: None,
            criticality,
            reserve: false,
        });
        self.x_mm += model.width_mm;
    }

    /// Marks the two ends of the bus, which begins after the supply, and the redundant pair.
    fn ends(&mut self, pair: bool) {
        if let Some(first) = self.slots.get_mut(1) {
            first.bus = "end";
        }
        if let Some(last) = self.slots.last_mut() {
            last.bus = "end";
        }
        if pair {
            let (left, right) = (format!("{}.02", self.address), format!("{}.03", self.address));
            self.slots[1].partner = Some(right);
            self.slots[2].partner = Some(left);
        }
    }
}

const COMPACT: &[&str] = &[
    "MP-AI08-C",
    "MP-AI08-C",
    "MP-AI08-C",
    "MP-AI16-C",
    "MP-AO04-C",
    "MP-AO08-C",
    "MP-DI16-C",
    "MP-DI16-C",
    "MP-DI16-C",
    "MP-DI32-C",
    "MP-DO16-C",
    "MP-DO16-C",
    "MP-DO08R-C",
    "MP-TC08-C",
    "MP-RT08-C",
    "MP-FI04-C",
    "MP-VI02-C",
    "MP-SC02-C",
];
const EXTENDED: &[&str] =
    &["MP-AI08-E", "MP-AI08-E", "MP-AO08-E", "MP-DI16-E", "MP-DO16-E", "MP-DO08R-E", "MP-RT08-E"];
const ONE_PIECE: &[&str] = &["MP-DI16-P", "MP-DO16-P", "MP-AI04-P", "MP-AO02-P", "MP-MB1"];
const INTRINSICALLY_SAFE: &[&str] =
    &["MP-AI04-IS", "MP-AI04-IS", "MP-AO04-IS", "MP-DI08-IS", "MP-DO04-IS", "MP-RT04-IS"];
