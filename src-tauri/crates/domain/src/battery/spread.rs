/// How far the figures of a battery may be off: standard deviations.
///
/// Capacity, self-discharge and drains are taken as log-normal about the figure given, which is as
/// often exceeded as not, and each as independent of the others; the temperature as normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Per cent of the capacity.
    pub capacity_pct: f64,
    /// Per cent of the self-discharge at one temperature.
    pub self_discharge_pct: f64,
    /// Per cent of the drain with the cabinet powered.
    pub standby_pct: f64,
    /// Per cent of the drain without power.
    pub backup_pct: f64,
    /// Of the temperature of the cell, K. The same error is taken for the shelf, whose share of the
    /// loss is small.
    pub temperature_k: f64,
}

impl Spread {
    /// Every figure is exact.
    pub const NONE: Self = Self {
        capacity_pct: 0.0,
        self_discharge_pct: 0.0,
        standby_pct: 0.0,
        backup_pct: 0.0,
        temperature_k: 0.0,
    };

    /// What is taken where the catalogue states no spread. Common practice, no source.
    pub const USUAL: Self = Self {
        capacity_pct: 5.0,
        self_discharge_pct: 30.0,
        standby_pct: 15.0,
        backup_pct: 15.0,
        temperature_k: 2.0,
    };

    /// Each with its name and the most that is believed.
    pub(super) fn figures(&self) -> [(&'static str, f64, f64); 5] {
        [
            ("capacity_spread_pct", self.capacity_pct, 100.0),
            ("self_discharge_spread_pct", self.self_discharge_pct, 200.0),
            ("standby_spread_pct", self.standby_pct, 100.0),
            ("backup_spread_pct", self.backup_pct, 100.0),
            ("temperature_spread_k", self.temperature_k, 20.0),
        ]
    }

    pub(super) fn sound(&self) -> bool {
        self.figures().iter().all(|(_, figure, most)| (0.0..=*most).contains(figure))
    }
}

/// Standard deviation of the logarithm of a log-normal figure that spreads by so many per cent.
///
/// Source: variance of the log-normal distribution.
pub(super) fn log_spread(pct: f64) -> f64 {
    (pct / 100.0).powi(2).ln_1p().sqrt()
}
