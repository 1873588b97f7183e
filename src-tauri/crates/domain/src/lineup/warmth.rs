use super::{Cabinet, effective_area_m2, heat_rise_k};

/// What a cabinet gives off, and how warm that makes it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Warmth {
    /// Sum of the known heat, W.
    pub heat_w: f64,
    /// Surface that counts, m²; none where measures or stand are not recorded.
    pub area_m2: Option<f64>,
    /// Mean inside with the room at its warmest, °C; none where the area or the room is not known.
    pub inside_c: Option<f64>,
    /// The unit that bears the least, and what it bears, °C.
    pub least: Option<(String, f64)>,
    /// Units whose heat is not known, and measures of the cabinet that are missing.
    pub unknown: Vec<String>,
}

/// Sums the heat of all units of a cabinet, empty slots with the model they are kept for.
///
/// `coefficient_w_m2_k` is commonly [`super::COEFFICIENT_W_M2_K`]. Measures of the cabinet are
/// taken as outer ones.
pub fn warmth(cabinet: &Cabinet, coefficient_w_m2_k: f64) -> Warmth {
    let mut of = Warmth::default();
    for rail in &cabinet.rails {
        for (item, _) in rail.places() {
            let model = item.meant();
            match model.and_then(|model| model.heat_w) {
                Some(heat_w) => of.heat_w += heat_w,
                None => of.unknown.push(format!("the heat of {}", rail.name_of(item))),
            }
            let bears_c = model.and_then(|model| model.on_rail.max_ambient_c);
            if let Some(bears_c) = bears_c
                && of.least.as_ref().is_none_or(|(_, least_c)| bears_c < *least_c)
            {
                of.least = Some((rail.name_of(item), bears_c));
            }
        }
    }
    let body = cabinet.body;
    match (body.depth_mm, body.stand) {
        (Some(depth_mm), Some(stand)) => {
            let (height_m, width_m) = (body.height_mm / 1000.0, body.width_mm / 1000.0);
            of.area_m2 = Some(effective_area_m2(height_m, width_m, depth_mm / 1000.0, stand));
        }
        (None, _) => of.unknown.push("the depth of the cabinet".to_owned()),
        (_, None) => of.unknown.push("how the cabinet stands".to_owned()),
    }
    if body.room_c.is_none() {
        of.unknown.push("how warm the room gets".to_owned());
    }
    of.inside_c = of
        .area_m2
        .zip(body.room_c)
        .map(|(area_m2, room_c)| room_c + heat_rise_k(of.heat_w, area_m2, coefficient_w_m2_k));
    of
}
