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
    /// What kind of thing that is.
    pub effect: Option<LossEffect>,
    /// What operations must do before its signal goes.
    pub clearance: Option<Clearance>,
    /// Part of a safety function: extra clearance is needed.
    pub safety_function: bool,
    /// Field side of an intrinsically safe loop, from its certificate.
    pub entity: Option<EntityInput>,
}

/// What happens in the plant when the signal of a loop goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LossEffect {
    /// Something stops: a drive, a train, a sequence.
    Trip,
    ValveOpens,
    ValveCloses,
    ValveStays,
    /// The last value goes on being used.
    ValueHeld,
    /// Somebody is told, and nothing else.
    AlarmOnly,
}

/// What operations do with a loop before its signal goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Clearance {
    /// Put the controller in manual.
    Manual,
    /// Bypass the trip or interlock, by the rules of the site.
    Bypass,
    /// Announce it to the control room.
    Announce,
    /// Nothing is needed.
    Nothing,
}

/// Field side of an intrinsically safe loop (IEC 60079-25); unknown figures stay unknown.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EntityInput {
    pub ui_v: Option<f64>,
    pub ii_ma: Option<f64>,
    pub pi_mw: Option<f64>,
    pub ci_nf: Option<f64>,
    pub li_mh: Option<f64>,
    /// Length of the cable, m.
    pub cable_m: Option<f64>,
    /// Capacitance of the whole cable, nF, where it is known better than by its length.
    pub cable_nf: Option<f64>,
    /// Inductance of the whole cable, mH, likewise.
    pub cable_mh: Option<f64>,
    /// Inductance of the cable by its resistance, µH/Ω, likewise.
    pub cable_uh_ohm: Option<f64>,
}
