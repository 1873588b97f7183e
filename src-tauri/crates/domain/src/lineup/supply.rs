/// Temperature from which a power supply delivers less, °C, where its data say nothing else.
/// Common practice, no source.
pub const DERATING_FROM_C: f64 = 60.0;

/// What it loses with each kelvin above, per cent of its rating. Common practice, no source.
pub const DERATING_PCT_K: f64 = 2.5;

/// A power supply against what hangs on it, mA.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SupplyBudget {
    /// At the cabinet's temperature.
    pub available_ma: f64,
    pub drawn_ma: f64,
    /// Below zero where it is too little.
    pub left_ma: f64,
    /// Loads without a usable current, which the sum leaves out.
    pub unknown: usize,
    /// Whether every load is known and the supply covers them.
    pub covers: bool,
}

/// Returns the current that a supply of `rating_ma` delivers at `cabinet_c`: its rating, less
/// `pct_k` per cent of it with each kelvin above `from_c`, and never below zero.
pub fn derated_ma(rating_ma: f64, cabinet_c: f64, from_c: f64, pct_k: f64) -> f64 {
    let above_k = (cabinet_c - from_c).max(0.0);
    rating_ma * (1.0 - above_k * pct_k / 100.0).max(0.0)
}

/// Sets the loads on a rail against `available_ma` of their supply; redundant supplies count as one.
pub fn supply_budget(available_ma: f64, loads_ma: &[Option<f64>]) -> SupplyBudget {
    let known = loads_ma.iter().flatten().filter(|load| load.is_finite() && **load >= 0.0);
    let unknown = loads_ma.len() - known.clone().count();
    let drawn_ma: f64 = known.sum();
    let left_ma = available_ma - drawn_ma;
    SupplyBudget {
        available_ma,
        drawn_ma,
        left_ma,
        unknown,
        covers: unknown == 0 && left_ma >= 0.0,
    }
}
