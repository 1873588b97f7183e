/// Heat that a painted steel cabinet gives off by natural cooling, W/(m²·K). Public worked
/// examples; common practice, no standard.
pub const COEFFICIENT_W_M2_K: f64 = 5.5;

/// How a cabinet stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stand {
    pub back_to_wall: bool,
    /// Sides with another cabinet beside, 0 to 2.
    pub neighbours: u8,
    pub top_covered: bool,
}

/// Returns the area that gives off heat of a cabinet with outer measures in m.
///
/// Each face counts with a factor: top 1.4 (covered 0.7), free side or front 0.9, side to a
/// neighbour or wall 0.5, floor 0.
///
/// Source: surface factors of IEC TR 60890 (from memory).
pub fn effective_area_m2(height_m: f64, width_m: f64, depth_m: f64, stand: Stand) -> f64 {
    let back = if stand.back_to_wall { 0.5 } else { 0.9 };
    let beside = f64::from(stand.neighbours.min(2));
    let sides = 0.5 * beside + 0.9 * (2.0 - beside);
    let top = if stand.top_covered { 0.7 } else { 1.4 };
    (0.9 + back) * width_m * height_m + sides * depth_m * height_m + top * width_m * depth_m
}

/// Returns how much warmer than the room a closed cabinet gets, K: P / (k·A).
///
/// `coefficient_w_m2_k` is commonly [`COEFFICIENT_W_M2_K`]. A mean of the whole inside: it is
/// hotter at the top.
///
/// Source: steady heat balance; the coefficient is common practice, not IEC TR 60890's curves.
pub fn heat_rise_k(heat_w: f64, area_m2: f64, coefficient_w_m2_k: f64) -> f64 {
    heat_w / (coefficient_w_m2_k * area_m2)
}

/// Returns the whole surface of a box with outer measures in m, all six faces, m².
pub fn box_area_m2(height_m: f64, width_m: f64, depth_m: f64) -> f64 {
    2.0 * (height_m * width_m + height_m * depth_m + width_m * depth_m)
}

/// Returns the area that keeps the rise at `rise_k`, m²: P / (k·ΔT). Source: as [`heat_rise_k`].
pub fn area_for_rise_m2(heat_w: f64, rise_k: f64, coefficient_w_m2_k: f64) -> f64 {
    heat_w / (coefficient_w_m2_k * rise_k)
}
