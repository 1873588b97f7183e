use super::designation::{DesignationRefusal, designation};

/// Why a designation gives no capacity.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CapacityRefusal {
    #[error(
        "no typical capacity is known of {0:?}: state capacity_mah in the catalogue, from the \
         maker's data sheet"
    )]
    Unknown(String),
    #[error(transparent)]
    Designation(#[from] DesignationRefusal),
}

/// Returns the smallest and the largest capacity, mAh, that makers commonly state for a cell of this
/// IEC 60086 designation.
///
/// Fails for a text that is no designation and for one that the table lacks: then the catalogue must
/// state the capacity.
///
/// Source: common practice, from memory; a designation fixes system and measures, not the capacity.
pub fn typical_capacity_mah(text: &str) -> Result<(f64, f64), CapacityRefusal> {
    let code = text.trim().to_ascii_uppercase();
    let known = TYPICAL.iter().find(|(names, ..)| names.contains(&code.as_str()));
    if let Some((_, least_mah, most_mah)) = known {
        return Ok((*least_mah, *most_mah));
    }
    designation(&code)?;
    Err(CapacityRefusal::Unknown(text.to_owned()))
}

/// Designations of one cell, and the smallest and largest capacity commonly stated, mAh.
const TYPICAL: [(&[&str], f64, f64); 21] = [
    (&["CR2032"], 220.0, 235.0),
    (&["CR2025"], 150.0, 170.0),
    (&["CR2016"], 75.0, 90.0),
    (&["CR2450"], 550.0, 620.0),
    (&["CR2477"], 1000.0, 1000.0),
    (&["CR2430"], 270.0, 290.0),
    (&["CR1220"], 35.0, 40.0),
    (&["CR1632"], 120.0, 140.0),
    (&["CR14250", "CR1/2AA"], 850.0, 950.0),
    (&["CR17345", "CR123A"], 1400.0, 1550.0),
    (&["CR17450"], 2200.0, 2400.0),
    (&["BR2032"], 190.0, 195.0),
    (&["BR2/3A"], 1200.0, 1200.0),
    (&["ER14250"], 1200.0, 1200.0),
    (&["ER14335"], 1650.0, 1650.0),
    (&["ER14505"], 2400.0, 2700.0),
    (&["ER17505"], 3600.0, 3600.0),
    (&["ER26500"], 7700.0, 8500.0),
    (&["ER34615"], 19000.0, 19000.0),
    (&["LR6"], 2500.0, 2900.0),
    (&["SR44"], 150.0, 175.0),
];
