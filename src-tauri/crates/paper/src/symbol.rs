use crate::PaperRefusal;

/// Quiet zone on each side of a symbol, in modules.
///
/// Source: ISO/IEC 18004, quiet zone of a QR code symbol.
pub(crate) const QUIET_MODULES: usize = 4;

/// A square matrix symbol as it is printed, without its quiet zone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Symbol {
    size: usize,
    modules: Vec<bool>,
}

/// A dark rectangle of a symbol, in modules from its upper left corner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct DarkRect {
    pub column: usize,
    pub row: usize,
    pub columns: usize,
    pub rows: usize,
}

impl Symbol {
    /// Takes the modules row by row from the upper left, `true` for dark.
    ///
    /// Fails when `modules` does not hold `size` x `size` values or is empty.
    pub fn new(size: usize, modules: Vec<bool>) -> Result<Self, PaperRefusal> {
        let needed = size.saturating_mul(size);
        if size == 0 || modules.len() != needed {
            return Err(PaperRefusal::SymbolShape { size, needed, given: modules.len() });
        }
        Ok(Self { size, modules })
    }

    /// Returns the modules on one side.
    pub fn size(&self) -> usize {
        self.size
    }

    /// Returns the modules row by row, `true` for dark.
    pub fn modules(&self) -> &[bool] {
        &self.modules
    }

    /// Returns the modules on one side with the quiet zone on both sides.
    pub(crate) fn size_with_quiet(&self) -> usize {
        self.size + 2 * QUIET_MODULES
    }

    fn dark(&self, column: usize, row: usize) -> bool {
        self.modules[row * self.size + column]
    }

    /// Covers the dark modules with few rectangles that do not overlap.
    ///
    /// A run of a row that stands unchanged in the next rows becomes one rectangle: fewer
    /// bytes, and no seams between rows in viewers that smooth edges.
    pub(crate) fn dark_rects(&self) -> Vec<DarkRect> {
        let mut done = Vec::new();
        let mut open: Vec<DarkRect> = Vec::new();
        for row in 0..self.size {
            let mut still_open = Vec::new();
            for run in self.runs(row) {
                let above =
                    open.iter().position(|r| r.column == run.column && r.columns == run.columns);
                match above {
                    Some(index) => {
                        let mut grown = open.swap_remove(index);
                        grown.rows += 1;
                        still_open.push(grown);
                    }
                    None => still_open.push(run),
                }
            }
            done.append(&mut open);
            open = still_open;
        }
        done.append(&mut open);
        done.sort_by_key(|r| (r.row, r.column));
        done
    }

    fn runs(&self, row: usize) -> Vec<DarkRect> {
        let mut runs = Vec::new();
        let mut column = 0;
        while column < self.size {
            let start = column;
            while column < self.size && self.dark(column, row) {
                column += 1;
            }
            if column > start {
                runs.push(DarkRect { column: start, row, columns: column - start, rows: 1 });
            } else {
                column += 1;
            }
        }
        runs
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rectangles_cover_exactly_the_dark_modules() {
        // Made by a small linear congruence: any pattern will do.
        let size = 25;
        let mut state = 7_u32;
        let modules: Vec<bool> = (0..size * size)
            .map(|_| {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                state >> 31 == 1
            })
            .collect();
        let symbol = Symbol::new(size, modules.clone()).unwrap();
        let mut covered = vec![0; size * size];
        for r in symbol.dark_rects() {
            for row in r.row..r.row + r.rows {
                for column in r.column..r.column + r.columns {
                    covered[row * size + column] += 1;
                }
            }
        }
        let expected: Vec<i32> = modules.iter().map(|&dark| i32::from(dark)).collect();
        assert_eq!(covered, expected);
    }

    #[test]
    fn equal_rows_become_one_rectangle() {
        let symbol = Symbol::new(2, vec![true; 4]).unwrap();
        let whole = DarkRect { column: 0, row: 0, columns: 2, rows: 2 };
        assert_eq!(symbol.dark_rects(), [whole]);
    }

    #[test]
    fn a_matrix_that_is_not_square_is_refused() {
        assert!(Symbol::new(3, vec![true; 8]).is_err());
        assert!(Symbol::new(0, vec![]).is_err());
    }
}
