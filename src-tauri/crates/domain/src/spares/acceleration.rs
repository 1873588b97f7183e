/// Boltzmann constant, eV/K (exact in the SI of 2019, here to ten digits).
const BOLTZMANN_EV_K: f64 = 8.617333262e-5;
const ZERO_C_IN_K: f64 = 273.15;

/// Returns how many times faster an item ages at `stress_c` than at `use_c`, °C, for an activation
/// energy in eV. Not a number at or below absolute zero.
///
/// Source: Arrhenius model, NIST/SEMATECH e-Handbook of Statistical Methods, section 8.1.5.1, which
/// rounds to 273.16 K and 8.617e-5 eV/K, and so differs in the third digit.
pub fn acceleration(activation_ev: f64, use_c: f64, stress_c: f64) -> f64 {
    let (use_k, stress_k) = (use_c + ZERO_C_IN_K, stress_c + ZERO_C_IN_K);
    if use_k <= 0.0 || stress_k <= 0.0 {
        return f64::NAN;
    }
    (activation_ev / BOLTZMANN_EV_K * (1.0 / use_k - 1.0 / stress_k)).exp()
}
