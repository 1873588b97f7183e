use crate::PaperRefusal;

/// A sheet or roll of labels, named by its measures.
///
/// All measures in mm. On a roll each label is a page of its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetFormat {
    pub name: &'static str,
    pub page_width_mm: f64,
    pub page_height_mm: f64,
    pub label_width_mm: f64,
    pub label_height_mm: f64,
    pub columns: usize,
    pub rows: usize,
    /// Left edge of the first label from the left edge of the page.
    pub left_mm: f64,
    /// Top edge of the first label from the top edge of the page.
    pub top_mm: f64,
    /// From the left edge of one label to the left edge of the next.
    pub pitch_x_mm: f64,
    /// From the top edge of one label to the top edge of the next.
    pub pitch_y_mm: f64,
}

impl SheetFormat {
    /// Finds a format by its name.
    ///
    /// Fails with the list of known names.
    pub fn named(name: &str) -> Result<&'static Self, PaperRefusal> {
        FORMATS.iter().find(|format| format.name == name).ok_or_else(|| {
            let known: Vec<_> = FORMATS.iter().map(|format| format.name).collect();
            PaperRefusal::UnknownFormat { name: name.to_owned(), known: known.join(", ") }
        })
    }

    /// Returns how many labels one page holds.
    pub fn places(&self) -> usize {
        self.columns * self.rows
    }

    /// Returns left and top edge (mm) of a label; `index` counts from 0, row by row.
    pub(crate) fn corner_mm(&self, index: usize) -> (f64, f64) {
        let column = (index % self.columns) as f64;
        let row = (index / self.columns) as f64;
        (self.left_mm + column * self.pitch_x_mm, self.top_mm + row * self.pitch_y_mm)
    }
}

/// A grid centred on its page, with gaps only between columns.
const fn grid(
    name: &'static str,
    page_mm: (f64, f64),
    (columns, rows): (usize, usize),
    label_mm: (f64, f64),
    gap_x_mm: f64,
) -> SheetFormat {
    let pitch_x_mm = label_mm.0 + gap_x_mm;
    let used_x_mm = pitch_x_mm * (columns as f64 - 1.0) + label_mm.0;
    let used_y_mm = label_mm.1 * rows as f64;
    SheetFormat {
        name,
        page_width_mm: page_mm.0,
        page_height_mm: page_mm.1,
        label_width_mm: label_mm.0,
        label_height_mm: label_mm.1,
        columns,
        rows,
        left_mm: (page_mm.0 - used_x_mm) / 2.0,
        top_mm: (page_mm.1 - used_y_mm) / 2.0,
        pitch_x_mm,
        pitch_y_mm: label_mm.1,
    }
}

const fn roll(name: &'static str, width_mm: f64, height_mm: f64) -> SheetFormat {
    grid(name, (width_mm, height_mm), (1, 1), (width_mm, height_mm), 0.0)
}

/// ISO 216 A4.
const A4_MM: (f64, f64) = (210.0, 297.0);
/// ANSI/ASME Y14.1 size A, 8.5 x 11 inches.
const LETTER_MM: (f64, f64) = (215.9, 279.4);

/// Every known format. The grids are common practice, no source: sheets of one grid differ by
/// a few tenths of a millimetre, which is what offset and scale are for.
pub const FORMATS: [SheetFormat; 13] = [
    grid("a4-70x37-24", A4_MM, (3, 8), (70.0, 37.0), 0.0),
    grid("a4-64x34-24", A4_MM, (3, 8), (63.5, 33.9), 2.5),
    grid("a4-52x21-56", A4_MM, (4, 14), (52.5, 21.2), 0.0),
    grid("a4-46x21-48", A4_MM, (4, 12), (45.7, 21.2), 2.6),
    grid("a4-38x21-65", A4_MM, (5, 13), (38.1, 21.2), 2.5),
    grid("a4-25x10-189", A4_MM, (7, 27), (25.4, 10.0), 2.5),
    grid("letter-102x51-10", LETTER_MM, (2, 5), (101.6, 50.8), 4.8),
    grid("letter-67x25-30", LETTER_MM, (3, 10), (66.7, 25.4), 3.1),
    grid("letter-44x13-80", LETTER_MM, (4, 20), (44.5, 12.7), 7.6),
    roll("roll-25x13", 25.0, 13.0),
    roll("roll-30x15", 30.0, 15.0),
    roll("roll-50x25", 50.0, 25.0),
    roll("roll-100x50", 100.0, 50.0),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_grid_lies_on_its_page() {
        for format in &FORMATS {
            let (left, top) = format.corner_mm(format.places() - 1);
            assert!(format.left_mm >= -1e-9 && format.top_mm >= -1e-9, "{}", format.name);
            assert!(left + format.label_width_mm <= format.page_width_mm + 1e-9, "{}", format.name);
            assert!(
                top + format.label_height_mm <= format.page_height_mm + 1e-9,
                "{}",
                format.name
            );
            assert!(format.name.ends_with(&format.places().to_string()) || format.places() == 1);
        }
    }

    #[test]
    fn an_unknown_name_is_answered_with_the_known_ones() {
        let said = SheetFormat::named("a4-1x1-9").unwrap_err().to_string();
        assert!(said.contains("a4-70x37-24") && said.contains("roll-30x15"), "{said}");
    }
}
