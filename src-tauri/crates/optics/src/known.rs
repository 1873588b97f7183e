//! The labels that a site has given out, ready to be compared with a symbol that no decoder can
//! correct.

mod lookalikes;

use crate::codeword::{BITS, CODEWORDS, Encoder};
use crate::evidence::Chance;
use slotkeep_domain::label::LabelCode;

/// Labels that lie together in memory, codeword by codeword.
const BLOCK: usize = 1024;

/// Codewords that are summed up for every label; the others only for those that stand out.
const LOOKED_AT_FIRST: usize = 7;

/// Natural logarithm of one in a billion, the chance of a false match for one symbol.
const LN_BILLIONTH: f64 = -20.723_265_836_946_41;

/// Ways in which one symbol may be tried: four turns, eight masks, and sixteen looks (a place comes
/// up in at most two parts of the image that overlap, as a damaged find, and from its neighbours on
/// both sides of a rail; the rest is reserve).
const LN_TRIES: f64 = 6.238_324_625_039_508;

/// Natural logarithm of the odds that are asked for against each single other label: 1e9, and as
/// many again as there are look-alikes.
const LN_ODDS: f64 = 30.4;

/// Every label that can be recognised.
///
/// Takes 36 bytes a label: 36 MB for a million.
#[derive(Default)]
pub struct KnownLabels {
    codes: Vec<LabelCode>,
    /// Blocks of [`BLOCK`] labels: first all first codewords, then all second ones, ...
    words: Vec<u8>,
    /// Bits in which not all labels agree. The others say nothing about which label it is.
    telling: [u8; CODEWORDS],
}

/// What was seen of a symbol: for each bit of its codewords a weight, above 0 for 1.
pub type Soft = [f32; BITS];

/// A label that agrees with a symbol far more than chance could.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Match {
    pub label: LabelCode,
    /// Share of the weight that agrees, 0.5 for chance and 1 for all.
    pub agreement: f32,
    /// Base-10 logarithm of the bound on the probability that a foreign symbol matches any known
    /// label as well; −9 at most.
    pub log10_chance: f32,
}

impl KnownLabels {
    /// Computes the symbols of labels; about a third of a second for a million.
    pub fn new(labels: impl IntoIterator<Item = LabelCode>) -> Self {
        let mut known = Self::default();
        known.extend(labels);
        known
    }

    pub fn len(&self) -> usize {
        self.codes.len()
    }

    pub fn is_empty(&self) -> bool {
        self.codes.is_empty()
    }

    /// Adds labels that are not in it yet.
    pub fn extend(&mut self, labels: impl IntoIterator<Item = LabelCode>) {
        let encoder = Encoder::new();
        let mut first = self.codes.first().map(|label| encoder.codewords(label));
        for label in labels {
            let at = self.codes.len();
            if at.is_multiple_of(BLOCK) {
                self.words.resize(self.words.len() + BLOCK * CODEWORDS, 0);
            }
            let words = encoder.codewords(&label);
            let first = first.get_or_insert(words);
            let block = at / BLOCK * BLOCK * CODEWORDS;
            for (column, word) in words.iter().enumerate() {
                self.words[block + column * BLOCK + at % BLOCK] = *word;
                self.telling[column] |= word ^ first[column];
            }
            self.codes.push(label);
        }
    }

    /// The known label that a symbol shows, if the chance that a foreign one matches any of them
    /// as well is below one in a billion, and no other label comes near.
    ///
    /// Takes 4 ms for a million labels on one core.
    pub fn find(&self, seen: &Soft) -> Option<Match> {
        let sums = Sums::new(seen, &self.telling);
        let weights = sums.weights();
        let chance = Chance::new(&weights);
        let ln_labels = (self.codes.len().max(1) as f64).ln();
        let needed = chance.sum_for(LN_BILLIONTH - ln_labels - LN_TRIES);
        if needed > chance.sum_of_all() {
            return None;
        }
        let (best, second) = self.best_two(&sums, needed);
        let (at, sum) = best?;
        let label = self.codes[at];
        // What differs between two labels counts twice in their sums.
        let least_lead = 2.0 * LN_ODDS / chance.odds_for(sum).max(f64::MIN_POSITIVE);
        let near = |other: f64| sum - other < least_lead;
        if second.is_some_and(near) || lookalikes::of(&label).any(|w| near(sums.of(&w))) {
            return None;
        }
        let ln = chance.ln_of(sum) + ln_labels + LN_TRIES;
        let agreement = (1.0 + sum / chance.sum_of_all()) / 2.0;
        Some(Match {
            label,
            agreement: agreement as f32,
            log10_chance: (ln / std::f64::consts::LN_10) as f32,
        })
    }

    /// The sum of agreeing weights less the others that chance reaches with a probability of at
    /// most `exp(ln)` for one label, however the weights' signs fall.
    pub fn threshold(&self, seen: &Soft, ln: f64) -> f64 {
        Chance::new(&Sums::new(seen, &self.telling).weights()).sum_for(ln)
    }

    /// The known label that agrees most, with its sum, where that is at least `needed`. This is
    /// no recognition yet: [`KnownLabels::find`] asks for more.
    pub fn nearest(&self, seen: &Soft, needed: f64) -> Option<(LabelCode, f64)> {
        let (best, _) = self.best_two(&Sums::new(seen, &self.telling), needed);
        best.map(|(at, sum)| (self.codes[at], sum))
    }

    /// The label with the highest sum of at least `needed`, and the sum of the next one.
    fn best_two(&self, sums: &Sums, needed: f64) -> (Option<(usize, f64)>, Option<f64>) {
        let (first, rest) = sums.order.split_at(LOOKED_AT_FIRST);
        let gate = sums.gate(needed);
        let mut best: Option<(usize, i32)> = None;
        let mut second: Option<i32> = None;
        let mut partial = [0_i16; BLOCK];
        for (at, block) in self.words.chunks_exact(BLOCK * CODEWORDS).enumerate() {
            let column = |column: usize| &block[column * BLOCK..(column + 1) * BLOCK];
            partial.fill(0);
            for &c in first {
                let table = &sums.tables[c];
                for (sum, word) in partial.iter_mut().zip(column(c)) {
                    *sum += table[usize::from(*word)];
                }
            }
            let labels = (self.codes.len() - at * BLOCK).min(BLOCK);
            for (place, sum) in partial[..labels].iter().enumerate() {
                if *sum < gate {
                    continue;
                }
                let others = rest
                    .iter()
                    .map(|&c| i32::from(sums.tables[c][usize::from(block[c * BLOCK + place])]));
                let whole = i32::from(*sum) + others.sum::<i32>();
                match best {
                    Some((_, top)) if whole <= top => second = second.max(Some(whole)),
                    _ => {
                        second = second.max(best.map(|(_, sum)| sum));
                        best = Some((at * BLOCK + place, whole));
                    }
                }
            }
        }
        let real = |sum: i32| f64::from(sum) / sums.scale;
        let best = best.map(|(at, sum)| (at, real(sum))).filter(|(_, sum)| *sum >= needed);
        (best, second.map(real))
    }
}

/// Sums of weights for every value of every codeword.
struct Sums {
    tables: Vec<[i16; 256]>,
    /// Weights of the bits that tell labels apart, as the tables count them.
    weights: [[f64; 8]; CODEWORDS],
    /// What a weight of 1 counts in the tables.
    scale: f64,
    /// Codewords, those that say most first.
    order: [usize; CODEWORDS],
}

impl Sums {
    fn new(seen: &Soft, telling: &[u8; CODEWORDS]) -> Self {
        let mut weights = [[0.0; 8]; CODEWORDS];
        for (at, weight) in seen.iter().enumerate() {
            if telling[at / 8] >> (7 - at % 8) & 1 == 1 && weight.is_finite() {
                weights[at / 8][at % 8] = f64::from(*weight);
            }
        }
        let total: f64 = weights.iter().flatten().map(|w| w.abs()).sum();
        let scale = 32_000.0 / total.max(f64::MIN_POSITIVE);
        let tables = weights.iter().map(|bits| table(bits.map(|w| w * scale))).collect();
        let mut order = std::array::from_fn(|column| column);
        let says = |column: &usize| weights[*column].iter().map(|w| w * w).sum::<f64>();
        order.sort_by(|a, b| says(b).total_cmp(&says(a)));
        Self { tables, weights, scale, order }
    }

    fn weights(&self) -> Vec<f64> {
        self.weights.iter().flatten().copied().collect()
    }

    fn of(&self, words: &[u8; CODEWORDS]) -> f64 {
        let sum: i32 =
            self.tables.iter().zip(words).map(|(t, word)| i32::from(t[usize::from(*word)])).sum();
        f64::from(sum) / self.scale
    }

    /// What the first codewords must reach: a label that reaches `needed` in all misses it once
    /// in a thousand times (3.1 standard deviations below its share).
    fn gate(&self, needed: f64) -> i16 {
        let of = |columns: &[usize], f: fn(f64) -> f64| -> f64 {
            columns.iter().flat_map(|c| self.weights[*c]).map(f).sum()
        };
        let first = &self.order[..LOOKED_AT_FIRST];
        let share = (needed / of(&self.order, f64::abs)).min(1.0);
        let spread = (of(first, |w| w * w) * (1.0 - share * share)).sqrt();
        ((share * of(first, f64::abs) - 3.1 * spread) * self.scale) as i16
    }
}

/// Sums for all values of a codeword: each from the one that lacks its lowest bit.
fn table(bits: [f64; 8]) -> [i16; 256] {
    let mut sums = [-bits.iter().sum::<f64>(); 256];
    for word in 1..256_usize {
        let bit = word.trailing_zeros() as usize;
        sums[word] = sums[word & (word - 1)] + 2.0 * bits[7 - bit];
    }
    sums.map(|sum| sum as i16)
}

#[cfg(test)]
mod tests;
