/// What the catalogue says of a model as a thing on a rail, for the check of a line-up.
///
/// Everything may be missing: a rule that needs a figure which is not there says so.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OnRail {
    /// Buses that it sits on, or that it closes where it is a terminator.
    pub buses: Vec<String>,
    /// Buses that it closes at its own end without a terminator beside it.
    pub terminates: Vec<String>,
    /// Units that a bus may have which it heads.
    pub bus_units_max: Option<u32>,
    /// Current drawn from the supply of the bus, mA.
    pub bus_current_ma: Option<f64>,
    /// What it delivers to a bus that it heads, mA.
    pub bus_supply_ma: Option<f64>,
    /// Current drawn at 24 V as it starts, mA.
    pub inrush_ma: Option<f64>,
    /// Lowest supply voltage at which it works, V.
    pub min_voltage_v: Option<f64>,
    /// Resistance that it puts in the way of what stands behind it, out and back, mΩ.
    pub through_mohm: Option<f64>,
    /// Highest temperature of the air around it, °C.
    pub max_ambient_c: Option<f64>,
    /// Distance that its intrinsically safe terminals keep to others, mm.
    pub safe_distance_mm: Option<f64>,
    /// What a power supply delivers while units start, mA.
    pub supply_peak_ma: Option<f64>,
    /// Output voltage of a power supply, V.
    pub supply_v: Option<f64>,
    /// Temperature from which a power supply delivers less, °C.
    pub derating_from_c: Option<f64>,
    /// What it loses with each kelvin above, per cent of its rating.
    pub derating_pct_k: Option<f64>,
    /// Which bases a power supply feeds.
    pub feeds: Option<Feeds>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Feeds {
    Standard,
    /// Only intrinsically safe bases and what heads their bus.
    IntrinsicallySafe,
}
