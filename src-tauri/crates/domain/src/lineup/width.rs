/// How much of a rail is taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RailFit {
    pub used_mm: f64,
    /// Below zero where the items are too wide.
    pub left_mm: f64,
    /// Items without a usable width, which the sum leaves out.
    pub unknown: usize,
    /// Whether every width is known and their sum is no more than the rail.
    pub fits: bool,
}

/// Adds up the widths of everything on a rail of `rail_mm`, end supports included, mm.
pub fn rail_fit(rail_mm: f64, widths_mm: &[Option<f64>]) -> RailFit {
    let known = widths_mm.iter().flatten().filter(|width| width.is_finite() && **width >= 0.0);
    let unknown = widths_mm.len() - known.clone().count();
    let used_mm: f64 = known.sum();
    let left_mm = rail_mm - used_mm;
    // A tenth of a micrometre is noise of the sum.
    RailFit { used_mm, left_mm, unknown, fits: unknown == 0 && left_mm >= -1e-4 }
}

/// Returns how many items of one width go on a rail beside `ends_mm` of end supports, and what is
/// left, mm. None where a figure is no use.
pub fn equal_items(rail_mm: f64, item_mm: f64, ends_mm: f64) -> Option<(u64, f64)> {
    let room_mm = rail_mm - ends_mm;
    if !(room_mm.is_finite() && ends_mm >= 0.0 && item_mm > 0.0 && item_mm.is_finite()) {
        return None;
    }
    let items = (room_mm.max(0.0) / item_mm + 1e-9).floor();
    Some((items as u64, room_mm - items * item_mm))
}
