use crate::PaperRefusal;

/// How a sheet goes through the printer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Printing {
    /// Resolution in dots per inch; modules are whole dots of it.
    pub dpi: u16,
    /// First place to use on the first sheet, from 1, row by row: for sheets begun before.
    pub start_position: usize,
    /// Moves every label to the right (mm).
    pub offset_x_mm: f64,
    /// Moves every label down (mm).
    pub offset_y_mm: f64,
    /// Multiplies the distances of the labels from the left edge, for printers that shrink or
    /// stretch the page. Modules stay whole dots.
    pub scale_x: f64,
    /// Multiplies the distances of the labels from the top edge: the direction of the paper's
    /// way, where rollers wear.
    pub scale_y: f64,
    /// Distance from which every symbol must be read (mm); 0 where none is asked.
    pub distance_mm: f64,
}

impl Default for Printing {
    fn default() -> Self {
        Self {
            dpi: 600,
            start_position: 1,
            offset_x_mm: 0.0,
            offset_y_mm: 0.0,
            scale_x: 1.0,
            scale_y: 1.0,
            distance_mm: 0.0,
        }
    }
}

impl Printing {
    /// Fails when the resolution is none that printers have, or a setting is out of range.
    pub(super) fn check(&self) -> Result<(), PaperRefusal> {
        check_dpi(self.dpi)?;
        check_distance(self.distance_mm)?;
        self.check_correction()
    }

    /// Fails when an offset is beyond 20 mm or a scale beyond a tenth: such a printer needs other
    /// help.
    pub(super) fn check_correction(&self) -> Result<(), PaperRefusal> {
        let settings = [
            ("offset to the right in mm", self.offset_x_mm, -20.0, 20.0),
            ("offset down in mm", self.offset_y_mm, -20.0, 20.0),
            ("scale across", self.scale_x, 0.9, 1.1),
            ("scale down", self.scale_y, 0.9, 1.1),
        ];
        for (what, value, lowest, highest) in settings {
            if !(lowest..=highest).contains(&value) {
                return Err(PaperRefusal::Adjustment { what, value, lowest, highest });
            }
        }
        Ok(())
    }

    /// Where a point of the page is put so that it comes out where it is meant (mm).
    pub(super) fn corrected(&self, (x_mm, y_mm): (f64, f64)) -> (f64, f64) {
        (x_mm * self.scale_x + self.offset_x_mm, y_mm * self.scale_y + self.offset_y_mm)
    }

    pub(super) fn dots(&self, mm: f64) -> i64 {
        (mm / 25.4 * f64::from(self.dpi)).round() as i64
    }

    pub(super) fn mm(&self, dots: i64) -> f64 {
        dots as f64 * 25.4 / f64::from(self.dpi)
    }
}

pub(super) fn check_dpi(dpi: u16) -> Result<(), PaperRefusal> {
    if (150..=1200).contains(&dpi) { Ok(()) } else { Err(PaperRefusal::Resolution { dpi }) }
}

pub(super) fn check_distance(distance_mm: f64) -> Result<(), PaperRefusal> {
    // Three metres need a symbol of 300 mm, which no sheet has.
    let known = (0.0..=3000.0).contains(&distance_mm);
    if known { Ok(()) } else { Err(PaperRefusal::Distance { distance_mm }) }
}
