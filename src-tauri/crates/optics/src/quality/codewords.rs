//! Which module belongs to which codeword, block or pattern.

use super::grades::{Grade, Graded, rising};
use crate::symbol::encoded;
use crate::{Blocks, Level};
use fast_qr::ModuleType;

/// A symbol as it should be.
pub(super) struct Plan {
    pub version: u32,
    pub level: Level,
    pub size: usize,
    /// Row by row; true is dark.
    pub modules: Vec<bool>,
    kinds: Vec<ModuleType>,
    /// The modules of each codeword, in the order of the symbol.
    codewords: Vec<Vec<usize>>,
}

impl Plan {
    pub(super) fn new(text: &str, version: u32, level: Level, mask: u32) -> Option<Self> {
        let code = encoded(text, version, level, mask, crate::TextMode::of(text)).ok()?;
        let size = code.size;
        let cells = &code.data[..size * size];
        let kinds: Vec<ModuleType> = cells.iter().map(|cell| cell.module_type()).collect();
        let modules = cells.iter().map(|cell| cell.value()).collect();
        let way = zigzag(size).filter(|at| kinds[*at] == ModuleType::Data).collect::<Vec<_>>();
        let codewords = way.chunks_exact(8).map(<[usize]>::to_vec).collect();
        Some(Self { version, level, size, modules, kinds, codewords })
    }

    /// Expected modules that do not depend on what the symbol says; `None` for the others.
    pub(super) fn fixed(&self) -> Vec<Option<bool>> {
        let known = self.kinds.iter().zip(&self.modules);
        known.map(|(kind, dark)| is_fixed(*kind).then_some(*dark)).collect()
    }

    pub(super) fn is_data(&self, at: usize) -> bool {
        self.kinds[at] == ModuleType::Data
    }

    /// Whether each codeword has a wrong module.
    pub(super) fn wrong(&self, modules: &[bool]) -> Vec<bool> {
        self.codewords.iter().map(|of| of.iter().any(|at| modules[*at])).collect()
    }

    /// The lowest value of each codeword's modules.
    pub(super) fn lowest(&self, values: &[f64]) -> Vec<f64> {
        let least = |of: &Vec<usize>| of.iter().map(|at| values[*at]).fold(f64::INFINITY, f64::min);
        self.codewords.iter().map(least).collect()
    }

    /// The block of a codeword. Data codewords come first, in turns from each block, the longer
    /// blocks last; then error correction in turns. Source: ISO/IEC 18004, clause 7.6.
    pub(super) fn block_of(&self, codeword: usize, blocks: Blocks) -> usize {
        let (count, data) = (blocks.count, blocks.data());
        if codeword >= data {
            return (codeword - data) % count;
        }
        let short = data / count;
        if codeword < short * count {
            codeword % count
        } else {
            count - data % count + (codeword - short * count)
        }
    }

    /// Wrong modules of the fixed patterns, graded by the worst of them.
    ///
    /// Finders with their separators by the number of wrong modules, timing patterns and alignment
    /// patterns by their share. Limits from memory of ISO/IEC 18004, annex on print quality; its
    /// overlay of modulation is left to the modulation grade, so that one fault shows once.
    pub(super) fn fixed_damage(&self, wrong: &[bool]) -> Graded {
        let size = self.size;
        let mut finders = [0_usize; 3];
        let (mut timing, mut timings, mut alignment, mut alignments) = (0, 0_usize, 0, 0_usize);
        for (at, kind) in self.kinds.iter().enumerate() {
            let bad = usize::from(wrong[at]);
            match kind {
                ModuleType::FinderPattern | ModuleType::Empty => {
                    let (right, low) = (at % size > size / 2, at / size > size / 2);
                    finders[usize::from(right) + 2 * usize::from(low && !right)] += bad;
                }
                ModuleType::Timing => (timing, timings) = (timing + bad, timings + 1),
                ModuleType::Alignment => {
                    (alignment, alignments) = (alignment + bad, alignments + 1)
                }
                _ => {}
            }
        }
        let share = |bad: usize, of: usize| bad as f64 / of.max(1) as f64;
        let worst = finders.into_iter().max().unwrap_or(0);
        let grades = [
            Grade(4_u8.saturating_sub(worst.min(4) as u8)),
            rising(share(timing, timings), [0.0, 0.07, 0.11, 0.14]),
            rising(share(alignment, alignments), [0.0, 0.10, 0.20, 0.30]),
        ];
        let damaged = finders.iter().sum::<usize>() + timing + alignment;
        Graded { value: damaged as f64, grade: grades.into_iter().min().unwrap_or(Grade(0)) }
    }
}

fn is_fixed(kind: ModuleType) -> bool {
    matches!(
        kind,
        ModuleType::FinderPattern | ModuleType::Empty | ModuleType::Timing | ModuleType::Alignment
    )
}

/// The way of the codewords through a symbol: up and down in columns of two from the right, past
/// the column of the timing pattern. Source: ISO/IEC 18004, clause 7.7.3.
pub(crate) fn zigzag(size: usize) -> impl Iterator<Item = usize> {
    let pairs = (0..(size - 1) / 2).map(move |pair| {
        let right = size - 1 - 2 * pair;
        if right <= 6 { right - 1 } else { right }
    });
    pairs.enumerate().flat_map(move |(turn, right)| {
        (0..size).flat_map(move |step| {
            let row = if turn % 2 == 0 { size - 1 - step } else { step };
            [row * size + right, row * size + right - 1]
        })
    })
}
