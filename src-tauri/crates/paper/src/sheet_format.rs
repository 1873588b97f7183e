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

    /// Whether each label is a page of its own.
    pub fn is_roll(&self) -> bool {
        self.places() == 1
    }

    /// Returns how many labels one page holds.
    pub fn places(&self) -> usize {
        self.columns * self.rows
    }

    /// Returns left and top edge (mm) of a label; `index` counts from 0, row by row.
    pub fn corner_mm(&self, index: usize) -> (f64, f64) {
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

const fn inches(width: f64, height: f64) -> (f64, f64) {
    (width * 25.4, height * 25.4)
}

/// Every known format. The grids are common practice, from memory and without a source: sheets of
/// one grid differ by a few tenths of a millimetre, which is what offset and scale are for. Labels too small for
/// the symbol and a line that can be read (17.8 × 10 mm) are left out.
pub const FORMATS: [SheetFormat; 52] = [
    grid("a4-70x37-24", A4_MM, (3, 8), (70.0, 37.0), 0.0),
    grid("a4-105x148-4", A4_MM, (2, 2), (105.0, 148.5), 0.0),
    grid("a4-99x139-4", A4_MM, (2, 2), (99.1, 139.0), 2.5),
    grid("a4-105x74-8", A4_MM, (2, 4), (105.0, 74.0), 0.0),
    grid("a4-99x68-8", A4_MM, (2, 4), (99.1, 67.7), 2.5),
    grid("a4-105x57-10", A4_MM, (2, 5), (105.0, 57.0), 0.0),
    grid("a4-99x57-10", A4_MM, (2, 5), (99.1, 57.0), 2.5),
    grid("a4-105x48-12", A4_MM, (2, 6), (105.0, 48.0), 0.0),
    grid("a4-99x42-12", A4_MM, (2, 6), (99.1, 42.3), 2.5),
    grid("a4-64x72-12", A4_MM, (3, 4), (63.5, 72.0), 2.5),
    grid("a4-105x42-14", A4_MM, (2, 7), (105.0, 42.3), 0.0),
    grid("a4-99x38-14", A4_MM, (2, 7), (99.1, 38.1), 2.5),
    grid("a4-105x37-16", A4_MM, (2, 8), (105.0, 37.0), 0.0),
    grid("a4-99x34-16", A4_MM, (2, 8), (99.1, 33.9), 2.5),
    grid("a4-64x47-18", A4_MM, (3, 6), (63.5, 46.6), 2.5),
    grid("a4-70x42-21", A4_MM, (3, 7), (70.0, 42.3), 0.0),
    grid("a4-64x38-21", A4_MM, (3, 7), (63.5, 38.1), 2.5),
    grid("a4-70x36-24", A4_MM, (3, 8), (70.0, 36.0), 0.0),
    grid("a4-64x34-24", A4_MM, (3, 8), (63.5, 33.9), 2.5),
    grid("a4-70x32-27", A4_MM, (3, 9), (70.0, 32.0), 0.0),
    grid("a4-64x30-27", A4_MM, (3, 9), (63.5, 29.6), 2.5),
    grid("a4-70x30-30", A4_MM, (3, 10), (70.0, 29.7), 0.0),
    grid("a4-70x25-33", A4_MM, (3, 11), (70.0, 25.4), 0.0),
    grid("a4-53x30-40", A4_MM, (4, 10), (52.5, 29.7), 0.0),
    grid("a4-49x25-40", A4_MM, (4, 10), (48.5, 25.4), 0.0),
    grid("a4-49x25-44", A4_MM, (4, 11), (48.5, 25.4), 0.0),
    grid("a4-46x21-48", A4_MM, (4, 12), (45.7, 21.2), 2.6),
    grid("a4-52x21-56", A4_MM, (4, 14), (52.5, 21.2), 0.0),
    grid("a4-38x21-65", A4_MM, (5, 13), (38.1, 21.2), 2.5),
    grid("a4-36x17-80", A4_MM, (5, 16), (35.6, 16.9), 2.5),
    grid("a4-46x11-84", A4_MM, (4, 21), (46.0, 11.1), 2.6),
    grid("a4-25x10-189", A4_MM, (7, 27), (25.4, 10.0), 2.5),
    grid("letter-102x85-6", LETTER_MM, (2, 3), inches(4.0, 10.0 / 3.0), 4.8),
    grid("letter-102x51-10", LETTER_MM, (2, 5), inches(4.0, 2.0), 4.8),
    grid("letter-102x34-14", LETTER_MM, (2, 7), inches(4.0, 4.0 / 3.0), 4.8),
    grid("letter-102x25-20", LETTER_MM, (2, 10), inches(4.0, 1.0), 4.8),
    grid("letter-67x25-30", LETTER_MM, (3, 10), inches(2.625, 1.0), 3.2),
    grid("letter-44x17-60", LETTER_MM, (4, 15), inches(1.75, 2.0 / 3.0), 7.9),
    grid("letter-44x13-80", LETTER_MM, (4, 20), inches(1.75, 0.5), 7.9),
    roll("roll-25x13", 25.0, 13.0),
    roll("roll-25x25", 25.0, 25.0),
    roll("roll-30x15", 30.0, 15.0),
    roll("roll-38x19", 38.0, 19.0),
    // Tapes of 12, 18 and 24 mm, cut to length; the printed height stays inside the tape.
    roll("roll-40x12", 40.0, 12.0),
    roll("roll-50x18", 50.0, 18.0),
    roll("roll-60x24", 60.0, 24.0),
    roll("roll-50x25", 50.0, 25.0),
    roll("roll-50x50", 50.0, 50.0),
    roll("roll-57x32", 57.0, 32.0),
    roll("roll-62x29", 62.0, 29.0),
    roll("roll-100x50", 100.0, 50.0),
    roll("roll-102x152", 102.0, 152.0),
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
            let (across, down) = (format.label_width_mm, format.label_height_mm);
            let (kind, measures) = format.name.split_once('-').unwrap();
            let count =
                if format.is_roll() { String::new() } else { format!("-{}", format.places()) };
            // The name states the measures to the millimetre, rounded either way.
            let said = measures.strip_suffix(count.as_str()).unwrap().split_once('x').unwrap();
            let said = (said.0.parse::<f64>().unwrap(), said.1.parse::<f64>().unwrap());
            assert!((said.0 - across).abs() <= 0.51 && (said.1 - down).abs() <= 0.51, "{measures}");
            assert!(matches!(kind, "a4" | "letter" | "roll"), "{kind}");
        }
    }

    #[test]
    fn an_unknown_name_is_answered_with_the_known_ones() {
        let said = SheetFormat::named("a4-1x1-9").unwrap_err().to_string();
        assert!(said.contains("a4-70x37-24") && said.contains("roll-30x15"), "{said}");
    }
}
