/// Resistivity of copper at 20 °C, Ω·mm²/m. Source: IEC 60028 (1/58).
const COPPER_OHM_MM2_M: f64 = 0.017241;
/// Its growth with each kelvin. Source: IEC 60028.
const COPPER_PER_K: f64 = 0.00393;

/// Returns the resistance of one metre of copper conductor of `area_mm2` at `conductor_c`, Ω.
pub fn copper_ohm_per_m(area_mm2: f64, conductor_c: f64) -> f64 {
    COPPER_OHM_MM2_M * (1.0 + COPPER_PER_K * (conductor_c - 20.0)) / area_mm2
}

/// Returns the voltage lost out and back along a two-wire direct-current line of `one_way_m`, V.
pub fn voltage_drop_v(current_a: f64, one_way_m: f64, ohm_per_m: f64) -> f64 {
    current_a * 2.0 * one_way_m * ohm_per_m
}
