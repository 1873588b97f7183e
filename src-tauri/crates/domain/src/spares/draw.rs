//! Chance for projections, and for tests that live through what is reckoned elsewhere.

/// Draws that follow from a seed alone: the same seed gives the same draws on every machine.
///
/// Source: SplitMix64 (Steele, Lea and Flood 2014, OOPSLA), from memory; polar method of Marsaglia
/// for the normal, and Marsaglia and Tsang 2000 for the gamma distribution.
#[derive(Debug, Clone)]
pub(in crate::spares) struct Draw {
    state: u64,
}

impl Draw {
    /// One sequence.
    #[cfg(test)]
    pub(in crate::spares) fn of(seed: u64) -> Self {
        Self { state: seed }
    }

    /// `stream` gives one seed many independent sequences.
    pub(in crate::spares) fn new(seed: u64, stream: u64) -> Self {
        let mut draw = Self { state: seed };
        let mixed = draw.bits() ^ stream.wrapping_mul(0xD1B5_4A32_D192_ED03);
        draw.state = mixed;
        draw.state = draw.bits();
        draw
    }

    fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Above 0 and below 1.
    pub(in crate::spares) fn share(&mut self) -> f64 {
        ((self.bits() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// Exponential of mean 1.
    pub(in crate::spares) fn wait(&mut self) -> f64 {
        -self.share().ln()
    }

    fn normal(&mut self) -> f64 {
        loop {
            let (x, y) = (2.0 * self.share() - 1.0, 2.0 * self.share() - 1.0);
            let square = x * x + y * y;
            if square < 1.0 && square > 0.0 {
                return x * (-2.0 * square.ln() / square).sqrt();
            }
        }
    }

    /// Gamma of scale 1; 0 for a shape of 0.
    pub(in crate::spares) fn gamma(&mut self, shape: f64) -> f64 {
        if shape <= 0.0 {
            return 0.0;
        }
        if shape < 1.0 {
            return self.gamma(shape + 1.0) * self.share().powf(1.0 / shape);
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let v = (1.0 + c * x).powi(3);
            if v > 0.0 && self.share().ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                return d * v;
            }
        }
    }

    /// Gamma with this mean and deviation; the mean where the deviation is nothing.
    pub(in crate::spares) fn spread(&mut self, mean: f64, deviation: f64) -> f64 {
        if !(mean > 0.0 && deviation > 0.0) {
            return mean;
        }
        let shape = (mean / deviation).powi(2);
        self.gamma(shape) * mean / shape
    }
}
