use super::Blocks;
use super::codewords::Plan;
use crate::Level;

/// 4 is best, 0 worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Grade(pub u8);

/// What was measured and its grade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Graded {
    pub value: f64,
    pub grade: Grade,
}

impl Grade {
    /// A for 4, B, C, D, and F for 0.
    pub fn letter(self) -> char {
        match self.0 {
            4.. => 'A',
            3 => 'B',
            2 => 'C',
            1 => 'D',
            0 => 'F',
        }
    }
}

/// Grades what is better when it is larger; `least` for 4, 3, 2 and 1.
pub(super) fn falling(value: f64, least: [f64; 4]) -> Grade {
    Grade(4 - least.iter().take_while(|least| value < **least).count() as u8)
}

/// Grades what is better when it is smaller; `most` for 4, 3, 2 and 1.
pub(super) fn rising(value: f64, most: [f64; 4]) -> Grade {
    Grade(4 - most.iter().take_while(|most| value > **most).count() as u8)
}

pub(super) fn unused_grade(unused: f64) -> Grade {
    falling(unused, [0.62, 0.50, 0.37, 0.25])
}

/// Least modulation of a codeword for 4, 3, 2 and 1.
const MODULATION: [f64; 4] = [0.50, 0.40, 0.30, 0.20];

/// Unused error correction where some codewords are taken to be wrong.
pub(super) struct Notional<'a> {
    plan: &'a Plan,
    blocks: Blocks,
    /// Error correction codewords of a block that protect against misreading and correct nothing.
    protecting: usize,
}

impl<'a> Notional<'a> {
    pub(super) fn new(plan: &'a Plan) -> Self {
        let none = Blocks { count: 1, correction: 1, codewords: 1 };
        let blocks = Blocks::of(plan.version, plan.level).unwrap_or(none);
        // ISO/IEC 18004, notes to table 9, from memory.
        let protecting = match (plan.version, plan.level) {
            (1, Level::L) => 3,
            (1, Level::M) | (2, Level::L) => 2,
            (1, Level::Q | Level::H) | (3, Level::L) => 1,
            _ => 0,
        };
        Self { plan, blocks, protecting }
    }

    /// `1 - 2t / E` of the block where it is least; each wrong codeword takes two of error
    /// correction. Below zero counts as zero.
    pub(super) fn unused(&self, wrong: &[bool]) -> f64 {
        let mut errors = vec![0_usize; self.blocks.count];
        for (codeword, _) in wrong.iter().enumerate().filter(|(_, wrong)| **wrong) {
            errors[self.plan.block_of(codeword, self.blocks)] += 1;
        }
        let most = errors.into_iter().max().unwrap_or(0) as f64;
        let capacity = (self.blocks.correction - self.protecting).max(1) as f64;
        (1.0 - 2.0 * most / capacity).max(0.0)
    }

    /// Grades modulation: for each grade the codewords below it are taken to be wrong; the grade
    /// is the best that unused error correction then still supports.
    pub(super) fn grade(&self, lowest: &[f64]) -> Grade {
        let levels = (0..=4).map(|grade| {
            let wrong: Vec<bool> =
                lowest.iter().map(|value| falling(*value, MODULATION) < Grade(grade)).collect();
            Grade(grade).min(unused_grade(self.unused(&wrong)))
        });
        levels.max().unwrap_or(Grade(0))
    }
}
