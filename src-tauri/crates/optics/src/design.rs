//! How large a symbol is in print, and from how far it is read.

/// Light modules around a symbol on each side. Source: ISO/IEC 18004, quiet zone of QR codes.
pub const QUIET_MODULES: u32 = 4;

/// A symbol is read from about so many times its width. Common practice, no source.
pub const DISTANCE_PER_WIDTH: f64 = 10.0;

/// Modules a side of a symbol of a version, without the quiet zone.
pub fn side_modules(version: u32) -> u32 {
    17 + 4 * version
}

/// Width of a symbol without its quiet zone (mm).
pub fn symbol_mm(version: u32, module_mm: f64) -> f64 {
    f64::from(side_modules(version)) * module_mm
}

/// Width of a symbol with the quiet zone on both sides (mm).
pub fn with_quiet_mm(version: u32, module_mm: f64) -> f64 {
    f64::from(side_modules(version) + 2 * QUIET_MODULES) * module_mm
}

/// Distance from which a symbol of a width is read (mm).
pub fn distance_mm(symbol_mm: f64) -> f64 {
    symbol_mm * DISTANCE_PER_WIDTH
}

/// Whole dots of a printer in a module that shall not be larger than wanted.
///
/// A module of broken dots is printed wider here and narrower there, which readers take for noise.
pub fn module_dots(dpi: u16, wanted_mm: f64) -> u32 {
    // A whole number of dots given in mm comes out a little below itself.
    (wanted_mm * f64::from(dpi) / 25.4 + 1e-9).floor().max(0.0) as u32
}

/// Width of so many dots (mm).
pub fn dots_mm(dpi: u16, dots: u32) -> f64 {
    f64::from(dots) * 25.4 / f64::from(dpi)
}
