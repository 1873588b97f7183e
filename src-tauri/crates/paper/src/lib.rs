//! Pages of paper: plain structs in, PDF bytes out.
//!
//! Nothing here reads a clock, a file or the store: equal input gives equal bytes.

mod canvas;
mod document;
mod door;
mod effects;
mod flow;
mod fonts;
mod glyphs;
mod label;
mod lineup;
mod readiness;
mod refusal;
mod sheet_format;
mod swap;
mod symbol;
mod table;
mod visit_sheet;
mod visits;

pub use door::{DoorLabel, DoorRail, DoorSheet, DoorSlot, door_sheet};
pub use effects::{EffectRow, EffectsSheet, Section, effects_sheet};
pub use flow::PageSize;
pub use label::{
    LabelDesign, LabelWish, Measured, Placed, Printing, Row, SheetLabel, design, label_sheet,
    lay_out, test_page,
};
pub use lineup::{DrawnItem, DrawnRail, LineupSheet, Look, lineup_sheet};
pub use readiness::{MemoryLine, ReadinessSheet, readiness_sheet};
pub use refusal::PaperRefusal;
pub use sheet_format::{FORMATS, SheetFormat};
pub use swap::{LoopEffect, ScanLabel, Severity, SwapFinding, SwapSheet, SwapStep, swap_sheet};
pub use symbol::Symbol;
pub use visit_sheet::{SheetChange, VisitSheet, visit_sheet};
pub use visits::{BatteryChange, BatteryList, CabinetVisit, battery_list};
