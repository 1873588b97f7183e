use super::RateRefusal;

/// A failure rate as a catalogue states it, at one temperature.
#[derive(Debug, Clone, PartialEq)]
pub enum StatedRate {
    /// Failures per 1e9 h.
    Fit(f64),
    /// Mean time between failures, h.
    MtbfH(f64),
    /// Kinds of parts in one unit. Any of them failing fails the unit, so their rates add up.
    Parts(Vec<PartsLine>),
}

/// One kind of part in a unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartsLine {
    pub count: u32,
    /// Failures of one per 1e9 h.
    pub fit: f64,
}

impl StatedRate {
    /// Returns the failures of one unit per 1e9 h.
    ///
    /// Fails with [`RateRefusal::Stated`] unless the figure is a number above zero (a model that
    /// never fails has no stated rate), and with [`RateRefusal::Part`] where a part's is below zero
    /// or no number.
    ///
    /// Source: 1 FIT is 1e-9 failures an hour; the sum over parts is the parts-count method of
    /// MIL-HDBK-217F, appendix A, from memory.
    pub fn fit(&self) -> Result<f64, RateRefusal> {
        let fit = match self {
            Self::Fit(fit) => *fit,
            Self::MtbfH(mtbf_h) => {
                if !(mtbf_h.is_finite() && *mtbf_h > 0.0) {
                    return Err(RateRefusal::Mtbf(*mtbf_h));
                }
                1e9 / mtbf_h
            }
            Self::Parts(parts) => {
                let wrong = |part: &&PartsLine| !(part.fit.is_finite() && part.fit >= 0.0);
                if let Some(part) = parts.iter().find(wrong) {
                    return Err(RateRefusal::Part(part.fit));
                }
                parts.iter().map(|part| f64::from(part.count) * part.fit).sum()
            }
        };
        if fit.is_finite() && fit > 0.0 { Ok(fit) } else { Err(RateRefusal::Stated(fit)) }
    }
}
