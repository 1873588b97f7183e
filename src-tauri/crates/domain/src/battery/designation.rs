/// What the designation of a round cell says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Designation {
    /// Electrodes, such as `Li/MnO2`.
    pub system: &'static str,
    pub nominal_v: f64,
    /// Voltage at which it counts as empty.
    pub end_point_v: f64,
    /// Rounded down to whole mm: a 24 is 24.5 mm wide.
    pub diameter_mm: f64,
    pub height_mm: f64,
}

/// Why a designation says nothing of ours.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DesignationRefusal {
    #[error(
        "{0:?} is not the designation of a round cell with its measures, such as CR2032: a letter \
         for the system, R, and three to five digits"
    )]
    Form(String),
    #[error("{text:?} begins with {letter:?}, which is none of the systems C, B, E, F, G, L, P, S")]
    System { text: String, letter: char },
}

/// Reads a designation such as `CR2032`: system, R for round, diameter in mm, height in tenths.
///
/// Three digits are one for the diameter and two for the height, four are two and two, five are two
/// and three. Codes of one or two digits (LR6, SR44) name a size by number and are refused, as are
/// forms such as CR1/2AA.
///
/// Source: IEC 60086-1 and IEC 60086-3 as described on public pages; the voltages of E and F are
/// from memory.
pub fn designation(text: &str) -> Result<Designation, DesignationRefusal> {
    let form = || DesignationRefusal::Form(text.to_owned());
    let code = text.trim().to_ascii_uppercase();
    let mut characters = code.chars();
    let (Some(letter), Some('R')) = (characters.next(), characters.next()) else {
        return Err(form());
    };
    let digits = characters.as_str();
    let tall = match digits.len() {
        3 | 4 => 2,
        5 => 3,
        _ => return Err(form()),
    };
    if !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(form());
    }
    let (wide, tall) = digits.split_at(digits.len() - tall);
    let (Ok(diameter_mm), Ok(tenths)) = (wide.parse::<f64>(), tall.parse::<f64>()) else {
        return Err(form());
    };
    let (_, system, nominal_v, end_point_v) =
        SYSTEMS
            .iter()
            .find(|(known, ..)| *known == letter)
            .ok_or_else(|| DesignationRefusal::System { text: text.to_owned(), letter })?;
    Ok(Designation {
        system,
        nominal_v: *nominal_v,
        end_point_v: *end_point_v,
        diameter_mm,
        height_mm: tenths / 10.0,
    })
}

/// Letter, electrodes, nominal voltage and end-point voltage of each system.
const SYSTEMS: [(char, &str, f64, f64); 8] = [
    ('B', "Li/CFx", 3.0, 2.0),
    ('C', "Li/MnO2", 3.0, 2.0),
    ('E', "Li/SOCl2", 3.6, 2.0),
    ('F', "Li/FeS2", 1.5, 0.9),
    ('G', "Li/CuO", 1.5, 1.2),
    ('L', "Zn/MnO2", 1.5, 1.0),
    ('P', "Zn/O2", 1.4, 1.2),
    ('S', "Zn/Ag2O", 1.55, 1.2),
];
