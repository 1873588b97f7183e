//! Models for the tests: each begins as one of which the catalogue says nothing.

use super::{Lifecycle, Model, ModelKind, OnRail, PartNo};

/// A model of which only name, kind and width (24 mm) are known; a test adds the facts that it is
/// about.
pub(crate) fn made(part_no: &str, kind: ModelKind) -> Model {
    Model {
        part_no: PartNo::parse(part_no).unwrap(),
        title: String::new(),
        kind,
        base: None,
        key: None,
        width_mm: 24.0,
        channels: 0,
        current_24v_ma: None,
        supply_rating_ma: None,
        heat_w: None,
        intrinsically_safe: false,
        entity: None,
        battery: None,
        cell: None,
        failure_rate_fit: None,
        mtbf_h: None,
        parts_count: Vec::new(),
        failure_rate_at_c: None,
        failure_activation_ev: None,
        failure_rate_worth: None,
        family: None,
        lead_time_d: None,
        lead_time_spread_d: None,
        price_cents: None,
        pack_size: None,
        min_order: None,
        price_breaks: Vec::new(),
        shelf_life_y: None,
        last_order_on: None,
        lifecycle: Lifecycle::Active,
        substitutes: Vec::new(),
        revisions: Vec::new(),
        maker_codes: Vec::new(),
        code_patterns: Vec::new(),
        repairable: false,
        turn_round_d: None,
        repair_yield_pct: None,
        repair_price_cents: None,
        counted: false,
        on_rail: OnRail::default(),
    }
}
