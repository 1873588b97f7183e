use crate::place::SlotAddress;

/// A tag wired to one channel of a slot.
#[derive(Debug, Clone, PartialEq)]
pub struct Loop {
    pub tag: String,
    pub slot: SlotAddress,
    /// Channel on the unit, counted from 1.
    pub channel: u32,
    /// What it measures or moves, in words.
    pub service: String,
    /// What happens when its signal goes, in words.
    pub on_loss: Option<String>,
    /// Part of a safety function: extra clearance is needed.
    pub safety_function: bool,
    /// Field side of an intrinsically safe loop, from its certificate.
    pub entity: Option<EntityInput>,
}

/// Field side of an intrinsically safe loop (IEC 60079-25); unknown figures stay unknown.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EntityInput {
    pub ui_v: Option<f64>,
    pub ii_ma: Option<f64>,
    pub pi_mw: Option<f64>,
    pub ci_nf: Option<f64>,
    pub li_mh: Option<f64>,
    pub cable_m: Option<f64>,
}
