//! How pieces come back: by repair, or bought where they cannot be repaired.

use slotkeep_domain::model::Model;
use slotkeep_domain::spares::LeadTime;

/// How failed units come back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Repair {
    pub turn_round_d: f64,
    /// Share that comes back.
    pub yield_share: f64,
    /// The catalogue gives no yield: the usual one is taken.
    pub yield_assumed: bool,
}

/// Share of repairs that succeed where the catalogue gives none, per cent (a decision, no source).
const UNKNOWN_YIELD_PCT: f64 = 90.0;

impl Repair {
    pub fn of(model: &Model) -> Option<Self> {
        let turn_round_d = f64::from(model.turn_round_d.filter(|_| model.repairable)?);
        let yield_pct = model.repair_yield_pct.unwrap_or(UNKNOWN_YIELD_PCT);
        let yield_assumed = model.repair_yield_pct.is_none();
        Some(Self { turn_round_d, yield_share: yield_pct / 100.0, yield_assumed })
    }
}

/// By Palm's theorem only the mean time until a piece is there again counts, whichever way it comes.
pub(super) fn resupply(lead_time: LeadTime, repair: Option<Repair>) -> LeadTime {
    let Some(repair) = repair else { return lead_time };
    let bought = 1.0 - repair.yield_share;
    LeadTime {
        mean_d: repair.yield_share * repair.turn_round_d + bought * lead_time.mean_d,
        deviation_d: bought * lead_time.deviation_d,
    }
}
