/// How a blend's stated chances turn out: what share of demands was found at or below each stated
/// chance, drawn towards what is stated.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Calibration {
    /// Share at each of evenly spread stated chances, from 0 to 1.
    at: [f64; STEPS + 1],
}

const STEPS: usize = 20;
/// Windows that the stated chances themselves count for.
const STATED_WORTH: f64 = 15.0;

impl Calibration {
    /// Chances turn out as stated.
    pub fn as_stated() -> Self {
        Self::learnt(&[])
    }

    /// Learns from the stated chances of less than what happened, and of no more than that.
    ///
    /// Source: the probability integral transform of counts without randomisation, Czado, Gneiting
    /// and Held 2009, Biometrics 65:1254-1261.
    pub fn learnt(stated: &[(f64, f64, f64)]) -> Self {
        let whole = STATED_WORTH + stated.iter().map(|(_, _, worth)| worth).sum::<f64>();
        let mut at = [0.0; STEPS + 1];
        for (step, share) in at.iter_mut().enumerate() {
            let chance = step as f64 / STEPS as f64;
            let found: f64 = stated
                .iter()
                .map(|(below, upto, worth)| {
                    worth * ((chance - below) / (upto - below).max(1e-12)).clamp(0.0, 1.0)
                })
                .sum();
            *share = (STATED_WORTH * chance + found) / whole;
        }
        at[STEPS] = 1.0;
        Self { at }
    }

    /// The chance that a stated one turns out to be.
    pub fn found(&self, stated: f64) -> f64 {
        let place = stated.clamp(0.0, 1.0) * STEPS as f64;
        let step = (place as usize).min(STEPS - 1);
        self.at[step] + (self.at[step + 1] - self.at[step]) * (place - step as f64)
    }

    /// Moves the chances of 0, 1, 2 … so that their sums turn out as stated.
    pub fn apply(&self, chances: &mut [f64]) {
        let (mut stated, mut before) = (0.0, 0.0);
        for chance in chances {
            stated += *chance;
            let found = self.found(stated);
            *chance = (found - before).max(0.0);
            before = found;
        }
    }
}
