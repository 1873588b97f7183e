/// The same numbers on every machine for the same seed.
///
/// Source: SplitMix64, Steele, Lea and Flood, "Fast splittable pseudorandom number generators",
/// OOPSLA 2014.
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 to `below`, without `below`; 0 when that is 0.
    pub fn below(&mut self, below: usize) -> usize {
        if below == 0 { 0 } else { (self.next() % below as u64) as usize }
    }

    /// A number from `from` to `to`, both included.
    pub fn between(&mut self, from: i64, to: i64) -> i64 {
        from + self.below((to - from + 1) as usize) as i64
    }

    /// True `per_mille` times in a thousand.
    pub fn happens(&mut self, per_mille: usize) -> bool {
        self.below(1000) < per_mille
    }

    /// One of a list that is not empty.
    pub fn one<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.below(of.len())]
    }
}

#[cfg(test)]
mod tests {
    use super::Chance;

    /// Source: reference outputs of SplitMix64 for seed 1234567, widely published with the
    /// algorithm (from memory).
    #[test]
    fn the_numbers_are_those_of_the_algorithm() {
        let mut chance = Chance::new(1_234_567);
        let numbers = [(); 3].map(|()| chance.next());
        assert_eq!(
            numbers,
            [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423]
        );
    }
}
